"""The small piece's firmware, to be rehearsed whole or broken on purpose."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest

from lampwright.findings.model import Finding, Severity
from lampwright.firmware import FirmwareBuild, build, variables_end, write_firmware
from lampwright.layout import lay_out
from lampwright.piece import read_piece
from lampwright.rehearsal import CircuitRehearsal, Part, Plan, rehearse_circuit
from lampwright.rehearsal.findings import judge
from lampwright.show import CircuitShow, compile_show
from tests.small_piece import small_piece

Edit = Callable[[Path], None]


@dataclass(frozen=True)
class Outcome:
    """What a rehearsal of the small piece came to."""

    show: CircuitShow
    built: FirmwareBuild
    seen: CircuitRehearsal
    findings: tuple[Finding, ...]

    @property
    def failed(self) -> dict[str, Finding]:
        """Findings that failed, by code."""
        return {f.code: f for f in self.findings if f.severity is Severity.FAIL}


@pytest.fixture(scope="session")
def rehearse_small(tmp_path_factory: pytest.TempPathFactory) -> Callable[..., Outcome]:
    """Write, edit, build and rehearse the small piece's firmware."""

    def run(edit: Edit | None = None, show_seconds: float = 12.0, **changes: str) -> Outcome:
        folder = tmp_path_factory.mktemp("small")
        file = folder / "small.toml"
        file.write_text(small_piece(**changes))
        show = compile_show(lay_out(read_piece(file)))[0]
        source = write_firmware(show, folder / "firmware")
        if edit is not None:
            edit(folder / "firmware")
        built = build(source)
        plan = Plan(show_seconds=show_seconds, after_reset_seconds=3.0)
        seen = rehearse_circuit(
            Part(show, built.image, variables_end=variables_end(built.ram_map)), plan, lambda _count: None
        )
        return Outcome(show, built, seen, judge(show, seen, plan, 16e6))

    return run


def replace(file: str, old: str, new: str) -> Edit:
    """Return an edit of one place in a firmware's source, as a maker would make by hand."""

    def edit(folder: Path) -> None:
        text = (folder / file).read_text()
        assert old in text, f"{old!r} is not in {file}"
        (folder / file).write_text(text.replace(old, new, 1))

    return edit

"""One self-contained page with the living piece: it works from disk, with no network."""

from __future__ import annotations

import json
from collections.abc import Iterable
from importlib import resources
from pathlib import Path
from typing import Any

from lampwright.findings.model import Finding, Severity
from lampwright.units.errors import MakerError, Problem
from lampwright.written import write_whole

PLACE = "<!-- data -->"
"""Where the built page takes in its data."""


def built_page() -> str:
    """Return the page as it was built at installation.

    Raises
    ------
    MakerError
        PAGE-001, this installation has no built page.
    """
    file = resources.files("lampwright.page") / "built" / "index.html"
    if not file.is_file():
        raise MakerError(
            [
                Problem(
                    "PAGE-001",
                    "the page was not built when the program was installed",
                    "no built page beside the program",
                    "the page that an installation builds",
                    "install the program again; the message of the build says what was missing",
                )
            ]
        )
    return file.read_text(encoding="utf-8")


def preview_page(scene: dict[str, Any], may_flash: bool) -> str:
    """Return the text of one HTML file that shows a scene without any server.

    With ``may_flash`` it stands still, with a notice, until whoever looks at it asks for more.
    """
    given = {"scene": scene, "mayFlash": may_flash}
    return built_page().replace(PLACE, f'<script type="application/json" id="given">{_harmless(given)}</script>', 1)


def write_preview(file: Path, scene: dict[str, Any], may_flash: bool) -> None:
    """Write :func:`preview_page` to a file, whole or not at all.

    Raises
    ------
    OSError
        The file can't be written.
    """
    write_whole(file, preview_page(scene, may_flash))


def may_flash(findings: Iterable[Finding]) -> bool:
    """Return whether the screening for flashes has anything to say."""
    return any(f.code.startswith("FLASH") and f.severity in {Severity.WARN, Severity.FAIL} for f in findings)


def _harmless(data: dict[str, Any]) -> str:
    """Return JSON that can't end the script element it stands in."""
    return json.dumps(data, separators=(",", ":")).replace("<", "\\u003c")

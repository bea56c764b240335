"""The command line, run in this process."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest

from lampwright.cli.run import run
from lampwright.rehearsal import Earlier

SMALL = Path(__file__).parents[1] / "signoff" / "small.toml"


@dataclass(frozen=True)
class Outcome:
    """What a command left behind."""

    code: int
    out: str
    err: str


Command = Callable[..., Outcome]


@pytest.fixture(autouse=True)
def no_earlier_rehearsals(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> None:
    """Keep the user's results out of the tests, and the tests' out of the user's folder."""
    folder = tmp_path_factory.mktemp("earlier")
    monkeypatch.setattr(Earlier, "of_user", classmethod(lambda cls: cls(folder)))


@pytest.fixture
def lampwright(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Command:
    """Run a command as a pipe would see it, 80 columns wide."""
    monkeypatch.setenv("COLUMNS", "80")
    for name in ("FORCE_COLOR", "TTY_COMPATIBLE"):
        monkeypatch.delenv(name, raising=False)

    def call(*arguments: str) -> Outcome:
        code = run(arguments)
        captured = capsys.readouterr()
        return Outcome(code, captured.out, captured.err)

    return call


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder to work in, with the small piece in it."""
    shutil.copy(SMALL, tmp_path / "small.toml")
    monkeypatch.chdir(tmp_path)
    return tmp_path

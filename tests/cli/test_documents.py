"""README.md and docs/: nothing that a maker can type is left out, and nothing leads nowhere."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from lampwright.cli.app import app
from lampwright.cli.shelf import shelf

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")
DOCUMENTS = sorted([ROOT / "README.md", ROOT / "CHANGELOG.md", *(ROOT / "docs").rglob("*.md")])
COMMANDS = tuple(sorted(name for name in app if not name.startswith("-")))
OPTION = re.compile(r"(?<![\w-])--[a-z][a-z-]+")


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_and_option_is_in_the_readme(
    command: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "100")
    assert re.search(rf"(lampwright|make) {command}\b", README)
    app([command, "--help"], result_action="return_value")
    options = set(OPTION.findall(capsys.readouterr().out))
    assert options - set(OPTION.findall(README)) == set()


def test_every_part_of_the_shelf_command_is_in_its_document(capsys: pytest.CaptureFixture[str]) -> None:
    document = (ROOT / "docs" / "shelf.md").read_text(encoding="utf-8")
    for name in (each for each in shelf if not each.startswith("-")):
        assert f"shelf {name}" in document
        app(["shelf", name, "--help"], result_action="return_value")
        options = set(OPTION.findall(capsys.readouterr().out)) - {"--help", "--version", "--trace"}
        assert options <= set(OPTION.findall(document))


def test_the_readme_names_no_command_that_is_not_there() -> None:
    named = {name for name in re.findall(r"lampwright ([a-z]+)\b", README) if f"`lampwright {name}" in README}
    assert named <= set(COMMANDS)


@pytest.mark.parametrize("document", DOCUMENTS, ids=lambda path: str(path.relative_to(ROOT)))
def test_every_link_leads_to_a_file(document: Path) -> None:
    for target in re.findall(r"\]\(([^)#\s]+)[^)]*\)", document.read_text(encoding="utf-8")):
        assert (document.parent / target).exists(), target


@pytest.mark.parametrize("document", DOCUMENTS, ids=lambda path: str(path.relative_to(ROOT)))
def test_no_document_names_a_machine_or_a_host(document: Path) -> None:
    text = document.read_text(encoding="utf-8")
    assert re.findall(r"https?://\S+|/(?:home|root|tmp|work|usr)/\S*", text) == []

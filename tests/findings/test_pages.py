"""Pages: every code that a maker can meet can be explained, from the same text everywhere."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from lampwright.findings import codes, explain, load_pages
from lampwright.findings.pages import PageFormError, read_page
from lampwright.findings.publish import publish, published
from lampwright.units import MakerError

ROOT = Path(__file__).parents[2]
SOURCE = ROOT / "src" / "lampwright"
CODE = re.compile(r"[\"']([A-Z]{4,}-\d{3})[\"']")


def used_codes() -> set[str]:
    """Return the codes that stand in quotes in the program."""
    texts = [path.read_text(encoding="utf-8") for path in SOURCE.rglob("*.py")]
    # The pages' own module shows codes as examples in its messages.
    return {code for text in texts for code in CODE.findall(re.sub(r'such as ""?"?[A-Z]+-\d{3}"', "", text))}


def test_every_code_of_the_program_has_its_page() -> None:
    assert used_codes() - set(codes()) == set()


def test_every_page_belongs_to_a_code_of_the_program() -> None:
    assert set(codes()) - used_codes() == set()


def test_every_page_has_all_its_headings() -> None:
    pages = load_pages()
    assert len(pages) == len(list((SOURCE / "findings" / "pages").glob("*.md")))
    for path in (SOURCE / "findings" / "pages").glob("*.md"):
        assert pages[path.stem].text == path.read_text(encoding="utf-8")


def test_every_fault_has_a_name_of_its_own() -> None:
    faults = [page.fault for page in load_pages().values()]
    assert len(faults) == len(set(faults))


@pytest.mark.parametrize("name", ["PIECE-003", "piece-003", "piece 3", " entry-missing "])
def test_a_page_is_found_by_code_or_fault(name: str) -> None:
    page = explain(name)
    assert (page.code, page.fault) == ("PIECE-003", "entry-missing")
    assert page.summary == "A table or an entry that every piece needs is missing."
    assert page.formula == ""


def test_an_unknown_code_names_the_nearest() -> None:
    with pytest.raises(MakerError) as caught:
        explain("PEICE-003")
    assert caught.value.render() == (
        'error FINDING-001: there is no check "PEICE-003"\n'
        'found:   "PEICE-003"\n'
        'allowed: a code such as "PIECE-003", or the name of its fault\n'
        'do:      did you mean "PIECE-003"?   (lampwright explain FINDING-001)'
    )


GOOD = """# TEST-001 some-fault

Short.

## What is checked

A.

## Formula

B.

## Source

C.

## Example

D.

## What to do

E.
"""


def test_a_page_is_taken_apart() -> None:
    page = read_page(GOOD)
    assert (page.summary, page.checked, page.formula, page.source, page.example, page.do) == (
        "Short.",
        "A.",
        "B.",
        "C.",
        "D.",
        "E.",
    )


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("# TEST-001 some-fault", "# some-fault"),
        ("## Source\n\nC.\n\n", ""),
        ("## Example", "## For instance"),
        ("E.\n", "\n"),
        ("Short.", ""),
        ("## Formula\n\nB.\n\n## Source\n\nC.", "## Source\n\nC.\n\n## Formula\n\nB."),
    ],
)
def test_a_page_out_of_form_is_our_fault(old: str, new: str) -> None:
    with pytest.raises(PageFormError):
        read_page(GOOD.replace(old, new))


def test_docs_hold_the_same_text() -> None:
    folder = ROOT / "docs" / "checks"
    assert {path.name: path.read_text(encoding="utf-8") for path in folder.glob("*")} == published()


def test_publishing_drops_pages_whose_code_is_gone(tmp_path: Path) -> None:
    (tmp_path / "OLD-001.md").write_text("old", encoding="utf-8")
    publish(tmp_path)
    assert {path.name for path in tmp_path.iterdir()} == set(published())

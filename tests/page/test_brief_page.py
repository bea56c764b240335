"""The page of a brief in a real browser: demands on one side, what could be built on the other."""

from __future__ import annotations

import json
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from lampwright.cli.run import run
from tests.page.briefs import DOOR_POST, search_little, write_brief
from tests.page.served import Served, serve_file
from tests.page.test_accessible import WIDTHS, serious

BRIEFS = sorted((Path(__file__).parents[2] / "examples" / "briefs").glob("*/brief.toml"))
PATIENCE = 240_000
"""On a machine that has much else to do. [ms]"""


@pytest.fixture(scope="module")
def served_brief(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """The page of a small brief; its file is never written."""
    with pytest.MonkeyPatch.context() as patch:
        search_little(patch)
        yield serve_file(write_brief(tmp_path_factory.mktemp("brief")))


@pytest.fixture
def found(tab: Page, served_brief: Served) -> Page:
    """That page with its candidates; what a test changes it undoes."""
    tab.set_viewport_size({"width": 1440, "height": 900})
    tab.goto(served_brief.address)
    expect(tab.locator(".offers-table")).to_be_visible(timeout=PATIENCE)
    expect(tab.get_by_role("button", name="Pause")).to_be_visible()
    return tab


def fill(page: Page, label: str, value: str) -> None:
    field = page.get_by_label(label, exact=True)
    field.fill(value)
    field.press("Enter")


@pytest.mark.parametrize("brief", BRIEFS, ids=lambda path: path.parent.name)
def test_each_brief_of_the_examples_opens_and_its_search_can_be_stopped(brief: Path, tab: Page, tmp_path: Path) -> None:
    file = tmp_path / brief.name
    shutil.copy(brief, file)
    tab.goto(serve_file(file).address)
    # the smallest may be done before this looks: then it has candidates, and nothing to stop
    stop, done = tab.get_by_role("button", name="Stop the search"), tab.locator(".offers-table")
    expect(stop.or_(done)).to_be_visible(timeout=PATIENCE)
    assert tab.get_by_label("run time", exact=True).input_value() in brief.read_text(encoding="utf-8")
    if stop.is_visible():
        stop.click()
        expect(tab.locator(".search")).to_contain_text("The search was stopped.")
        expect(tab.get_by_role("button", name="Search", exact=True)).to_be_visible()


def test_a_changed_demand_brings_other_candidates(found: Page) -> None:
    expect(found.locator(".candidate")).to_have_count(2)
    fill(found, "budget", "125")
    expect(found.locator(".search")).to_contain_text("found for it as it was")
    expect(found.get_by_role("button", name="Write it")).to_be_disabled()
    expect(found.locator(".candidate")).to_have_count(1, timeout=PATIENCE)
    expect(found.get_by_role("button", name="Write it")).to_be_enabled()
    found.get_by_role("button", name="Undo").click()
    expect(found.locator(".candidate")).to_have_count(2)


def test_a_demand_that_can_not_be_read_says_why_beside_its_field(found: Page) -> None:
    fill(found, "seen from", "10 parsecs")
    expect(found.locator(".field .wrong:not(:empty)")).to_contain_text('"parsecs" is not a known unit')
    expect(found.locator("#word")).to_have_text("as in the file")


def test_an_impossible_brief_tells_the_demand_and_its_button_mends_it(tab: Page, tmp_path: Path) -> None:
    with pytest.MonkeyPatch.context() as patch:
        search_little(patch)
        text = DOOR_POST.replace("budget = 138", "budget = 90")
        tab.goto(serve_file(write_brief(tmp_path, text)).address)
        expect(tab.locator(".found .finding")).to_contain_text(
            'nothing meets the brief: "budget" is in the way', timeout=PATIENCE
        )
        expect(tab.locator(".offers-table")).to_have_count(0)
        tab.get_by_role("button", name="Change budget to").click()
        expect(tab.locator(".candidate").first).to_be_visible(timeout=PATIENCE)
        assert 90 < float(tab.get_by_label("budget", exact=True).input_value()) < 138


def test_by_keyboard_alone_a_candidate_is_chosen_and_written_and_its_page_opened(
    found: Page, served_brief: Served
) -> None:
    before = set(served_brief.file.parent.iterdir())
    mark = found.get_by_role("radio", name="candidate 1:")
    mark.focus()
    found.keyboard.press("ArrowRight")
    expect(found.locator("#choice")).to_have_text("Candidate 2")
    expect(found.get_by_role("radio", name="candidate 2:")).to_be_focused()
    expect(found.locator(".reasons")).to_contain_text("strip: ws2812b-60")
    expect(found.get_by_role("button", name="look at candidate 2")).to_have_attribute("aria-pressed", "true")
    found.get_by_role("button", name="Write it").focus()
    found.keyboard.press("Enter")
    found.wait_for_url("**/made/*/?key=*")
    expect(found.locator("#name")).to_have_text("Door Post")
    expect(found.get_by_role("button", name="Write the file")).to_be_visible()
    (written,) = set(served_brief.file.parent.iterdir()) - before
    assert "ws2812b-60" in written.read_text(encoding="utf-8")
    assert run(["check", str(written)]) == 0
    found.go_back()
    expect(found.get_by_role("link", name=f"written: {written.name}")).to_be_visible()


def test_a_file_that_is_there_is_not_written_over(found: Page, served_brief: Served) -> None:
    theirs = served_brief.file.with_name("theirs.toml")
    theirs.write_text("# mine\n", encoding="utf-8")
    found.get_by_label("as", exact=True).fill("theirs.toml")
    found.get_by_role("button", name="Write it").click()
    expect(found.locator(".write .wrong")).to_contain_text('write another name, such as "theirs-2.toml"')
    assert theirs.read_text(encoding="utf-8") == "# mine\n"
    theirs.unlink()


@pytest.mark.parametrize(("width", "height"), WIDTHS)
def test_the_brief_has_no_serious_problem_and_fits_its_window(found: Page, width: int, height: int) -> None:
    found.set_viewport_size({"width": width, "height": height})
    assert serious(found) == []
    found.evaluate("document.querySelectorAll('details').forEach(each => { each.open = true; })")
    assert serious(found) == []
    assert found.evaluate("document.documentElement.scrollWidth") <= width


@pytest.mark.parametrize(
    "path", ["/shown", "/write", "/search", "/stop", "/candidate/1/1", "/picture/1/400", "/made/1/shown"]
)
def test_nobody_else_sees_or_changes_a_brief(served_brief: Served, path: str) -> None:
    method = "GET" if path[1:5] in {"show", "cand", "pict", "made"} else "POST"
    assert served_brief.ask(method, path, b"{}", X_Lampwright_Key="")[0] == 403
    assert served_brief.ask(method, path, b"{}", Origin="http://other.example")[0] == 403
    assert served_brief.ask(method, path, b"{}", Host="rebound.example")[0] == 421


def test_a_written_piece_has_no_page_without_its_address(served_brief: Served) -> None:
    assert served_brief.ask("GET", "/made/1/", X_Lampwright_Key="")[0] in {403, 404}
    assert served_brief.ask("GET", f"/made/99/?key={served_brief.key}")[0] == 404
    assert served_brief.ask("GET", "/made/1/..%2fdoor.toml", X_Lampwright_Key="")[0] == 403


@pytest.mark.parametrize("body", [b"", b"[]", b"{}", b'{"answer": 1, "candidate": "x", "name": "a.toml"}', b"\xff"])
def test_what_is_no_choice_is_refused(served_brief: Served, body: bytes) -> None:
    assert served_brief.ask("POST", "/write", body)[0] == 400


def test_a_candidate_that_was_not_found_is_not_there(served_brief: Served) -> None:
    for path in ("/candidate/1/99", "/candidate/99/1", "/picture/99/400"):
        status, body = served_brief.ask("GET", path)
        assert (status, json.loads(body)["problems"][0]["code"]) == (422, "PAGE-002")


def test_lists_are_for_a_brief_alone(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "piece.toml"
    file.write_text(DOOR_POST[: DOOR_POST.index("[wish]")], encoding="utf-8")
    assert run(["open", str(file), "--shop", "shop.csv", "--no-browser"]) == 2
    assert "PAGE-011" in capsys.readouterr().err

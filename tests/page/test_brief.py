"""A brief is changed on its page, and what could be built for it follows."""

from __future__ import annotations

import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from lampwright.cli.run import run
from lampwright.page.brief import BriefStates
from lampwright.piece.schema import ZigzagEntry
from lampwright.propose import Proposal, stage
from lampwright.propose.keys import wish_rows
from lampwright.propose.wish import FootEntry, GarlandEntry, WishEntry
from lampwright.units import MakerError
from tests.page.briefs import DOOR_POST, search_little, write_brief

PATIENCE = 240.0
"""On a machine that has much else to do. [s]"""


@pytest.fixture(autouse=True)
def _small(monkeypatch: pytest.MonkeyPatch) -> None:
    search_little(monkeypatch)


@pytest.fixture(scope="module")
def answered(tmp_path_factory: pytest.TempPathFactory) -> Iterator[BriefStates]:
    """A brief whose candidates have been found."""
    with pytest.MonkeyPatch.context() as patch:
        search_little(patch)
        states = BriefStates(write_brief(tmp_path_factory.mktemp("brief")))
        ended(states)
        yield states
        states.close()


def ended(states: BriefStates) -> dict[str, Any]:
    """Wait for the end of the search, and return what is shown then."""
    end = time.monotonic() + PATIENCE
    while (shown := states.shown())["isSearching"] and time.monotonic() < end:
        time.sleep(0.05)
    assert not shown["isSearching"]
    return shown


def row(shown: dict[str, Any], title: str) -> list[str]:
    rows = [row for part in shown["answer"]["parts"] for row in part["rows"]]
    return next(list(row["values"]) for row in rows if row["title"] == title)


def change(states: BriefStates, table: str, key: str, value: str) -> None:
    states.change(states.draft.number, [((table, key), value)])


def test_another_demand_brings_other_candidates_and_its_undoing_the_first_at_once(answered: BriefStates) -> None:
    before = answered.shown()
    assert before["answer"]["count"] == 2
    change(answered, "brief", "budget", "125")
    assert answered.shown()["answer"] == {**before["answer"], "isOld": True}, "the last answer stays, as an old one"
    after = ended(answered)
    assert (after["answer"]["isOld"], row(after, "cost")) == (False, row(before, "cost")[:1])
    answered.undo()
    assert answered.shown()["answer"] == before["answer"]
    assert not answered.shown()["isSearching"]


def test_a_candidate_is_written_once_and_passes_its_check(answered: BriefStates) -> None:
    number = answered.shown()["answer"]["number"]
    written = answered.file.parent / answered.shown()["fileName"]
    made = answered.write(number, 1, written.name)
    assert run(["check", str(written)]) == 0
    workspace = answered.written(made)
    assert workspace is not None
    assert workspace.file == written
    text = written.read_text(encoding="utf-8")
    with pytest.raises(MakerError) as caught:
        answered.write(number, 2, written.name)
    assert (caught.value.problems[0].code, written.read_text(encoding="utf-8")) == ("PROPOSE-003", text)
    assert caught.value.problems[0].do == f'write another name, such as "{written.stem}-2.toml"'
    assert answered.shown()["fileName"] == f"{written.stem}-2.toml"


@pytest.mark.parametrize("name", ["", "piece", "../piece.toml", "/tmp/piece.toml", "a\\b.toml", ".toml", "a\n.toml"])
def test_a_candidate_is_written_nowhere_but_beside_the_brief(answered: BriefStates, name: str) -> None:
    before = sorted(answered.file.parent.iterdir())
    with pytest.raises(MakerError) as caught:
        answered.write(answered.shown()["answer"]["number"], 1, name)
    assert caught.value.problems[0].summary == "this is no name for a piece file"
    assert sorted(answered.file.parent.iterdir()) == before


def test_a_brief_that_can_not_be_read_is_not_searched_for(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("lampwright.page.brief.propose", wait_for_ever)
    states = BriefStates(write_brief(tmp_path))
    for table, key, value, line in (("wish", "seen_from", "10", 25), ("brief", "coldest", "2 m", 9)):
        with pytest.raises(MakerError) as caught:
            change(states, table, key, value)
        place = caught.value.problems[0].place
        assert place is not None
        assert place.line == line
    assert states.draft.text == DOOR_POST
    states.close()


def wait_for_ever(_setting: object, progress: stage.Progress, _today: object) -> Proposal:
    """Search as long as progress lets it."""
    progress.begin("for ever", 2)
    while True:
        progress.reach(1)
        time.sleep(0.01)


def searches() -> list[threading.Thread]:
    return [thread for thread in threading.enumerate() if thread.name == "searching"]


def test_one_search_goes_on_at_a_time_and_ends_when_it_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("lampwright.page.brief.propose", wait_for_ever)
    states = BriefStates(write_brief(tmp_path))
    for budget in ("131", "132", "133"):
        change(states, "brief", "budget", budget)
    end = time.monotonic() + 20
    while (len(searches()) > 1 or states.progress()["stage"] != "for ever") and time.monotonic() < end:
        time.sleep(0.02)
    assert len(searches()) == 1
    states.stop()
    searching = searches()
    for thread in searching:
        thread.join(20)
    assert (states.shown()["isSearching"], states.progress()["stage"], searches()) == (False, "", [])
    states.search_again()
    assert states.shown()["isSearching"]
    states.close()
    for thread in searches():
        thread.join(20)
    assert searches() == []


def test_a_demand_that_was_left_out_is_made_on_the_page_and_dropped_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("lampwright.page.brief.propose", wait_for_ever)
    states = BriefStates(write_brief(tmp_path))
    change(states, "wish", "odds", "95 %")
    assert states.draft.text == DOOR_POST + 'odds = "95 %"\n'
    states.take_out(states.draft.number, ("wish", "odds"))
    assert states.draft.text == DOOR_POST
    states.close()


def test_every_key_of_a_wish_has_its_meaning_and_no_other() -> None:
    tables = {(): WishEntry, ("base",): FootEntry, ("garland",): GarlandEntry, ("zigzag",): ZigzagEntry}
    for path, model in tables.items():
        rows = wish_rows(("wish", *path))
        assert list(rows) == list(model.model_fields)
        for name, field in model.model_fields.items():
            assert ("left_out" in rows[name]) != field.is_required(), f"{path}: {name}"


def test_an_answer_to_an_older_brief_is_not_written(answered: BriefStates) -> None:
    number = answered.shown()["answer"]["number"]
    answered.stop()
    change(answered, "brief", "budget", "137.9")
    answered.stop()
    with pytest.raises(MakerError) as caught:
        answered.write(number, 1, "older.toml")
    assert caught.value.problems[0].code == "PAGE-002"
    answered.undo()


def test_a_brief_is_written_back_with_its_comments_and_never_over_another_hand(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("lampwright.page.brief.propose", wait_for_ever)
    states = BriefStates(write_brief(tmp_path))
    change(states, "wish", "brightness", "6 %")
    states.save()
    text = states.file.read_text(encoding="utf-8")
    assert text == DOOR_POST.replace('brightness = "5 %"     # at least', 'brightness = "6 %"     # at least')
    states.file.write_text(text + "# theirs\n", encoding="utf-8")
    with pytest.raises(MakerError) as caught:
        states.save()
    assert caught.value.problems[0].code == "PAGE-003"
    states.reread()
    assert states.draft.text.endswith("# theirs\n")
    states.close()

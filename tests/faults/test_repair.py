"""From what the crew sees to what they do: whoever stands there in the dark has two minutes."""

from __future__ import annotations

import pytest

from lampwright.faults.every import embody, every_fault
from lampwright.faults.kinds import FaultKind
from lampwright.faults.repair import repair_languages, repairs
from tests.faults.pieces import OF_MAINS, row

JOINT = 'joint = [{ at = "50 %", resistance = "20 mohm" }]'


def test_every_kind_of_fault_has_a_path_in_every_language() -> None:
    body = embody(row(2, garland=True, feed=JOINT))
    assert {fault.kind for fault in every_fault(body)} == set(FaultKind) - OF_MAINS
    assert repair_languages() == {"de", "en"}
    for language in repair_languages():
        found = repairs(body, language)
        assert {kind for each in found for kind in each.kinds} == set(FaultKind) - OF_MAINS
        assert all(each.steps for each in found)


def test_a_piece_without_spans_and_joints_says_nothing_of_them() -> None:
    kinds = {kind for each in repairs(embody(row(2))) for kind in each.kinds}
    assert FaultKind.SPAN_TORN not in kinds
    assert kinds == {fault.kind for fault in every_fault(embody(row(2)))}


def test_the_likeliest_comes_first() -> None:
    assert FaultKind.BOARD_RESET in repairs(embody(row(2)))[0].kinds


@pytest.mark.parametrize("language", ["en", "de"])
def test_what_is_seen_is_told_apart_in_plain_words(language: str) -> None:
    found = repairs(embody(row(2, garland=True, feed=JOINT)), language)
    begins = [" ".join(each.sees.split()[:8]) for each in found]
    assert len(set(begins)) == len(begins)
    for each in found:
        text = " ".join((each.sees, *each.steps)).lower()
        assert all(line.endswith(".") for line in (each.sees, *each.steps))
        assert max(len(step.split()) for step in each.steps) <= 35
        for jargon in ("rail", "firmware", "voltage", "current", "short circuit", "spannung", "strom", "masse"):
            assert jargon not in text


def test_nobody_is_told_to_touch_what_is_hot_or_leaning() -> None:
    for each in repairs(embody(row(2, garland=True))):
        if {FaultKind.RAIL_SHORT, FaultKind.POST_DOWN} & set(each.kinds):
            assert "get the person in charge" in " ".join(each.steps)

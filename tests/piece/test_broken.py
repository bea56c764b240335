"""Broken piece files: each gives exactly the message that its .txt holds."""

from __future__ import annotations

from pathlib import Path

import pytest

from lampwright.findings import codes
from lampwright.piece import piece_from_text
from lampwright.units import MakerError

FILES = sorted((Path(__file__).parent / "broken").glob("*.toml"))


def message_of(file: Path) -> MakerError:
    with pytest.raises(MakerError) as caught:
        piece_from_text(file.read_text(encoding="utf-8"), Path(file.name))
    return caught.value


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_the_whole_message_is_as_expected(file: Path) -> None:
    assert message_of(file).render() + "\n" == file.with_suffix(".txt").read_text(encoding="utf-8")


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_problems_come_in_file_order_and_point_into_the_file(file: Path) -> None:
    lines = file.read_text(encoding="utf-8").split("\n")
    places = [problem.place for problem in message_of(file).problems]
    positions = [(place.line, place.column) for place in places if place is not None]
    assert len(positions) == len(places)
    assert positions == sorted(positions)
    for place in places:
        assert place is not None
        assert place.text == lines[place.line - 1]
        assert 1 <= place.column <= len(place.text) + 1
        assert place.column + place.length <= len(place.text) + 2


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_each_message_can_be_explained(file: Path) -> None:
    assert {problem.code for problem in message_of(file).problems} <= set(codes())


def test_there_are_twenty_and_more_and_each_has_its_message() -> None:
    assert len(FILES) >= 20
    assert {file.stem for file in FILES} == {path.stem for path in FILES[0].parent.glob("*.txt")}


def test_several_faults_are_told_at_once() -> None:
    error = message_of(FILES[0].parent / "45-several-at-once.toml")
    assert [problem.code for problem in error.problems] == [
        "PIECE-004",
        "PIECE-005",
        "PARTS-001",
        "UNIT-003",
        "UNIT-001",
        "PIECE-018",
    ]


def test_columns_count_characters_not_bytes() -> None:
    error = message_of(FILES[0].parent / "44-letters-beyond-ascii.toml")
    marked = [
        problem.place.text[problem.place.column - 1 :][: problem.place.length]
        for problem in error.problems
        if problem.place is not None
    ]
    assert marked == ["½", '"ton❄"', "blå"]

"""Reading pieces: what stands in the file is what the later stages get."""

from __future__ import annotations

import datetime
import math
from pathlib import Path

import pytest

from lampwright.look import Change
from lampwright.parts import Status
from lampwright.piece import (
    Anchor,
    Ending,
    FixedSection,
    Hoop,
    SpanSection,
    Standby,
    Straight,
    Survive,
    piece_from_text,
    read_piece,
)
from lampwright.units import MakerError

EXAMPLE = Path(__file__).parents[2] / "examples" / "frost-gate" / "frost-gate.toml"


def test_frost_gate_is_four_circuits_with_garlands_on_the_first_three() -> None:
    piece = read_piece(EXAMPLE)
    assert piece.brief.name == "Frost Gate"
    assert piece.brief.date == datetime.date(2026, 12, 19)
    assert piece.brief.coldest == pytest.approx(268.15)
    assert piece.brief.survive == Survive(1, 0.75)
    assert [circuit.name for circuit in piece.circuits] == ["arch 1", "arch 2", "arch 3", "arch 4"]
    assert [circuit.number for circuit in piece.circuits] == [0, 1, 2, 3]
    assert [[run.name for run in circuit.runs] for circuit in piece.circuits] == [["hoop", "garland"]] * 3 + [["hoop"]]
    assert all(member.shape == Hoop(2.4, 2.6) for member in piece.members)
    assert [member.position[1] for member in piece.members] == pytest.approx([0.0, 1.8, 3.6, 5.4])
    assert sum(cue.length for cue in piece.show.cues) == 90 * 60
    assert piece.show.ending is Ending.REPEAT
    assert piece.show.frame_period == 0.04


def test_frost_gates_garlands_hang_from_crown_to_next_crown() -> None:
    piece = read_piece(EXAMPLE)
    for number, circuit in enumerate(piece.circuits[:3]):
        (garland,) = circuit.runs[1].sections
        assert isinstance(garland, SpanSection)
        assert garland.start == Anchor(piece.members[number], "crown")
        assert garland.end == Anchor(piece.members[number + 1], "crown")
        # Common practice, no source: 2.5 m of head clearance over a footpath.
        assert 2.6 - garland.sag >= 2.5


def test_sections_follow_the_circuits_own_member(read_changed) -> None:
    piece = read_changed()
    for member, circuit in zip(piece.members, piece.circuits, strict=True):
        (section,) = circuit.runs[0].sections
        assert section == FixedSection(member.name, member, 0.254, 0.0)


def test_the_cap_is_four_fifths_of_the_packs_limit_unless_stated(read_changed) -> None:
    assert [circuit.current_cap for circuit in read_changed().circuits] == pytest.approx([1.6] * 3)
    stated = read_changed(("each =", 'current_cap = "1.2 A"\neach ='))
    assert [circuit.current_cap for circuit in stated.circuits] == [1.2] * 3


def test_own_figures_of_a_part_are_taken_and_marked(read_changed) -> None:
    piece = read_changed(('"pack-10ah-2a"', '{ part = "pack-10ah-2a", current_limit = "1.5 A" }'))
    pack = piece.circuits[0].pack
    assert pack.current_limit.status is Status.MAKER
    assert piece.circuits[0].current_cap == pytest.approx(1.2)


def test_standby_and_ending_have_defaults(read_changed) -> None:
    piece = read_changed()
    assert piece.standby == Standby("#ffb060", 0.2, 0, 3)
    assert piece.show.ending is Ending.REPEAT
    assert read_changed(("fade =", "# fade =")).show.cues[0].fade == 0.0


def test_settings_come_out_as_written_for_the_look_to_judge_their_kind(read_changed) -> None:
    piece = read_changed(
        ("fade =", 'set = { pace = "12 /min", tint = "#CFE8ff", depth = { from = 0.4, to = 1 }, n = 3 }\nfade =')
    )
    assert piece.show.cues[0].settings == {"pace": "12 /min", "tint": "#CFE8ff", "depth": Change(0.4, 1.0), "n": 3.0}


def test_a_change_without_an_end_is_refused(read_changed) -> None:
    with pytest.raises(MakerError) as caught:
        read_changed(("fade =", "set = { depth = { from = 0.4 } }\nfade ="))
    assert "error PIECE-008: a setting that changes has a beginning and an end" in str(caught.value)


def test_how_white_and_steps_are_made_is_read(read_changed) -> None:
    piece = read_changed(("rate =", 'white = "balanced"\nsteps = "dithered"\nrate ='))
    assert piece.show.is_balanced
    assert piece.show.is_dithered


def test_later_stages_can_point_at_an_entry(read_changed) -> None:
    piece = read_changed()
    place = piece.source.find("cue", 0, "look")
    assert place is not None
    assert (place.file, place.line, place.column, place.length) == ("piece.toml", 45, 8, 10)
    table = piece.source.find("circuit", 0, "run", 1, "section", 0, "nothing here")
    assert table is not None
    assert table.text == "[[circuit.run.section]]"
    assert piece.source.find("circuit", 0, "run", 1, "section", 0, "span", "to") is not None


def test_dotted_keys_and_inline_tables_are_located_too() -> None:
    text = (
        'brief.name = "A"\nbrief."place" = "B"\nbrief.standby = "10"\n'
        'member = [\n  # a comment\n  { name = \'post\', shape = "straight", length = "2 kg" },\n]\n'
    )
    with pytest.raises(MakerError) as caught:
        piece_from_text(text, Path("p.toml"))
    places = {
        problem.code: (problem.place.line, problem.place.column) for problem in caught.value.problems if problem.place
    }
    assert places["UNIT-001"] == (3, 18)
    assert places["UNIT-003"] == (6, text.split("\n")[5].index("kg") + 1)


def test_a_date_in_the_past_is_no_error(read_changed) -> None:
    assert read_changed(("2026-10-31", "1999-01-01")).brief.date.year == 1999


def test_a_rate_of_five_digits_gives_whole_milliseconds(read_changed) -> None:
    assert read_changed(('"40 /s"', '"30.303 /s"')).show.frame_period == 0.033
    assert read_changed(('"40 /s"', '"29.412 /s"')).show.frame_period == 0.034


def test_a_grid_has_neighbours_only_within_a_row(read_changed) -> None:
    piece = read_changed(
        (
            '{ pattern = "row", count = 3, step = ["2 m", "0 m", "0 m"] }',
            '{ pattern = "grid", count = [3, 2], step = ["2 m", "1.5 m"] }',
        )
    )
    assert [member.position for member in piece.members] == [
        (0.0, 0.0, 0.0),
        (2.0, 0.0, 0.0),
        (4.0, 0.0, 0.0),
        (0.0, 1.5, 0.0),
        (2.0, 1.5, 0.0),
        (4.0, 1.5, 0.0),
    ]
    assert [len(circuit.runs) for circuit in piece.circuits] == [2, 2, 1, 2, 2, 1]
    ends = [circuit.runs[1].sections[0].end.member.name for circuit in piece.circuits if len(circuit.runs) == 2]
    assert ends == ["post 2", "post 3", "post 5", "post 6"]


RING = (
    '{ pattern = "row", count = 3, step = ["2 m", "0 m", "0 m"] }',
    '{ pattern = "ring", count = 4, radius = "3 m" }',
)


def test_a_ring_stands_around_its_middle_and_closes(read_changed) -> None:
    piece = read_changed(RING, ("repeat =", 'at = ["1 m", "2 m", "0 m"]\nrepeat ='), ('skip = "last"\n', ""))
    assert [member.position[:2] for member in piece.members] == [
        pytest.approx(place) for place in [(4.0, 2.0), (1.0, 5.0), (-2.0, 2.0), (1.0, -1.0)]
    ]
    ends = [circuit.runs[1].sections[0].end.member.name for circuit in piece.circuits]
    assert ends == ["post 2", "post 3", "post 4", "post 1"]


def test_posts_of_a_ring_lean_outward(read_changed) -> None:
    piece = read_changed(RING, ("repeat =", 'lean = "10 deg"\nrepeat ='))
    assert [member.turn for member in piece.members] == pytest.approx([0, math.pi / 2, math.pi, 3 * math.pi / 2])
    assert all(isinstance(member.shape, Straight) for member in piece.members)


def test_hoops_of_a_ring_have_their_left_foot_on_the_left_seen_from_outside(read_changed) -> None:
    piece = read_changed(
        RING,
        ('shape = "straight"\nlength = "6 ft 6 in"', 'shape = "hoop"\nwidth = "1 m"\nheight = "2 m"'),
        ('from = "top", to = "next top"', 'from = "crown", to = "next crown"'),
    )
    # The first stands at +x; who looks at it from further out has +y on the right.
    left_foot_y = -0.5 * math.sin(piece.members[0].turn)
    assert left_foot_y == pytest.approx(-0.5)


def test_points_can_be_named_in_full_without_each(read_changed) -> None:
    piece = read_changed(
        ('each = "post"\n', ""),
        ('on = "post"', 'on = "post 3"'),
        ('skip = "last"\n', ""),
        ('from = "top", to = "next top"', 'from = "post 1 top", to = "post 3 foot"'),
    )
    (circuit,) = piece.circuits
    assert circuit.name == "post"
    span = circuit.runs[1].sections[0]
    assert (span.start.member.name, span.start.point) == ("post 1", "top")
    assert (span.end.member.name, span.end.point) == ("post 3", "foot")


def test_a_lone_member_gives_one_circuit_under_its_own_name(read_changed) -> None:
    piece = read_changed(("repeat =", "# repeat ="))
    assert [member.name for member in piece.members] == ["post"]
    assert [circuit.name for circuit in piece.circuits] == ["post"]
    assert [run.name for run in piece.circuits[0].runs] == ["light"]


def test_a_member_that_could_not_be_read_is_not_called_unknown_too(read_changed) -> None:
    with pytest.raises(MakerError) as caught:
        read_changed(("6 ft 6 in", "6 ft 6"))
    assert [problem.code for problem in caught.value.problems] == ["UNIT-001"]


@pytest.mark.parametrize("ending", ["\n", "\r\n"])
def test_line_ends_of_any_system_can_be_read(valid_text: str, ending: str, tmp_path: Path) -> None:
    file = tmp_path / "piece.toml"
    file.write_bytes(b"\xef\xbb\xbf" + valid_text.replace("\n", ending).encode())
    assert len(read_piece(file).circuits) == 3


def test_a_file_that_is_not_there_says_so(tmp_path: Path) -> None:
    file = tmp_path / "gone.toml"
    with pytest.raises(MakerError) as caught:
        read_piece(file)
    assert caught.value.render() == (
        f"error PIECE-001: there is no such file\nfound:   {file}\n"
        "allowed: a piece file: TOML text in UTF-8\n"
        'do:      check the path, or begin one with "lampwright new"   (lampwright explain PIECE-001)'
    )


def test_a_folder_or_a_picture_is_refused_with_a_message(tmp_path: Path) -> None:
    picture = tmp_path / "picture.toml"
    picture.write_bytes(b"\x89PNG\xff\xfe")
    with pytest.raises(MakerError, match="error PIECE-001: this is not a text file in UTF-8"):
        read_piece(picture)
    with pytest.raises(MakerError, match="error PIECE-001: "):
        read_piece(tmp_path)

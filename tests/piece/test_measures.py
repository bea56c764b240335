"""One change of a measure carries through the whole piece, and no other number moves."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lampwright.look.source import Change
from lampwright.page.fields import changed as changed_field
from lampwright.page.fields import fields_of
from lampwright.piece import Piece, piece_from_text
from lampwright.piece.model import Hoop, SpanSection, Straight
from lampwright.units import MakerError

FROST_GATE = (Path(__file__).parents[2] / "examples" / "frost-gate" / "frost-gate.toml").read_text(encoding="utf-8")
MEASURES = '[measures]\nheight = "6 ft 6 in"\ngap = "2 m"\nposts = 3\nlap = "20 s"\n\n[brief]'


def frost_gate(*changes: tuple[str, str]) -> Piece:
    text = FROST_GATE
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    return piece_from_text(text, Path("piece.toml"))


@settings(max_examples=25, deadline=None)
@given(st.integers(500, 6000), st.integers(0, 3000), st.integers(500, 5000))
def test_one_change_of_span_carries_through(span: int, legs: int, gap: int) -> None:
    piece = frost_gate(
        ('span = "2.4 m"', f'span = "{span} mm"'),
        ('legs = "1.4 m"', f'legs = "{legs} mm"'),
        ('gap = "1.8 m"', f'gap = "{gap / 10} cm"'),
    )
    assert {member.shape for member in piece.members} == {Hoop(span / 1000, (2 * legs + span) / 2000)}
    assert [member.position[1] for member in piece.members] == pytest.approx([gap / 1000 * n for n in range(4)])
    half = legs / 1000 + 3.141592653589793 * span / 4000
    (cable,) = {feed.cable.length for circuit in piece.circuits for feed in circuit.runs[0].feeds[1:]}
    assert half + 0.1 - 1e-9 <= cable <= half + 0.2 + 1e-9
    assert round(cable * 10, 9).is_integer()


def test_written_out_the_piece_is_the_same() -> None:
    written = frost_gate(
        ('"= span"', '"2.4 m"'),
        ('"= legs + span / 2"', '"2.6 m"'),
        ('"= gap"', '"1.8 m"'),
        ('"= cable"', '"3.4 m"'),
        ('"= gap + 20 cm"', '"2 m"'),
    )
    by_measures = frost_gate()
    assert (written.members, written.circuits) == (by_measures.members, by_measures.circuits)


def test_any_number_can_be_a_formula(read_changed: Callable[..., Piece]) -> None:
    piece = read_changed(
        ("[brief]", MEASURES),
        ('standby = "5 min"', 'standby = "= 15 * lap"'),
        ('coldest = "2 degC"', 'coldest = "= 7 degC - 5 K"'),
        ('lit = "50 %"', 'lit = "= 1/2"'),
        ('length = "6 ft 6 in"', 'length = "= height"'),
        ("count = 3", 'count = "= posts"'),
        ('["2 m", "0 m", "0 m"]', '["= gap", "= 0 m", "0 m"]'),
        ('pack = "pack-10ah-2a"', 'pack = { part = "pack-10ah-2a", current_limit = "= 1.5 A + 300 mA" }'),
        ('sag = "10 cm"', 'sag = "= gap / 20"'),
        ('rate = "40 /s"', 'rate = "= 40 * 20 / lap"'),
        ('fade = "8 s"', 'fade = "8 s"\nset = { pace = "= 1 / lap", depth = { from = "= 1/4", to = 0.5 } }'),
    )
    assert (piece.brief.standby, piece.brief.coldest, piece.brief.survive.lit) == (300.0, 275.15, 0.5)
    assert [member.shape for member in piece.members] == 3 * [Straight(6.5 * 0.3048, 0.0)]
    assert [member.position for member in piece.members] == [(0.0, 0.0, 0.0), (2.0, 0.0, 0.0), (4.0, 0.0, 0.0)]
    limit = piece.circuits[0].pack.current_limit
    assert (limit.value, limit.text) == (1.8, "1.8 A")
    span = piece.circuits[0].runs[1].sections[0]
    assert isinstance(span, SpanSection)
    assert span.sag == 0.1
    assert piece.show.frame_period == 0.025
    assert dict(piece.show.cues[0].settings) == {"pace": "0.05 /s", "depth": Change(0.25, 0.5)}


def test_a_measure_at_fault_is_told_once_and_not_where_it_is_used(read_changed: Callable[..., Piece]) -> None:
    with pytest.raises(MakerError) as caught:
        read_changed(
            ("[brief]", '[measures]\nheight = "2 mtr"\nhalf = "= height / 2"\n\n[brief]'),
            ('length = "6 ft 6 in"', 'length = "= height"'),
            ('bare_start = "10 in"', 'bare_start = "= half"'),
        )
    assert [problem.code for problem in caught.value.problems] == ["UNIT-002"]


def test_a_word_that_is_a_measure_too_still_says_what_it_said(read_changed: Callable[..., Piece]) -> None:
    piece = read_changed(("[brief]", '[measures]\nrow = "2 m"\nstraight = 3\nlight = 1\npost = 1\n\n[brief]'))
    assert [circuit.name for circuit in piece.circuits] == ["post 1", "post 2", "post 3"]


def test_long_chains_are_worked_out_and_endless_ones_refused(read_changed: Callable[..., Piece]) -> None:
    def chain(n: int) -> str:
        lines = "".join(f'a{i} = "= a{i + 1} * a{i + 1} / a{i + 1}"\n' for i in range(n))
        return f'[measures]\n{lines}a{n} = "2 m"\n\n[brief]'

    piece = read_changed(("[brief]", chain(30)), ('length = "6 ft 6 in"', 'length = "= a0"'))
    assert piece.members[0].shape == Straight(2.0, 0.0)
    with pytest.raises(MakerError) as caught:
        read_changed(("[brief]", chain(500)))
    assert {problem.code for problem in caught.value.problems} == {"MEASURE-003"}


@pytest.mark.parametrize("typed", ["= gap", "= gap / 2 + 1 ft", "3 m"])
def test_formulas_are_changed_on_the_page_as_they_are_typed(typed: str) -> None:
    field = next(field for field in fields_of(FROST_GATE) if field.path == ("member", 0, "width"))
    assert field.value == "= span"
    text = changed_field(FROST_GATE, field, typed)
    assert f'width = "{typed}"' in text
    measure = next(field for field in fields_of(text) if field.path == ("measures", "legs"))
    assert (measure.table, measure.comment) == ("measures", "upright, below the half circle")
    piece = piece_from_text(changed_field(text, measure, "4 m"), Path("piece.toml"))
    assert piece.members[0].shape == Hoop({"= gap": 1.8, "= gap / 2 + 1 ft": 1.2048, "3 m": 3.0}[typed], 5.2)

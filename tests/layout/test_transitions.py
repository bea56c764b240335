"""Strip that is folded or reaches for a pixel that isn't there breaks on the night."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from lampwright.findings.model import Severity
from lampwright.layout import Layout, check_layout, lay_out
from lampwright.layout.transitions import transitions
from lampwright.piece.model import Anchor, FixedSection, Joint, Member, Piece, Section, SpanSection, Straight
from tests.layout.conftest import BuildPiece

POST = Member("post", Straight(2.0, 0.0), (0.0, 0.0, 0.0), 0.0)
OTHER = Member("other", Straight(2.0, 0.0), (0.5, 0.0, 0.0), 0.0)


def of(build: BuildPiece, *sections: Section) -> Layout:
    return lay_out(build(*sections))


def with_joint(piece: Piece, at: float) -> Piece:
    (circuit,) = piece.circuits
    run = replace(circuit.runs[0], joints=(Joint(at, 0.02),))
    return replace(piece, circuits=(replace(circuit, runs=(run,)),))


def test_strip_that_goes_straight_on_is_whole(piece_of: BuildPiece) -> None:
    halves = FixedSection("low", POST, 0.0, 1.0), FixedSection("high", POST, 1.0, 0.0)
    layout = of(piece_of, *halves)
    (way,) = transitions(layout.circuits[0])
    assert (way.gap, way.radius, way.is_cut) == (pytest.approx(0.0, abs=1e-9), math.inf, False)
    assert check_layout(layout) == ()


def test_strip_folded_back_is_cut(piece_of: BuildPiece) -> None:
    layout = of(piece_of, FixedSection("up", POST, 0.0, 0.0), FixedSection("down", POST, 0.0, 0.0, is_back=True))
    (way,) = transitions(layout.circuits[0])
    assert way.radius == pytest.approx(1 / 60 / math.pi)  # half around within one pitch
    assert way.is_cut


def test_strip_does_not_jump_to_another_post(piece_of: BuildPiece) -> None:
    layout = of(piece_of, FixedSection("up", POST, 0.0, 0.0), FixedSection("down", OTHER, 0.0, 0.0, is_back=True))
    (way,) = transitions(layout.circuits[0])
    assert (way.gap, way.is_cut) == (pytest.approx(0.5), True)


def test_transition_from_post_to_span_is_a_turn_of_its_own(piece_of: BuildPiece) -> None:
    span = SpanSection("span", Anchor(POST, "top"), Anchor(OTHER, "top"), 0.05)
    layout = of(piece_of, FixedSection("up", POST, 0.0, 0.0), span)
    (way,) = transitions(layout.circuits[0])
    assert way.is_cut
    # Up, then off at the span's end slope: tan = sinh(u), with u by L sinh(u)/u tanh(u/2) / 2 = 0.05 for L 0.5.
    assert way.radius == pytest.approx(1 / 60 / (math.pi / 2 + math.atan(math.sinh(0.3948))), rel=0.03)


def test_a_joint_that_the_file_states_satisfies_and_the_advice_is_what_satisfies(piece_of: BuildPiece) -> None:
    piece = piece_of(FixedSection("up", POST, 0.0, 0.0), FixedSection("down", OTHER, 0.0, 0.0, is_back=True))
    (finding,) = check_layout(lay_out(piece))
    assert (finding.code, finding.severity) == ("LAYOUT-007", Severity.WARN)
    # 0.5 m and 23 cm of AWG 20 at 33.31 mohm a metre are 24.3 mohm; two soldered joints make it 27.
    assert 'joint = [{ at = "50 %", resistance = "27 mohm" }]' in finding.do
    (finding,) = check_layout(lay_out(with_joint(piece, 0.5)))
    assert (finding.severity, finding.value, finding.do) == (Severity.PASS, "1 of 1 stated as joints", "")

"""Wires and readings of the piece file come through to the findings, and what is wired wrongly stops the work."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from lampwright.piece import Piece
from lampwright.signoff import Silent, sign_off
from lampwright.units import MakerError

Small = Callable[..., Piece]
FAR_FEED = '{ at = "100 %", wire = "awg-18", length = "4.3 m" },'
READINGS = """
[[circuit.reading]]
pattern = "dark"
current = "0.2 A"
head = "4.96 V"
far_end = "4.95 V"
[[circuit.reading]]
pattern = "red"
level = "20 %"
current = "0.95 A"
head = "4.82 V"
far_end = "4.78 V"
"""


def lowest(piece: Piece) -> float:
    return float(sign_off(piece, Silent()).rails[0].lowest.min())


def test_a_feed_left_out_lowers_the_far_end(small: Small) -> None:
    assert lowest(small((FAR_FEED, ""))) < lowest(small()) - 0.05


def test_every_feed_taken_away_is_told_at_its_circuit(small: Small) -> None:
    near_feed = '{ at = "0 %", wire = "awg-18", length = "0.3 m" },'
    with pytest.raises(MakerError) as caught:
        sign_off(small((FAR_FEED, ""), (near_feed, "")), Silent())
    assert [problem.code for problem in caught.value.problems] == ["POWER-017", "POWER-017"]
    assert caught.value.render().startswith("small.toml:17:1: error POWER-017: no plus wire leads from the pack")


def test_a_feed_from_a_run_that_does_not_exist_names_those_that_do(small: Small) -> None:
    with pytest.raises(MakerError) as caught:
        small((FAR_FEED, '{ at = "100 %", wire = "awg-18", length = "4.3 m", from = "ligth" },'))
    (problem,) = caught.value.problems
    assert (problem.code, problem.found, problem.do) == ("PIECE-028", '"ligth"', 'did you mean "light"?')


def test_findings_say_measured_after_readings(small: Small) -> None:
    report = sign_off(small(("\n[[circuit.run]]", READINGS + "\n[[circuit.run]]")), Silent())
    finding = next(each for each in report.findings if each.code == "POWER-010")
    # 0.95 A less 240 x 0.7 mA and the board's 30 mA, over 240 pixels at a fifth: some 16 mA full on
    assert "red 15." in finding.basis or "red 16." in finding.basis
    assert "(measured)" in finding.basis

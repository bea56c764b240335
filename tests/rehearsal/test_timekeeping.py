"""Circuits that run apart are told so, by figures worked out elsewhere.

Source: worked figures of the project's reference sheet, I1 and I2: two boards apart at worst, computed from their
clocks' errors; here with the standby left out and both switched on together.
"""

from __future__ import annotations

import dataclasses
from pathlib import Path

import pytest

from lampwright.findings.model import Severity
from lampwright.layout import lay_out
from lampwright.piece import piece_from_text
from lampwright.piece.model import Piece
from lampwright.rehearsal import judge_timekeeping
from lampwright.rehearsal.timekeeping import apart_after, noticed_after
from lampwright.show import CircuitShow, compile_show
from tests.small_piece import small_piece

ROW = 'repeat = { pattern = "row", count = 2, step = ["1 m", "0 m", "0 m"] }\n'


def two_posts(spread: str, stagger: str = "0 s") -> tuple[Piece, tuple[CircuitShow, ...]]:
    text = small_piece(power_loss=f'switch_on_spread = "{spread}"\n', circuit='each = "post"\n')
    text = text.replace('length = "1 m"\n', f'length = "1 m"\n{ROW}', 1)
    text = text.replace('fade = "1 s"', f'fade = "1 s"\nstagger = "{stagger}"', 1)
    piece = piece_from_text(text, Path("posts.toml"))
    return piece, compile_show(lay_out(piece))


@pytest.mark.parametrize(
    ("tolerance", "minutes", "apart"),
    [(0.005, 5, 3.0), (0.005, 35, 21), (0.01, 5, 6.0), (0.01, 35, 42), (30e-6, 5, 0.018), (30e-6, 35, 0.126)],
)
def test_clocks_alone_bring_circuits_apart_as_reckoned(tolerance: float, minutes: float, apart: float) -> None:
    assert apart_after(0.0, tolerance, 60 * minutes) == pytest.approx(apart)


@pytest.mark.parametrize(
    ("tolerance", "threshold", "seconds", "rounding"),
    [(0.005, 0.04, 4.0, 0.05), (30e-6, 0.04, 11.1 * 60, 3), (0.005, 0.1, 10, 0.5), (30e-6, 0.1, 27.8 * 60, 3)],
)
def test_how_soon_it_is_noticed(tolerance: float, threshold: float, seconds: float, rounding: float) -> None:
    assert noticed_after(tolerance, threshold) == pytest.approx(seconds, abs=rounding)


def test_circuits_switched_on_by_hand_are_told_to_run_apart() -> None:
    piece, shows = two_posts("90 s")
    finding = judge_timekeeping(piece, shows, ())
    assert finding is not None
    assert (finding.code, finding.severity, finding.subject) == ("REHEARSAL-015", Severity.NOTE, "Small")
    # 80 ppm, both ways, over 1 min and over 61 min: 9.6 ms and 0.59 s
    assert finding.value == "90 s apart when the show starts, 91 s after 1 h 1 min"


def test_a_look_that_travels_is_warned_of() -> None:
    piece, shows = two_posts("0 s", stagger="0.5 s")
    finding = judge_timekeeping(piece, shows, ())
    assert finding is not None
    assert finding.severity is Severity.WARN
    assert "a cue's stagger of 500 ms" in finding.summary
    piece, shows = two_posts("0 s", stagger="2 s")
    finding = judge_timekeeping(piece, shows, ())
    assert finding is not None
    assert finding.severity is Severity.NOTE


def test_one_circuit_is_never_out_of_step() -> None:
    piece, shows = two_posts("90 s")
    finding = judge_timekeeping(piece, shows[:1], ())
    assert finding is not None
    assert (finding.severity, finding.value) == (Severity.PASS, "4.8 ms at the start, 293 ms after 1 h 1 min")


def test_circuits_that_keep_in_step_pass() -> None:
    piece, shows = two_posts("0 s")
    brief = dataclasses.replace(piece.brief, run_time=60.0)
    finding = judge_timekeeping(dataclasses.replace(piece, brief=brief), shows, ())
    assert finding is not None
    assert (finding.severity, finding.value) == (
        Severity.PASS,
        "9.6 ms apart when the show starts, 19.2 ms after 2 min",
    )

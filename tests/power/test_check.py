"""What the maker is told about draw, limiter and voltage."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from numpy.typing import NDArray

from lampwright.findings.model import Finding, Severity
from lampwright.parts import Diode, Port, find
from lampwright.piece.model import Bank, Joined, Piece
from lampwright.power import Draw, check_power
from lampwright.show.model import CircuitShow

BuildShow = Callable[..., CircuitShow]
BuildPiece = Callable[..., Piece]
MeasureFrames = Callable[[CircuitShow, NDArray[np.uint8]], Draw]


def grey(levels: list[int], n_pixel: int = 100) -> NDArray[np.uint8]:
    """Return frames in which all pixels stand at one code."""
    return np.repeat(np.array(levels, dtype=np.uint8), n_pixel * 3).reshape(len(levels), n_pixel, 3)


@pytest.fixture
def judge(measure: MeasureFrames, piece_with: BuildPiece) -> Callable[..., dict[str, Finding]]:
    """Return the findings by code."""

    def run(show: CircuitShow, levels: list[int], **brief: float) -> dict[str, Finding]:
        draw = measure(show, grey(levels, show.n_pixel))
        return {finding.code: finding for finding in check_power(show, piece_with(**brief), draw)}

    return run


Judge = Callable[..., dict[str, Finding]]


def test_a_calm_show_passes_everything(show_of: BuildShow, judge: Judge) -> None:
    findings = judge(show_of(), [10, 20, 30, 20])
    assert set(findings) == {"POWER-001", "POWER-002", "POWER-005"}
    assert {finding.severity for finding in findings.values()} == {Severity.PASS}
    assert all(finding.do == "" for finding in findings.values())


def test_peak_and_means_are_named(show_of: BuildShow, judge: Judge) -> None:
    finding = judge(show_of(standby_frames=2, pass_frames=2, frame_ms=1000), [0, 51, 0, 34])["POWER-001"]
    assert finding.value == "1.33 A"  # 30 mA board + 100 mA dark + a fifth of 6 A
    assert finding.limit == "at most 2 A"
    assert finding.margin == pytest.approx(1 - 1.33 / 2.0)
    assert finding.summary == "peak draw, 1 s after power-on; mean 530 mA in the show, 730 mA in standby"


def test_a_limiter_set_above_the_pack_overdraws_it_and_the_cap_that_fits_is_named(
    show_of: BuildShow, judge: Judge
) -> None:
    finding = judge(show_of(current_cap=9.0), [0, 255, 0, 0], brightness=1.0)["POWER-001"]
    assert finding.severity is Severity.FAIL
    assert (finding.value, finding.limit) == ("6.13 A", "at most 2 A")
    # (1.6 - 0.13) / 6.0 = 24.5 %, code 255 × 0.245 = 62.5; both rounded down
    assert finding.do == (
        'leave current_cap out, or write current_cap = "1.6 A", and write brightness = "24 %" '
        'or choose a stronger pack (all pixels white would need "24 %", code 62 of 255)'
    )


def test_a_limiter_set_above_the_pack_is_warned_of_even_if_this_show_fits(show_of: BuildShow, judge: Judge) -> None:
    finding = judge(show_of(current_cap=9.0), [0, 51, 0, 0])["POWER-001"]
    assert finding.severity is Severity.WARN
    assert finding.do == ('the limiter would let 9 A through: leave current_cap out, or write current_cap = "1.6 A"')


def test_dark_strip_that_overdraws_the_pack_alone_is_not_answered_with_a_brightness(
    show_of: BuildShow, judge: Judge
) -> None:
    finding = judge(show_of(pack={"current_limit": "100 mA"}, current_cap=9.0), [0, 0, 0, 0])["POWER-001"]
    assert finding.severity is Severity.FAIL
    assert finding.do == (
        "the dark strip and the board alone take 130 mA: choose a stronger pack or put fewer pixels on this circuit"
    )


def test_a_pack_too_small_for_the_looks_is_named_with_the_brightness_that_fits(
    show_of: BuildShow, judge: Judge
) -> None:
    finding = judge(show_of(), [127, 0, 127, 0], brightness=0.5)["POWER-002"]
    assert finding.severity is Severity.WARN
    # scale 37,485,000 // (76,200,000 // 256 + 1) = 125, so code 127 × 125 >> 8 = 62, of 127
    assert finding.summary == "the limiter dims 50 % of the frames, at worst to 49 % of their light"
    assert (finding.value, finding.limit) == ("3.12 A asked for", "at most 1.6 A")
    # light 6 A × 127/255 = 2.988 A at 50 %; 1.47 A is left: 50 % × 0.4919 = 24.6 %, rounded down
    assert finding.do == (
        'write brightness = "24 %" or choose a stronger pack (all pixels white would need "24 %", code 62 of 255)'
    )


def test_a_rare_dimming_is_only_a_note(show_of: BuildShow, judge: Judge) -> None:
    show = show_of(pass_frames=100)
    assert judge(show, [255] + [10] * 99)["POWER-002"].severity is Severity.NOTE


def test_twelve_volts_on_a_five_volt_strip_is_a_failure(show_of: BuildShow, judge: Judge) -> None:
    finding = judge(show_of(pack={"output_voltage": "12 V"}), [0] * 4)["POWER-005"]
    assert finding.severity is Severity.FAIL
    assert finding.value == "12 V"
    assert finding.do == "choose pack and board for the strip's voltage; too much destroys every pixel"


def test_a_3v3_board_beside_a_five_volt_strip_has_a_regulator_and_passes(show_of: BuildShow, judge: Judge) -> None:
    finding = judge(show_of(board={"supply": "3.3 V"}), [0] * 4)["POWER-005"]
    assert finding.severity is Severity.PASS
    assert (finding.value, finding.limit) == ("5 V", "4.5 V to 5.3 V")  # the strip's window alone


def test_a_3v3_board_saves_no_strip_from_too_much_voltage(show_of: BuildShow, judge: Judge) -> None:
    finding = judge(show_of(board={"supply": "3.3 V"}, pack={"output_voltage": "9 V"}), [0] * 4)["POWER-005"]
    assert finding.severity is Severity.FAIL


def test_a_plain_diode_that_takes_too_much_is_named_as_the_cause(show_of: BuildShow, judge: Judge) -> None:
    bank = Bank(2, Joined.PLAIN_DIODE, find(Diode, "diode-1n5822"))
    finding = judge(show_of(bank=bank), [0] * 4)["POWER-005"]
    assert (finding.severity, finding.value) == (Severity.FAIL, "4.47 V")
    assert finding.do == 'the diode takes what is missing: write joined = "ideal diode"'


def test_a_port_that_leaves_nothing_for_light_is_not_answered_with_no_brightness(
    show_of: BuildShow, judge: Judge
) -> None:
    # 400 mA of a USB 2.0 port, 330 mA dark: 70 mA for 18 A of light
    show = show_of(300, bank=Bank(port=find(Port, "usb-2")), current_cap=0.4)
    finding = judge(show, [127, 0, 127, 0], brightness=0.5)["POWER-002"]
    assert finding.do == (
        "choose a stronger pack or port or put fewer pixels on this circuit: not even 1 % of brightness fits"
    )


def test_basis_tells_which_figures_are_the_makers_own(show_of: BuildShow, judge: Judge) -> None:
    basis = judge(show_of(), [0] * 4)["POWER-001"].basis
    assert basis == (
        "board + pixels × quiescent + codes / 255 × channel current, every frame; board 30 mA (maker), "
        "quiescent 1 mA (maker), red 20 mA (maker), green 20 mA (maker), blue 20 mA (maker), "
        "pack limit 2 A (common practice)"
    )

"""A board's clock that is off must shift what it should, and nothing else."""

from __future__ import annotations

import pytest

from lampwright.chip import ResetCause
from tests.chip.assembler import CLOCK_HZ, DATA_LINE, SENDER, chip_with

SEND_ONE = f"""
    sbi IO(DDRD), 6
    ldi r24, 0x0f
    sts 0x0300, r24
    ldi r26, 0
    ldi r27, 3
    ldi r18, 1
    rcall send
    rjmp .-2
{SENDER}
"""

WATCHDOG = """
    wdr
    put WDTCSR, (1 << WDCE) | (1 << WDE)
    put WDTCSR, (1 << WDE)
    rjmp .-2
"""


@pytest.mark.parametrize(("error", "is_kept"), [(0.0, True), (0.05, True), (-0.05, True), (0.2, True), (-0.2, False)])
def test_bits_of_a_wrong_clock_are_held_against_true_time(error: float, is_kept: bool) -> None:
    # 6, 14, 13, 7 cycles at 16 MHz: 375, 875, 812, 438 ns. Windows (WS2812B datasheet): 250-550, 700-1000,
    # 650-950, 300-600 ns. At +20 % a one's high lasts 677 ns, still right, a zero's low 729 and a one's low 365;
    # at -20 % a one's high lasts 1016 ns, too long
    chip = chip_with(SEND_ONE, DATA_LINE, clock_error=error)
    chip.run(100_000)
    report = chip.report(0)
    assert report.longest == {"zero high": 6, "zero low": 14, "one high": 13, "one low": 7}
    assert (report.n_breach == 0) == is_kept


@pytest.mark.parametrize("error", [0.0, 0.01, -0.1])
def test_the_watchdog_keeps_its_own_time(error: float) -> None:
    chip = chip_with(WATCHDOG, clock_error=error)
    assert chip.true_clock_hz == pytest.approx(CLOCK_HZ * (1 + error))
    due = 2048 / 128e3 * chip.true_clock_hz  # 16 ms of the 128 kHz oscillator (datasheet, from memory)
    chip.run(round(due) - 100)
    assert chip.watchdog_resets == 0
    chip.run(round(due) + 100)
    assert chip.watchdog_resets == 1


def test_a_brown_out_holds_the_chip_with_its_pins_low() -> None:
    chip = chip_with("    inc r20\n    rjmp .-4\n", clock_error=0.01, start_up=1e-3)
    chip.run(1_000)
    before, counted = chip.cycle, chip.memory[20]
    chip.reset(ResetCause.BROWN_OUT, held=0.5)
    assert chip.cycle == before + round(0.5 * CLOCK_HZ * 1.01) + 16_000
    assert chip.memory[20] == counted
    assert chip.program_address == 0
    again = chip.cycle
    chip.reset(ResetCause.BROWN_OUT)
    assert chip.cycle == again + 16_000

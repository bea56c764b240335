"""Whether a hung core is reset when the chip's watchdog would, and what is left afterwards.

Source: ATmega328P datasheet, "Watchdog Timer" and "MCUSR" (from memory).
"""

from __future__ import annotations

import pytest

from lampwright.chip import BenchStoppedError, ResetCause
from tests.chip.assembler import DATA_LINE, chip_with

# counts its starts in r16 and keeps MCUSR of the last one in r17, then sets the watchdog and feeds it or not
STARTS = """
    in r17, IO(MCUSR)
    inc r16
    ldi r24, 0
    out IO(MCUSR), r24
    wdr
    put WDTCSR, (1 << WDCE) | (1 << WDE)
    put WDTCSR, {setting}
loop:
    {feed}
    rjmp loop
"""
UNTIL_SET = 1 + 1 + 1 + 1 + 1 + 3  # cycles to the end of the first write of WDE, where the count begins
POWER_ON, EXTERNAL, BROWN_OUT, WATCHDOG = 1, 2, 4, 8


@pytest.mark.parametrize(
    ("setting", "milliseconds"),
    # nominal time-outs of the datasheet's table are rounded; 2048 periods of 128 kHz doubled are exact
    [(0, 16), (1, 32), (2, 64), (3, 128), (4, 256), (5, 512), (6, 1024), (7, 2048), (0x20, 4096), (0x21, 8192)],
)
def test_a_time_out_resets_after_its_setting(setting: int, milliseconds: int) -> None:
    chip = chip_with(STARTS.format(setting=f"(1 << WDE) | {setting}", feed="nop"))
    starts = chip.memory[16]
    time_out = UNTIL_SET + 16_000 * milliseconds
    chip.run(time_out - 3)
    assert chip.watchdog_resets == 0
    assert chip.memory[16] == (starts + 1) % 256
    chip.run(time_out + 5)
    assert chip.memory[16] == (starts + 2) % 256
    assert chip.memory[17] == WATCHDOG


def test_a_slow_oscillator_makes_it_late() -> None:
    chip = chip_with(STARTS.format(setting="(1 << WDE) | 4", feed="nop"), watchdog_error=0.1)
    starts = chip.memory[16]
    chip.run(UNTIL_SET + round(16_000 * 256 * 1.1) - 3)
    assert chip.memory[16] == (starts + 1) % 256
    chip.run(UNTIL_SET + round(16_000 * 256 * 1.1) + 5)
    assert chip.memory[16] == (starts + 2) % 256


def test_a_fed_watchdog_never_resets() -> None:
    chip = chip_with(STARTS.format(setting="(1 << WDE)", feed="wdr"))
    starts = chip.memory[16]
    chip.run(20_000_000)
    assert chip.memory[16] == (starts + 1) % 256


def test_a_hang_is_ended_by_the_watchdog_with_ram_and_registers_kept() -> None:
    chip = chip_with(STARTS.format(setting="(1 << WDE) | 4", feed="wdr"))
    chip.run(100_000)
    before = chip.memory
    chip.hang()
    chip.run(100_000 + 16_000 * 256 - 20)
    assert chip.memory[16] == before[16]
    chip.run(100_000 + 16_000 * 256 + 20)
    after = chip.memory
    assert (after[16], after[17]) == ((before[16] + 1) % 256, WATCHDOG)
    assert after[0x100:] == before[0x100:]
    assert after[:16] == before[:16]


def test_a_hang_without_a_watchdog_lasts() -> None:
    chip = chip_with("inc r16\n rjmp .-4")
    chip.run(1000)
    chip.hang()
    before = chip.memory
    chip.run(10**10)
    assert chip.cycle >= 10**10
    assert chip.memory == before


def test_a_hang_leaves_the_pins_as_they_are() -> None:
    chip = chip_with("ldi r16, 0x40\n out IO(DDRD), r16\n out IO(PORTD), r16\n rjmp .-2", DATA_LINE)
    chip.run(100)
    chip.hang()
    chip.run(100_000)
    assert chip.report(0).n_bit == 0  # still high: no bit has ended
    chip.reset(ResetCause.EXTERNAL)
    assert chip.report(0).n_bit == 1


def test_a_change_that_comes_late_is_ignored() -> None:
    late = STARTS.replace("put WDTCSR, {setting}", "nop\n nop\n put WDTCSR, {setting}")
    chip = chip_with(late.format(setting="0", feed="nop"))
    starts = chip.memory[16]
    chip.run(UNTIL_SET + 256_000 + 20)  # it was to be switched off, and still runs
    assert chip.memory[16] == (starts + 2) % 256


def test_after_its_reset_it_runs_on_at_the_shortest_time_out_until_it_is_set() -> None:
    chip = chip_with("""
        in r17, IO(MCUSR)
        inc r16
        sbrc r17, WDRF
        rjmp .-2
        wdr
        put WDTCSR, (1 << WDCE) | (1 << WDE)
        put WDTCSR, (1 << WDE) | 6
        rjmp .-2
    """)
    starts = chip.memory[16]
    chip.run(17_000_000)
    assert chip.memory[16] == (starts + 2 + (17_000_000 - 16_384_000) // 256_000) % 256


def test_wde_cannot_be_cleared_while_wdrf_stands() -> None:
    program = STARTS.replace("out IO(MCUSR), r24", "nop")
    chip = chip_with(program.format(setting="0", feed="nop"))
    starts = chip.memory[16]
    chip.run(1000)
    chip.reset(ResetCause.WATCHDOG)
    chip.run(chip.cycle + 1_000_000)
    assert chip.memory[16] > (starts + 3) % 256


def test_interrupt_then_reset() -> None:
    chip = chip_with("""
        rjmp main
        .org 6 * 4
        inc r18
        reti
    main:
        inc r16
        clr r18
        ldi r24, 0
        out IO(MCUSR), r24
        put WDTCSR, (1 << WDCE) | (1 << WDE)
        put WDTCSR, (1 << WDE) | (1 << WDIE)
        sei
        rjmp .-2
    """)
    starts = chip.memory[16]
    chip.run(256_000 + 100)
    assert (chip.memory[16], chip.memory[18]) == ((starts + 1) % 256, 1)
    chip.run(2 * 256_000 + 100)
    assert (chip.memory[16], chip.memory[18]) == ((starts + 2) % 256, 0)


@pytest.mark.parametrize(
    ("cause", "flag"),
    [(ResetCause.EXTERNAL, EXTERNAL), (ResetCause.BROWN_OUT, BROWN_OUT), (ResetCause.POWER_ON, POWER_ON)],
)
def test_a_reset_tells_its_cause_and_starts_over(cause: ResetCause, flag: int) -> None:
    chip = chip_with(STARTS.format(setting="0", feed="nop"))
    chip.run(1000)
    assert chip.memory[17] == POWER_ON
    before, cycle = chip.memory, chip.cycle
    chip.reset(cause)
    assert (chip.cycle, chip.program_address, chip.stack_pointer) == (cycle, 0, 0x8FF)
    chip.run(cycle + 100)
    assert chip.memory[17] == flag
    assert (chip.memory[0x100:] == before[0x100:]) == (cause is not ResetCause.POWER_ON)


def test_causes_add_up_until_they_are_cleared() -> None:
    chip = chip_with("in r17, IO(MCUSR)\n rjmp .-2")
    chip.reset(ResetCause.EXTERNAL)
    chip.reset(ResetCause.BROWN_OUT)
    chip.run(chip.cycle + 10)
    assert chip.memory[17] == POWER_ON | EXTERNAL | BROWN_OUT


def test_a_start_after_a_reset_takes_the_time_that_the_fuses_give_it() -> None:
    chip = chip_with("inc r16\n rjmp .-4", start_up=0.065)
    assert chip.cycle == 1_040_000


def test_ram_at_power_on_is_noise_that_can_be_repeated() -> None:
    one, same, other = (chip_with("rjmp .-2", noise_seed=seed).memory[0x100:] for seed in (1, 1, 2))
    assert one == same != other
    assert len(set(one)) > 200


def test_a_stopped_chip_starts_over_after_a_reset() -> None:
    chip = chip_with("inc r16\n break")
    with pytest.raises(BenchStoppedError):
        chip.run(10)
    chip.reset(ResetCause.POWER_ON)
    assert chip.program_address == 0

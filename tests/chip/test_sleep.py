"""Whether the core sleeps, wakes and serves interrupts in the cycles that the datasheet gives.

Source: ATmega328P datasheet, "Interrupt Response Time" and "Sleep Modes" (from memory): four cycles to
enter, four more out of sleep, one instruction after SEI and RETI, 16K cycles of start-up out of
power-down with a crystal.
"""

from __future__ import annotations

import pytest

from lampwright.chip import ResetCause
from tests.chip.assembler import chip_with

VECTORS = """
    rjmp main
    .org 6 * 4
    jmp watchdog
    .org 11 * 4
    jmp compare
"""

SLEEPER = (
    VECTORS
    + """
compare:
    out IO(GPIOR0), r16
    reti
watchdog:
    inc r17
    reti
main:
    put OCR1AH, {top} >> 8
    put OCR1AL, {top} & 0xff
    put GTCCR, 1
    put TCCR1B, (1 << WGM12) | 1
    put TIMSK1, 1 << OCIE1A
    ldi r16, 0x5a
    ldi r24, 1
    out IO(SMCR), r24
    sei
    sleep
    inc r18
    rjmp .-2
"""
)


def test_waking_from_idle_takes_eight_cycles_to_the_vector() -> None:
    chip = chip_with(SLEEPER.format(top=999))
    chip.run(60)
    asleep_at = chip.program_address
    # TCCR1B is written by the fourth `put`: rjmp 2, then 3 cycles each
    match = 2 + 4 * 3 + 1000
    chip.run(match - 1)
    assert chip.program_address == asleep_at
    chip.run(match + 1)
    assert (chip.cycle, chip.program_address) == (match + 4, asleep_at)
    chip.run(chip.cycle + 1)
    assert (chip.cycle, chip.program_address) == (match + 8, 11 * 4)
    chip.run(chip.cycle + 3 + 1)  # jmp, out
    assert (chip.cycle, chip.memory[0x3E]) == (match + 12, 0x5A)
    chip.run(chip.cycle + 4)  # reti, back to behind the sleep
    assert (chip.cycle, chip.program_address) == (match + 16, asleep_at)


def test_sleep_with_a_pending_interrupt_is_slept_through_at_once() -> None:
    # sei lets one instruction go first, which is the sleep: no wake-up is lost
    chip = chip_with(SLEEPER.format(top=5))
    chip.run(200)
    assert chip.memory[18] > 0


def test_sleep_is_no_rest_when_it_is_not_enabled() -> None:
    chip = chip_with("sleep\n inc r18\n rjmp .-2")
    before = chip.memory[18]
    chip.run(2)
    assert chip.memory[18] == (before + 1) % 256


def test_a_long_sleep_ends_at_its_cycle() -> None:
    program = SLEEPER.replace("put TCCR1B, (1 << WGM12) | 1", "put TCCR1B, (1 << WGM12) | 5")
    chip = chip_with(program.format(top=46_874))
    chip.run(1000)
    before = chip.memory[18]
    # 46,875 ticks of 1024 cycles are 3 s; the prescaler starts with the third `put`
    wake = 2 + 3 * 3 + 48_000_000
    chip.run(wake + 15)
    assert chip.memory[18] == before
    chip.run(wake + 17)
    assert chip.memory[18] == (before + 1) % 256


def test_one_instruction_runs_between_two_interrupts() -> None:
    chip = chip_with(
        VECTORS
        + """
    compare:
        reti
    watchdog:
        reti
    main:
        put OCR1AL, 0
        put TCCR1B, (1 << WGM12) | 1
        put TIMSK1, 1 << OCIE1A
        clr r16
        sei
    loop:
        inc r16
        rjmp loop
    """
    )
    chip.run(2 + 9 + 2)
    # a match every cycle: entry 4, jmp 3, reti 4, then one instruction of the loop
    chip.run(chip.cycle + 1)
    first = chip.cycle
    assert chip.memory[16] == 1
    chip.run(first + 11 + 2)
    assert (chip.cycle, chip.memory[16]) == (first + 13, 1)
    chip.run(first + 13 + 11 + 1)
    assert (chip.cycle, chip.memory[16]) == (first + 25, 2)


POWER_DOWN = (
    VECTORS
    + """
compare:
    reti
watchdog:
    inc r17
    reti
main:
    clr r17
    clr r18
    put TCCR1B, 1
    put WDTCSR, (1 << WDCE) | (1 << WDE)
    put WDTCSR, (1 << WDIE)
    ldi r24, 5
    out IO(SMCR), r24
    sei
    sleep
    lds r20, TCNT1L
    lds r21, TCNT1H
    inc r18
    rjmp .-2
"""
)


def test_power_down_stops_the_timer_and_wakes_by_the_watchdog_after_start_up() -> None:
    chip = chip_with(POWER_DOWN)
    # the watchdog starts with the first write of WDE (rjmp 2, clr 2, put 3, put 3); 2048 / 128 kHz are 256,000 cycles
    time_out = 2 + 2 + 3 + 3 + 256_000
    chip.run(time_out + 16_384 + 4 + 3)
    assert chip.memory[17] == 0
    chip.run(time_out + 16_384 + 4 + 4 + 3 + 1)
    assert chip.memory[17] == 1
    chip.run(chip.cycle + 4 + 2 + 2 + 1)
    assert chip.memory[18] == 1
    # from the write of TCCR1B to sleep, and from wake-up to the read: 3 + 3 + 1 + 1 + 1 + 1, 4 + 4 + 3 + 1 + 4 + 1
    assert chip.memory[21] << 8 | chip.memory[20] == 10 + 17


@pytest.mark.parametrize(
    ("mode", "delay"),
    # ATmega328P datasheet, "Sleep Modes" (from memory): the oscillator stops in power-down and power-save
    # (16K cycles to start again), runs on in both standbys (6 cycles) and in noise reduction (none)
    [("SM0", 0), ("SM1", 16_384), ("SM1, SM0", 16_384), ("SM2, SM1", 6), ("SM2, SM1, SM0", 6)],
)
def test_in_deeper_sleep_both_timers_stand_still_and_the_watchdog_wakes(mode: str, delay: int) -> None:
    bits = " | ".join(f"(1 << {bit})" for bit in ["SE", *mode.split(", ")])
    text = POWER_DOWN.replace("ldi r24, 5", f"ldi r24, {bits}")
    text = text.replace("put TCCR1B, 1", "put TCCR1B, 1\n put TCCR0B, 1")
    chip = chip_with(text.replace("lds r20, TCNT1L", "lds r19, TCNT0\n lds r20, TCNT1L"))
    time_out = 2 + 2 + 3 + 3 + 3 + 256_000
    chip.run(time_out + delay + 4 + 3)
    assert chip.memory[17] == 0
    chip.run(time_out + delay + 4 + 4 + 3 + 1)
    assert chip.memory[17] == 1
    chip.run(chip.cycle + 4 + 2 + 2 + 2 + 1)
    # from the write of TCCR1B to sleep 3 + 3 + 3 + 1 + 1 + 1 + 1, then wake-up to the read; Timer0 starts 3 later
    assert chip.memory[21] << 8 | chip.memory[20] == 13 + 19
    assert chip.memory[19] == 10 + 17


def test_power_save_is_not_ended_by_a_timer() -> None:
    text = SLEEPER.replace("ldi r24, 1\n", "ldi r24, (1 << SE) | (1 << SM1) | (1 << SM0)\n")
    chip = chip_with(text.format(top=999))
    chip.run(100)
    asleep_at = chip.program_address
    chip.run(10_000_000)
    assert chip.program_address == asleep_at


def test_noise_reduction_is_ended_by_a_finished_eeprom_write() -> None:
    chip = chip_with("""
        rjmp main
        .org 22 * 4
        inc r17
        cbi IO(EECR), EERIE
        reti
    main:
        clr r17
        put EEARL, 5
        put EEARH, 0
        put EEDR, 1
        ldi r24, (1 << SE) | (1 << SM0)
        out IO(SMCR), r24
        sbi IO(EECR), EEMPE
        sbi IO(EECR), EEPE
        sbi IO(EECR), EERIE
        sei
        sleep
        rjmp .-2
    """)
    started = 2 + 1 + 9 + 2 + 4
    chip.run(started + 54_400 - 5)
    assert chip.memory[17] == 0
    chip.run(started + 54_400 + 20)
    assert chip.memory[17] == 1


def test_a_core_asleep_with_interrupts_off_is_woken_by_a_reset_only() -> None:
    chip = chip_with(SLEEPER.format(top=999).replace("sei", "nop"))
    chip.run(100)
    asleep_at = chip.program_address
    chip.run(10_000_000)
    assert chip.program_address == asleep_at
    chip.reset(ResetCause.EXTERNAL)
    assert chip.program_address == 0

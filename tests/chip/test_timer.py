"""Whether a show that is paced by Timer1 keeps the time that it would keep on the chip.

Expected cycles are worked out by hand from the ATmega328P datasheet's rules (from memory): a period of
OCR1A + 1 ticks, a flag set in the tick that leaves the compared count, a prescaler that runs freely.
"""

from __future__ import annotations

import itertools

import pytest

from lampwright.chip import EmulatedChip
from tests.chip.assembler import chip_with

POLL = """
    put OCR1AH, {top} >> 8
    put OCR1AL, {top} & 0xff
    put GTCCR, 1
    put TCCR1B, (1 << WGM12) | {clock}
loop:
    sbis IO(TIFR1), OCF1A
    rjmp loop
    sbi IO(TIFR1), OCF1A
    inc r16
    rjmp loop
"""


def cycles_of_counts(chip: EmulatedChip, register: int, n_count: int) -> list[int]:
    """Return the cycles at which a general register changed."""
    cycles: list[int] = []
    before = chip.memory[register]
    while len(cycles) < n_count:
        chip.run(chip.cycle + 1)
        if chip.memory[register] != before:
            before = chip.memory[register]
            cycles.append(chip.cycle)
    return cycles


@pytest.mark.parametrize(("clock", "divider"), [(1, 1), (2, 8), (3, 64), (4, 256), (5, 1024)])
def test_a_polled_period_lasts_top_plus_one_ticks(clock: int, divider: int) -> None:
    top = 99 if divider > 1 else 1499
    chip = chip_with(POLL.format(top=top, clock=clock))
    ticks = 30
    period = (top + 1) * divider
    cycles = []
    chip.run(1)
    for n in range(1, ticks):
        # the flag is seen by the poll within three cycles, and the count follows within six
        chip.run(n * period + 40)
        cycles.append(chip.memory[16])
    start = cycles[0] - 1
    assert cycles == [(start + n) % 256 for n in range(1, ticks)]


def test_a_count_read_in_two_halves_is_of_one_moment() -> None:
    chip = chip_with("""
        put TCNT1H, 0x12
        put TCNT1L, 0xfe
        put TCCR1B, 1
        lds r16, TCNT1L
        nop
        nop
        lds r17, TCNT1H
        lds r18, TCNT1L
        lds r19, TCNT1H
        rjmp .-2
    """)
    chip.run(40)
    memory = chip.memory
    # the first lds reads one cycle after the timer was started, the next 2 + 1 + 1 + 2 cycles later
    assert (memory[17] << 8 | memory[16]) == 0x12FE + 1
    assert (memory[19] << 8 | memory[18]) == 0x12FE + 1 + 6


def test_an_interrupt_comes_every_period_for_ever() -> None:
    chip = chip_with("""
        rjmp main
        .org 11 * 4
        inc r16
        reti
    main:
        put OCR1AH, 0x9c
        put OCR1AL, 0x3f
        put GTCCR, 1
        put TCCR1B, (1 << WGM12) | (1 << CS11)
        put TIMSK1, 1 << OCIE1A
        clr r16
        sei
    loop:
        nop
        rjmp loop
    """)
    chip.run(100)
    cycles = cycles_of_counts(chip, 16, 3)
    # 0x9c3f + 1 = 40000 ticks of 8 cycles; the loop's instruction of up to 2 cycles may have to end first
    for first, second in itertools.pairwise(cycles):
        assert abs(second - first - 320_000) <= 1
    chip.run(cycles[-1] + 200 * 320_000 + 100)
    assert chip.memory[16] == 203


def test_overflow_and_second_compare_set_their_flags_and_a_one_clears_them() -> None:
    chip = chip_with("""
        put OCR1BH, 0xff
        put OCR1BL, 0xf8
        put TCNT1H, 0xff
        put TCNT1L, 0xf0
        put TCCR1B, 1
        nop
        in r16, IO(TIFR1)
        .rept 8
        nop
        .endr
        in r17, IO(TIFR1)
        .rept 8
        nop
        .endr
        in r18, IO(TIFR1)
        ldi r19, 1 << OCF1B
        out IO(TIFR1), r19
        in r19, IO(TIFR1)
        rjmp .-2
    """)
    chip.run(80)
    assert list(chip.memory[16:20]) == [0, 4, 4 | 2 | 1, 2 | 1]  # OCR1A is 0, so the counter passed it too


def test_a_top_set_below_the_count_is_missed_until_the_counter_wraps() -> None:
    chip = chip_with(POLL.format(top=100, clock=1).replace("put GTCCR, 1", "put TCNT1H, 0\n put TCNT1L, 200"))
    cycle = cycles_of_counts(chip, 16, 1)[0]
    # from 200 up to 0xffff, on to 100, and one more tick: 65536 - 200 + 101
    assert 65_437 <= cycle - 18 <= 65_437 + 12


def test_a_write_of_the_count_blocks_the_match_that_would_follow() -> None:
    chip = chip_with("""
        put OCR1AH, 0
        put OCR1AL, 50
        put TCNT1H, 0
        put TCNT1L, 50
        put TCCR1B, 1
        .rept 20
        nop
        .endr
        in r16, IO(TIFR1)
        rjmp .-2
    """)
    chip.run(80)
    assert chip.memory[16] == 0


POLL_8_BIT = """
    put OCR0A, {top}
    put GTCCR, 1
    put TCCR0A, {mode}
    put TCCR0B, {clock}
loop:
    sbis IO(TIFR0), {flag}
    rjmp loop
    sbi IO(TIFR0), {flag}
    inc r16
    rjmp loop
"""


@pytest.mark.parametrize(("clock", "divider"), [(1, 1), (2, 8), (3, 64), (4, 256), (5, 1024)])
def test_the_8_bit_timer_overflows_every_256_ticks(clock: int, divider: int) -> None:
    chip = chip_with(POLL_8_BIT.format(top=0, mode=0, clock=clock, flag="TOV0"))
    counts = []
    for n in range(1, 12):
        chip.run(n * 256 * divider + 40)
        counts.append(chip.memory[16])
    start = counts[0] - 1
    assert counts == [(start + n) % 256 for n in range(1, 12)]


def test_the_8_bit_timer_is_cleared_on_compare_match() -> None:
    chip = chip_with(POLL_8_BIT.format(top=99, mode="1 << WGM01", clock=3, flag="OCF0A"))
    counts = []
    for n in range(1, 20):
        chip.run(n * 6400 + 40)
        counts.append(chip.memory[16])
    start = counts[0] - 1
    assert counts == [(start + n) % 256 for n in range(1, 20)]


def test_overflow_interrupts_wait_while_they_are_off_but_only_one_of_them() -> None:
    chip = chip_with("""
        rjmp main
        .org 16 * 4
        inc r16
        reti
    main:
        clr r16
        clr r17
        put GTCCR, 1
        put TCCR0B, 1
        put TIMSK0, 1 << TOIE0
        sei
        .rept 300
        nop
        .endr
        mov r17, r16
        cli
        ldi r24, lo8(500)
        ldi r25, hi8(500)
    hold:
        sbiw r24, 1
        brne hold
        mov r18, r16
        sei
        nop
        nop
        mov r19, r16
        rjmp .-2
    """)
    chip.run(300 + 30 + 2050)
    # 256 cycles after its start the first one comes; 2000 cycles with interrupts off hide seven more: one stays
    assert list(chip.memory[17:20]) == [1, 1, 2]


def test_a_write_of_the_8_bit_count_is_read_back_and_goes_on() -> None:
    chip = chip_with("put TCCR0B, 1\n put TCNT0, 200\n nop\n in r16, IO(TCNT0)\n in r17, IO(TIFR0)\n rjmp .-2")
    chip.run(20)
    assert chip.memory[16] == 201
    assert chip.memory[17] & 1 == 0


def test_both_timers_share_one_prescaler() -> None:
    chip = chip_with("""
        put TCCR0B, 3
        put TCCR1B, 3
        .rept 20
        nop
        .endr
        put GTCCR, 1
        .rept 62
        nop
        .endr
        lds r16, TCNT0
        lds r17, TCNT1L
        nop
        lds r18, TCNT0
        lds r19, TCNT1L
        rjmp .-2
    """)
    chip.run(200)
    # reads 63 and 65 (66 and 68) cycles after the prescaler's reset, which came before the first tick
    assert list(chip.memory[16:20]) == [0, 1, 1, 1]

"""The trap: milliseconds counted by an 8-bit timer's overflow go missing while the line is written.

Source: worked figures of the project's reference sheet (B10), computed by the formulas below and emulated
there with simavr: an overflow every 1.024 ms; of those that fall into the 30 us a pixel in which
interrupts are off, one stays pending, the others are lost. Real time for a counted 60 s; here shorter
runs are stretched to it.
"""

from __future__ import annotations

import pytest

from lampwright.chip import EmulatedChip
from tests.chip.assembler import CLOCK_HZ, compile_c

OVERFLOW_MS = 1.024
PIXEL_MS = 0.03
COUNTED_SECONDS = 60.0
COUNTS_FROM = 0.5  # [s]
COUNT_AT = 0x800

PROGRAM = r"""
#include <avr/interrupt.h>
#include <avr/io.h>
#include <avr/sleep.h>
#include <stdint.h>

#define counted_us (*(volatile uint32_t *)0x800)     /* where the test finds it */

ISR(TIMER0_OVF_vect)
{
    counted_us += 1024;
}

static volatile uint8_t is_paced;

ISR(TIMER1_COMPA_vect)
{
    is_paced = is_paced + 1;
}

int main(void)
{
    counted_us = 0;
    TCCR0B = 1 << CS01 | 1 << CS00;                 /* 4 us a tick */
    TIMSK0 = 1 << TOIE0;
    OCR1A = PERIOD_MS * 250UL / PARTS - 1;
    TCCR1B = 1 << WGM12 | 1 << CS11 | 1 << CS10;    /* 4 us a tick */
    TIMSK1 = BY_TRUE_CLOCK << OCIE1A;
    set_sleep_mode(SLEEP_MODE_IDLE);
    sleep_enable();
    uint32_t due = PERIOD_MS * 1000UL;
    for (;;) {
        cli();
        while (BY_TRUE_CLOCK ? is_paced < PARTS : (int32_t)(counted_us - due) < 0) {
            __asm__ volatile("sei\n sleep" ::: "memory");
            cli();
        }
        is_paced = 0;
        due += PERIOD_MS * 1000UL;
        __builtin_avr_delay_cycles(N_PIXEL * 480UL); /* 24 bits of 20 cycles: what writing a pixel takes */
        sei();
    }
}
"""


def real_time(n_pixel: int, period_ms: int, is_by_true_clock: bool, seconds: int) -> float:
    """Return the real time in which the program counts 60 s, from a run of ``seconds``. [s]"""
    settings = {
        "N_PIXEL": n_pixel,
        "PERIOD_MS": period_ms,
        "PARTS": -(-period_ms // 250),  # Timer1 counts up to 262 ms
        "BY_TRUE_CLOCK": int(is_by_true_clock),
    }
    chip = EmulatedChip(compile_c(PROGRAM, settings), CLOCK_HZ, [])
    counts = []
    # from the middle between two writes on, for whole periods
    begun = (COUNTS_FROM + 0.7 * period_ms / 1000) * CLOCK_HZ
    for cycle in (begun, begun + seconds * CLOCK_HZ):
        chip.run(round(cycle))
        counts.append(int.from_bytes(chip.memory[COUNT_AT : COUNT_AT + 4], "little") / 1e6)
    return seconds * COUNTED_SECONDS / (counts[1] - counts[0])


def by_formula(n_pixel: int, period_ms: int, is_by_true_clock: bool) -> float:
    """Return the same by reckoning. [s]"""
    write_ms = PIXEL_MS * n_pixel
    if is_by_true_clock:
        return COUNTED_SECONDS / (1 - max(0.0, write_ms - OVERFLOW_MS) / period_ms)
    # a send that is paced by the counter itself starts just after an overflow
    lost_ms = OVERFLOW_MS * max(0, int(write_ms / OVERFLOW_MS) - 1)
    return COUNTED_SECONDS * (1 + lost_ms / period_ms)


@pytest.mark.parametrize(
    ("n_pixel", "period_ms", "is_by_true_clock", "emulated"),
    [
        (300, 25, True, 88.109),
        (300, 25, False, 77.196),
        (144, 25, True, 69.110),
        (144, 25, False, 67.370),
        (300, 500, True, 60.965),
        (300, 500, False, 60.853),
        (30, 25, True, 60.001),
        (30, 25, False, 60.000),
    ],
)
def test_milliseconds_counted_by_overflows_are_lost_as_reckoned(
    n_pixel: int, period_ms: int, is_by_true_clock: bool, emulated: float
) -> None:
    seconds = 20 if period_ms == 500 else 6
    found = real_time(n_pixel, period_ms, is_by_true_clock, seconds)
    assert found == pytest.approx(by_formula(n_pixel, period_ms, is_by_true_clock), abs=0.1)
    assert found == pytest.approx(emulated, abs=0.1)

"""Whether a stack that grows into the pixels would be seen.

Expected marks are counted by hand: SP points below the last byte pushed (AVR Instruction Set Manual).
"""

from __future__ import annotations

from lampwright.chip import ResetCause
from tests.chip.assembler import chip_with


def test_an_empty_stack_leaves_all_ram_untouched() -> None:
    chip = chip_with("rjmp .-2")
    chip.run(100)
    assert chip.lowest_stack == 0x8FF
    assert chip.untouched_ram(0x100) == 0x800


def test_pushes_and_calls_lower_the_mark_and_returns_do_not_raise_it() -> None:
    chip = chip_with("rcall leaf\n rjmp .-2\nleaf: push r0\n push r0\n pop r0\n pop r0\n ret")
    chip.run(100)
    assert chip.stack_pointer == 0x8FF
    assert chip.lowest_stack == 0x8FF - 4
    assert chip.untouched_ram(0x8F0) == 12  # 0x8f0 to 0x8fb
    assert chip.untouched_ram(0x8FC) == 0


def test_an_interrupt_on_top_counts() -> None:
    chip = chip_with("""
        rjmp main
        .org 11 * 4
        push r0
        pop r0
        reti
    main:
        put OCR1AL, 50
        put TCCR1B, (1 << WGM12) | 1
        put TIMSK1, 1 << OCIE1A
        sei
    again:
        rcall leaf
        rjmp again
    leaf:
        .rept 100
        nop
        .endr
        ret
    """)
    chip.run(1000)
    assert chip.lowest_stack == 0x8FF - 5


def test_room_made_for_local_variables_counts() -> None:
    chip = chip_with("ldi r28, 0x00\n ldi r29, 0x07\n out IO(SPH), r29\n out IO(SPL), r28\n rjmp .-2")
    chip.run(100)
    assert chip.lowest_stack == 0x700


def test_the_mark_lasts_through_a_reset() -> None:
    chip = chip_with("push r0\n rjmp .-2")
    chip.run(10)
    chip.reset(ResetCause.EXTERNAL)
    assert chip.stack_pointer == 0x8FF
    assert chip.lowest_stack == 0x8FE

"""What differs from chip to chip must not make a rehearsal of one of them wrong."""

from __future__ import annotations

import pytest

from lampwright.chip import BenchStoppedError, EmulatedChip, Line
from tests.chip.assembler import CLOCK_HZ, SENDER, WINDOWS, assemble

# instruction set manual, 22-bit program counter: RCALL 4, CALL 5, ICALL 4, RET 5 cycles; 16-bit: 3, 4, 3, 4
CALLS = """
    rcall leaf
    call leaf
    ldi r30, lo8(pm(leaf))
    ldi r31, hi8(pm(leaf))
    icall
    rjmp .-2
leaf:
    ret
"""


@pytest.mark.parametrize(("chip", "cycles", "depth"), [("atmega2560", 30, 3), ("atmega32u4", 24, 2)])
def test_calls_take_the_chips_cycles_and_stack(chip: str, cycles: int, depth: int) -> None:
    bench = EmulatedChip(assemble(CALLS, chip), CLOCK_HZ, [], chip)
    top = bench.stack_pointer
    assert top == bench.ram_start + bench.ram_size - 1
    while bench.program_address != 12:
        bench.run(bench.cycle + 1)
    assert bench.cycle == cycles
    assert top - bench.lowest_stack == depth


FAR = """
.if FAR
    ldi r16, 1
    out IO(EIND), r16
    out IO(RAMPZ), r16
    ldi r30, 0x46
    ldi r31, 0x23
    elpm r0, Z+
    ldi r30, 0
    ldi r31, 0x80
    eicall
here:
    rjmp here
.org 0x12346
    .word 0x5aa5
.org 0x30000
    ldi r17, 0x77
    ret
.endif
"""


def test_code_and_tables_beyond_16_bits_are_reached_and_come_back_from() -> None:
    bench = EmulatedChip(assemble(FAR.replace("FAR", "1"), "atmega2560"), CLOCK_HZ, [], "atmega2560")
    bench.run(60)
    assert bench.memory[0] == 0xA5
    assert bench.memory[17] == 0x77
    assert bench.program_address == 18
    assert bench.memory[30] == 0x00


@pytest.mark.parametrize(("chip", "line"), [("atmega2560", "A"), ("atmega2560", "F"), ("atmega32u4", "F")])
def test_frames_are_decoded_on_ports_that_only_larger_chips_have(chip: str, line: str) -> None:
    program = f"""
    ldi r16, 0x40
    out IO(DDR{line}), r16
    ldi r24, 0xa5
    sts 0x0300, r24
    ldi r26, 0
    ldi r27, 3
    ldi r18, 1
    rcall send
    rjmp .-2
    {SENDER.replace("PORTD", f"PORT{line}")}
    """
    bench = EmulatedChip(assemble(program, chip), CLOCK_HZ, [Line(line, 6, WINDOWS)], chip)
    bench.run(100_000)
    frames = bench.take_frames()
    assert frames.data.tobytes() == b"\xa5"
    assert bench.report(0).n_breach == 0


def test_usb_is_not_pretended() -> None:
    bench = EmulatedChip(assemble("    put USBCON, 0x80\n", "atmega32u4"), CLOCK_HZ, [], "atmega32u4")
    with pytest.raises(BenchStoppedError) as stopped:
        bench.run(10)
    assert stopped.value.reason == "the program writes 0x80 to USBCON (0xd8), which is not modelled"


def test_elpm_is_no_instruction_of_a_small_chip() -> None:
    bench = EmulatedChip(b"\x06\x90", CLOCK_HZ, [], "atmega32u4")
    with pytest.raises(BenchStoppedError, match="no defined instruction"):
        bench.run(10)


def test_a_port_beyond_out_is_written_with_sts() -> None:
    program = "    put DDRL, 0x81\n    put PORTL, 0x80\n    lds r1, PINL\n    rjmp .-2\n"
    bench = EmulatedChip(assemble(program, "atmega2560"), CLOCK_HZ, [], "atmega2560")
    with pytest.raises(BenchStoppedError, match=r"reads PINL \(0x109\) while nothing drives its bits 1, 2, 3, 4, 5, 6"):
        bench.run(30)


def test_the_third_match_of_timer_1_is_not_a_silent_zero() -> None:
    # OCR1C is 0 after a reset: its flag stands once the count has been there (datasheet, from memory)
    program = "    put TCCR1B, 1\n    nop\n    nop\n    in r1, IO(TIFR1)\n    rjmp .-2\n"
    bench = EmulatedChip(assemble(program, "atmega2560"), CLOCK_HZ, [], "atmega2560")
    bench.run(20)
    assert bench.memory[1] & 0x08

"""The emulated core against an independent emulator, instruction by instruction.

Source: simavr 1.6 (Debian package libsimavr-dev), a general-purpose emulator of AVR chips. Three of
its habits are settled here: it enters an interrupt in no time, where the datasheet says four cycles
(added in lockstep.c); it sleeps whether or not SE allows it (SLEEP is left to tests/chip); a skip takes
some ADIW and SBIW for two words, which test_binutils.py shows them not to be (none follow a skip here).
"""

from __future__ import annotations

import struct
import subprocess
from pathlib import Path

import pytest

from lampwright.chip import BenchStoppedError, EmulatedChip
from lampwright.chip.registers import ATMEGA32U4, ATMEGA328P, ATMEGA2560, CHIPS, ChipMap
from tests.chip.assembler import CLOCK_HZ, assemble
from tests.published.instruction_streams import N_GENERAL, Case, ask_reference, compare_every_instruction, prepare


@pytest.fixture(scope="module")
def reference(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Compile the harness around the reference emulator."""
    program = tmp_path_factory.mktemp("simavr") / "lockstep"
    source = Path(__file__).with_name("lockstep.c")
    build = ["gcc", "-O1", "-o", str(program), str(source), "-lsimavr", "-lelf"]
    try:
        outcome = subprocess.run(build, capture_output=True, text=True, check=False)
        failure = outcome.stderr if outcome.returncode else ""
    except FileNotFoundError:
        failure = "gcc is not installed"
    if failure:
        pytest.fail(f"the reference emulator can't be built; `make test` installs what it needs\n{failure}")
    return program


@pytest.mark.parametrize("chip", CHIPS.values(), ids=list(CHIPS))
def test_every_instruction_leaves_the_same_state_after_the_same_cycles(reference: Path, chip: ChipMap) -> None:
    compare_every_instruction([reference], chip)


TIMER_PROGRAM = """
    rjmp main
    .org {vector}
    push r16
    in r16, IO(SREG)
    push r16
    lds r16, 0x0280
    inc r16
    sts 0x0280, r16
    pop r16
    out IO(SREG), r16
    pop r16
    reti
main:
    put OCR1AH, 0
    put OCR1AL, 199
    put TIMSK1, 1 << OCIE1A
    put TCCR1B, (1 << WGM12) | (1 << CS10)
    clr r18
    clr r19
    sei
loop:
    subi r18, 0xff
    sbci r19, 0xff
    mul r18, r19
    adiw r30, 3
    rcall leaf
    rjmp loop
leaf:
    add r20, r0
    adc r21, r1
    ret
"""


@pytest.mark.parametrize(("chip", "number"), [(ATMEGA328P, 11), (ATMEGA2560, 17), (ATMEGA32U4, 17)])
def test_a_timer_interrupt_comes_as_often_and_saves_what_it_should(reference: Path, chip: ChipMap, number: int) -> None:
    vector = number * 4  # TIMER1 COMPA, by the datasheets' vector tables
    program = assemble(TIMER_PROGRAM.format(vector=vector), chip.name.lower())
    case = Case(chip, program, bytes(N_GENERAL), 0, chip.ram_end, bytes(chip.ram), n_step=3000, vector=vector)
    ((steps, ram),) = ask_reference([reference], [case])
    ours = prepare(case)
    until = steps[-1][1]
    ours.run(until)
    counted = 0x0280
    assert ours.memory[counted] == ram[counted - chip.ram_start] > 10
    # the main loop has come as far, give or take the interrupt that may just be going on
    theirs = steps[-1][4]
    mine = ours.memory[:N_GENERAL]
    assert abs(int.from_bytes(theirs[18:20], "little") - int.from_bytes(mine[18:20], "little")) <= 1


def test_words_that_are_no_instruction_end_the_run() -> None:
    """Encodings that the instruction set manual leaves unused, or that this chip lacks (from memory)."""
    unused = [0x0001, 0x00FF, 0x9003, 0x9204, 0x9404, 0x940B, 0x9419, 0x9519, 0x95B8, 0x95D8, 0x95F8, 0xF808, 0xFC08]
    for word in unused:
        chip = EmulatedChip(struct.pack("<H", word), CLOCK_HZ, [])
        with pytest.raises(BenchStoppedError) as stopped:
            chip.run(10)
        assert str(stopped.value) == (
            "the program reached something that is no defined instruction of this chip (at flash byte 0x0000, cycle 0)"
        )

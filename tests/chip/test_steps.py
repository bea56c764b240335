"""What the core does in one step is, to the cycle, what its instructions do one by one."""

from __future__ import annotations

import random

import numpy as np
import pytest

from lampwright.chip import EmulatedChip, Line, opcode
from lampwright.chip.decode import SINGLE, decode_program
from lampwright.chip.registers import ATMEGA328P
from tests.chip.assembler import CLOCK_HZ, WINDOWS, assemble

LINES = [Line("D", 6, WINDOWS), Line("D", 5, WINDOWS), Line("B", 0, WINDOWS)]
PAUSES = {1: "nop", 2: "rjmp .+0"}


def pause(dice: random.Random, most: int) -> str:
    """Return instructions that only pass time, perhaps none."""
    return "\n".join(PAUSES[dice.choice((1, 2))] for _ in range(dice.randrange(most)))


def bit(dice: random.Random, number: int, port: str) -> str:
    """Return a bit as a sender writes it, with pauses of any length."""
    high, low = dice.choice([(20, 21), (20, 21), (21, 20), (20, 20)])
    return f"""
        out IO({port}), r{high}
        {pause(dice, 5)}
        sbrs r22, {number}
        out IO({port}), r{low}
        {pause(dice, 8)}
        out IO({port}), r{low}
        {pause(dice, 6)}
    """


def sender(seed: int) -> str:
    """Return a program that sends random bytes over and over, its bits all different, and rests in between."""
    dice = random.Random(seed)
    bits = "\n".join(
        bit(dice, number, dice.choice(("PORTD", "PORTD", "PORTB"))) + dice.choice(("", "", "inc r23\n"))
        for number in reversed(range(8))
    )
    return f"""
        ldi r16, {dice.choice((0x60, 0x60, 0x40))}
        out IO(DDRD), r16
        ldi r16, {dice.choice((0x01, 0x00))}
        out IO(DDRB), r16
        ldi r20, {dice.choice((0x61, 0x41, 0x20, 0xFF))}
        ldi r21, {dice.choice((0x00, 0x20, 0x1E))}
    again:
        ldi r17, 40
    byte:
        subi r22, {dice.randrange(1, 256)}
        {bits}
        sbic IO(PIND), 6
        inc r25
        dec r17
        breq rest
        rjmp byte
    rest:
        ldi r26, {dice.randrange(4, 12)}
    wait:
        dec r27
        brne wait
        dec r26
        brne wait
        rjmp again
    """


def state_of(chip: EmulatedChip) -> list[bytes]:
    """Return everything that a run changes."""
    state = chip._state
    frames = chip.take_frames()
    heard = [frames.start_cycle, frames.end_cycle, frames.n_bit, frames.line, frames.data]
    return [np.asarray(part).tobytes() for part in (state.scalar, state.memory, state.lines, *heard)]


@pytest.mark.parametrize("seed", range(12))
def test_what_is_sent_in_one_step_is_what_single_instructions_send(seed: int) -> None:
    image = assemble(sender(seed))
    words = np.frombuffer(image, "<u2")
    table = decode_program(words.astype(np.uint16), ATMEGA328P)
    assert opcode.SEND_BIT in (table[: len(words)] & 0x7F)
    assert opcode.SEND_BIT not in (table[SINGLE:] & 0x7F)
    at_once, by_steps = (EmulatedChip(image, CLOCK_HZ, LINES) for _ in range(2))
    dice = random.Random(seed)
    for _ in range(6):
        until = at_once.cycle + dice.randrange(200, 20_000)
        at_once.run(until)
        while by_steps.cycle < until:
            by_steps.run(by_steps.cycle + 1)
        assert state_of(at_once) == state_of(by_steps)


WHOLE = """
    out IO(PORTD), r20
    nop
    sbrs r22, 7
    out IO(PORTD), r21
    nop
    out IO(PORTD), r21
"""


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("out IO(PORTD), r21\n    nop", "out IO(PORTB), r21\n    nop"),
        ("out IO(PORTD), r21\n    nop", "out IO(PORTD), r23\n    nop"),
        ("out IO(PORTD), r21\n    nop", "lds r21, 0x0200\n    nop"),
        ("nop\n    out", "inc r21\n    out"),
        ("sbrs r22, 7", "sbrc r22, 7"),
        ("out IO(PORTD), r21\n    nop", "out IO(PORTD), r21\n" + 16 * "    rjmp .+0\n"),
    ],
)
def test_what_is_no_bit_is_taken_instruction_by_instruction(old: str, new: str) -> None:
    def is_one_step(text: str) -> bool:
        words = np.frombuffer(assemble(text), "<u2").astype(np.uint16)
        return bool(decode_program(words)[0] & 0x7F == opcode.SEND_BIT)

    assert is_one_step(WHOLE)
    assert WHOLE.count(old) == 1
    assert not is_one_step(WHOLE.replace(old, new))


STEPS = {opcode.ADD_WIDE, opcode.SUBTRACT_IMMEDIATE_WIDE, opcode.MULTIPLY_AND_MOVE, opcode.MULTIPLY_AND_ADD}


def sums(seed: int) -> str:
    """Return an endless program of sums and products, with jumps into their midst."""
    dice = random.Random(seed)

    def register(lowest: int = 0) -> int:
        return dice.randrange(lowest, 32)

    def row() -> list[str]:
        d, e, upper = register(), register(), register(16)
        return dice.choice(
            [
                [f"add r{d}, r{register()}", f"adc r{e}, r{register()}"],
                [f"lsl r{d}", f"rol r{e}"],
                [f"subi r{upper}, {dice.randrange(256)}", f"sbci r{register(16)}, {dice.randrange(256)}"],
                [f"mul r{d}, r{e}", f"movw r{2 * dice.randrange(16)}, r0"],
                [f"mul r{register()}, r{register()}", f"add r{d}, r0", f"adc r{e}, r1", "eor r1, r1"],
                [f"mul r{register()}, r{register()}", f"add r{d}, r0", f"adc r{e}, r1", f"eor r{d}, r1"],
                [f"in r{d}, IO(SREG)", "nop"],
                [f"eor r{d}, r{e}", f"com r{upper}"],
            ]
        )

    lines = ["again:"]
    for number in range(60):
        first, *rest = row()
        if dice.random() < 0.3:
            lines += [f"{dice.choice(('brcc', 'brne', 'brvc', 'brge', 'brhs'))} midst{number}"]
        lines += [first, f"midst{number}:", *rest]
    return "\n".join([*lines, "rjmp again"])


@pytest.mark.parametrize("seed", range(12))
def test_sums_and_products_of_one_step_are_those_of_single_instructions(seed: int) -> None:
    image = assemble(sums(seed))
    words = np.frombuffer(image, "<u2").astype(np.uint16)
    table = decode_program(words)
    assert set((table[: len(words)] & 0x7F).tolist()) >= STEPS
    assert not set((table[SINGLE:] & 0x7F).tolist()) & STEPS
    at_once, by_steps = (EmulatedChip(image, CLOCK_HZ, [], noise_seed=seed) for _ in range(2))
    dice = random.Random(seed)
    for _ in range(8):
        until = at_once.cycle + dice.randrange(100, 6_000)
        at_once.run(until)
        while by_steps.cycle < until:
            by_steps.run(by_steps.cycle + 1)
        assert state_of(at_once) == state_of(by_steps)

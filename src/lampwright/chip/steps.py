"""Instructions that the core takes in one step: what only passes time, and some that often follow each other.

A step is one word of the decoded program (see :mod:`lampwright.chip.decode`), whose operand holds

- SEND_BIT: register (5 bits) and number (3) of the bit, cycles up to its first fall (5) and to its last (5); the port
  stands where others have their second number of cycles
- ADD_WIDE: destination (5) and source (5) of the sum with carry
- SUBTRACT_IMMEDIATE_WIDE: the lower constant (8) and the upper one (8); the upper register is the word's source
- MULTIPLY_AND_MOVE: the pair that takes the product
- MULTIPLY_AND_ADD: lower (5) and upper register (5) to which the product is added; r1 is cleared afterwards

None of them can bring an event nearer, stop the run or be stopped in its midst, so that the core may take a step while
no event can fall inside.
"""

from __future__ import annotations

from dataclasses import dataclass

from lampwright.chip import opcode
from lampwright.chip.registers import PINA

LONGEST_FOLD = 31
"""Most cycles that one decoded word may take. [cycle]"""


@dataclass(frozen=True)
class Instruction:
    """One decoded instruction; addresses are in flash words."""

    name: str
    operation: int
    destination: int
    source: int
    operand: int
    cycles: int
    n_word: int
    following: int
    """Where the program goes on; for a jump, where it leads."""


def find_step(program: list[Instruction], first: Instruction) -> int | None:
    """Return the decoded word of the step that begins with an instruction, or ``None`` if it is none by itself."""
    if first.operation == opcode.OUT_PORT:
        return _find_bit(program, first)
    second = program[within(program, first.following)]
    if (first.operation, second.operation) == (opcode.ADD, opcode.ADD_WITH_CARRY):
        return _pack(program, opcode.ADD_WIDE, (first, second), first.source, second.destination | second.source << 5)
    if (first.operation, second.operation) == (opcode.SUBTRACT_IMMEDIATE, opcode.SUBTRACT_IMMEDIATE_WITH_CARRY):
        constants = first.operand | second.operand << 8
        return _pack(program, opcode.SUBTRACT_IMMEDIATE_WIDE, (first, second), second.destination, constants)
    if first.operation == opcode.MULTIPLY:
        return _find_product(program, first, second)
    return None


def _find_product(program: list[Instruction], multiply: Instruction, second: Instruction) -> int | None:
    """Return the step of a product that is moved elsewhere, or added with r1 cleared after it."""
    if second.operation == opcode.MOVE_PAIR and second.source == 0:
        return _pack(program, opcode.MULTIPLY_AND_MOVE, (multiply, second), multiply.source, second.destination)
    third = program[within(program, second.following)]
    fourth = program[within(program, third.following)]
    if (
        (second.operation, second.source) == (opcode.ADD, 0)
        and (third.operation, third.source) == (opcode.ADD_WITH_CARRY, 1)
        and (fourth.operation, fourth.destination, fourth.source) == (opcode.EXCLUSIVE_OR, 1, 1)
        and min(second.destination, third.destination) > 1
    ):
        sums = second.destination | third.destination << 5
        return _pack(program, opcode.MULTIPLY_AND_ADD, (multiply, second, third, fourth), multiply.source, sums)
    return None


def _pack(program: list[Instruction], operation: int, parts: tuple[Instruction, ...], source: int, operand: int) -> int:
    following, cycles = fold(program, within(program, parts[-1].following), sum(part.cycles for part in parts))
    return operation | parts[0].destination << 7 | source << 12 | operand << 17 | cycles << 35 | following << 40


def _find_bit(program: list[Instruction], rise: Instruction) -> int | None:
    """Return the decoded word of a whole bit of a data line that begins with ``rise``, or ``None`` if none does.

    A bit is what pixels are sent by: ``out`` a level; ``sbrs`` over an ``out`` of the other level to the same port; the
    same ``out`` again; and nothing but pauses in between, as long whether the first was stepped over or not.
    """
    at, choice = fold(program, rise.following, rise.cycles)
    skip = program[at]
    if skip.operation != opcode.SKIP_IF_REGISTER_BIT_SET:
        return None
    at, first_fall = skip.following, choice + skip.cycles
    fall = program[within(program, at)]
    if fall.operation != opcode.OUT_PORT or fall.operand != rise.operand:
        return None
    last, last_fall = fold(program, fall.following, first_fall + fall.cycles)
    stepped_over = fold(program, at + fall.n_word, choice + 1 + fall.n_word)
    again = program[last]
    same = (again.operation, again.operand, again.source, again.destination)
    if stepped_over != (last, last_fall) or same != (fall.operation, fall.operand, fall.source, fall.destination):
        return None
    following, cycles = fold(program, again.following, last_fall + again.cycles)
    if cycles > LONGEST_FOLD:
        return None
    return (
        opcode.SEND_BIT
        | rise.destination << 7
        | fall.destination << 12
        | (skip.destination | skip.source << 5 | first_fall << 8 | last_fall << 13) << 17
        | cycles << 35
        | following << 40
        | (rise.operand - PINA) // 3 << 58
    )


def within(program: list[Instruction], at: int) -> int:
    """Return the flash word, or that of the program's end when it lies outside."""
    end = len(program) - 1
    return at if 0 <= at <= end else end


def fold(program: list[Instruction], at: int, cycles: int) -> tuple[int, int]:
    """Follow what only passes time from word ``at`` on; return where it leads and the cycles by then."""
    while program[at].operation == opcode.GO and cycles + program[at].cycles <= LONGEST_FOLD:
        cycles += program[at].cycles
        at = within(program, program[at].following)
    return at, cycles

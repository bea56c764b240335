"""The flash image decoded once, before the run, into one 63-bit word for each flash word.

A decoded word holds, from its lowest bit: operation (7 bits), destination register
(5), source register or bit number (5), operand (18: a constant, an address, or where
a branch or skip leads), cycles (5), the next word's index (18), cycles when the branch
or skip is taken (5).

The table holds the program twice. From ``SINGLE`` on it stands as written. From 0 on,
whatever only passes time after an instruction (``nop``, ``rjmp``) is folded into that
instruction, and the few instructions that send a bit to a pixel are one (SEND_BIT: its
operand is the register and number of the bit, and the cycles up to its two falls; the port
stands where others have their second number of cycles). So the core looks up less often;
it goes there only while no event can fall inside.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

import numpy as np
from numpy.typing import NDArray

from lampwright.chip import opcode
from lampwright.chip.registers import ATMEGA328P, ChipMap
from lampwright.chip.steps import Instruction, find_step, fold, within

SINGLE = 0x20000
"""Index of the first word of the program as written; an index's lower 17 bits are the flash word."""

LAST_WORD = SINGLE - 1
"""A run ends where it comes here: behind the flash, or at the last word of a flash of 256 KiB."""

ERASED_WORD = 0xFFFF
X, Y, Z = 26, 28, 30
"""The lower registers of the pointer pairs."""

FOLDS_WHAT_FOLLOWS = frozenset(
    {
        *(opcode.GO, opcode.LOAD_DIRECT, opcode.LOAD_FLASH, opcode.LOAD_FLASH_THEN_INCREMENT),
        *(opcode.LOAD_FAR_FLASH, opcode.LOAD_FAR_FLASH_THEN_INCREMENT),
        *(opcode.PUSH, opcode.POP, opcode.IN, opcode.OUT_PORT),
        *(opcode.SET_STATUS_BIT, opcode.CLEAR_STATUS_BIT, opcode.STORE_BIT, opcode.LOAD_BIT),
        *range(opcode.ADD, opcode.DECREMENT_THEN_LOAD + 1),
    }
)
"""Operations that can't bring an event or an interrupt nearer."""

TAKES_A_BRANCH = frozenset((opcode.BRANCH_IF_SET, opcode.BRANCH_IF_CLEAR))
SKIPS = frozenset(range(opcode.SKIP_IF_EQUAL, opcode.SKIP_IF_IO_BIT_SET + 1))


@dataclass(frozen=True)
class _Row:
    name: str
    mask: int
    value: int
    letters: dict[str, tuple[int, ...]]
    form: str
    operation: int
    cycles: int
    wide_cycles: int
    only_wide: bool

    def field(self, letter: str, word: int) -> int:
        """Return the bits of ``word`` that the pattern marks with ``letter``, highest first."""
        number = 0
        for position in self.letters[letter]:
            number = number << 1 | word >> position & 1
        return number


def _row(entry: dict[str, str | int | bool]) -> _Row:
    pattern = str(entry["pattern"]).replace(" ", "")
    positions: dict[str, list[int]] = {}
    for index, letter in enumerate(pattern):
        positions.setdefault(letter, []).append(15 - index)
    ones = sum(1 << position for position in positions.pop("1", []))
    zeros = sum(1 << position for position in positions.pop("0", []))
    letters = {letter: tuple(where) for letter, where in positions.items()}
    operation = int(getattr(opcode, str(entry["operation"])))
    name, form = str(entry["name"]), str(entry["form"])
    cycles = int(entry["cycles"])
    wide_cycles, only_wide = int(entry.get("wide_cycles", cycles)), bool(entry.get("only_wide", False))
    return _Row(name, ones | zeros, ones, letters, form, operation, cycles, wide_cycles, only_wide)


def _load_rows() -> tuple[_Row, ...]:
    text = files("lampwright.chip").joinpath("instructions.toml").read_text(encoding="utf-8")
    return tuple(_row(entry) for entry in tomllib.loads(text)["instruction"])


_ROWS = _load_rows()


@cache
def _find_row(word: int, is_wide: bool) -> _Row | None:
    return next((row for row in _ROWS if word & row.mask == row.value and (is_wide or not row.only_wide)), None)


def _signed(number: int, n_bit: int) -> int:
    return number - (1 << n_bit) if number >> n_bit - 1 else number


def _pointer(form: str) -> int:
    return {"X": X, "Y": Y, "Z": Z}[form[0]]


_Operands = tuple[int, int, int]
_FORMS: dict[str, Callable[[_Row, int, int, int], _Operands]] = {
    "registers": lambda row, word, *_: (row.field("d", word), row.field("r", word), 0),
    "upper registers": lambda row, word, *_: (16 + row.field("d", word), 16 + row.field("r", word), 0),
    "pairs": lambda row, word, *_: (2 * row.field("d", word), 2 * row.field("r", word), 0),
    "immediate": lambda row, word, *_: (16 + row.field("d", word), 0, row.field("k", word)),
    "pair immediate": lambda row, word, *_: (24 + 2 * row.field("d", word), 0, row.field("k", word)),
    "register": lambda row, word, *_: (row.field("d", word), Z, 0),
    "register bit": lambda row, word, *_: (row.field("d", word), row.field("b", word), 0),
    "status bit": lambda row, word, *_: (0, row.field("s", word), 0),
    "I/O": lambda row, word, *_: (row.field("d", word), 0, 0x20 + row.field("a", word)),
    "I/O bit": lambda row, word, *_: (row.field("a", word), row.field("b", word), 0),
    "direct": lambda row, word, second, _: (row.field("d", word), 0, second),
    "far": lambda row, word, second, _: (0, 0, row.field("k", word) << 16 | second),
    "near": lambda row, word, _, at: (0, 0, at + 1 + _signed(row.field("k", word), 12)),
    "branch": lambda row, word, _, at: (0, row.field("s", word), at + 1 + _signed(row.field("k", word), 7)),
    "none": lambda *_: (0, Z, 0),
}
for _register in "XYZ":
    _FORMS[f"{_register} moved"] = lambda row, word, *_: (row.field("d", word), _pointer(row.form), 0)
    _FORMS[f"{_register} displaced"] = lambda row, word, *_: (
        row.field("d", word),
        _pointer(row.form),
        row.field("q", word) if "q" in row.letters else 0,
    )


def _ending(name: str, operation: int, at: int) -> Instruction:
    return Instruction(name, operation, 0, 0, 0, 0, 1, at)


def _specialise(row: _Row, source: int, operand: int, chip: ChipMap) -> int:
    """Return the operation, narrowed where the operands allow the core a shorter way."""
    if row.operation == opcode.OUT and operand in chip.port_addresses:
        return opcode.OUT_PORT
    if row.name == "BSET" and source == 7:
        return opcode.SET_INTERRUPTS
    return row.operation


def decode_at(words: NDArray[np.uint16], at: int, chip: ChipMap = ATMEGA328P) -> Instruction:
    """Decode the instruction that starts at flash word ``at``.

    Parameters
    ----------
    words : (n_word,) uint16
        The whole flash.
    at : int
        Flash word; one beyond the end decodes to what ends a run there.
    chip : ChipMap
        Whose instructions, cycles and ports.
    """
    if at >= len(words):
        return _ending("beyond the flash", opcode.BEYOND, at)
    word = int(words[at])
    if word == ERASED_WORD:
        return _ending("erased flash", opcode.ERASED, at)
    row = _find_row(word, chip.is_wide)
    has_second = row is not None and row.form in ("direct", "far")
    if row is None or (has_second and at + 1 >= len(words)):
        return _ending("unknown", opcode.UNKNOWN, at)
    second = int(words[at + 1]) if has_second else 0
    destination, source, operand = _FORMS[row.form](row, word, second, at)
    if row.form.endswith("moved") and destination in (source, source + 1):
        # the manual leaves open what a pointer that loads or stores itself holds afterwards
        return _ending("undefined", opcode.UNKNOWN, at)
    operation = _specialise(row, source, operand, chip)
    n_word = 2 if has_second else 1
    cycles = row.wide_cycles if chip.is_wide else row.cycles
    is_jump = operation == opcode.GO and row.form != "none"
    following, operand = (operand, 0) if is_jump else (at + n_word, operand)
    return Instruction(row.name, operation, destination, source, operand, cycles, n_word, following)


def decode_program(words: NDArray[np.uint16], chip: ChipMap = ATMEGA328P) -> NDArray[np.int64]:
    """Decode a whole flash image.

    Parameters
    ----------
    words : (n_word,) uint16, n_word at most SINGLE
        The flash, erased words included.

    Returns
    -------
    (SINGLE + n + 1,) int64, n the number of flash words, LAST_WORD at most
        Decoded words: folded from 0 on, as written from ``SINGLE`` on; the last of each ends the run.
    """
    end = min(len(words), LAST_WORD)
    written = [int(at) for at in np.flatnonzero(words[:end] != ERASED_WORD)]
    program = [_ending("erased flash", opcode.ERASED, 0)] * end + [_ending("beyond the flash", opcode.BEYOND, end)]
    for at in written:
        program[at] = decode_at(words, at, chip)
    table = np.full(SINGLE + end + 1, opcode.ERASED, np.int64)
    for at in (*written, end):
        for base in (0, SINGLE):
            table[base + at] = _pack(program, program[at], base)
    return table


def _pack(program: list[Instruction], instruction: Instruction, base: int) -> int:
    operation, operand, cycles = instruction.operation, instruction.operand, instruction.cycles
    following, other_cycles = within(program, instruction.following), 0
    if operation in TAKES_A_BRANCH:
        operand, other_cycles = within(program, operand), 2
    elif operation in SKIPS:
        n_skipped = program[following].n_word
        operand, other_cycles = within(program, following + n_skipped), 1 + n_skipped
    elif operation == opcode.CALL:
        operand = within(program, operand)
    if base != SINGLE and (step := find_step(program, instruction)) is not None:
        return step
    if base != SINGLE:
        if other_cycles:
            operand, other_cycles = fold(program, operand, other_cycles)
        if other_cycles or operation in FOLDS_WHAT_FOLLOWS:
            following, cycles = fold(program, following, cycles)
    if other_cycles or operation == opcode.CALL:
        operand += base
    return (
        operation
        | instruction.destination << 7
        | instruction.source << 12
        | operand << 17
        | cycles << 35
        | (following + base) << 40
        | other_cycles << 58
    )

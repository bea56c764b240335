"""Streams of random instructions for every operation, and the state after each step by us and by a reference.

A reference is a program that reads cases and tells states as ``lockstep.c`` says.
"""

from __future__ import annotations

import random
import struct
import subprocess
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path

import numpy as np

from lampwright.chip import EmulatedChip, state
from lampwright.chip.registers import ChipMap
from tests.chip.assembler import CLOCK_HZ

N_GENERAL = 32
STEP = struct.Struct("<IQHB32s")


@dataclass(frozen=True)
class Case:
    """A program, the state it starts in, and for how many steps it is followed; ``place`` is its flash byte."""

    chip: ChipMap
    program: bytes
    registers: bytes
    status: int
    stack_pointer: int
    ram: bytes
    n_step: int
    vector: int = 0
    place: int = 0


def ask_reference(reference: Sequence[str | Path], cases: list[Case]) -> list[tuple[list[tuple[int, ...]], bytes]]:
    """Return for each case the state after each step, and the RAM at its end."""
    text = b"".join(
        struct.pack("<I16sI", len(case.program) // 2, case.chip.name.lower().encode(), case.place)
        + case.program
        + case.registers
        + struct.pack("<BH", case.status, case.stack_pointer)
        + case.ram
        + struct.pack("<IHH", case.n_step, case.vector, 5 if case.chip.is_wide else 4)
        for case in cases
    )
    output = subprocess.run(reference, input=text, capture_output=True, check=True).stdout
    results, at = [], 0
    for case in cases:
        steps = [STEP.unpack_from(output, at + STEP.size * step) for step in range(case.n_step)]
        at += STEP.size * case.n_step
        results.append((steps, output[at : at + case.chip.ram]))
        at += case.chip.ram
    assert at == len(output)
    return results


def prepare(case: Case) -> EmulatedChip:
    """Return our chip in the state in which the case starts."""
    image = b"\xff" * case.place + case.program
    chip = EmulatedChip(image, CLOCK_HZ, [], case.chip.name)
    memory = chip._state.memory
    chip._state.scalar[state.PROGRAM_COUNTER] = case.place // 2
    memory[:N_GENERAL] = np.frombuffer(case.registers, np.uint8)
    memory[0x5D], memory[0x5E], memory[0x5F] = case.stack_pointer & 0xFF, case.stack_pointer >> 8, case.status
    memory[case.chip.ram_start :] = np.frombuffer(case.ram, np.uint8)
    return chip


def state_of(chip: EmulatedChip) -> tuple[int, int, int, int, bytes]:
    """Return what the reference tells after a step."""
    registers = chip.memory[:N_GENERAL]
    return chip.program_address, chip.cycle, chip.stack_pointer, chip.status_register, registers


def compare(case: Case, steps: list[tuple[int, ...]], ram: bytes) -> None:
    """Run a case step by step, then once more in one go, and compare with the reference."""
    chip = prepare(case)
    for number, expected in enumerate(steps):
        before = chip.program_address - case.place
        chip.run(chip.cycle + 1)
        word = int.from_bytes(case.program[before : before + 2], "little")
        assert state_of(chip) == expected, f"step {number}, {word:016b} at {before:#x}"
    assert chip.memory[case.chip.ram_start :] == ram
    at_once = prepare(case)
    at_once.run(steps[-1][1])
    assert state_of(at_once) == steps[-1]
    assert at_once.memory[case.chip.ram_start :] == ram


ENTRIES = tomllib.loads(files("lampwright.chip").joinpath("instructions.toml").read_text("utf-8"))["instruction"]
ROWS = {row["name"]: row["pattern"].replace(" ", "") for row in ENTRIES}
ONLY_WIDE = {row["name"] for row in ENTRIES if row.get("only_wide")}
TOUCHES_RAM = {name for name in ROWS if name.startswith(("LD ", "LDD ", "ST ", "STD "))}
READS_FLASH = {name for name in ROWS if name.startswith(("LPM", "ELPM"))}
GOES_FAR = {"JMP", "CALL", "RJMP", "RCALL", "BRBS", "BRBC", "IJMP", "ICALL", "RET", "RETI", "EIJMP", "EICALL"}
SKIPS = {"CPSE", "SBRC", "SBRS", "SBIC", "SBIS"}
NOT_HERE = {"SLEEP", "BREAK", "SPM"}
TIMELESS_IO = [0x3E, 0x4A, 0x4B, 0x25, 0x2B, 0x24]  # GPIOR0..2, PORTB, D, DDRB: all chips have the whole of them
LOW_IO = [0x1E, 0x05, 0x0B, 0x04]  # those of them that bit instructions reach
RAMPZ, EIND = 0x3B, 0x3C  # I/O addresses


def encode(name: str, dice: random.Random, **fields: int) -> int:
    """Fill a pattern's letters with the given numbers, the rest at random."""
    pattern, word = ROWS[name], 0
    left = {letter: fields.get(letter, dice.getrandbits(16)) for letter in set(pattern) - {"0", "1"}}
    for position, letter in enumerate(reversed(pattern)):
        if letter == "1":
            word |= 1 << position
        elif letter != "0":
            word |= (left[letter] & 1) << position
            left[letter] >>= 1
    return word


def load_immediate(register: int, value: int, dice: random.Random) -> int:
    return encode("LDI", dice, d=register - 16, k=value & 0xFF)


def point(register: int, address: int, dice: random.Random) -> list[int]:
    """Set a pointer pair."""
    return [load_immediate(register, address, dice), load_immediate(register + 1, address >> 8, dice)]


def plain_group(name: str, dice: random.Random, chip: ChipMap) -> list[int]:
    """Return the words of an instruction together with what makes its operands lie where they may."""
    if name in TOUCHES_RAM:
        pair = {"X": 26, "Y": 28, "Z": 30}[name[-1] if name[-1] != "+" else name[-2]]
        address = dice.choice(
            [dice.randrange(chip.ram_start + 0x40, chip.ram_start + 0x600)] * 3 + [dice.randrange(2, 24)]
        )
        d = dice.choice([register for register in range(N_GENERAL) if register not in (pair, pair + 1)])
        if address < N_GENERAL:
            q = dice.randrange(0, 4)
            return [*point(pair, address, dice), encode(name, dice, d=d, q=q)]
        return [*point(pair, address, dice), encode(name, dice, d=d)]
    if name in READS_FLASH:
        address = dice.randrange(chip.flash if name in ONLY_WIDE else min(chip.flash, 0x10000))
        # carries into RAMPZ now and then
        address |= dice.choice([0, 0, 0xFFFF])
        high = [load_immediate(16, address >> 16, dice), encode("OUT", dice, d=16, a=RAMPZ)]
        return [
            *(high if name in ONLY_WIDE else []),
            *point(30, address & min(chip.flash - 1, 0xFFFF), dice),
            encode(name, dice, d=dice.randrange(30)),
        ]
    if name in ("LDS", "STS"):
        address = dice.choice(
            [dice.randrange(chip.ram_start, chip.ram_end + 1)] * 3 + [dice.randrange(32), dice.choice(TIMELESS_IO)]
        )
        return [encode(name, dice), address]
    if name == "IN":
        return [encode(name, dice, a=dice.choice([*TIMELESS_IO, 0x5D, 0x5E, 0x5F]) - 0x20)]
    if name == "OUT":
        return [encode(name, dice, a=dice.choice([*TIMELESS_IO, 0x5D, 0x5F]) - 0x20)]
    if name in ("SBI", "CBI", "SBIC", "SBIS"):
        return [encode(name, dice, a=dice.choice(LOW_IO))]
    return [encode(name, dice)]


def row_group(dice: random.Random) -> list[int]:
    """Return the words of instructions that the core may take in one step."""
    d, e = dice.randrange(N_GENERAL), dice.randrange(N_GENERAL)
    return dice.choice(
        [
            [encode("ADD", dice), encode("ADC", dice)],
            [encode("ADD", dice, d=d, r=d), encode("ADC", dice, d=e, r=e)],
            [encode("SUBI", dice), encode("SBCI", dice)],
            [encode("MUL", dice), encode("MOVW", dice, r=0)],
            [
                encode("MUL", dice),
                encode("ADD", dice, d=d, r=0),
                encode("ADC", dice, d=e, r=1),
                encode("EOR", dice, d=1, r=1),
            ],
        ]
    )


def jump(name: str, at: int, target: int, dice: random.Random, chip: ChipMap) -> list[int]:
    """Return the words of something at flash word ``at`` that leads to ``target``; its length is fixed."""
    if name in ("JMP", "CALL"):
        return [encode(name, dice, k=target >> 16), target & 0xFFFF]
    if name in ("RJMP", "RCALL", "BRBS", "BRBC"):
        return [encode(name, dice, k=target - at - 1)]
    if name in ("IJMP", "ICALL"):
        return [*point(30, target, dice), encode(name, dice)]
    if name in ("EIJMP", "EICALL"):
        high = [load_immediate(16, target >> 16, dice), encode("OUT", dice, d=16, a=EIND)]
        return [*high, *point(30, target, dice), encode(name, dice)]
    push = []
    for part in range(3 if chip.is_wide else 2):
        push += [load_immediate(16 + part, target >> 8 * part, dice), encode("PUSH", dice, d=16 + part)]
    return [*push, encode(name, dice)]


def name_of(word: int) -> str:
    """Return the instruction that a word stands for."""
    bits = f"{word:016b}"
    return next(
        name
        for name, pattern in ROWS.items()
        if all(p not in "01" or p == b for p, b in zip(pattern, bits, strict=True))
    )


def instructions_of(chip: ChipMap) -> set[str]:
    """Return what the chip's core knows, without what isn't compared here."""
    return set(ROWS) - NOT_HERE - (set() if chip.is_wide else ONLY_WIDE)


def random_case(seed: int, start_with: str, chip: ChipMap, first: int = 0) -> Case:
    """Return a stream of random instructions from flash word ``first`` on that begins with a certain one."""
    dice = random.Random(seed)
    # IJMP and ICALL reach the first 64 Ki words only
    usable = sorted(instructions_of(chip) - ({"IJMP", "ICALL"} if first else set()))
    names = [start_with, *(dice.choice(usable) for _ in range(40))]
    groups: list[list[int]] = []
    for index, name in enumerate(names):
        # what a skip may jump over must be one instruction, not the first of several
        after_skip = index > 0 and names[index - 1] in SKIPS
        if after_skip and name in TOUCHES_RAM | READS_FLASH | GOES_FAR | {"ADIW", "SBIW"}:
            names[index] = name = "ADC"
        groups.append(jump(name, 0, 0, dice, chip) if name in GOES_FAR else plain_group(name, dice, chip))
    # behind the first instruction, far enough from the end of the run that the core may take it in one step
    if names[0] not in SKIPS:
        groups[1] = row_group(dice)
        names[1] = "row"
    starts = np.cumsum([first, *(len(group) for group in groups)]).tolist()
    for index, name in enumerate(names):
        if name in GOES_FAR:
            target = starts[min(index + dice.randrange(1, 4), len(groups))]
            last = starts[index + 1] - 1
            groups[index] = jump(name, last if name not in ("JMP", "CALL") else starts[index], target, dice, chip)
    words = [word for group in groups for word in group]
    words += [encode("NOP", dice)] * 4
    program = struct.pack(f"<{len(words)}H", *words)
    return Case(
        chip=chip,
        program=program,
        registers=dice.randbytes(N_GENERAL),
        status=dice.getrandbits(8),
        stack_pointer=dice.randrange(0x480, 0x500),
        ram=dice.randbytes(chip.ram),
        n_step=30,
        place=2 * first,
    )


def compare_every_instruction(reference: Sequence[str | Path], chip: ChipMap) -> None:
    """Compare streams that begin with each instruction in turn, and see that each was executed."""
    names = sorted(instructions_of(chip))
    cases = [random_case(number, name, chip) for number, name in enumerate(names * 8)]
    if chip.is_wide:  # once more beyond what 16 bits reach
        cases += [
            random_case(number, name, chip, first=0x10123)
            for number, name in enumerate(sorted({*names} - {"IJMP", "ICALL"}) * 2)
        ]
    executed: set[str] = set()
    for case, (steps, ram) in zip(cases, ask_reference(reference, cases), strict=True):
        compare(case, steps, ram)
        starts = [case.place, *(step[0] for step in steps[:-1])]
        executed |= {
            name_of(int.from_bytes(case.program[at - case.place : at - case.place + 2], "little")) for at in starts
        }
    assert executed == set(names)

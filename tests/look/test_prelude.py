"""The small functions under every look do plain arithmetic, to the last bit, in the chip's own instructions."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest

from lampwright.firmware.looks_text import table_text
from lampwright.look import TablePool
from lampwright.look.tables import EASE, SHUFFLE, SINE, pulse
from tests.look.chip_run import build, heard

N_RANDOM = 30_000
PER_FRAME = 64
EDGES = (0, 1, 2, 3, 0x7F, 0x80, 0x81, 0xFE, 0xFF, 0x100, 0x101, 0x17F, 0x180, 0x7F00, 0x7FFE, 0x7FFF, 0x8000, 0x8001,
         0x80FF, 0x8100, 0xAAAA, 0xFE01, 0xFF00, 0xFF7F, 0xFF80, 0xFFFE, 0xFFFF)  # fmt: skip
BYTE_EDGES = (0, 1, 2, 0x7F, 0x80, 0x81, 0xFE, 0xFF)
STEEP = pulse(0.05, 0.1)
CURVES = {"sine": SINE, "ease": EASE, "steep": STEEP}


def _signed(word: int) -> int:
    return word - 0x10000 if word & 0x8000 else word


@dataclass(frozen=True)
class Case:
    """A call with operands a, b, c of 16 bits, the same in plain whole numbers, and which operands to try.

    ``tried`` is "pairs" or "triples" (edges, then random ones), "bytes" or "words" (all there are).
    """

    call: str
    plain: Callable[[int, int, int], int]
    tried: str


def _scramble(value: int) -> int:
    for factor in (0x9E3B, 0x6A8D):
        value = ((value ^ value >> 8) * factor) % 65536
    return value ^ value >> 8


def _curve(name: str, phase: int) -> int:
    index, part = divmod(phase, 256)
    return int(CURVES[name].values.values[index]) + int(CURVES[name].steps.values[index]) * part // 256


def _bump(cell: int, weight: int) -> int:
    return int(SHUFFLE.values[cell]) * (255 - weight) + int(SHUFFLE.values[cell + 1]) * weight


CASES = (
    Case("high_product(a, b)", lambda a, b, c: a * b // 65536, "pairs"),
    Case("high_product(a, a)", lambda a, b, c: a * a // 65536, "words"),
    Case("high_product(a, 45696u)", lambda a, b, c: a * 45696 // 65536, "words"),
    Case("high_product(a, b) + a", lambda a, b, c: a * b // 65536 + a, "pairs"),
    Case("high_product_signed(a, b)", lambda a, b, c: _signed(a) * b // 65536, "pairs"),
    Case("high_product_signed(a, a)", lambda a, b, c: _signed(a) * a // 65536, "words"),
    Case("high_product_both_signed(a, b)", lambda a, b, c: _signed(a) * _signed(b) // 65536, "pairs"),
    Case("high_product_both_signed(a, a)", lambda a, b, c: _signed(a) ** 2 // 65536, "words"),
    Case("middle_product(a, b)", lambda a, b, c: a * (b % 256) // 256, "pairs"),
    Case("middle_product(a, a)", lambda a, b, c: a * (a % 256) // 256, "words"),
    Case("middle_product(a, 205)", lambda a, b, c: a * 205 // 256, "words"),
    Case("blend(a, b, c)", lambda a, b, c: a % 256 * (255 - c % 256) + b % 256 * (c % 256), "triples"),
    Case("blend(a, b, b)", lambda a, b, c: a % 256 * (255 - b % 256) + (b % 256) ** 2, "bytes"),
    Case("blend(a, a, b)", lambda a, b, c: a % 256 * 255, "bytes"),
    Case("bump(shuffle_table, a, b)", lambda a, b, c: _bump(a, b), "bytes"),
    Case("scramble(a)", lambda a, b, c: _scramble(a), "words"),
    *(
        Case(f"curve({name}_values_table, {name}_steps_table, a)", lambda a, b, c, name=name: _curve(name, a), "words")
        for name in CURVES
    ),
    Case("floor_divide((int32_t)(int16_t)a * 999, (b & 0x7FFF) + 1)",
         lambda a, b, c: _signed(a) * 999 // ((b & 0x7FFF) + 1), "pairs"),
    Case("magnitude<int32_t>((int16_t)a)", lambda a, b, c: abs(_signed(a)), "words"),
    Case("least<int32_t>((int16_t)a, b)", lambda a, b, c: min(_signed(a), b), "pairs"),
    Case("most<int32_t>((int16_t)a, b)", lambda a, b, c: max(_signed(a), b), "pairs"),
)  # fmt: skip

_PROGRAM = """
static uint16_t results[@PER_FRAME@];
static uint8_t count;
static __attribute__((noinline)) void tell(uint16_t a, uint16_t b, uint16_t c)
{
    results[count++] = @CALL@;
    if (count == @PER_FRAME@) {
        send((const uint8_t *)results, sizeof results);
        count = 0;
    }
}
static uint16_t draw()
{
    static uint32_t state = 1;
    state = state * 1664525ul + 1013904223ul;
    return state >> 16;
}
static const uint16_t edges[] = {@EDGES@};
static const uint8_t byte_edges[] = {@BYTE_EDGES@};
int main()
{
    DDRB = 1;
    @LOOPS@
    while (count > 0) tell(0, 0, 0);
    for (;;) {}
}
"""

_RANDOM = f"for (uint16_t k = 0; k < {N_RANDOM}; ++k) {{ uint16_t a = draw(), b = draw(); tell(a, b, draw()); }}"
_LOOPS = {
    "pairs": "for (uint16_t a : edges) for (uint16_t b : edges) tell(a, b, 0);\n    " + _RANDOM,
    "triples": "for (uint8_t a : byte_edges) for (uint8_t b : byte_edges) for (uint8_t c : byte_edges) tell(a, b, c);\n"
    + _RANDOM,
    "bytes": "for (uint16_t a = 0; a < 256; ++a) for (uint16_t b = 0; b < 256; ++b) tell(a, b, 0);",
    "words": "for (uint32_t a = 0; a < 65536; ++a) tell(a, 0, 0);",
}


def _random_operands() -> Iterator[tuple[int, int, int]]:
    """Yield the operands that the program draws.

    Source: the generator x = 1664525 x + 1013904223 modulo 2**32 of Numerical Recipes, 2nd edition, section 7.1
    (from memory).
    """
    state = 1
    while True:
        drawn = []
        for _ in range(3):
            state = (state * 1664525 + 1013904223) % (1 << 32)
            drawn.append(state >> 16)
        yield drawn[0], drawn[1], drawn[2]


def _operands(tried: str) -> Iterator[tuple[int, int, int]]:
    if tried == "pairs":
        yield from ((a, b, 0) for a, b in itertools.product(EDGES, EDGES))
    elif tried == "triples":
        yield from itertools.product(BYTE_EDGES, BYTE_EDGES, BYTE_EDGES)
    elif tried == "bytes":
        yield from ((a, b, 0) for a, b in itertools.product(range(256), range(256)))
    else:
        yield from ((a, 0, 0) for a in range(65536))
    if tried in {"pairs", "triples"}:
        yield from itertools.islice(_random_operands(), N_RANDOM)


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.call)
def test_a_function_under_the_looks_does_plain_arithmetic_on_the_chip(case: Case, tmp_path: Path) -> None:
    pool = TablePool()
    pool.name(SHUFFLE, "")
    tables = [table_text(table) for table in pool.tables]
    for name, curve in CURVES.items():
        own = TablePool()
        own.name(curve.values, "", "int16_t")
        own.name(curve.steps, "", "int8_t")
        for table, part in zip(own.tables, ("values", "steps"), strict=True):
            tables.append(table_text(table).replace(f" {table.name}[", f" {name}_{part}_table["))
    program = _PROGRAM.replace("@CALL@", case.call).replace("@LOOPS@", _LOOPS[case.tried])
    program = program.replace("@PER_FRAME@", str(PER_FRAME)).replace("@BYTE_EDGES@", str(BYTE_EDGES)[1:-1])
    image = build("\n".join(tables) + program.replace("@EDGES@", str(EDGES)[1:-1]), tmp_path)
    assert image is not None
    meant = np.array([case.plain(*operands) % 65536 for operands in _operands(case.tried)])
    assert len(meant) > 30_000
    sent = heard(image, -(-len(meant) // PER_FRAME)).reshape(-1).view("<u2")[: len(meant)]
    wrong = np.flatnonzero(sent != meant)
    assert not len(wrong), next(itertools.islice(_operands(case.tried), int(wrong[0]), None))

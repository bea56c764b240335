"""A sum with another value's sign bit keeps its sign, whichever compiler built it.

GCC 15.2 as it comes adds the sign bit where it is to be subtracted: ``p + (x >> 31)`` and ``p - (x < 0)``, and so for
8 bits. The sweep over random values found it, one bit in 200,000 codes. Expected values are Python's whole numbers.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable
from pathlib import Path

import pytest

from lampwright.firmware import Compiler, PathCompiler, WasiCompiler, WheelCompiler
from tests.firmware.chip_program import ChipProgram

COMPILERS: list[Callable[[], Compiler]] = [WasiCompiler, WheelCompiler, PathCompiler]

Meaning = Callable[[int, int, int], int]

FORMS: dict[str, Meaning] = {
    "p + (x >> LAST)": lambda p, x, bits: p + (x >> bits - 1),
    "p - (x >> LAST)": lambda p, x, bits: p - (x >> bits - 1),
    "p + (S)(x >> LAST)": lambda p, x, bits: p + (x >> bits - 1),
    "p + (S)((U)x >> LAST)": lambda p, x, bits: p + (x < 0),
    "p - (S)((U)x >> LAST)": lambda p, x, bits: p - (x < 0),
    "p + (x < 0 ? -1 : 0)": lambda p, x, _: p - (x < 0),
    "p - (x < 0)": lambda p, x, _: p - (x < 0),
    "p + (x < 0)": lambda p, x, _: p + (x < 0),
    "p + (S)(int8_t)((S)(x * 8) >> LAST)": lambda p, x, _: p - (x < 0),
    "p - ((U)x >> LAST) * 3": lambda p, x, _: p - 3 * (x < 0),
}
"""C++ of values of a signed type S, its unsigned fellow U and its number of bits less one, and what it means."""

KINDS = [(8, 8), (16, 16), (32, 32), (16, 8), (32, 8), (32, 16), (16, 32)]
"""Bits of p and of x."""


@pytest.mark.parametrize("compiler", COMPILERS)
def test_a_sign_bit_in_a_sum_keeps_its_sign(tmp_path: Path, compiler: Callable[[], Compiler]) -> None:
    functions, calls, expected = [], [], []
    for (bits, x_bits), (form, meaning) in itertools.product(KINDS, FORMS.items()):
        most = (1 << x_bits - 4) - 1  # times 8 it stays within the type
        xs = (-most - 1, -1, 0, 1, most)
        p = 3 << bits - 4
        name = f"form{len(functions)}"
        text = form.replace("LAST", str(x_bits - 1)).replace("(S)", f"(int{x_bits}_t)")
        text = text.replace("(U)", f"(uint{x_bits}_t)")
        functions.append(
            f"static __attribute__((noinline)) int{bits}_t {name}(int{bits}_t p, int{x_bits}_t x) {{ return {text}; }}"
        )
        for x in xs:
            calls.append(f"results[{len(calls)}] = {name}({p}l + zero, {x}l + zero);")
            expected.append((f"{form} of {x_bits} bits at p = {p}, x = {x}", meaning(p, x, x_bits)))
    text = f"""
        #include <stdint.h>
        volatile int32_t zero = 0;
        int32_t results[{len(calls)}];
        {chr(10).join(functions)}
        int main()
        {{
            {chr(10).join(calls)}
            for (;;) {{}}
        }}
    """
    done = ChipProgram(text, tmp_path, compiler())
    done.run(200_000)
    held = done.bytes_of("results")
    got = [int.from_bytes(held[at : at + 4], "little", signed=True) for at in range(0, len(held), 4)]
    wrong = [
        f"{what}: {value}, not {meant}" for value, (what, meant) in zip(got, expected, strict=True) if value != meant
    ]
    assert wrong == []

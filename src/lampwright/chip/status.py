"""The status register's arithmetic flags.

Source: AVR Instruction Set Manual, the flag equations of each instruction (from memory).
Each function returns the new status register; bits it does not own are kept.
"""

from __future__ import annotations

from lampwright.chip.compiled import inlined


@inlined
def after_add(first: int, second: int, total: int, status: int) -> int:
    """Return the status after ``total = first + second`` (+ carry); ``total`` is 0 to 0x1FF."""
    overflow = (first ^ total) & (second ^ total)
    return (
        (status & 0xC0)
        | (total >> 8)
        | (2 if total & 0xFF == 0 else 0)
        | (total >> 5 & 0x04)
        | (overflow >> 4 & 0x08)
        | ((overflow ^ total) >> 3 & 0x10)
        | ((first ^ second ^ total) << 1 & 0x20)
    )


@inlined
def after_subtract(first: int, second: int, difference: int, status: int, zero: int) -> int:
    """Return the status after ``difference = first - second`` (- carry), -0x100 to 0xFF.

    ``zero`` is the Z bit to set when the result is 0: Z itself, or for the instructions
    with carry the Z from before, since they may only clear it.
    """
    overflow = (first ^ second) & (first ^ difference)
    return (
        (status & 0xC0)
        | (difference >> 8 & 0x01)
        | (zero if difference & 0xFF == 0 else 0)
        | (difference >> 5 & 0x04)
        | (overflow >> 4 & 0x08)
        | ((overflow ^ difference) >> 3 & 0x10)
        | ((first ^ second ^ difference) << 1 & 0x20)
    )


@inlined
def after_logic(result: int, status: int) -> int:
    """Return the status after AND, OR, EOR: V cleared, C and H kept."""
    return (status & 0xE1) | (2 if result == 0 else 0) | (result >> 5 & 0x04) | (result >> 3 & 0x10)


@inlined
def after_count(result: int, overflow: bool, status: int) -> int:
    """Return the status after INC or DEC: C and H kept."""
    sign = (result >> 7) ^ (1 if overflow else 0)
    return (status & 0xE1) | (2 if result == 0 else 0) | (result >> 5 & 0x04) | (0x08 if overflow else 0) | (sign << 4)


@inlined
def after_shift(result: int, carry: int, status: int) -> int:
    """Return the status after LSR, ROR, ASR: V is N xor C, so S is C; H kept."""
    negative = result >> 7
    return (
        (status & 0xE0) | carry | (2 if result == 0 else 0) | (negative << 2) | ((negative ^ carry) << 3) | (carry << 4)
    )


@inlined
def after_pair(result: int, overflow: int, carry: int, status: int) -> int:
    """Return the status after ADIW or SBIW; ``result`` is 0 to 0xFFFF, H is kept."""
    negative = result >> 15
    return (
        (status & 0xE0)
        | carry
        | (2 if result == 0 else 0)
        | (negative << 2)
        | (overflow << 3)
        | ((negative ^ overflow) << 4)
    )


@inlined
def after_multiply(product: int, carry: int, status: int) -> int:
    """Return the status after a multiplication: only C and Z change."""
    return (status & 0xFC) | carry | (2 if product & 0xFFFF == 0 else 0)

"""Values for the template of sender.h: the pauses that give each bit its cycles, and the table of them."""

from __future__ import annotations

from collections.abc import Sequence

from lampwright.firmware.bits import (
    LEAST_ONE_LOW,
    LEAST_ONE_MORE,
    LEAST_ZERO_HIGH,
    BitCycles,
    is_relaxed,
    tight_last_bit,
)
from lampwright.firmware.pins import SourceRun
from lampwright.firmware.target import Target
from lampwright.parts.model import Window
from lampwright.show.model import CircuitShow


def pause(cycles: int) -> str:
    """Return macros that pass this many cycles in the fewest instructions: two each, and one if odd."""
    return " ".join(["PAUSE_2"] * (cycles // 2) + ["PAUSE_1"] * (cycles % 2)) or '""'


def sender_values(
    bit: BitCycles, runs: Sequence[SourceRun], show: CircuitShow, clock: float, target: Target
) -> dict[str, object]:
    """Return each ``@{value}`` of sender.h."""
    zero_pause = bit.zero_high - LEAST_ZERO_HIGH
    one_pause = bit.one_high - bit.zero_high - 1
    low_pause = bit.one_low - 1
    return {
        "clock_text": f"{clock / 1e6:g} MHz",
        "cycle_ns": f"{1e9 / clock:.4g}",
        "timing_table": "\n".join(_table(bit, show, clock)),
        "period": bit.period,
        "zero_high": bit.zero_high,
        "one_high": bit.one_high,
        "pin_structs": "\n".join(_struct(run, target) for run in runs),
        "zero_row": _row(pause(zero_pause), zero_pause),
        "pause_in_one_row": _row("pause_in_one", one_pause),
        "bit_row": _row(f"BIT_UP_TO_ONE_FALLS(bit, {pause(one_pause)})"),
        "low_row": _row(pause(low_pause), low_pause, is_last=True),
        "last_bit": "\n".join(_relaxed_last_bit(bit) if is_relaxed(bit) else _tight_last_bit(bit)),
        "count_class": "w" if is_relaxed(bit) else "d",
    }


_LOAD = '"ld %[byte], %a[next]+ \\n\\t"'
_MACHINE_CODE = {
    "down": ('"subi %A[count], 1 \\n\\t"', 1),
    "borrow": ('"sbci %B[count], 0 \\n\\t"', 1),
    "load": (_LOAD, 2),
}


def _relaxed_last_bit(bit: BitCycles) -> list[str]:
    """Return the lines of LAST_BIT where there is time to jump back from afar."""
    one_pause = bit.one_high - bit.zero_high - LEAST_ONE_MORE
    low_pause = bit.one_low - LEAST_ONE_LOW
    return [
        _row("BIT_UP_TO_ONE_FALLS(0,"),
        _row(f"    {_LOAD}", 2),
        _row('    "sbiw %[count], 1 \\n\\t"', 2),
        _row(f"    {pause(one_pause)})", one_pause),
        _row(pause(low_pause), low_pause),
        _row('"breq 2f \\n\\t"', 1),
        _row('"rjmp 1b \\n\\t"', 2, is_last=True),
    ]


def _tight_last_bit(bit: BitCycles) -> list[str]:
    """Return the lines of LAST_BIT where every cycle is needed: the next byte and the count in the gaps."""
    places = tight_last_bit(bit)
    assert places is not None, "choose_bit_cycles takes no other"
    before, during, after = places
    lines = [_row('"out %[port], %[high] \\n\\t"', 1)]
    lines += _filled(before, bit.zero_high - LEAST_ZERO_HIGH)
    lines += [_row('"sbrs %[byte], 0 \\n\\t"', 1), _row('"out %[port], %[low] \\n\\t"', 1)]
    lines += _filled(during, bit.one_high - bit.zero_high - 1)
    lines += [_row('"out %[port], %[low] \\n\\t"', 1)]
    lines += _filled(after, bit.one_low - 3)
    return [*lines, _row('"brne 1b \\n\\t"', 2, is_last=True)]


def _filled(parts: Sequence[str], cycles: int) -> list[str]:
    """Return a gap of so many cycles with these parts of the work in it, and a pause for the rest."""
    rest = cycles - sum(_MACHINE_CODE[part][1] for part in parts)
    lines = [_row(*_MACHINE_CODE[part]) for part in parts]
    return [*lines, _row(pause(rest), rest)] if rest else lines


def _row(text: str, cycles: int | None = None, *, is_last: bool = False) -> str:
    """Return one line of a macro, with the cycles that it takes beside it."""
    line = f"    {text:<56}" + ("" if cycles is None else f"/* {cycles} */")
    return line.rstrip() if is_last else f"{line:<84}\\"


def _table(bit: BitCycles, show: CircuitShow, clock: float) -> list[str]:
    timing = show.layout.circuit.strip.timing

    def row(name: str, cycles: int, window: Window) -> str:
        allowed = f"{window.least * 1e6:.2f} to {window.most * 1e6:.2f} us"
        return f"//     {name:<10} {cycles:>4} cycles  {cycles / clock * 1e6:.4f} us  {allowed}"

    return [
        "//                              lasts      the pixel allows",
        row("zero, high", bit.zero_high, timing.zero_high),
        row("zero, low", bit.zero_low, timing.zero_low),
        row("one, high", bit.one_high, timing.one_high),
        row("one, low", bit.one_low, timing.one_low),
    ]


def _struct(run: SourceRun, target: Target) -> str:
    address = target.port(run.port).io_address
    return (
        f'// Data pin of run "{run.name}": {run.pin}. "out" takes the port\'s I/O address.\n'
        f"struct {run.struct} {{\n"
        f"    static constexpr uint8_t port = 0x{address:02x};                // PORT{run.port}\n"
        f"    static constexpr uint8_t bit = {run.bit};\n"
        "};\n"
    )

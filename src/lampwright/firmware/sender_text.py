"""Values for the template of sender.h: the pauses that give each bit its cycles, and the table of them."""

from __future__ import annotations

from collections.abc import Sequence

from lampwright.firmware.bits import LEAST_ONE_LOW, LEAST_ONE_MORE, LEAST_ZERO_HIGH, BitCycles
from lampwright.firmware.pins import SourceRun
from lampwright.firmware.target import ATMEGA328P
from lampwright.parts.model import Window
from lampwright.show.model import CircuitShow


def pause(cycles: int) -> str:
    """Return macros that pass this many cycles in the fewest instructions: two each, and one if odd."""
    return " ".join(["PAUSE_2"] * (cycles // 2) + ["PAUSE_1"] * (cycles % 2)) or '""'


def sender_values(bit: BitCycles, runs: Sequence[SourceRun], show: CircuitShow, clock: float) -> dict[str, object]:
    """Return each ``@{value}`` of sender.h."""
    zero_pause = bit.zero_high - LEAST_ZERO_HIGH
    one_pause = bit.one_high - bit.zero_high - 1
    low_pause = bit.one_low - 1
    last_one_pause = bit.one_high - bit.zero_high - LEAST_ONE_MORE
    last_low_pause = bit.one_low - LEAST_ONE_LOW
    return {
        "clock_text": f"{clock / 1e6:g} MHz",
        "cycle_ns": f"{1e9 / clock:.4g}",
        "timing_table": "\n".join(_table(bit, show, clock)),
        "period": bit.period,
        "zero_high": bit.zero_high,
        "one_high": bit.one_high,
        "pin_structs": "\n".join(_struct(run) for run in runs),
        "zero_row": _row(pause(zero_pause), zero_pause),
        "pause_in_one_row": _row("pause_in_one", one_pause),
        "bit_row": _row(f"BIT_UP_TO_ONE_FALLS(bit, {pause(one_pause)})"),
        "low_row": _row(pause(low_pause), low_pause, is_last=True),
        "last_one_row": _row(f"    {pause(last_one_pause)})", last_one_pause),
        "last_low_row": _row(pause(last_low_pause), last_low_pause),
    }


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


def _struct(run: SourceRun) -> str:
    address = ATMEGA328P.port(run.port).io_address
    return (
        f'// Data pin of run "{run.name}": {run.pin}. "out" takes the port\'s I/O address.\n'
        f"struct {run.struct} {{\n"
        f"    static constexpr uint8_t port = 0x{address:02x};                // PORT{run.port}\n"
        f"    static constexpr uint8_t bit = {run.bit};\n"
        "};\n"
    )

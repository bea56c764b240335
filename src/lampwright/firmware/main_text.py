"""Values for the template of main.cpp."""

from __future__ import annotations

from collections.abc import Sequence

from lampwright.firmware.pacing import Pacing
from lampwright.firmware.pins import SourceRun
from lampwright.firmware.power_loss_text import main_lines
from lampwright.firmware.target import Target
from lampwright.parts.model import Board
from lampwright.show.model import CircuitShow


def main_values(
    title: str, show: CircuitShow, runs: Sequence[SourceRun], pacing: Pacing, target: Target, board: Board
) -> dict[str, object]:
    """Return each ``@{value}`` of main.cpp."""
    data_pins = {port.letter: [run for run in runs if run.port == port.letter] for port in target.ports}
    pins_low = []
    pull_ups = []
    for port in target.ports:
        used = data_pins[port.letter]
        mask = port.usable
        if used:
            outputs = " | ".join(f"1 << DD{run.port}{run.bit}" for run in used)
            names = ", ".join(f'"{run.name}"' for run in used)
            pins_low += [f"    PORT{port.letter} = 0;", f"    DDR{port.letter} = {outputs};    // run {names}"]
            mask &= ~sum(1 << run.bit for run in used)
        pull_ups.append(f"    PORT{port.letter} = 0x{mask:02x};")
    pull_ups += [f"    PORT{letter} = 0xff;" for letter in target.far_ports]
    return {
        "title": title,
        "clocks_off": "\n".join(_clocks_off(target)),
        "pins_low": "\n".join(pins_low),
        "pull_ups": "\n".join(pull_ups),
        "prescaler": pacing.prescaler,
        "timer_counts": pacing.timer_counts,
        "frame_ms": pacing.frame_ms,
        "write_ms": f"{pacing.write_cycles / board.clock.value * 1000:.2f}",
        "clock_select": pacing.clock_select,
        "send_runs": "\n".join(_send(run) for run in runs),
        **main_lines(show),
    }


def _clocks_off(target: Target) -> list[str]:
    return [
        f"    {register} = " + " | ".join(f"1 << {bit}" for bit in bits) + ";" for register, bits in target.clocks_off
    ]


def _send(run: SourceRun) -> str:
    start = "frame" if run.first == 0 else f"frame + {run.first} * bytes_per_pixel"
    return f'        send_run<{run.struct}>({start}, {run.n_pixel} * bytes_per_pixel);    // "{run.name}"'

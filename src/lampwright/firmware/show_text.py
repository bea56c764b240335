"""Values for the templates that hold the show's numbers: show.h, show.cpp, clock.cpp, FLASHING.md."""

from __future__ import annotations

from collections.abc import Sequence

from lampwright.firmware.fuses import FlashCommands, Fuses
from lampwright.firmware.looks_text import rows
from lampwright.firmware.pacing import WATCHDOG, Pacing
from lampwright.firmware.pins import SourceRun
from lampwright.firmware.power_loss_text import clock_lines, resets_text
from lampwright.firmware.target import Target
from lampwright.parts.model import Board
from lampwright.show.compile import CURRENT_UNIT
from lampwright.show.model import CircuitShow, CueProgram
from lampwright.units.write import format_quantity


def show_values(show: CircuitShow, runs: Sequence[SourceRun]) -> dict[str, object]:
    """Return each ``@{value}`` of show.h."""
    red, green, blue = show.limiter.weights
    weights = ", ".join(f"{weight * CURRENT_UNIT * 1e3:g} mA" for weight in show.limiter.weights)
    return {
        "run_table": "\n".join(_run_row(run) for run in runs),
        "n_pixel": show.n_pixel,
        "order": "".join("RGB"[channel] for channel in show.channel_order),
        "red_byte": show.channel_order.index(0),
        "green_byte": show.channel_order.index(1),
        "blue_byte": show.channel_order.index(2),
        "frame_ms": show.frame_ms,
        "standby_text": _say(show.standby_frames, show),
        "standby_frames": show.standby_frames,
        "pass_text": _say(show.pass_frames, show),
        "pass_frames": show.pass_frames,
        "ending": show.ending.value,
        "weights_text": weights + " for red, green, blue",
        "red_weight": red,
        "green_weight": green,
        "blue_weight": blue,
        "cap_text": f"{show.limiter.cap / 255 * CURRENT_UNIT:.3f} A",
        "load_cap": f"{show.limiter.cap}ul",
    }


def _run_row(run: SourceRun) -> str:
    return f'//   {run.first:>4} to {run.first + run.n_pixel - 1:>4}   run "{run.name}" on {run.pin}'


def _say(frames: int, show: CircuitShow) -> str:
    return format_quantity(frames * show.frame_ms / 1000, "time", digits=6)


def cue_values(show: CircuitShow, functions: Sequence[str]) -> dict[str, object]:
    """Return each ``@{value}`` of show.cpp; ``functions`` are the cues' look functions."""
    indicator = show.indicator
    red, green, blue = indicator.code
    return {
        "n_cue": len(show.cues),
        "cue_rows": "\n".join(_cue_row(cue, name, show) for cue, name in zip(show.cues, functions, strict=True)),
        "n_indicator": len(indicator.pixels),
        "indicator_rows": rows([str(pixel) for pixel in indicator.pixels]),
        "indicator_red": red,
        "indicator_green": green,
        "indicator_blue": blue,
    }


def _cue_row(cue: CueProgram, function: str, show: CircuitShow) -> str:
    numbers = f"{{{function}, {cue.start}, {cue.length}, {cue.fade}}},"
    return f"    {numbers}    // from {_say(cue.start, show)} for {_say(cue.length, show)}"


def clock_values(mark: int, show: CircuitShow, pacing: Pacing, board: Board) -> dict[str, object]:
    """Return each ``@{value}`` of clock.cpp."""
    write = pacing.write_cycles / board.clock.value
    return {
        "show_mark": f"0x{mark:08x}",
        "watchdog_ms": f"{WATCHDOG * 1000:g}",
        "write_ms": f"{write * 1000:.1f}",
        "startup_ms": f"{pacing.startup * 1000:.1f}",
        "lost_ms": f"{(WATCHDOG + write + pacing.startup) * 1000:.0f}",
        "frame_ms": pacing.frame_ms,
        "lost_to_watchdog": pacing.lost_to_watchdog,
        **clock_lines(show),
    }


def flashing_values(
    title: str, show: CircuitShow, board: Board, target: Target, fuses: Fuses, commands: FlashCommands
) -> dict[str, object]:
    """Return each ``@{value}`` of FLASHING.md."""
    spoken = commands.spoken()
    minutes = -(-show.standby_frames * show.frame_ms // 60000)
    return {
        "title": title,
        "circuit": show.layout.circuit.name,
        "board": board.title,
        "chip_name": target.name,
        "clock_text": f"{board.clock.value / 1e6:g} MHz",
        "supply_text": f"{board.supply.value:g} V",
        "read_command": spoken["read"],
        "fuse_command": spoken["fuse"],
        "flash_command": spoken["flash"],
        "verify_command": spoken["verify"],
        "low_fuse": f"0x{fuses.low:02X}",
        "high_fuse": f"0x{fuses.high:02X}",
        "extended_fuse": f"0x{fuses.extended:02X}",
        "low_meaning": fuses.low_meaning,
        "high_meaning": fuses.high_meaning,
        "extended_meaning": fuses.extended_meaning,
        "needed_text": f"{target.supply_needed(board.clock.value):.2f} V",
        "brown_out_text": f"{board.brown_out.value:g} V",
        "standby_words": _standby_words(minutes),
        "resets": resets_text(show),
    }


def _standby_words(minutes: int) -> str:
    if minutes == 0:
        return "there is no countdown here, the show starts at once"
    pixels = "one pixel" if minutes == 1 else f"{minutes} pixels"
    return f"{pixels}, one for each minute left, flashing once a second"

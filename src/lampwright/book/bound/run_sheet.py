"""The run sheet: what the piece does when, from power-on to its end, with room for the clock."""

from __future__ import annotations

from collections.abc import Mapping

from lampwright.look.source import Value
from lampwright.piece.model import Ending, Piece
from lampwright.units import format_quantity

ENDINGS = {
    Ending.REPEAT: "from the first cue again, until the pack is empty",
    Ending.HOLD: "the last picture stays",
    Ending.DARK: "dark",
}


def run_rows(piece: Piece) -> list[tuple[str, str, str, str, str]]:
    """Return the rows: time after power-on, what begins, how long it takes, its fade, its settings."""
    standby = piece.brief.standby
    rows = [(clock(0.0), "standby: as many lit pixels as minutes left", _time(standby), "", "")]
    at = standby
    for number, cue in enumerate(piece.show.cues, start=1):
        fade = _time(cue.fade) if cue.fade else "none"
        rows.append((clock(at), f"cue {number}: {cue.look}", _time(cue.length), fade, _settings(cue.settings)))
        at += cue.length
    ending = ENDINGS[piece.show.ending]
    if not piece.has_packs:
        ending = ending.replace("the pack is empty", "it is unplugged")
    rows.append((clock(at), ending, "", "", ""))
    rows.append((clock(standby + piece.brief.run_time), "the brief's run time is over", "", "", ""))
    return sorted(rows, key=lambda row: row[0])


def clock(seconds: float) -> str:
    """Return a time as hours, minutes and seconds, "01:05:30"."""
    whole = round(seconds)
    return f"{whole // 3600:02d}:{whole // 60 % 60:02d}:{whole % 60:02d}"


def _time(seconds: float) -> str:
    return format_quantity(seconds, "time")


def _settings(settings: Mapping[str, Value]) -> str:
    return ", ".join(f"{name} {_said(value)}" for name, value in settings.items())


def _said(value: object) -> str:
    return " to ".join(map(str, value)) if isinstance(value, (list, tuple)) else str(value)

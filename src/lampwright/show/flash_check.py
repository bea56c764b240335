"""Findings on flashing light."""

from __future__ import annotations

from collections.abc import Sequence

from lampwright.findings.model import Finding, Severity
from lampwright.piece.model import Piece
from lampwright.show.flash_view import FREE_AREA, VIEWING_DISTANCE, View, area_at
from lampwright.show.flashing import MOST_FLASHES, Degree, Flashing, FlashKind, FlashSecond
from lampwright.show.model import CircuitShow
from lampwright.units import format_quantity

SEVERITIES = {Degree.FEW: Severity.PASS, Degree.SMALL: Severity.WARN, Degree.LARGE: Severity.FAIL}

SCREENING = "a screening, no medical or legal clearance"


def check_flashes(piece: Piece, shows: Sequence[CircuitShow], view: View, flashing: Flashing) -> tuple[Finding, ...]:
    """Return the findings on general and red flashes of the whole piece."""
    general = "large swings of light, at least 10 % of the lightest white, the darker state below 80 %"
    red = "changes between saturated red and a colour far from it"
    return (
        _finding("FLASH-001", f"general flashes: {general}", piece, shows, view, flashing.general),
        _finding("FLASH-002", f"red flashes: {red}", piece, shows, view, flashing.red),
    )


def _finding(code: str, what: str, piece: Piece, shows: Sequence[CircuitShow], view: View, kind: FlashKind) -> Finding:
    worst = kind.worst
    where = f"; worst {_moment(shows, worst)}" if worst.flashes else ""
    return Finding(
        code,
        SEVERITIES[worst.degree],
        piece.brief.name,
        f"{what}; seen from {format_quantity(VIEWING_DISTANCE, 'length')}{where}",
        _value(view, worst),
        f"at most {MOST_FLASHES} in any second",
        1 - worst.flashes / MOST_FLASHES,
        _what_to_do(shows, view, kind),
        f"WCAG 2.2 flash thresholds, exempt up to {FREE_AREA} sr within 10°; beside it ITU-R BT.1702, a quarter of "
        f"the pixels at once; {SCREENING}",
        worst.start * shows[0].frame_ms / 1000 if worst.flashes else None,
    )


def _value(view: View, second: FlashSecond) -> str:
    if not second.flashes:
        return "no flash"
    unit = "flash" if second.flashes == 1 else "flashes"
    share = 100 * len(second.pixels) / view.n_pixel
    pixels = f"{share:.0f} %" if share >= 1 else "under 1 %"
    return f"{second.flashes:g} {unit} in a second, by {pixels} of the pixels, {_area(view, second)}"


def _area(view: View, second: FlashSecond) -> str:
    return f"{view.largest_area(second.pixels):.2g} sr in one field of 10°"


def _what_to_do(shows: Sequence[CircuitShow], view: View, kind: FlashKind) -> str:
    """Return what to do about too many flashes, with the first moment that has as bad a second."""
    if kind.worst.degree is Degree.FEW:
        return ""
    circuits = ", ".join(view.circuits[index] for index in dict.fromkeys(view.circuit_of[kind.first.pixels].tolist()))
    steps = (
        f"look at it {_moment(shows, kind.first)}, on {circuits}, where this first happens: make it slower, its swings "
        'smaller or the cue another look; put up the notice of "lampwright explain FLASH-001", and have a way to '
        "switch off"
    )
    if kind.worst.degree is Degree.LARGE:
        return f"don't show this to people: {steps}; {SCREENING}"
    free = round(1e4 * area_at(FREE_AREA, VIEWING_DISTANCE))
    return (
        f"small enough for the exempt area ({FREE_AREA} sr, {free} cm² at {VIEWING_DISTANCE:g} m), which is "
        f"not made for bright points in the dark, so better none: {steps}; {SCREENING}"
    )


def _moment(shows: Sequence[CircuitShow], second: FlashSecond) -> str:
    """Return when a second begins, and in which cue."""
    show = shows[0]
    when = f"{format_quantity(second.start * show.frame_ms / 1000, 'time')} after power-on"
    if second.start < show.standby_frames:
        return f"{when}, in standby"
    passes, within = divmod(second.start - show.standby_frames, show.pass_frames)
    cue = next(number for number, cue in reversed(list(enumerate(show.cues, start=1))) if cue.start <= within)
    again = " again" if passes else ""
    return f'{when}, in cue {cue}{again} ("{show.cues[cue - 1].program.look.name}")'

"""Strip off the shelf with a meter on it: what its pixels draw and what its rails drop, in place of the catalogue's.

A length is fed at its head. With n pixels of pitch p, as long as none of them sags::

    quiescent = I_dark / n,    channels = (I_white - n quiescent) / n,    rail = (V_head - V_far) / (I_white n p)

The last is the evenly loaded line: each of two rails drops I R / 2, R being one rail's resistance. White alone says
only what the three channels take together, so each keeps its share.

Source
------
Evenly loaded line, ``I R / 2``: any text on electrical distribution (reference: common practice, no source).
Valid for: far end above the knee of the pixel's channels, see :mod:`lampwright.power.pixel_model`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from lampwright.parts.model import Figure, Status, Strip
from lampwright.power.pixel_model import pixel_model
from lampwright.stock import Lot, NewLot
from lampwright.units import Kind, MakerError, Problem, format_quantity

CHANNELS = ("red_current", "green_current", "blue_current")
KINDS: dict[str, Kind] = {
    "quiescent_current": "current",
    **dict.fromkeys(CHANNELS, "current"),
    "rail_resistance": "linear resistance",
}

CODE = "STOCK-006"


def has_reading(lot: NewLot) -> bool:
    """Return whether a meter was on a lot of strip."""
    return lot.white is not None or lot.dark is not None


def as_measured(strip: Strip, lot: Lot) -> Strip:
    """Return strip with the figures that a reading of this lot tells.

    Raises
    ------
    MakerError
        STOCK-006: the reading makes no sense, or some of the pixels sagged, so that it tells nothing of the others.
    """
    what = lot.what
    if problem := _problem(strip, what):
        raise MakerError([replace(problem, summary=f"lot {lot.number}, {what.part}: {problem.summary}")])
    if what.pixels is None:
        return strip
    source = f"a meter reading of {what.pixels} pixels, lot {lot.number}; the most where lots differ"
    found = strip
    if what.dark is not None:
        found = replace(found, quiescent_current=_figure("quiescent_current", what.dark / what.pixels, source))
    if what.white is not None:
        together = what.white / what.pixels - found.quiescent_current.value
        share = together / sum(getattr(strip, name).value for name in CHANNELS)
        changes: dict[str, Any] = {name: _figure(name, share * getattr(strip, name).value, source) for name in CHANNELS}
        found = replace(found, **changes)
    if what.far is not None and what.volts is not None and what.white is not None:
        length = what.pixels / strip.density.value
        rail = (what.volts - what.far) / (what.white * length)
        found = replace(found, rail_resistance=_figure("rail_resistance", rail, source))
    return found


def worst_of(strips: Sequence[Strip]) -> Strip:
    """Return strip with the highest draw and the highest rail resistance of several lots of it."""
    most: dict[str, Any] = {
        name: max((getattr(each, name) for each in strips), key=lambda figure: figure.value) for name in KINDS
    }
    return replace(strips[0], **most)


def _figure(name: str, value: float, source: str) -> Figure:
    return Figure(value, format_quantity(value, KINDS[name], 3), Status.MEASURED, source)


def _problem(strip: Strip, what: NewLot) -> Problem | None:
    """Return what of a reading makes no sense."""
    if what.pixels is None:
        if not has_reading(what):
            return None
        do = "say on how many pixels the meter was: --pixels 60"
        return Problem(CODE, "a current says nothing of one pixel", "no number of pixels", "with --pixels", do)
    if what.white is None:
        return None
    dark = what.pixels * strip.quiescent_current.value if what.dark is None else what.dark
    if what.white <= dark:
        found = f"{format_quantity(what.white, 'current')} white, {format_quantity(dark, 'current')} dark"
        summary, allowed = "white draws no more than dark", "more current white than dark"
        return Problem(CODE, summary, found, allowed, "measure both again")
    if what.volts is None:
        do = 'say what the meter read at the head, all white: --volts "4.98 V"'
        return Problem(CODE, "whether pixels sagged can't be told", "no voltage at the head", "with --volts", do)
    if what.far is not None and what.far >= what.volts:
        found = f"{format_quantity(what.volts, 'voltage')} at the head, {format_quantity(what.far, 'voltage')} far"
        summary, allowed = "the far end is no lower than the head", "less at the far end"
        return Problem(CODE, summary, found, allowed, "measure both again, all white")
    return _sag(strip, what, what.volts, what.white, what.pixels)


def _sag(strip: Strip, what: NewLot, volts: float, white: float, pixels: int) -> Problem | None:
    """Return that the far pixels sagged, if they did: by what was measured there, else by the catalogue's rails."""
    drop = white * strip.rail_resistance.value * pixels / strip.density.value
    far = max(0.0, volts - drop) if what.far is None else what.far
    safe = pixel_model(strip).safe
    if far >= safe:
        return None
    found = f"{format_quantity(far, 'voltage')} at the far end, {'as reckoned' if what.far is None else 'as measured'}"
    summary, allowed = "the far pixels sag and draw less", f"{safe:.3g} V at least, so that all draw alike"
    return Problem(CODE, summary, found, allowed, "measure fewer pixels at a time")

"""A look compiled for one circuit: whole numbers all the way, ready for every back-end."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from lampwright.look.build import CueTime, build
from lampwright.look.codes import Drive, channel_codes
from lampwright.look.cpp import write_function
from lampwright.look.fused import Fused, fuse
from lampwright.look.graph import Node
from lampwright.look.js import write_module
from lampwright.look.loops import run_fused
from lampwright.look.lower import Lowering, whole_turns
from lampwright.look.run import run
from lampwright.look.simplify import Simplifier
from lampwright.look.source import Look, Value, setting_text
from lampwright.look.steady import Places
from lampwright.look.whole import Whole
from lampwright.look.writing import FunctionPlan, TablePool

WORTH_COMPILING = 200_000
"""Pixels times frames asked for at once above which a compiled loop is worth making: whole shows ask for
block after block of this size, and a loop once made is kept."""


@dataclass(frozen=True, eq=False)
class Program:
    """Codes of every pixel of a circuit at any frame of a cue.

    ``codes`` are whole-number values for red, green, blue, each 0 to 255; ``named`` tells which
    values the look's author gave a name.
    """

    look: Look
    settings: Mapping[str, Value]
    n_pixel: int
    last_frame: int
    codes: tuple[Whole, Whole, Whole]
    named: Mapping[Whole, str]

    def frames(self, times: NDArray[np.int64]) -> NDArray[np.uint8]:
        """Return codes (n_time, n_pixel, 3), red, green, blue, at frame numbers of the cue."""
        assert times.size == 0 or 0 <= times.min() <= times.max() <= self.last_frame
        if times.size * self.n_pixel < WORTH_COMPILING:
            return run(self.codes, times, self.n_pixel)
        return run_fused(self._fused, times, self.n_pixel, len(self.codes))

    @cached_property
    def _fused(self) -> Fused:
        return fuse(self.codes, self.n_pixel)

    def cpp(self, function: str, pool: TablePool) -> str:
        """Return the text of a C++ function that puts the same codes; its tables go to ``pool``."""
        return write_function(self.plan(function), pool)

    def javascript(self, function: str) -> str:
        """Return the text of an ES module that exports ``function(t, put)``, which puts the same codes.

        It calls ``put(i, red, green, blue)`` for each pixel ``i`` at the cue's frame number ``t``.
        :func:`lampwright.look.js.write_module` draws several looks together into one module.
        """
        return write_module([self.plan(function)])

    def plan(self, function: str) -> FunctionPlan:
        """Return what a function of this name has to compute, for any back-end that writes text."""
        comment = (self.look.title or self.look.name, *self._settings_text())
        return FunctionPlan(function, comment, self.codes, self.named, self.n_pixel)

    def _settings_text(self) -> list[str]:
        lines = []
        for name, value in self.settings.items():
            setting = self.look.settings[name]
            lines.append(f"  {name} = {setting_text(setting, value)}: {setting.help}")
        return lines


@dataclass(frozen=True, eq=False)
class Lowered:
    """A look on its way to a program: its channels in real numbers, and the codes made of them."""

    lowering: Lowering
    channels: tuple[Node, ...]
    codes: tuple[Whole, Whole, Whole]


def compile_look(
    look: Look,
    settings: Mapping[str, Value],
    places: Places,
    frame_seconds: float,
    last_frame: int,
    drive: Drive | float,
    cue: CueTime | None = None,
) -> Program:
    """Return ``look`` compiled for pixels at ``places``.

    Parameters
    ----------
    settings
        Every setting's value, as :func:`lampwright.look.source.settle` gives them.
    frame_seconds
        From one frame to the next. [s]
    last_frame
        The largest frame number that the cue (and the fade out of it) will ask for.
    drive
        How light becomes codes; a number is the brightness alone.
    cue
        The cue's length and shift in time; without one, the length is ``last_frame``.

    Raises
    ------
    MakerError
        LOOK-002 to LOOK-007, each at its line and column.
    """
    lowered = lower_look(look, settings, places, frame_seconds, last_frame, drive, cue)
    return Program(look, dict(settings), places.n_pixel, last_frame, lowered.codes, lowered.lowering.named)


def lower_look(
    look: Look,
    settings: Mapping[str, Value],
    places: Places,
    frame_seconds: float,
    last_frame: int,
    drive: Drive | float,
    cue: CueTime | None = None,
) -> Lowered:
    """Return a look lowered to whole numbers, with what is known on the way; as :func:`compile_look`."""
    drive = drive if isinstance(drive, Drive) else Drive(drive)
    drawing = build(look, settings, cue or CueTime(max(1, last_frame) * frame_seconds))
    channels = drawing.colour.channels
    simplifier = Simplifier(channels, dict(drawing.names))
    simple = tuple(simplifier.rewrite(channel) for channel in channels)
    lowering = Lowering(places, frame_seconds, last_frame, simplifier.names, whole_turns(simple))
    red, green, blue = channel_codes(lowering, simplifier, simple, drive)
    for whole, name in zip((red, green, blue), ("red", "green", "blue"), strict=True):
        lowering.named.setdefault(whole, name)
    return Lowered(lowering, simple, (red, green, blue))

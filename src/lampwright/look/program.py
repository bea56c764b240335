"""A look compiled for one circuit: whole numbers all the way, ready for every back-end."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lampwright.look.build import build
from lampwright.look.codes import channel_codes
from lampwright.look.cpp import write_function
from lampwright.look.lower import Lowering, whole_turns
from lampwright.look.run import run
from lampwright.look.simplify import Simplifier
from lampwright.look.source import Look
from lampwright.look.steady import Places
from lampwright.look.whole import Whole
from lampwright.look.writing import FunctionPlan, TablePool


@dataclass(frozen=True, eq=False)
class Program:
    """Codes of every pixel of a circuit at any frame of a cue.

    ``codes`` are whole-number values for red, green, blue, each 0 to 255; ``named`` tells which
    values the look's author gave a name.
    """

    look: Look
    settings: Mapping[str, float | str]
    n_pixel: int
    last_frame: int
    codes: tuple[Whole, Whole, Whole]
    named: Mapping[Whole, str]

    def frames(self, times: NDArray[np.int64]) -> NDArray[np.uint8]:
        """Return codes (n_time, n_pixel, 3), red, green, blue, at frame numbers of the cue."""
        assert times.size == 0 or 0 <= times.min() <= times.max() <= self.last_frame
        return run(self.codes, times, self.n_pixel)

    def cpp(self, function: str, pool: TablePool) -> str:
        """Return the text of a C++ function that puts the same codes; its tables go to ``pool``."""
        comment = (self.look.title or self.look.name, *self._settings_text())
        return write_function(FunctionPlan(function, comment, self.codes, self.named, self.n_pixel), pool)

    def _settings_text(self) -> list[str]:
        lines = []
        for name, value in self.settings.items():
            setting = self.look.settings[name]
            shown = value if isinstance(value, str) else f"{value:g} {setting.unit}".rstrip()
            lines.append(f"  {name} = {shown}: {setting.help}")
        return lines


def compile_look(
    look: Look,
    settings: Mapping[str, float | str],
    places: Places,
    frame_seconds: float,
    last_frame: int,
    brightness: float,
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
    brightness
        Share of full drive that 1.0 of a channel means. [1]

    Raises
    ------
    MakerError
        LOOK-002 to LOOK-007, each at its line and column.
    """
    drawing = build(look, settings)
    channels = drawing.colour.channels
    simplifier = Simplifier(channels, dict(drawing.names))
    simple = [simplifier.rewrite(channel) for channel in channels]
    lowering = Lowering(places, frame_seconds, last_frame, simplifier.names, whole_turns(simple))
    red, green, blue = channel_codes(lowering, simplifier, simple, 255.0 * brightness)
    for whole, name in zip((red, green, blue), ("red", "green", "blue"), strict=True):
        lowering.named.setdefault(whole, name)
    return Program(look, dict(settings), places.n_pixel, last_frame, (red, green, blue), lowering.named)

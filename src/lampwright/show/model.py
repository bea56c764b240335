"""The show of one circuit, as whole numbers: what firmware and picture are both made from.

Time is counted in frames since power-on, ``k``. The rules, exact to the last bit:

* ``k < standby_frames``: the countdown. ``left = ceil((standby_frames - k) * frame_ms / 60000)``
  minutes are left; the first ``left`` indicator pixels show the indicator's code while
  ``(k * frame_ms) % 1000 < 500``, every other pixel is dark.
* else ``n = k - standby_frames``; ``passes, r = divmod(n, pass_frames)``. After the first pass,
  ending ``dark`` shows nothing, ``hold`` keeps ``r = pass_frames - 1``, ``repeat`` goes on with
  ``r``.
* the cue is the last one with ``start <= r``; ``t = r - start`` is its time. Its program gives
  one code (red, green, blue; 0 to 255) per pixel.
* in a fade, ``t < fade``: ``w = t * 256 // fade``; the codes of what came before, ``old``, are mixed in:
  ``old + (((new - old) * w) >> 8)`` with a floor shift. What came before is the cue before it at its
  own time ``length + t``; before the first cue it is darkness in the first pass and the last cue
  in later ones.
* the limiter then weighs the whole frame, standby included: ``load = sum over channels of
  (sum of codes) * weight``; if ``load > cap`` every code becomes ``(code * scale) >> 8`` with
  ``scale = cap // ((load >> 8) + 1)``, which is at most 255.
* the line carries each pixel's codes in the strip's colour order, runs in their order.
"""

from __future__ import annotations

from dataclasses import dataclass

from lampwright.layout.model import CircuitLayout
from lampwright.look.program import Program
from lampwright.piece.model import Ending


@dataclass(frozen=True)
class CueProgram:
    """A cue with its look compiled for this circuit. Times in frames of the pass."""

    program: Program
    start: int
    length: int
    fade: int


@dataclass(frozen=True)
class Indicator:
    """The countdown's pixels, the first minute's first, and their code."""

    pixels: tuple[int, ...]
    code: tuple[int, int, int]


@dataclass(frozen=True)
class Limiter:
    """Whole-number current limit of the circuit.

    ``weights`` are the currents of a channel at code 255 for red, green, blue, in units of
    10 µA; ``cap`` is the current left for light, in the same unit times 255. Both fit the
    chip's 32-bit sums, which :func:`lampwright.show.compile.compile_circuit` proves.
    """

    weights: tuple[int, int, int]
    cap: int


@dataclass(frozen=True)
class CircuitShow:
    """Everything one circuit does, from power-on to the pack's end."""

    layout: CircuitLayout
    frame_ms: int
    standby_frames: int
    pass_frames: int
    ending: Ending
    cues: tuple[CueProgram, ...]
    indicator: Indicator
    limiter: Limiter
    channel_order: tuple[int, int, int]
    """Index into (red, green, blue) of the first, second and third byte on the line."""
    goes_on_until: int = 0
    """Frames since power-on within which the show goes on after a loss of power; 0: always a new countdown."""

    @property
    def n_pixel(self) -> int:
        """Pixels of all runs."""
        return self.layout.n_pixel

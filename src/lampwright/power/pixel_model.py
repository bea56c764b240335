"""Current of a pixel as a function of its own supply voltage.

Each of the three channels is a constant-current sink below its light. It regulates while the supply leaves it
the light's forward voltage and the sink's own headroom; below that knee the current falls along the channel's
slope resistance to nothing. Below its floor the chip itself switches off. Blue and green, whose forward
voltages are highest, give way first, so white turns yellow and then red.

With ``V`` the pixel's supply, ``c`` a channel, ``code`` 0 to 255::

    I(V) = g(V) * (I_quiescent + sum_c code_c / 255 * I_c * ramp((V - start_c) / (knee_c - start_c)))
    knee_c = forward_c + headroom,  start_c = knee_c - slope * I_c
    g(V) = ramp((V - (floor - FLOOR_WIDTH)) / FLOOR_WIDTH)

``ramp`` is 0 up to 0 and 1 from 1 on, exactly; between them straight, with parabolic corners, so that its slope
has no jumps. Every current therefore never falls when the voltage rises, and a network of such pixels has exactly
one solution (see :mod:`lampwright.power.solve`).

Valid for means over a period of the pixels' own pulse-width modulation: within one period currents are on or off,
and pixels that happen to switch together pull the rails lower for that part of it.

Source
------
Forward voltages: WS2812B datasheet, in copies. Which colours go first: common practice, no source. The straight
slope is our simplification.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lampwright.parts.model import Strip

CORNER = 0.1
"""Half width of the ramp's rounded corners, as a share of the ramp (our choice)."""

FLOOR_WIDTH = 0.2
"""Over this much below its floor a chip is taken to go off; the solver needs a slope (our choice). [V]"""

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class PixelModel:
    """Figures of one sort of pixel, its channels in the order red, green, blue."""

    quiescent: float  # all channels dark [A]
    full: tuple[float, float, float]  # each channel full on and regulating [A]
    start: tuple[float, float, float]  # supply at which each channel begins to conduct [V]
    knee: tuple[float, float, float]  # supply from which each channel regulates [V]
    floor: float  # supply below which the chip goes off [V]

    @property
    def safe(self) -> float:
        """Supply from which all currents are constant. [V]"""
        return max(*self.knee, self.floor)


def pixel_model(strip: Strip) -> PixelModel:
    """Return the model of a strip's pixels from its catalogue figures."""
    full = (strip.red_current.value, strip.green_current.value, strip.blue_current.value)
    forward = (strip.red_forward.value, strip.green_forward.value, strip.blue_forward.value)
    red, green, blue = (volts + strip.headroom.value for volts in forward)
    slope = strip.channel_resistance.value
    return PixelModel(
        quiescent=strip.quiescent_current.value,
        full=full,
        start=(red - slope * full[0], green - slope * full[1], blue - slope * full[2]),
        knee=(red, green, blue),
        floor=strip.supply_floor.value,
    )


def ramp(share: Floats) -> Floats:
    """Return the ramp with rounded corners: 0 up to 0, 1 from 1 on, never falling, its slope continuous."""
    inner = np.clip(share, 0.0, 1.0)
    scale = 1.0 - 2.0 * CORNER
    rising = inner**2 / (4.0 * CORNER * scale)
    topping = 1.0 - (1.0 - inner) ** 2 / (4.0 * CORNER * scale)
    straight = (inner - CORNER) / scale
    return np.where(inner < 2 * CORNER, rising, np.where(inner > 1 - 2 * CORNER, topping, straight))


def channel_shares(model: PixelModel, voltage: Floats) -> Floats:
    """Return the share of its full light that each channel keeps at these supplies, (..., 3). [1]"""
    start, knee = np.array(model.start), np.array(model.knee)
    awake = ramp((voltage - model.floor) / FLOOR_WIDTH + 1.0)
    return awake[..., None] * ramp((voltage[..., None] - start) / (knee - start))


def pixel_current(model: PixelModel, voltage: Floats, codes: NDArray[np.uint8]) -> Floats:
    """Return the current of pixels.

    Parameters
    ----------
    voltage : (...,) float64
        Each pixel's own supply, plus to ground. [V]
    codes : (..., 3) uint8
        Red, green, blue as sent.

    Returns
    -------
    (...,) float64
        [A]
    """
    awake = ramp((voltage - model.floor) / FLOOR_WIDTH + 1.0)
    light = channel_shares(model, voltage) @ np.diag(np.array(model.full) / 255.0)
    return awake * model.quiescent + np.asarray((light * codes).sum(axis=-1), dtype=np.float64)

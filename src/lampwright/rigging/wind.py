"""Wind: pressure, gusts, the Beaufort scale, and what it does to tube, cord and strip."""

from __future__ import annotations

import bisect

from lampwright.piece.wind import AIR_DENSITY, BEAUFORT

AIR_VISCOSITY = 1.46e-5  # kinematic, at 15 °C: International Standard Atmosphere, sea level (from memory) [m2/s]
CYLINDER_DRAG = 1.2  # long cylinder below a Reynolds number of 2e5: Roshko 1961; engineer's data book [1]
STRIP_DRAG = 2.0  # long flat plate square to the wind, 1.98: Aeronautical Engineer's Data Book, fig. 5.13b [1]
STRIP_WIDTH = 0.014  # of a sleeved strip with its ties (common practice, no source) [m]
STRIP_THICKNESS = 0.005  # of a sleeved strip on a tube (common practice, no source) [m]

STRIKE_GUST = 13.0  # strike and clear, whatever else holds (common practice, no source) [m/s]


def reynolds(speed: float, width: float) -> float:
    """Return the Reynolds number of wind [m/s] past something this wide [m], ``V D / nu``. [1]

    :data:`CYLINDER_DRAG` holds from about 4e3 to 2e5; above, a smooth cylinder's drag falls, so that it errs safely.
    """
    return speed * width / AIR_VISCOSITY


def pressure(speed: float) -> float:
    """Return the dynamic pressure of wind at this speed [m/s], ``rho V² / 2``. [Pa]"""
    return AIR_DENSITY / 2 * speed**2


def beaufort(speed: float) -> int:
    """Return the Beaufort number of a mean wind speed [m/s]."""
    return bisect.bisect_right(BEAUFORT, speed)

"""Wind: pressure, gusts, the Beaufort scale, and what it does to tube, cord and strip."""

from __future__ import annotations

import bisect

AIR_DENSITY = 1.25  # EN 1991-1-4, 4.5, recommended value; ASCE 7 has 0.613 V², 2 % less [kg/m3]
GUST_FACTOR = 1.5  # gusts over the mean of ten minutes, from memory: 1.4 to 1.6 [1]
CYLINDER_DRAG = 1.2  # long cylinder below a Reynolds number of 2e5: Roshko 1961; engineer's data book [1]
STRIP_DRAG = 2.0  # long flat plate square to the wind, 1.98: Aeronautical Engineer's Data Book, fig. 5.13b [1]
STRIP_WIDTH = 0.014  # of a sleeved strip with its ties (common practice, no source) [m]
STRIP_THICKNESS = 0.005  # of a sleeved strip on a tube (common practice, no source) [m]

STRIKE_GUST = 13.0  # strike and clear, whatever else holds (common practice, no source) [m/s]

_BEAUFORT = (0.3, 1.6, 3.4, 5.5, 8.0, 10.8, 13.9, 17.2, 20.8, 24.5, 28.5, 32.7)
"""Where each number from 1 to 12 begins, mean of ten minutes: WMO, Beaufort scale. [m/s]"""


def pressure(speed: float) -> float:
    """Return the dynamic pressure of wind at this speed [m/s], ``rho V² / 2``. [Pa]"""
    return AIR_DENSITY / 2 * speed**2


def beaufort(speed: float) -> int:
    """Return the Beaufort number of a mean wind speed [m/s]."""
    return bisect.bisect_right(_BEAUFORT, speed)

"""What a battery pack can give: at its output, in the cold, and how bright that lets the strip be."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from lampwright.parts.model import Pack

Floats = NDArray[np.float64]

AGED_SHARE = 0.8
"""Share of the rated charge at which a pack counts as worn out (common practice, no source)."""


def cold_share(pack: Pack, temperature: float) -> float:
    """Return the share of its charge that the pack gives at this temperature [K].

    Between the table's points the share is interpolated; beyond its ends it stays at the end's
    figure, and :func:`is_colder_than_known` tells.
    """
    temperatures, shares = zip(*pack.cold_capacity, strict=True)
    return float(np.interp(temperature, temperatures, shares))


def is_colder_than_known(pack: Pack, temperature: float) -> bool:
    """Return whether the pack's table ends above this temperature [K]."""
    return temperature < pack.cold_capacity[0][0]


def age_share(pack: Pack, cycles: float) -> float:
    """Return the share of its rated charge that a pack keeps after so many full cycles.

    Beyond the table's end it goes on falling as over the last stretch, which :func:`is_older_than_known` tells.
    """
    known, shares = (list(each) for each in zip(*pack.age_capacity, strict=True))
    if cycles <= known[-1]:
        return float(np.interp(cycles, known, shares))
    slope = (shares[-1] - shares[-2]) / (known[-1] - known[-2])
    return max(0.0, float(shares[-1] + slope * (cycles - known[-1])))


def is_older_than_known(pack: Pack, cycles: float) -> bool:
    """Return whether the pack has more full cycles than its table."""
    return cycles > pack.age_capacity[-1][0]


def cell_energy(pack: Pack) -> float:
    """Return what the cells hold by their rating, warm and new: charge × cell voltage. [J]

    Source
    ------
    Conservation of energy. Worked example in the trade: 10,000 mAh at 3.7 V are 37 Wh, 7400 mAh at 5 V without loss,
    5920 mAh at 80 %.
    """
    return pack.charge.value * pack.cell_voltage.value


def efficiency_at(pack: Pack, current: Floats) -> Floats:
    """Return the converter's efficiency at these loads [A], in the shape of ``current``. [1]

    Between the points of the pack's table it is interpolated, beyond its ends it stays at the end's figure.
    """
    loads, shares = zip(*pack.load_efficiency, strict=True)
    share = np.interp(current / pack.current_limit.value, loads, shares)
    return np.asarray(pack.efficiency.value * share, dtype=np.float64)


def cell_power(pack: Pack, current: Floats) -> Floats:
    """Return what the cells spend at these loads [A], the converter's own share in it. [W]"""
    return pack.output_voltage.value * current / efficiency_at(pack, current)


def recharge_time(pack: Pack, energy: float) -> float:
    """Return how long this much energy [J] takes to come back into the cells. [s]"""
    return energy / (pack.charge_power.value * pack.charge_efficiency.value)


def white_cap(budget: float, n_pixel: int, quiescent: float, board: float, white: float) -> float:
    """Return the highest code at which all pixels may shine white: the budget's fair share of 255.

    ``255 (I_budget - N q - I_board) / (N i_white)``, at most 255; below zero when the dark strip and the
    board alone exceed the budget.

    Parameters
    ----------
    budget, quiescent, board, white : float
        Current allowed, of a dark pixel, of the board, and of a pixel's three channels full on. [A]
    """
    return min(255.0, 255.0 * (budget - n_pixel * quiescent - board) / (n_pixel * white))


def whole_percent_below(share: float) -> int:
    """Return a share as whole percent, rounded down, never below zero."""
    return max(0, math.floor(100 * share + 1e-9))

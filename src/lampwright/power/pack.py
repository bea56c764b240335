"""What a battery pack can give: at its output, in the cold, and how bright that lets the strip be."""

from __future__ import annotations

import math

import numpy as np

from lampwright.parts.model import Pack

AGED_SHARE = 0.8
"""Share of the rated charge at which a pack counts as worn out (common practice, no source)."""


def output_charge(pack: Pack) -> float:
    """Return the charge at the output when warm and new: cell charge × V_cell / V_out × efficiency. [C]

    Source
    ------
    Conservation of energy, with the converter's efficiency. Worked example in the trade:
    10,000 mAh at 3.7 V are 7400 mAh at 5 V ideally, 5920 mAh at 80 %.
    """
    return pack.charge.value * pack.cell_voltage.value / pack.output_voltage.value * pack.efficiency.value


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

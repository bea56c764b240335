"""Quantities as makers say them: text such as "8 ft 6 in" in, SI floats out, and back.

Also the base of every error that a maker can cause (:class:`MakerError`).
"""

from lampwright.units.errors import MakerError, Place, Problem
from lampwright.units.parse import UnitError, parse, parse_any
from lampwright.units.table import KINDS, Kind, unit_table
from lampwright.units.write import format_quantity

__all__ = [
    "KINDS",
    "Kind",
    "MakerError",
    "Place",
    "Problem",
    "UnitError",
    "format_quantity",
    "parse",
    "parse_any",
    "unit_table",
]

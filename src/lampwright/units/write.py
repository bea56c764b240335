"""Print SI values as makers say them."""

from __future__ import annotations

import math

from lampwright.units.table import Kind, Unit, unit_table

_COMPOUND_TIME_FROM = 120.0  # below, seconds alone read better [s]


def format_quantity(value: float, kind: Kind, digits: int = 3) -> str:
    """Return an SI value as text in a handy unit, such as "2.4 m" or "1 h 30 min".

    Parameters
    ----------
    value
        In SI units.
    digits
        Significant digits kept; whole units are never rounded away. Reading the text back gives
        ``value`` within half a unit of the last digit.
    """
    if not math.isfinite(value):
        raise AssertionError(f"a quantity must be finite, not {value}")
    is_whole_minutes = value != 0.0 and value % 60.0 == 0.0
    if kind == "time" and (is_whole_minutes or abs(value) >= _COMPOUND_TIME_FROM):
        return _hours_minutes_seconds(value, digits)
    unit = _handy_unit(abs(value), kind)
    number = unit.from_si(value)
    # A temperature's size says nothing about the precision that is wanted of it.
    decimals = max(0, digits - 2) if kind == "temperature" else _decimals(number, digits)
    return f"{_plain(number, decimals)} {unit.name}"


def _handy_unit(size: float, kind: Kind) -> Unit:
    printed = [unit for unit in unit_table().units if kind in unit.print_kinds and unit.print_from is not None]
    printed.sort(key=lambda unit: unit.print_from or 0.0)
    if size == 0.0:  # "0 m" reads better than "0 mm"
        return next((unit for unit in printed if unit.factor == 1), printed[0])
    return [unit for unit in printed if (unit.print_from or 0.0) <= size][-1]


def _decimals(number: float, digits: int) -> int:
    if number == 0.0:
        return 0
    return max(0, digits - 1 - math.floor(math.log10(abs(number))))


def _plain(number: float, decimals: int) -> str:
    text = f"{number:.{decimals}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def _hours_minutes_seconds(value: float, digits: int) -> str:
    decimals = max(0, digits - 3)
    total = round(abs(value), decimals)
    hours, rest = divmod(total, 3600)
    minutes, seconds = divmod(rest, 60)
    parts = [f"{hours:.0f} h"] if hours else []
    parts += [f"{minutes:.0f} min"] if minutes else []
    if seconds_text := _plain(seconds, decimals).removeprefix("0 "):
        parts += [f"{seconds_text} s"] if seconds_text != "0" else []
    return ("-" if value < 0 else "") + " ".join(parts)

"""Wind as it is promised: a speed, a number of the Beaufort scale or a pressure, and how much gusts exceed it."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, replace
from typing import Any

from pydantic_core import PydanticCustomError

from lampwright.piece.fields import Checker, Quantity, amount_of, faults_of, out_of_range, refuse, wrong_type
from lampwright.piece.measures import MeasuredText
from lampwright.piece.model import Wind
from lampwright.piece.report import Fault
from lampwright.units import UnitError, parse_any

AIR_DENSITY = 1.25  # EN 1991-1-4, 4.5, recommended value; ASCE 7 has 0.613 V², 2 % less [kg/m3]
BEAUFORT = (0.3, 1.6, 3.4, 5.5, 8.0, 10.8, 13.9, 17.2, 20.8, 24.5, 28.5, 32.7)
"""Where each number from 1 to 12 begins, mean of ten minutes: WMO, Beaufort scale. [m/s]"""

_FORCE = re.compile(r"\s*(?:force|beaufort|bft)\s+(\d{1,2})\s*|\s*(\d{1,2})\s+(?:beaufort|bft)\s*", re.IGNORECASE)
_STEP = 0.1  # to which the scale is printed [m/s]
_FASTEST = "60 m/s"
_STRONGEST = "2250 Pa"  # of the same wind


def speed_of_force(number: int) -> float:
    """Return the strongest mean wind that still has a Beaufort number from 0 to 11, as the scale prints it. [m/s]"""
    return round(BEAUFORT[number] - _STEP, 1)


def speed_of_pressure(pressure: float) -> float:
    """Return the speed of wind of this dynamic pressure [Pa], ``V = sqrt(2 q / rho)``. [m/s]"""
    return math.sqrt(2 * pressure / AIR_DENSITY)


@dataclass(frozen=True)
class WindPromise(Checker):
    """A speed, a Beaufort number such as "force 5", or a pressure."""

    @property
    def meant(self) -> str:
        return "a wind (a speed, a Beaufort number or a pressure)"

    def __call__(self, raw: Any) -> Wind:
        if isinstance(raw, int | float) and not isinstance(raw, bool):
            Quantity(self.example, "speed")(raw)
        if not isinstance(raw, str):
            refuse([Fault(wrong_type(raw, self.meant, self.example))])
        force = _FORCE.fullmatch(raw)
        if force is not None:
            return self._of_force(raw, int(force[1] or force[2]))
        if _is_pressure(raw):
            pressure = Quantity('"150 Pa"', "pressure", least="0 Pa", most=_STRONGEST)(raw)
            return Wind(speed_of_pressure(pressure), str(raw))
        try:
            return Wind(Quantity(self.example, "speed", least="0 m/s", most=_FASTEST)(raw))
        except PydanticCustomError as error:
            refuse(self._told_all(fault) for fault in faults_of(error))

    def _told_all(self, fault: Fault) -> Fault:
        """Return a fault that names every way to say a wind, where it is the way that was wrong."""
        if fault.problem.code == "PIECE-007":
            return fault
        allowed = f'{self.meant}, such as {self.example}, "force 5" or "150 Pa"'
        return replace(fault, problem=replace(fault.problem, allowed=allowed))

    def _of_force(self, raw: str, number: int) -> Wind:
        if number > 11:
            allowed = "force 0 to force 11; force 12 has no upper end, and nothing that is hung stays up in it"
            refuse([Fault(out_of_range(raw, "this is too large", allowed, '"force 5"'))])
        return Wind(speed_of_force(number), f"force {number}")


def _is_pressure(raw: str) -> bool:
    if isinstance(raw, MeasuredText):
        return amount_of(raw).is_of("pressure")
    try:
        return parse_any(raw)[1] == "pressure"
    except UnitError:
        return False

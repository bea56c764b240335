"""What a brief asks for, as figures and limits."""

from __future__ import annotations

import datetime
import math
from collections.abc import Callable
from dataclasses import dataclass

from lampwright.piece.model import Brief
from lampwright.propose.wish import WishEntry
from lampwright.units import format_quantity

EASED = 1e-9
"""By which a figure may miss its limit, for sums of floats. [of the figure's unit]"""


@dataclass(frozen=True)
class Demand:
    """Something that the brief asks for: a figure and its limit."""

    key: str
    """As the brief calls it."""
    figure: str
    limit: float
    is_most: bool
    """Whether the limit is the most allowed, not the least."""
    tell: Callable[[float], str]
    step: float = 0.0
    """To what a change of it is rounded before it is told, so that what is told is enough; 0: not at all."""
    path: tuple[str, ...] = ()
    """Where its value stands in the brief file; nowhere for what is not the brief's own."""
    write: Callable[[float], str] = str
    """What stands there when its limit is eased to a figure."""

    def is_met(self, figures: object) -> bool:
        """Return whether these figures meet it; what they don't have isn't judged."""
        value = getattr(figures, self.figure, self.limit)
        return bool(value <= self.limit + EASED if self.is_most else value >= self.limit - EASED)

    def eased_to(self, value: float) -> float:
        """Return the round limit that a figure of this value meets."""
        if not self.step:
            return value
        steps = value / self.step
        return self.step * (math.ceil(steps - EASED) if self.is_most else math.floor(steps + EASED))


def demands_of(wish: WishEntry, brief: Brief) -> tuple[Demand, ...]:
    """Return what a brief asks for, as far as an option's figures tell."""
    found = [
        Demand("run_time", "run_time", brief.run_time, False, _time, 60.0, ("brief", "run_time"), _time_exact),
        Demand("survive", "kept", brief.survive.lit, False, _lit, 0.01, ("brief", "survive", "lit"), _percent),
        Demand("brightness", "level", wish.brightness, False, _percent, 0.01, ("wish", "brightness"), _percent),
        Demand("odds", "odds", wish.odds, False, _odds, 1e-4, ("wish", "odds"), _odds),
        Demand("packs", "packs", wish.packs, True, _packs, 1.0, ("wish", "packs"), _whole),
        Demand("wind", "wind", brief.wind, False, _speed, 0.1, ("brief", "wind"), _speed),
    ]
    if wish.set_up is not None:
        found.append(Demand("set_up", "set_up", wish.set_up, True, _time, 60.0, ("wish", "set_up"), _time_exact))
    if brief.budget is not None:
        found.append(Demand("budget", "cost", brief.budget, True, _money, 1.0, ("brief", "budget"), _whole))
    if wish.pitch is not None:
        found.append(Demand("pitch", "pitch", wish.pitch, True, _length, 1e-4, ("wish", "pitch"), _length_exact))
    return tuple(found)


def quiet_demands(brief: Brief) -> tuple[Demand, ...]:
    """Return what keeps checks from warning: demands of ours, dropped where no choice meets them."""
    return (
        Demand("worn packs", "worn_time", brief.run_time, False, _time),
        Demand("quiet checks", "clean", 1.0, False, lambda value: f"{value:.0f}"),
    )


def date_demand(brief: Brief) -> Demand:
    """Return that it is ready in time, which only a finished design tells: by how many days later the show would do."""

    def day(days: float) -> str:
        return (brief.date + datetime.timedelta(days=days)).isoformat()

    return Demand("date", "days_late", 0.0, True, day, 1.0, ("brief", "date"), day)


def _time(value: float) -> str:
    return format_quantity(value, "time", 3)


def _time_exact(value: float) -> str:
    return format_quantity(value, "time", 9)


def _length_exact(value: float) -> str:
    return f"{1000 * value:.6g} mm"


def _whole(value: float) -> str:
    return f"{value:.0f}"


def _lit(value: float) -> str:
    return f"{100 * value:.0f} % of circuits lit"


def _percent(value: float) -> str:
    return f"{100 * value:.0f} %"


def _odds(value: float) -> str:
    return f"{100 * value:.2f} %"


def _packs(value: float) -> str:
    return f"{value:.0f} for each circuit"


def _speed(value: float) -> str:
    return format_quantity(value, "speed", 3)


def _money(value: float) -> str:
    return f"{value:.2f}"


def _length(value: float) -> str:
    return format_quantity(value, "length", 3)

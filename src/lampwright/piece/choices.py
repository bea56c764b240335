"""Values of a piece file that are tables in themselves: a part with its own figures, a look's settings."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, replace
from typing import Any, NoReturn

from pydantic_core import PydanticCustomError

from lampwright.formula import NUMBER, kind_of
from lampwright.look.source import Change, Value
from lampwright.parts import FIGURE_KINDS, NOUNS, Fuse, Strip, find, load_catalogue, override
from lampwright.piece.fields import Checker, Colour, Quantity, amount_of, faults_of, out_of_range, refuse, wrong_type
from lampwright.piece.measures import MeasuredText, of_another_kind
from lampwright.piece.report import Fault, spoken
from lampwright.units import Kind, MakerError, Problem, UnitError, format_quantity, parse, parse_any, unit_table

_SETTING = re.compile(r"[a-z][a-z0-9_]{0,39}")


@dataclass(frozen=True)
class PartChoice(Checker):
    """A part of the catalogue by name, or a table with ``part`` and figures of the maker's own."""

    kind: type[Any] = Strip

    @property
    def meant(self) -> str:
        return f"the name of a {NOUNS[self.kind]} of the catalogue"

    def __call__(self, raw: Any) -> Any:
        table = {"part": raw} if isinstance(raw, str) else raw
        if not isinstance(table, dict):
            refuse([Fault(wrong_type(raw, self.meant, self.example))])
        if not isinstance(table.get("part"), str):
            refuse([self._no_part(table)])
        figures = {key: value for key, value in table.items() if key != "part"}
        try:
            part = find(self.kind, table["part"])
        except MakerError as error:
            at = () if isinstance(raw, str) else ("part",)
            refuse([Fault(problem, at) for problem in error.problems])
        return self._with_figures(part, figures)

    def _no_part(self, table: dict[str, Any]) -> Fault:
        if "part" in table:
            return Fault(wrong_type(table["part"], self.meant, self.example), ("part",))
        do = f"add part = {self.example}"
        allowed = f"{self.meant}, such as {self.example}"
        return Fault(Problem("PIECE-003", '"part" is missing here', 'no "part"', allowed, do))

    def _with_figures(self, part: Any, figures: dict[str, Any]) -> Any:
        faults: list[Fault] = []
        for key, value in figures.items():
            try:
                part = override(part, {key: self._text(key, value)})
            except PydanticCustomError as error:
                faults += [replace(fault, path=(key,)) for fault in faults_of(error)]
            except UnitError as error:
                faults.append(Fault(error.problem, (key,), error.start, error.length))
            except MakerError as error:
                is_key = error.problems[0].code == "PARTS-002"
                faults += [Fault(problem, (key,), is_key=is_key) for problem in error.problems]
        if faults:
            refuse(faults)
        return part

    def _text(self, key: str, value: object) -> str:
        """Return the figure's text; a bare number or another thing is refused as any quantity would be."""
        if not isinstance(value, str):
            self._refuse_figure(key, value)
        kind = FIGURE_KINDS[self.kind].get(key)
        if not isinstance(value, MeasuredText) or kind is None:
            return value
        amount = amount_of(value)
        if not amount.is_of(kind):
            words = unit_table().kinds[kind]
            refuse([Fault(of_another_kind(value, amount, words.phrase, f'"{words.example}"'))])
        return _exact_text(amount.value, kind)

    def _refuse_figure(self, key: str, value: object) -> NoReturn:
        measured = FIGURE_KINDS[self.kind].get(key)
        if measured is not None:
            Quantity(f'"{unit_table().kinds[measured].example}"', measured)(value)
        refuse([Fault(wrong_type(value, "a text in quotes", '"GRB"'))])


@dataclass(frozen=True)
class FuseSize(Checker):
    """A fuse by its rating, one of the catalogue's sizes."""

    @property
    def meant(self) -> str:
        return "the rating of a fuse"

    def __call__(self, raw: Any) -> Fuse:
        rating = Quantity(self.example, "current", above="0 A", most="1000 A")(raw)
        fuses = load_catalogue().fuses.values()
        same = [fuse for fuse in fuses if math.isclose(fuse.rating.value, rating, rel_tol=1e-6)]
        if not same:
            smaller = [fuse.rating.text for fuse in fuses if fuse.rating.value < rating]
            do = f'write fuse = "{smaller[-1] if smaller else next(iter(fuses)).rating.text}", or another size allowed'
            sizes = ", ".join(fuse.rating.text for fuse in fuses)
            refuse([Fault(Problem("PIECE-006", "there is no fuse of this size", spoken(raw), sizes, do))])
        return same[0]


@dataclass(frozen=True)
class Settings(Checker):
    """A look's settings: plain numbers, hex colours, quantities of any kind."""

    @property
    def meant(self) -> str:
        return "a table of settings"

    def __call__(self, raw: Any) -> dict[str, Value]:
        if not isinstance(raw, dict):
            refuse([Fault(wrong_type(raw, self.meant, self.example))])
        settings: dict[str, Value] = {}
        faults: list[Fault] = []
        for key, value in raw.items():
            if not _SETTING.fullmatch(key):
                allowed = 'small letters (a to z), digits and "_", beginning with a letter'
                summary = f"{spoken(key)} can't be the name of a setting"
                problem = Problem("PIECE-008", summary, spoken(key), allowed, "write it as the look has it")
                faults.append(Fault(problem, (key,), is_key=True))
                continue
            try:
                settings[key] = _change(value) if isinstance(value, dict) else _setting(value)
            except PydanticCustomError as error:
                faults += [replace(fault, path=(key, *fault.path)) for fault in faults_of(error)]
        if faults:
            refuse(faults)
        return settings


def _change(raw: dict[str, Any]) -> Change:
    """Return a setting that goes from one value to another over its cue."""
    if set(raw) != {"from", "to"}:
        found = ", ".join(spoken(key) for key in raw) or "nothing"
        allowed = 'a table with "from" and "to", such as { from = 0.1, to = 0.9 }'
        summary = "a setting that changes has a beginning and an end"
        refuse([Fault(Problem("PIECE-008", summary, found, allowed, "write { from = 0.1, to = 0.9 }"))])
    return Change(_setting(raw["from"]), _setting(raw["to"]))


def _setting(raw: object) -> float | str:
    if isinstance(raw, int | float) and not isinstance(raw, bool):
        if not math.isfinite(raw) or abs(raw) > 1e6:
            refuse([Fault(out_of_range(raw, "this is too large", "a number up to a million", "0.5"))])
        return float(raw)
    if not isinstance(raw, str):
        refuse([Fault(wrong_type(raw, "a number, a quantity or a colour", '0.4, "0.2 /s" or "#cfe8ff"'))])
    if isinstance(raw, MeasuredText):
        return _measured_setting(raw)
    if raw.startswith("#"):
        return str(Colour('"#cfe8ff"')(raw))
    try:
        parse_any(raw)
    except UnitError as error:
        allowed = 'a number, a quantity or a colour, such as 0.4, "0.2 /s" or "#cfe8ff"'
        refuse([Fault(replace(error.problem, allowed=allowed), start=error.start, length=error.length)])
    return raw  # of which kind it has to be, the look says


def _measured_setting(raw: MeasuredText) -> float | str:
    """Return what a formula gives, as a number or as a quantity's text."""
    amount = amount_of(raw)
    kind = kind_of(amount.dimension)
    if amount.dimension == NUMBER:
        return amount.value
    if kind is None:
        refuse([Fault(of_another_kind(raw, amount, "a number or a quantity", '"0.2 /s"'))])
    return _exact_text(amount.value, kind)


def _exact_text(value: float, kind: Kind) -> str:
    """Return a quantity as a text that reads back as this very value; short where that does."""
    short = format_quantity(value, kind, 6)
    if parse(short, kind) == value:
        return short
    unit = min(unit_table().of_kind(kind), key=lambda unit: abs(unit.factor - 1) + abs(unit.offset) + unit.times_pi)
    return f"{unit.from_si(value)!r} {unit.name}"

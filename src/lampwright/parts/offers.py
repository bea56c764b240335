"""What parts cost, how they are sold and what they weigh, unless the maker's own list says otherwise."""

from __future__ import annotations

import difflib
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from fnmatch import fnmatchcase
from functools import cache
from importlib import resources
from typing import Any, TypeVar

from lampwright.parts.catalogue import load_catalogue
from lampwright.parts.model import Status
from lampwright.units import parse

EntryT = TypeVar("EntryT")


@dataclass(frozen=True)
class Offer:
    """Something that can be bought."""

    part: str
    length: float | None  # of each; ``None``: sold by the piece [m]
    price: int | None  # of one pack, in hundredths of the currency; ``None``: not stated
    pack: int  # how many are sold together
    days: float  # until it is there [d]
    status: Status = Status.MAKER


def offers_of(part: str) -> tuple[Offer, ...]:
    """Return how a part is sold as far as the catalogue knows; wire may have its colour behind its name.

    All are :attr:`~lampwright.parts.model.Status.JUDGEMENT`.
    """
    found = _entry(_read().offers, part)
    return () if found is None else tuple(replace(offer, part=part) for offer in found)


def near_name(part: str) -> str:
    """Return the name that a maker may have meant; empty where the part is known, or nothing is like it."""
    catalogue = load_catalogue()
    known = {name for field in fields(catalogue) for name in getattr(catalogue, field.name)} | set(_read().offers)
    if part in known or _without_colour(part) in known or offers_of(part):
        return ""
    near = difflib.get_close_matches(part, sorted(known), n=1, cutoff=0.8)
    return near[0] if near and not near[0].endswith("*") else ""


def unit_price(part: str) -> float | None:
    """Return what one of a part costs, or a metre of it, in the largest lot sold; ``None``: no price is known.

    In the catalogue's currency, whole units of it.
    """
    offers = [each for each in offers_of(part) if each.price is not None]
    return min(((each.price or 0) / 100 / (each.pack * (each.length or 1.0)) for each in offers), default=None)


def mass_of(part: str) -> float | None:
    """Return a part's mass, of each metre where it is sold by length; of wire the copper alone. [kg, kg/m]"""
    catalogue = load_catalogue()
    gauge = _without_colour(part)
    if gauge in catalogue.wires:
        return catalogue.wires[gauge].area.value * COPPER_DENSITY
    for shelf in (catalogue.packs, catalogue.supplies, catalogue.strips, catalogue.tubes, catalogue.cords):
        if part in shelf:
            return shelf[part].mass.value
    for kept in (catalogue.connectors, catalogue.diodes, catalogue.cable_ties):
        if part in kept:
            return kept[part].mass.value
    return _entry(_read().masses, part)


def catalogue_currency() -> str:
    """Return the currency of the catalogue's prices, such as "EUR"."""
    return _read().currency


COPPER_DENSITY = 8930.0
"""Of annealed copper at 20 °C (from memory). [kg/m³]"""


@dataclass(frozen=True)
class _Prices:
    """The file; a key may end in a star."""

    currency: str
    offers: Mapping[str, tuple[Offer, ...]]
    masses: Mapping[str, float]  # [kg]


def _without_colour(part: str) -> str:
    gauge, _, _colour = part.rpartition(" ")
    return gauge if gauge in load_catalogue().wires else part


def _entry(table: Mapping[str, EntryT], part: str) -> EntryT | None:
    name = _without_colour(part)
    if name in table:
        return table[name]
    return next((entry for key, entry in table.items() if key.endswith("*") and fnmatchcase(name, key)), None)


@cache
def _read() -> _Prices:
    text = resources.files("lampwright.parts").joinpath("catalogue", "offers.toml").read_text(encoding="utf-8")
    raw = tomllib.loads(text)
    return _Prices(
        raw["currency"],
        {part: tuple(_offer(part, row) for row in rows) for part, rows in raw["offer"].items()},
        {part: parse(mass, "mass") for part, mass in raw["mass"].items()},
    )


def _offer(part: str, row: Mapping[str, Any]) -> Offer:
    length = parse(row["length"], "length") if "length" in row else None
    price = round(100 * float(row["price"]))
    return Offer(part, length, price, row.get("pack", 1), float(row["days"]), Status.JUDGEMENT)

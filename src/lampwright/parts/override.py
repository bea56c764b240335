"""Replace a part's figures by what the maker states or has measured."""

from __future__ import annotations

import dataclasses
import difflib
import re
from collections.abc import Mapping
from typing import Any

from lampwright.parts.catalogue import PartT
from lampwright.parts.kinds import FIGURE_KINDS, LEAST, MAY_BE_ZERO, MOST, NOUNS, Part
from lampwright.parts.model import Figure, Status, Strip, Supply
from lampwright.units import MakerError, Problem, parse

_ORDERS = ("RGB", "RBG", "GRB", "GBR", "BRG", "BGR")

_IP_CODE = re.compile(r"IP[0-6X][0-9X]")


def override(part: PartT, texts: Mapping[str, str]) -> PartT:
    """Return the part with the named figures replaced, their status ``MAKER``.

    A strip's ``order``, such as "RGB", and a supply's ``ip``, such as "IP65", can be replaced too.

    Raises
    ------
    MakerError
        PARTS-002 for a figure that the part doesn't have, PARTS-003 for one that can't be so,
        PARTS-004 for a colour order and PARTS-005 for an IP code that doesn't exist;
        :class:`~lampwright.units.UnitError` when a text can't be read. The first fault found ends it:
        call once per figure to gather all.
    """
    changes: dict[str, Any] = {}
    kinds = FIGURE_KINDS[type(part)]
    for key, text in texts.items():
        if key == "order" and isinstance(part, Strip):
            changes[key] = _order(text)
            continue
        if key == "ip" and isinstance(part, Supply):
            changes[key] = _ip_code(text)
            continue
        if key not in kinds:
            raise MakerError([_unknown_figure(part, key)])
        value = parse(text, kinds[key])
        _check_range(part, key, text, value)
        changes[key] = Figure(value, text, Status.MAKER, "stated in the piece file")
    return dataclasses.replace(part, **changes)


def figure_names(part: Part) -> tuple[str, ...]:
    """Return the names of the figures that can be overridden."""
    names = tuple(FIGURE_KINDS[type(part)])
    more = {Strip: ("order",), Supply: ("ip",)}
    return (*names, *more.get(type(part), ()))


def _order(text: str) -> str:
    if text not in _ORDERS:
        raise MakerError(
            [
                Problem(
                    code="PARTS-004",
                    summary="this is not an order of three colours",
                    found=f'"{text}"',
                    allowed=", ".join(_ORDERS),
                    do='write the order in which the strip takes its bytes, such as "GRB"',
                )
            ]
        )
    return text


def _ip_code(text: str) -> str:
    if not _IP_CODE.fullmatch(text):
        raise MakerError(
            [
                Problem(
                    code="PARTS-005",
                    summary="this is not an IP code",
                    found=f'"{text}"',
                    allowed='"IP" and two digits by IEC 60529, X for one that isn\'t stated, such as "IP44"',
                    do="write the code from the supply's label",
                )
            ]
        )
    return text


def _unknown_figure(part: Part, key: str) -> Problem:
    names = figure_names(part)
    nearest = difflib.get_close_matches(key, names, n=1, cutoff=0.5)
    do = f'did you mean "{nearest[0]}"?' if nearest else "leave it out, or name one of the figures above"
    return Problem(
        code="PARTS-002",
        summary=f'a {NOUNS[type(part)]} has no figure "{key}"',
        found=f'"{key}"',
        allowed=", ".join(names),
        do=do,
    )


def _check_range(part: Part, key: str, text: str, value: float) -> None:
    """Refuse a figure that is zero, negative, or beyond anything that such a part can have."""
    kind, most = FIGURE_KINDS[type(part)][key], MOST[type(part)][key]
    if key in LEAST:
        at_least, is_below = f"{LEAST[key]} or more", value < parse(LEAST[key], kind)
    elif key in MAY_BE_ZERO:
        at_least, is_below = "zero or more", value < 0
    else:
        at_least, is_below = "more than zero", value <= 0
    is_above = value > parse(most, kind)
    if not (is_below or is_above):
        return
    problem = Problem(
        code="PARTS-003",
        summary=f'"{key}" must be at most {most}' if is_above else f'"{key}" must be {at_least}',
        found=f'"{text}"',
        allowed=f"{at_least}, up to {most}",
        do="give the figure as measured, or leave it out to take the catalogue's",
    )
    raise MakerError([problem])

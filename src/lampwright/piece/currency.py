"""The name of a currency, such as "EUR": what the maker's prices are in."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from lampwright.piece.fields import Checker, out_of_range, refuse, wrong_type
from lampwright.piece.report import Fault

LONGEST = 8


def is_currency(text: str) -> bool:
    """Return whether a text can name a currency: one to eight printable characters."""
    return bool(text.strip()) and len(text) <= LONGEST and text.isprintable()


@dataclass(frozen=True)
class CurrencyName(Checker):
    """A short name of a currency."""

    @property
    def meant(self) -> str:
        return "a currency in quotes"

    def __call__(self, raw: Any) -> str:
        if not isinstance(raw, str):
            refuse([Fault(wrong_type(raw, self.meant, self.example))])
        if not is_currency(raw):
            allowed = f"1 to {LONGEST} printable characters"
            refuse([Fault(out_of_range(raw, "this is no name of a currency", allowed, self.example))])
        return raw

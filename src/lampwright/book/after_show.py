"""The page after the show: what was promised, what happened, what it cost, what to change."""

from __future__ import annotations

from collections.abc import Sequence

from lampwright.book.typeset import typeset
from lampwright.strike import DamagePhoto, Report

PARTS = {
    "promised": "What was promised",
    "happened": "What happened",
    "cost": "What it cost",
    "change": "What to change",
    "warned": "What had warned",
}


def after_show_page(report: Report, damage: bytes, photos: Sequence[DamagePhoto] = ()) -> bytes:
    """Return the report as a PDF of one page; ``damage`` is its map as PNG, and photos stand beside it."""
    parts = [{"title": title, "lines": list(getattr(report, name))} for name, title in PARTS.items()]
    shown = [{"told": f"{each.number}: {each.told}", "picture": list(each.jpeg)} for each in photos]
    return typeset("after", {"name": report.name, "parts": parts, "picture": list(damage), "photos": shown})

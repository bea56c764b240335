"""The page after the show: what was promised, what happened, what it cost, what to change."""

from __future__ import annotations

from lampwright.book.typeset import typeset
from lampwright.strike import Report

PARTS = {
    "promised": "What was promised",
    "happened": "What happened",
    "cost": "What it cost",
    "change": "What to change",
    "warned": "What had warned",
}


def after_show_page(report: Report, damage: bytes) -> bytes:
    """Return the report as a PDF of one page; ``damage`` is its picture as PNG."""
    parts = [{"title": title, "lines": list(getattr(report, name))} for name, title in PARTS.items()]
    return typeset("after", {"name": report.name, "parts": parts, "picture": list(damage)})

"""One sheet of paper: lines and texts in millimetres, y down from the top edge, written as SVG.

Every text's box is known before it is written, so that what is placed later can keep clear of it.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from html import escape

Point = tuple[float, float]

TEXT = 2.5
"""Height of the lettering; the least that ISO 3098 gives (from memory). [mm]"""
HEADING = 3.0
"""And of titles of views and tables. [mm]"""
FINE, THIN, MEDIUM, THICK = 0.13, 0.18, 0.35, 0.7
"""Line widths of ISO 128's series (from memory). [mm]"""


@dataclass(frozen=True)
class Paper:
    """A sheet in landscape. Sizes: ISO 216."""

    name: str
    width: float  # [mm]
    height: float  # [mm]


PAPERS = {paper.name: paper for paper in (Paper("A4", 297.0, 210.0), Paper("A3", 420.0, 297.0))}


@dataclass(frozen=True)
class Box:
    """A part of the paper. [mm]"""

    left: float
    top: float
    right: float
    bottom: float

    @property
    def width(self) -> float:
        """From left to right. [mm]"""
        return self.right - self.left

    @property
    def height(self) -> float:
        """From top to bottom. [mm]"""
        return self.bottom - self.top

    @property
    def centre(self) -> Point:
        """The middle. [mm]"""
        return (self.left + self.right) / 2, (self.top + self.bottom) / 2

    def overlaps(self, other: Box, gap: float = 0.0) -> bool:
        """Return whether two boxes share any part, or are nearer than ``gap`` [mm]."""
        return (
            self.left < other.right + gap
            and other.left < self.right + gap
            and self.top < other.bottom + gap
            and other.top < self.bottom + gap
        )

    def holds(self, other: Box) -> bool:
        """Return whether the other box lies wholly within this one."""
        return (
            self.left <= other.left
            and self.top <= other.top
            and other.right <= self.right
            and other.bottom <= self.bottom
        )

    def grown(self, by: float) -> Box:
        """Return the box with this margin around it. [mm]"""
        return Box(self.left - by, self.top - by, self.right + by, self.bottom + by)


def text_width(text: str, size: float) -> float:
    """Return how wide a text may be in any common sans-serif face: those of the widest are taken. [mm]"""
    return size * sum(_advance(letter) for letter in text)


def shortened(text: str, size: float, width: float) -> str:
    """Return as much of a text as fits a width, with an ellipsis where something is left out."""
    if text_width(text, size) <= width:
        return text
    while text and text_width(text + "…", size) > width:
        text = text[:-1]
    return text.rstrip() + "…"


def _advance(letter: str) -> float:
    """Return a letter's width over the height of the lettering: DejaVu Sans (a free face), rounded up by class."""
    if letter in "iljI.,:;'|! ()[]ft":
        return 0.42
    if letter in "mwMW@%QOG#&+<=>^~" or not letter.isascii():
        return 1.01
    return 0.78 if letter.isupper() else 0.66


@dataclass(frozen=True)
class Style:
    """How a line is drawn: dashes as lengths of stroke and gap. [mm]"""

    width: float = THIN
    colour: str = "#000"
    dash: str = ""
    fill: str = "none"


PLAIN = Style()


@dataclass
class Sheet:
    """Lines below, texts above; :attr:`taken` holds what texts and their frames occupy."""

    paper: Paper
    taken: list[Box] = field(default_factory=list)
    _lines: list[str] = field(default_factory=list)
    _texts: list[str] = field(default_factory=list)

    def line(self, points: Sequence[Point], style: Style = PLAIN, title: str = "", is_closed: bool = False) -> None:
        """Draw a line through these points; a title shows where a browser points at it."""
        places = " ".join(f"{_short(x)},{_short(y)}" for x, y in points)
        named = f"<title>{escape(title)}</title>" if title else ""
        kind = "polygon" if is_closed else "polyline"
        self._lines.append(f'<{kind} points="{places}"{_stroke(style)}>{named}</{kind}>')

    def circle(self, centre: Point, radius: float, style: Style) -> None:
        """Draw a circle. [mm]"""
        x, y = centre
        self._lines.append(f'<circle cx="{_short(x)}" cy="{_short(y)}" r="{_short(radius)}"{_stroke(style)}/>')

    def text(
        self, at: Point, text: str, size: float = TEXT, anchor: str = "start", turned: bool = False, bold: bool = False
    ) -> Box:
        """Write a text whose baseline begins, ends or is centred at a point; ``turned`` reads upward.

        Returns its box, which from now on is taken.
        """
        box = text_box(at, text, size, anchor, turned, bold)
        self.taken.append(box)
        x, y = at
        turn = f' transform="rotate(-90 {_short(x)} {_short(y)})"' if turned else ""
        weight = ' font-weight="bold"' if bold else ""
        self._texts.append(
            f'<text x="{_short(x)}" y="{_short(y)}" font-size="{_short(size)}" text-anchor="{anchor}"{weight}{turn}>'
            f"{escape(text)}</text>"
        )
        return box

    def framed(self, box: Box, text: str, is_round: bool, size: float = TEXT) -> None:
        """Write a text in a frame: round for sections, square for packs."""
        radius = f' rx="{_short(box.height / 2)}"' if is_round else ""
        self._texts.append(
            f'<rect x="{_short(box.left)}" y="{_short(box.top)}" width="{_short(box.width)}" '
            f'height="{_short(box.height)}"{radius} fill="#fff" stroke="#000" stroke-width="{THIN}"/>'
        )
        x, y = box.centre
        self.text((x, y + 0.36 * size), text, size, "middle")
        self.taken[-1] = box

    def body(self) -> str:
        """Return all that is drawn, without the sheet around it."""
        return "\n".join((*self._lines, '<g stroke="none" fill="#000">', *self._texts, "</g>"))

    def svg(self) -> str:
        """Return the sheet, to be printed at its own size."""
        width, height = _short(self.paper.width), _short(self.paper.height)
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm" '
            f'viewBox="0 0 {width} {height}" font-family="DejaVu Sans, sans-serif" stroke-linejoin="round">\n'
            f'<rect width="{width}" height="{height}" fill="#fff"/>\n{self.body()}\n</svg>\n'
        )


def text_box(
    at: Point, text: str, size: float = TEXT, anchor: str = "start", turned: bool = False, bold: bool = False
) -> Box:
    """Return the box that a text would take. [mm]"""
    x, y = at
    width = text_width(text, size) * (1.14 if bold else 1.0)
    before = {"start": 0.0, "middle": width / 2, "end": width}[anchor]
    up, down = 0.78 * size, 0.24 * size
    if turned:
        return Box(x - up, y - width + before, x + down, y + before)
    return Box(x - before, y - up, x - before + width, y + down)


def bounds(points: Iterable[Point]) -> Box:
    """Return the box around points. [mm]"""
    listed = list(points)
    return Box(
        min(x for x, _ in listed), min(y for _, y in listed), max(x for x, _ in listed), max(y for _, y in listed)
    )


def _stroke(style: Style) -> str:
    dash = f' stroke-dasharray="{style.dash}"' if style.dash else ""
    return f' fill="{style.fill}" stroke="{style.colour}" stroke-width="{style.width:g}"{dash}'


def _short(value: float) -> str:
    """Return a length to a hundredth of a millimetre, the same text whatever the machine."""
    rounded = round(value, 2)
    return f"{0.0 if math.isclose(rounded, 0.0, abs_tol=1e-9) else rounded:g}"

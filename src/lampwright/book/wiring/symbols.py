"""Signs of a wiring drawing, in millimetres; after IEC 60617, and letters after IEC 81346 (both from memory)."""

from __future__ import annotations

from collections.abc import Sequence

from lampwright.book.drawing.sheet import MEDIUM, TEXT, THIN, Box, Point, Sheet, Style, shortened

PLUS = Style(0.55, "#b01818")
GROUND = Style(0.3, "#000")
DATA = Style(0.35, "#00612e", "2.2 0.9")
"""Told apart without colour too: plus is thick, ground thin, data dashed."""

BOX = Style(MEDIUM)
FEED_FUSE = 7.0
"""Length of a feed's fuse. [mm]"""
SMALL = 2.0
"""Height of the marks of joints. [mm]"""


def dot(sheet: Sheet, at: Point, style: Style) -> None:
    """Draw a connection; lines that cross without one don't touch."""
    sheet.circle(at, 0.75, Style(THIN, style.colour, fill=style.colour))


def rectangle(sheet: Sheet, box: Box, style: Style = BOX) -> None:
    """Draw a box."""
    corners = [(box.left, box.top), (box.right, box.top), (box.right, box.bottom), (box.left, box.bottom)]
    sheet.line(corners, style, is_closed=True)


def fuse(sheet: Sheet, at: Point, text: str) -> None:
    """Draw a fuse lying on its wire, 10 mm long from this point on."""
    x, y = at
    rectangle(sheet, Box(x, y - 1.6, x + 10, y + 1.6), Style(MEDIUM, PLUS.colour))
    sheet.text((x + 5, y - 2.6), text, TEXT, "middle")


def feed_fuse(sheet: Sheet, at: Point) -> None:
    """Draw a fuse lying on a feed's plus, 7 mm long from this point on; the feed's text says which."""
    x, y = at
    box = Box(x, y - 1.1, x + FEED_FUSE, y + 1.1)
    rectangle(sheet, box, Style(MEDIUM, PLUS.colour))
    sheet.taken.append(box)


def resistor(sheet: Sheet, at: Point, text: str) -> None:
    """Draw a resistor lying in its line, 9 mm long from this point on, its value below."""
    x, y = at
    rectangle(sheet, Box(x, y - 1.4, x + 9, y + 1.4), Style(MEDIUM, "#000", fill="#fff"))
    sheet.text((x - 1.5, y - 2.2), text)


def diode(sheet: Sheet, at: Point) -> None:
    """Draw a diode lying on its wire, 5 mm long from this point on."""
    x, y = at
    sheet.line([(x, y - 1.8), (x, y + 1.8), (x + 5, y)], Style(MEDIUM, "#000", fill="#fff"), is_closed=True)
    sheet.line([(x + 5, y - 1.8), (x + 5, y + 1.8)], Style(MEDIUM))


def capacitor(sheet: Sheet, at: Point, height: float, lines: Sequence[str]) -> None:
    """Draw an electrolytic capacitor between a wire at this point and one below it, its name and value beside it."""
    x, y = at
    middle = y + height / 2
    sheet.line([(x, y), (x, middle - 0.8)], Style(MEDIUM))
    sheet.line([(x, middle + 0.8), (x, y + height)], Style(MEDIUM))
    rectangle(sheet, Box(x - 2.2, middle - 0.8, x + 2.2, middle - 0.2), Style(THIN, fill="#fff"))
    sheet.line([(x - 2.2, middle + 0.6), (x + 2.2, middle + 0.6)], Style(0.6))
    sheet.text((x - 3.8, y + 3.2), "+", TEXT)
    for number, line in enumerate(lines):
        sheet.text((x + 3.0, y + 3.2 + 3.2 * number), line)
    dot(sheet, (x, y), PLUS)
    dot(sheet, (x, y + height), GROUND)


def plug(sheet: Sheet, at: Point, style: Style) -> None:
    """Draw a contact that is plugged together, 4 mm long from this point on."""
    x, y = at
    sheet.line([(x, y), (x + 2.0, y)], Style(1.1, style.colour))
    sheet.line([(x + 3.6, y - 1.2), (x + 2.4, y), (x + 3.6, y + 1.2)], Style(MEDIUM, style.colour))
    sheet.line([(x + 2.4, y), (x + 4, y)], style)


def mains_plug(sheet: Sheet, at: Point) -> None:
    """Draw a mains plug in its outlet, 9 mm long to the left of this point: all that is shown of the mains side."""
    x, y = at
    sheet.line([(x, y), (x - 3.0, y)], Style(0.8))
    rectangle(sheet, Box(x - 5.6, y - 1.7, x - 3.0, y + 1.7), Style(MEDIUM, fill="#fff"))
    for aside in (-0.8, 0.8):
        sheet.line([(x - 5.6, y + aside), (x - 7.2, y + aside)], Style(MEDIUM))
    sheet.circle((x - 8.2, y), 2.2, Style(MEDIUM))


def titled_box(sheet: Sheet, box: Box, mark: str, lines: Sequence[str]) -> None:
    """Draw a box with its mark and what it is; a long title goes on to a second and third line."""
    rectangle(sheet, box)
    sheet.text((box.left + 2, box.top + 4.2), mark, 3.0, bold=True)
    for number, line in enumerate(lines):
        sheet.text((box.left + 2, box.top + 8.2 + 3.3 * number), shortened(line, TEXT, box.width - 10))

"""The band along the foot of each sheet: what the signs mean, and the title strip."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from lampwright.book.drawing.figure import TUBE, circuit_style, draw_feed, draw_person_at
from lampwright.book.drawing.sheet import FINE, MEDIUM, TEXT, THIN, Box, Point, Sheet, Style, shortened
from lampwright.book.drawing.subject import PERSON, letter
from lampwright.layout.model import Layout

BAND = 40.0
"""Height of the band. [mm]"""
HASH_LENGTH = 12
NO_HASH = "#" * HASH_LENGTH
"""Stands in a sheet until what is drawn on all sheets is known."""

_TITLE_WIDTH = 104.0
_ROW = 4.6  # of the legend [mm]
_ENTRY = 53.0  # least width of the legend's columns [mm]
_SAMPLE = 11.0  # length of a sample line [mm]

_CAUTION = (
    "A screening, no certificate. What can fall on people needs a competent person;",
    "local codes, the venue and licensed practice decide.",
)


@dataclass(frozen=True)
class Title:
    """What the title strip says of one sheet."""

    what: str
    scale: str
    number: int
    count: int
    note: str = "Dimensions in millimetres, to the middle of tubes. Measure before cutting."


def frame_of(sheet: Sheet) -> Box:
    """Return the frame within which a sheet is drawn; the left margin is for binding. ISO 5457 (from memory). [mm]"""
    return Box(20.0, 10.0, sheet.paper.width - 10.0, sheet.paper.height - 10.0)


def draw_band(sheet: Sheet, layout: Layout, title: Title, has_legend: bool) -> None:
    """Draw the frame, the title strip and, on sheets with views, the legend."""
    frame = frame_of(sheet)
    sheet.line(_corners(frame), Style(MEDIUM), is_closed=True)
    top = frame.bottom - BAND
    sheet.line([(frame.left, top), (frame.right, top)], Style(MEDIUM))
    _draw_title(sheet, layout, title, Box(frame.right - _TITLE_WIDTH, top, frame.right, frame.bottom))
    if has_legend:
        _draw_legend(sheet, layout, Box(frame.left, top, frame.right - _TITLE_WIDTH, frame.bottom))


def _draw_title(sheet: Sheet, layout: Layout, title: Title, box: Box) -> None:
    sheet.line([(box.left, box.top), (box.left, box.bottom)], Style(MEDIUM))
    brief = layout.piece.brief
    left, width = box.left + 3.0, box.width - 6.0
    sheet.text((left, box.top + 7.5), shortened(brief.name, 5.5, width), 5.0, bold=True)
    sheet.text((left, box.top + 12.5), shortened(brief.place, TEXT, width))
    rows = (
        ("shows", title.what, "sheet", f"{title.number} of {title.count}, {sheet.paper.name}"),
        ("scale", title.scale, "drawing", NO_HASH),
    )
    for number, (key, value, other_key, other) in enumerate(rows):
        y = box.top + 15.0 + 7.5 * number
        sheet.line([(box.left, y), (box.right, y)], Style(THIN))
        sheet.text((left, y + 2.6), key, 1.8)
        sheet.text((left, y + 6.2), shortened(value, TEXT, 62.0))
        sheet.text((left + 66.0, y + 2.6), other_key, 1.8)
        sheet.text((left + 66.0, y + 6.2), other)
    sheet.line([(box.left, box.top + 30.0), (box.right, box.top + 30.0)], Style(THIN))
    sheet.text((left, box.top + 32.9), shortened(title.note, 1.8, width), 1.8)
    for number, line in enumerate(_CAUTION):
        sheet.text((left, box.top + 35.6 + 2.6 * number), line, 1.8)


def _draw_legend(sheet: Sheet, layout: Layout, box: Box) -> None:
    n_row = int((box.height - 4.0) / _ROW)
    n_column = int((box.width - 2.0) / _ENTRY)
    room, entry = n_row * n_column, (box.width - 2.0) / n_column
    signs: list[tuple[Callable[[Sheet, Point], None], str]] = [
        (_tube_sign, "tube or other member"),
        (_feed_sign, "feed"),
        (_arrow_sign, "way of the data"),
        (_section_sign, "section of a circuit"),
        (_pack_sign, f"{layout.piece.sources_noun}, by its run's head"),
        (_person_sign, f"person of {PERSON:g} m"),
    ]
    supports = [member.support for member in layout.piece.members]
    if any(support.base for support in supports):
        signs.append((_base_sign, "base, as far as it reaches"))
    if any(support.socket for support in supports):
        signs.append((_socket_sign, "socket"))
    entries = _circuit_entries(layout, room - len(signs))
    for number, (draw, text) in enumerate([*entries, *signs]):
        column, row = divmod(number, n_row)
        x, y = box.left + 3.0 + entry * column, box.top + 3.0 + _ROW * (row + 0.5)
        draw(sheet, (x, y))
        sheet.text((x + _SAMPLE + 2.0, y + 0.9), shortened(text, TEXT, entry - _SAMPLE - 3.5))


def _circuit_entries(layout: Layout, room: int) -> list[tuple[Callable[[Sheet, Point], None], str]]:
    circuits = list(enumerate(layout.circuits))
    shown = circuits if len(circuits) <= room else circuits[: room - 1]
    entries = [(_strip_sign(number), f"{letter(number)}  {each.circuit.name}") for number, each in shown]
    if len(shown) < len(circuits):
        entries.append((_nothing, f"and {len(circuits) - len(shown)} more, by letter"))
    return entries


def _strip_sign(number: int) -> Callable[[Sheet, Point], None]:
    def draw(sheet: Sheet, at: Point) -> None:
        sheet.line([at, (at[0] + _SAMPLE, at[1])], circuit_style(number))

    return draw


def _nothing(sheet: Sheet, at: Point) -> None:
    """Draw no sign."""


def _tube_sign(sheet: Sheet, at: Point) -> None:
    sheet.line([at, (at[0] + _SAMPLE, at[1])], TUBE)


def _feed_sign(sheet: Sheet, at: Point) -> None:
    draw_feed(sheet, (at[0] + _SAMPLE / 2, at[1] + 0.9))


def _arrow_sign(sheet: Sheet, at: Point) -> None:
    x, y = at[0] + _SAMPLE / 2, at[1]
    sheet.line([at, (at[0] + _SAMPLE, y)], Style(FINE))
    shape = [(x + 1.1, y), (x - 1.1, y - 0.8), (x - 1.1, y + 0.8)]
    sheet.line(shape, Style(FINE, "#fff", fill="#000"), is_closed=True)


def _section_sign(sheet: Sheet, at: Point) -> None:
    x, y = at[0] + _SAMPLE / 2, at[1]
    sheet.framed(Box(x - 2.9, y - 1.9, x + 2.9, y + 1.9), "A1", is_round=True)


def _pack_sign(sheet: Sheet, at: Point) -> None:
    x, y = at[0] + _SAMPLE / 2, at[1]
    sheet.framed(Box(x - 2.0, y - 1.9, x + 2.0, y + 1.9), "A", is_round=False)


def _person_sign(sheet: Sheet, at: Point) -> None:
    draw_person_at(sheet, (at[0] + _SAMPLE / 2, at[1] + 2.0), 4.0)


def _base_sign(sheet: Sheet, at: Point) -> None:
    x, y = at
    sheet.line([(x, y - 1.0), (x + _SAMPLE, y - 1.0)], Style(THIN, "#000", "2 1"))
    sheet.line([(x, y + 1.0), (x + _SAMPLE, y + 1.0)], Style(MEDIUM))


def _socket_sign(sheet: Sheet, at: Point) -> None:
    sheet.line([at, (at[0] + _SAMPLE, at[1])], Style(MEDIUM, "#000", "1 0.8"))


def _corners(box: Box) -> Sequence[Point]:
    return [(box.left, box.top), (box.right, box.top), (box.right, box.bottom), (box.left, box.bottom)]

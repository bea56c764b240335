"""The sheets of a piece: views, then tables, numbered, with one hash for all."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence

from lampwright.book.drawing.arrange import Rows, arrange
from lampwright.book.drawing.figure import draw_figure
from lampwright.book.drawing.notes import write_notes
from lampwright.book.drawing.sheet import Box, Paper, Sheet
from lampwright.book.drawing.subject import Subject, subject_of
from lampwright.book.drawing.tables import set_tables, tables_of
from lampwright.book.drawing.title import BAND, HASH_LENGTH, NO_HASH, Title, draw_band, frame_of
from lampwright.book.drawing.views import FRONT, ISOMETRIC, PLAN, SIDE
from lampwright.book.typeset import typeset
from lampwright.layout.model import Layout

_ROWS: Rows = ((PLAN, ISOMETRIC), (FRONT, SIDE))
"""Third angle: the plan above the front, the right side to the right of it."""

_TABLES = "tables"


def draw_piece(layout: Layout, paper: Paper) -> tuple[str, ...]:
    """Return the sheets of a piece as SVG, in order.

    A3 holds plan, front, side and isometric on one sheet; on A4 they take two. Tables follow. The hash in every title
    strip is of all that is drawn, so that two prints are of the same state exactly when their hashes are the same; no
    date is in it.
    """
    subject = subject_of(layout)
    on_sheets = [_ROWS] if paper.name == "A3" else [(row,) for row in _ROWS]
    drawn = [_view_sheet(paper, subject, rows) for rows in on_sheets]
    waiting = list(tables_of(layout, subject))
    while waiting:
        sheet = Sheet(paper)
        waiting = set_tables(waiting, sheet, _room(sheet, 4.0))
        drawn.append((sheet, _TABLES, "–"))
    for number, (sheet, what, scale) in enumerate(drawn):
        draw_band(sheet, layout, Title(what, scale, number + 1, len(drawn)), has_legend=what != _TABLES)
    whole = "\n".join(sheet.body() for sheet, _, _ in drawn)
    digest = hashlib.sha256(whole.encode()).hexdigest()[:HASH_LENGTH]
    return tuple(sheet.svg().replace(NO_HASH, digest) for sheet, _, _ in drawn)


def drawing_pdf(name: str, sheets: Sequence[str], paper: Paper) -> bytes:
    """Return sheets of one paper as a PDF, a page for each, at their own size."""
    data = {"name": name, "width": paper.width, "height": paper.height, "sheets": list(sheets)}
    return typeset("drawing", data)


def _view_sheet(paper: Paper, subject: Subject, rows: Rows) -> tuple[Sheet, str, str]:
    """Return a sheet with views, what it shows, and its scale."""
    sheet = Sheet(paper)
    room = _room(sheet, 2.0)
    arrangement = arrange(subject, rows, room)
    missing = 0
    for view in arrangement.views:
        draw_figure(sheet, subject, view)
        missing += write_notes(sheet, subject, view)
    if missing:
        which = f"{missing} close figures and names are" if missing > 1 else "1 close figure or name is"
        sheet.text((room.left, room.bottom - 0.5), f"{which} in the tables alone")
    shown = [view.projection for view in arrangement.views]
    names = ", ".join(projection.title.split(",")[0].lower() for projection in shown)
    note = ", isometric not to scale" if ISOMETRIC in shown else ""
    return sheet, names, f"1:{arrangement.scale}{note}"


def _room(sheet: Sheet, margin: float) -> Box:
    """Return the part of a sheet above the band, with this margin within the frame. [mm]"""
    frame = frame_of(sheet)
    return Box(frame.left, frame.top, frame.right, frame.bottom - BAND).grown(-margin)

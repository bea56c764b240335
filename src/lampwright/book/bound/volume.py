"""Bind the parts: plain data for the template, sheets as SVG, one PDF."""

from __future__ import annotations

import io
import tomllib
from collections.abc import Callable, Mapping, Sequence
from functools import cache
from importlib import resources
from typing import Any

from lampwright.book.bench_sheet import bench_data
from lampwright.book.bound.contents import PARTS, Contents
from lampwright.book.bound.inspection import inspection
from lampwright.book.bound.run_sheet import run_rows
from lampwright.book.bound.setting_up import setting_up
from lampwright.book.bound.tables import checks_table, firmware_table, harness_tables, parts_table
from lampwright.book.drawing import PAPERS, draw_piece
from lampwright.book.handover import card_text
from lampwright.book.typeset import typeset
from lampwright.book.wiring import draw_wiring
from lampwright.findings.grouping import count_line
from lampwright.making import draw_cuts, equal_bars
from lampwright.piece.model import Piece
from lampwright.signoff import has_passed
from lampwright.units import format_quantity

_BARS_A_PAGE = 8
"""Ways to cut that a landscape page of A4 holds below one another."""


@cache
def _words() -> dict[str, Any]:
    text = resources.files("lampwright.book").joinpath("templates", "book.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


def bind_book(
    contents: Contents, parts: Sequence[str] = PARTS, follow: Callable[[int], None] = lambda _: None
) -> bytes:
    """Return the book as a PDF: all of it with cover and contents, or some parts alone.

    Parameters
    ----------
    parts
        Some of :data:`PARTS`; they come in the order of the book.
    follow
        Told how many parts are done; one more when the pages are set.
    """
    wanted = [part for part in PARTS if part in parts]
    words = _words()
    made: list[dict[str, object]] = []
    for number, part in enumerate(wanted, start=1):
        made.append({"kind": part, "title": words["part"][part], "data": _MAKE[part](contents)})
        follow(number)
    brief = contents.layout.piece.brief
    is_whole = len(wanted) == len(PARTS)
    data = {
        "name": brief.name,
        "title": words["title"],
        "hash": contents.piece_hash,
        "cover": _cover(contents) if is_whole else None,
        "parts": made,
    }
    pdf = typeset("book", data)
    follow(len(wanted) + 1)
    return pdf


def cautions(piece: Piece) -> list[str]:
    """Return the cautions that go with what feeds a piece."""
    told: list[str] = []
    for each in _words()["cautions"]:
        if isinstance(each, str):
            told.append(each)
            continue
        told += [each["packs"]] if piece.has_packs else []
        told += [each["mains"]] if piece.has_mains else []
    return told


def _cover(contents: Contents) -> dict[str, object]:
    layout, words = contents.layout, _words()
    brief = layout.piece.brief
    n_pixel = sum(circuit.n_pixel for circuit in layout.circuits)
    circuits = "1 circuit" if len(layout.circuits) == 1 else f"{len(layout.circuits)} circuits"
    return {
        "place": brief.place,
        "date": brief.date.isoformat(),
        "facts": [
            f"{circuits}, {n_pixel} pixels, {len(layout.piece.members)} members",
            f"{format_quantity(brief.standby, 'time')} standby, {format_quantity(brief.run_time, 'time')} show, "
            f"coldest {format_quantity(brief.coldest, 'temperature')}",
            count_line(contents.findings).split(". ")[0] + ".",
        ],
        "failed": "" if has_passed(tuple(contents.findings)) else words["failed"],
        "hash_text": " ".join(contents.piece_hash[i : i + 8] for i in range(0, 64, 8)),
        "file": layout.piece.file.name,
        "version": contents.version,
        "note": words["readings"],
        "qr": _qr(f"{brief.name}\n{layout.piece.file.name}\nsha256 {contents.piece_hash}"),
    }


def _qr(text: str) -> str:
    # Imported here: only the book's cover needs it.
    import segno

    buffer = io.BytesIO()
    segno.make(text, error="m", micro=False).save(buffer, kind="svg", border=4)
    return buffer.getvalue().decode()


def _drawing(contents: Contents) -> list[str]:
    return list(draw_piece(contents.layout, PAPERS["A4"]))


def _cuts(contents: Contents) -> list[list[str]]:
    """Return the cut plan's drawings, those of one material together."""
    sheets = []
    for cuts in contents.cuts:
        groups = equal_bars(cuts)
        sheets.append([draw_cuts(cuts, start, _BARS_A_PAGE) for start in range(0, len(groups), _BARS_A_PAGE)])
    return sheets


def _wiring(contents: Contents) -> list[dict[str, object]]:
    return [
        {"name": harness.circuit, "sheets": list(draw_wiring(contents.layout, circuit, harness))}
        for circuit, harness in zip(contents.layout.circuits, contents.harnesses, strict=True)
    ]


def _set_up(contents: Contents) -> list[tuple[str, list[str]]]:
    return setting_up(contents.layout)


_MAKE: Mapping[str, Callable[[Contents], object]] = {
    "cautions": lambda contents: cautions(contents.layout.piece),
    "drawing": _drawing,
    "parts": parts_table,
    "cuts": _cuts,
    "wiring": _wiring,
    "joints": harness_tables,
    "bench": lambda contents: bench_data(contents.layout),
    "firmware": lambda contents: {"rows": firmware_table(contents), "none": _words()["no_firmware"]},
    "run": lambda contents: run_rows(contents.layout.piece),
    "setup": _set_up,
    "card": lambda contents: card_text(contents.layout, "en"),
    "inspection": lambda contents: inspection(contents.layout),
    "checks": checks_table,
}

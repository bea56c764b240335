"""A map of the damage: the piece, and on it a number at each thing that failed; readable in grey."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

from lampwright.faults.picture import on_paper
from lampwright.layout import Layout
from lampwright.piece.model import FixedSection, Section
from lampwright.strike.form import FormFailure, FormRow
from lampwright.written.picture import write_png

Font = ImageFont.FreeTypeFont | ImageFont.ImageFont

WIDTH, DRAWN, MARGIN, HEAD, LINE = 1000, 560, 40, 60, 22
PAPER, INK, WHOLE, HIT = (255, 255, 255), (20, 20, 20), (176, 176, 176), (20, 20, 20)
MARK = 11
"""Radius of a number's disc. [px]"""


def draw_damage(layout: Layout, failures: Sequence[FormFailure], path: Path) -> None:
    """Write the map of the damage as PNG, in one step.

    Raises
    ------
    OSError
        That names the picture.
    """
    write_png(path, damage_picture(layout, failures))


def damage_picture(layout: Layout, failures: Sequence[FormFailure]) -> Image.Image:
    """Return the piece in grey: what failed with its number, and below it the list of numbers."""
    lines = [f"{number}  {each.told()}" for number, each in enumerate(failures, 1)]
    image = Image.new("RGB", (WIDTH, DRAWN + MARGIN + LINE * max(1, len(lines))), PAPER)
    pen = ImageDraw.Draw(image)
    font, title = ImageFont.load_default(14), ImageFont.load_default(18)
    pen.text((MARGIN, 16), f"{layout.piece.brief.name}: what failed", INK, title)
    spots = on_paper(np.concatenate([circuit.xyz for circuit in layout.circuits]))
    hit = np.zeros(len(spots), bool)
    for failure in failures:
        hit[pixels_of(layout, failure.row, failure.pixel)] = True
    for (x, y), is_hit in zip(spots, hit, strict=True):
        if is_hit:
            pen.ellipse((x - 3, y - 3, x + 3, y + 3), fill=HIT)
        else:
            pen.ellipse((x - 2, y - 2, x + 2, y + 2), fill=WHOLE)
    for number, at in enumerate(_places(layout, failures, spots), 1):
        _mark(pen, at, number, font)
    for number, line in enumerate(lines):
        pen.text((MARGIN, DRAWN + LINE * number), line, INK, font)
    if not lines:
        pen.text((MARGIN, DRAWN), "nothing failed", INK, font)
    return image.quantize(16)


def pixels_of(layout: Layout, row: FormRow, pixel: int | None) -> NDArray[np.int64]:
    """Return the pixels of the piece that a thing is, or carries: of a pack or a board, its whole circuit.

    Parameters
    ----------
    pixel
        The one of its run at which it failed; ``None``: all of them.

    Returns
    -------
    (n,) int64
        Counted over all circuits.
    """
    found, offset = [], 0
    for circuit in layout.circuits:
        for run in circuit.runs:
            for section in run.sections:
                if row.sort in ("member", "fixing"):
                    is_part = row.thing.removeprefix("ties and tape on ") == _member_of(section.section)
                elif row.sort == "outlet":
                    is_part = row.thing == f"outlet {circuit.circuit.outlet}"
                elif row.circuit != circuit.circuit.name:
                    is_part = False
                elif row.sort == "strip":
                    is_part = row.run == run.run.name and row.first == section.first - run.first
                elif row.sort in ("span", "joint"):
                    is_part = section.section.name in row.thing and run.run.name in row.thing
                elif row.sort == "feed":
                    is_part = f"feed of {run.run.name} " in row.thing
                else:
                    is_part = True
                if is_part and pixel is not None:
                    found.append(np.array([offset + run.first + pixel]))
                elif is_part:
                    found.append(offset + section.first + np.arange(section.n_pixel))
        offset += circuit.n_pixel
    return np.concatenate(found) if found else np.zeros(0, np.int64)


def _member_of(section: Section) -> str:
    return section.member.name if isinstance(section, FixedSection) else ""


def _places(
    layout: Layout, failures: Sequence[FormFailure], spots: NDArray[np.float64]
) -> Iterator[tuple[float, float]]:
    """Yield where each failure's number goes: beside the thing's middle pixel, clear of the numbers before it."""
    taken: list[tuple[float, float]] = []
    for failure in failures:
        pixels = pixels_of(layout, failure.row, failure.pixel)
        x, y = spots[pixels[len(pixels) // 2]] if len(pixels) else (float(MARGIN), float(HEAD))
        x, y = float(x) + 1.5 * MARK, float(y)
        while any(abs(x - a) < 2 * MARK and abs(y - b) < 2 * MARK for a, b in taken):
            x, y = (x + 2 * MARK, y) if x < WIDTH - 3 * MARGIN else (float(MARGIN), y + 2 * MARK)
        taken.append((x, y))
        yield x, y


def _mark(
    pen: ImageDraw.ImageDraw, at: tuple[float, float], number: int, font: ImageFont.FreeTypeFont | ImageFont.ImageFont
) -> None:
    x, y = at
    pen.ellipse((x - MARK, y - MARK, x + MARK, y + MARK), fill=PAPER, outline=INK, width=2)
    pen.text((x, y), str(number), INK, font, anchor="mm")

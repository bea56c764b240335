"""Draws every look of the library and writes the gallery of its page.

Run: python -m lampwright.show.gallery docs/pictures/looks

Each look is drawn on a strip of its own, at full brightness, and its figures are worked out there:
a strip of 150 pixels, 60 a metre, hung so that it comes down 0.8 m and goes 0.6 m along the path
with every metre. Cycles a pixel are not drawn but measured: benchmarks/look_cycles.py writes them
to cycles.csv beside the pictures.
"""

from __future__ import annotations

import argparse
import csv
import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np

from lampwright.look import (
    Drive,
    Look,
    Places,
    Precision,
    Program,
    Setting,
    compile_look,
    measure_precision,
    read_look,
    settle,
)
from lampwright.parts import Strip, find
from lampwright.show.compile import library_names, library_text
from lampwright.show.strip_chart import Drawn, draw
from lampwright.written import write_whole
from lampwright.written.picture import write_png

N_PIXEL = 150
PITCH = 1 / 60
"""From pixel to pixel. [m]"""
DOWN, ALONG_PATH = 0.8, 0.6
"""How far the strip comes down and goes along the path with every metre of it. [m/m]"""
FRAME_SECONDS = 0.025
DRAWN_SECONDS, MEASURED_SECONDS = 20, 600
"""How much of a look its picture shows, and how much its draw is the mean of. [s]"""
STRIP = "ws2812b-60"
PATTERN = "bench-"
"""How the names of test patterns begin."""
BEGIN, END = "<!-- gallery: written by the program -->", "<!-- end of gallery -->"


@dataclass(frozen=True)
class Exhibit:
    """A look of the library, and what one metre of it draws for light alone, at full brightness. [A/m]"""

    look: Look
    program: Program
    mean: float
    peak: float

    @property
    def is_pattern(self) -> bool:
        """Whether it is a test pattern for the bench."""
        return self.look.name.startswith(PATTERN)


class StaleCostError(Exception):
    """The table of cycles doesn't belong to the looks as they are; measure again."""


def gallery_places() -> Places:
    """Return where the gallery's pixels are."""
    along = np.asarray((np.arange(N_PIXEL) + 0.5) * PITCH, dtype=np.float64)
    top = N_PIXEL * PITCH * DOWN
    return Places(along, np.c_[along * 0, along * ALONG_PATH, top - along * DOWN], 0)


@cache
def exhibits() -> tuple[Exhibit, ...]:
    """Return every look of the library, measured; test patterns last."""
    looks = (read_look(library_text(name), name, f"library/{name}.look") for name in library_names())
    return tuple(sorted(map(exhibit_of, looks), key=lambda e: (e.is_pattern, e.look.name)))


def exhibit_of(look: Look) -> Exhibit:
    """Return a look with its settings as they come, compiled for the gallery's strip and measured.

    Raises
    ------
    MakerError
        As :func:`lampwright.look.compile_look`.
    """
    n_frame = round(MEASURED_SECONDS / FRAME_SECONDS)
    program = compile_look(look, settle(look, {}, {}), gallery_places(), FRAME_SECONDS, n_frame, 1.0)
    strip = find(Strip, STRIP)
    currents = np.array([f.value for f in (strip.red_current, strip.green_current, strip.blue_current)])
    parts = [program.frames(np.arange(first, first + 800)) for first in range(0, n_frame, 800)]
    light = np.concatenate([part.sum(axis=1, dtype=np.int64) for part in parts]) @ (currents / 255)
    per_metre = light / (N_PIXEL * PITCH)
    return Exhibit(look, program, float(per_metre.mean()), float(per_metre.max()))


def precision_of(look: Look) -> tuple[Precision, ...]:
    """Return what precision a look has on the gallery's strip, as long as its draw is measured."""
    n_frame = round(MEASURED_SECONDS / FRAME_SECONDS)
    return measure_precision(look, settle(look, {}, {}), gallery_places(), FRAME_SECONDS, n_frame, Drive(1.0))


def drawn(exhibit: Exhibit) -> Drawn:
    """Return what a look's picture shows."""
    codes = exhibit.program.frames(np.arange(round(DRAWN_SECONDS / FRAME_SECONDS)))
    place = f"{N_PIXEL} pixels, 60 a metre; above at its brightest, below time across and pixels down"
    return Drawn(exhibit.look.name, place, codes / 255, FRAME_SECONDS)


def look_digest(name: str) -> str:
    """Return what tells one wording of a look from another."""
    return hashlib.sha256(library_text(name).encode()).hexdigest()[:12]


def read_cycles(file: Path) -> dict[str, int]:
    """Return the most cycles a pixel of each look.

    Raises
    ------
    StaleCostError
        The table is missing, lacks a look, or was measured with another wording of it.
    """
    rows = list(csv.DictReader(file.read_text(encoding="utf-8").splitlines())) if file.is_file() else []
    digests = {row["look"]: row["digest"] for row in rows}
    stale = [name for name in library_names() if digests.get(name) != look_digest(name)]
    if stale:
        raise StaleCostError(f"not measured: {', '.join(stale)}; run python benchmarks/look_cycles.py --csv {file}")
    return {row["look"]: int(row["most"]) for row in rows}


def gallery_text(cycles: Mapping[str, int], pictures: str) -> str:
    """Return the gallery in Markdown; ``pictures`` is the folder of pictures as seen from the page."""
    shown = exhibits()
    parts = [_overview(shown, cycles)]
    for is_pattern, heading in ((False, "## The looks"), (True, "## Test patterns for the bench")):
        parts.append(heading)
        parts.extend(_entry(e, cycles, pictures) for e in shown if e.is_pattern == is_pattern)
    return "\n\n".join(parts)


def _overview(shown: tuple[Exhibit, ...], cycles: Mapping[str, int]) -> str:
    rows = [f"| [{e.look.name}](#{e.look.name}) | {cycles[e.look.name]} | {e.mean:.2f} | {e.peak:.2f} |" for e in shown]
    head = ["| look | cycles a pixel | mean draw, A/m | peak draw, A/m |", "| --- | --: | --: | --: |"]
    return "\n".join([*head, *rows])


def _entry(exhibit: Exhibit, cycles: Mapping[str, int], pictures: str) -> str:
    look = exhibit.look
    settings = [
        "| setting | default | range | what it does |",
        "| --- | --- | --- | --- |",
        *(_setting_row(setting) for setting in look.settings.values()),
    ]
    return "\n".join(
        [
            f"### {look.name}",
            "",
            look.title.split(": ", 1)[1].capitalize(),
            "",
            f"![{look.title.rstrip('.')}]({pictures}/{look.name}.png)",
            "",
            *settings,
            "",
            f"Costs {cycles[look.name]} cycles a pixel. Draws {exhibit.mean:.2f} A/m on average, "
            f"{exhibit.peak:.2f} A/m at most.",
        ]
    )


def _setting_row(setting: Setting) -> str:
    if isinstance(setting.default, str):
        return f"| `{setting.name}` | `{setting.default}` | a colour | {setting.help} |"
    unit = f" {setting.unit}" if setting.unit else ""
    span = f"{setting.least:g} to {setting.most:g}{unit}"
    return f"| `{setting.name}` | {setting.default:g}{unit} | {span} | {setting.help} |"


def with_gallery(page: str, gallery: str) -> str:
    """Return a page with the part between its two marks replaced."""
    before, _, rest = page.partition(BEGIN)
    _, _, after = rest.partition(END)
    return f"{before}{BEGIN}\n\n{gallery}\n\n{END}{after}"


def main() -> None:
    """Run from the command line."""
    parser = argparse.ArgumentParser(description="Draw every look of the library, and write the gallery of its page.")
    parser.add_argument("folder", type=Path, help="where the pictures go; cycles.csv is read there")
    parser.add_argument("--page", type=Path, default=Path("docs/looks.md"), help="the page that holds the gallery")
    given = parser.parse_args()
    try:
        cycles = read_cycles(given.folder / "cycles.csv")
    except StaleCostError as error:
        parser.error(str(error))
    for exhibit in exhibits():
        write_png(given.folder / f"{exhibit.look.name}.png", draw(drawn(exhibit)))
    for old in given.folder.glob("*.png"):
        if old.stem not in library_names():
            old.unlink()
    pictures = given.folder.resolve().relative_to(given.page.resolve().parent).as_posix()
    text = with_gallery(given.page.read_text(encoding="utf-8"), gallery_text(cycles, pictures))
    write_whole(given.page, text)


if __name__ == "__main__":
    main()

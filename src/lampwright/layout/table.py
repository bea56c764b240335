"""The place of every pixel as a table for other programs, CSV or JSON."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterator
from pathlib import Path

from lampwright.layout.model import Layout

COLUMNS = ("circuit", "run", "section", "pixel", "along_m", "x_m", "y_m", "z_m")
"""``pixel`` counts from 0 in its run; ``along_m`` is the strip's length from the run's head."""


def places_csv(layout: Layout) -> str:
    """Return one line for each pixel, to a tenth of a millimetre."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(COLUMNS)
    writer.writerows(_rows(layout))
    return text.getvalue()


def places_json(layout: Layout) -> str:
    """Return a list of objects with the same columns."""
    return json.dumps([dict(zip(COLUMNS, row, strict=True)) for row in _rows(layout)], ensure_ascii=False) + "\n"


def write_places(file: Path, layout: Layout) -> None:
    """Write the table, as JSON where the file is called so and else as CSV, whole or not at all.

    Raises
    ------
    OSError
        The file can't be written.
    """
    text = places_json(layout) if file.suffix == ".json" else places_csv(layout)
    beside = file.with_name(f".{file.name}.part")
    try:
        beside.write_text(text, encoding="utf-8", newline="\n")
        beside.replace(file)
    finally:
        beside.unlink(missing_ok=True)


def _rows(layout: Layout) -> Iterator[tuple[object, ...]]:
    for circuit in layout.circuits:
        xyz, along = circuit.xyz.round(4).tolist(), circuit.along.round(4).tolist()
        for run in circuit.runs:
            for section in run.sections:
                for pixel in range(section.first, section.first + section.n_pixel):
                    labels = (circuit.circuit.name, run.run.name, section.section.name, pixel - run.first)
                    yield (*labels, along[pixel], *xyz[pixel])

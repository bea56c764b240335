"""The place of every pixel as a table for other programs, CSV or JSON."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterator
from pathlib import Path

from lampwright.layout.model import Layout
from lampwright.layout.toward import directions
from lampwright.written import write_whole

COLUMNS = (
    "circuit", "run", "section", "pixel", "along_m", "x_m", "y_m", "z_m", "toward_x", "toward_y", "toward_z"
)  # fmt: skip
"""``pixel`` counts from 0 in its run; ``along_m`` is the strip's length from the run's head; ``toward`` is the
direction in which the data goes on along the strip, of length 1."""


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
    write_whole(file, places_json(layout) if file.suffix == ".json" else places_csv(layout))


def _rows(layout: Layout) -> Iterator[tuple[object, ...]]:
    for circuit in layout.circuits:
        xyz, along = circuit.xyz.round(4).tolist(), circuit.along.round(4).tolist()
        toward = (directions(circuit).round(4) + 0.0).tolist()  # no "-0.0"
        for run in circuit.runs:
            for section in run.sections:
                for pixel in range(section.first, section.first + section.n_pixel):
                    labels = (circuit.circuit.name, run.run.name, section.section.name, pixel - run.first)
                    yield (*labels, along[pixel], *xyz[pixel], *toward[pixel])

"""``lampwright look``: one look, its settings, its draw and its precision."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from lampwright.cli.options import file_to_write
from lampwright.look import Look, Precision
from lampwright.show.compile import find_look
from lampwright.show.gallery import drawn, exhibit_of, precision_of
from lampwright.show.strip_chart import draw
from lampwright.written.picture import write_png

LookName = Annotated[str, Parameter(help="A look of the library, such as slow-ice, or a file that ends in .look.")]
PictureFile = Annotated[Path | None, Parameter(name="--out", help="Also write its strip chart as PNG to this file.")]


def look(name: LookName, /, *, out: PictureFile = None) -> int:
    """Tell a look's settings, what it draws and how precise it is on the chip.

    It is tried on a strip of its own, 150 pixels at 60 a metre, for ten minutes.
    """
    picture = file_to_write(out, ".png") if out else None
    found = find_look(name)
    exhibit = exhibit_of(found)
    print(found.title or found.name)
    print(f"draws {exhibit.mean:.2f} A a metre in the mean, {exhibit.peak:.2f} A at most, full brightness, light alone")
    for lines in (_settings(found), _precision(precision_of(found))):
        print()
        print("\n".join(lines))
    if picture is not None:
        write_png(picture, draw(drawn(exhibit)))
        print(f"\nwrote {picture}")
    return 0


def _settings(found: Look) -> list[str]:
    rows = [("setting", "default", "range", "what it is")]
    for setting in found.settings.values():
        if isinstance(setting.default, str):
            rows.append((setting.name, setting.default, "a colour", setting.help))
        else:
            span = f"{setting.least:g} to {setting.most:g} {setting.unit}".rstrip()
            rows.append((setting.name, f"{setting.default:g} {setting.unit}".rstrip(), span, setting.help))
    return _in_columns(rows)


def _precision(values: Sequence[Precision]) -> list[str]:
    rows = [("value", "range", "bits", "step", "usual error", "worst error")]
    for value in values:
        span = f"{value.low:.4g} to {value.high:.4g}"
        errors = (f"{value.usual:.2g}", f"{value.worst:.2g}")
        rows.append((value.name, span, str(value.bits), f"{value.step:.2g}", *errors))
    return _in_columns(rows)


def _in_columns(rows: Sequence[tuple[str, ...]]) -> list[str]:
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    return ["  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip() for row in rows]

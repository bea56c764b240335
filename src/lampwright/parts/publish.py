"""Write the catalogue for readers: ``python -m lampwright.parts.publish docs/parts.md``."""

from __future__ import annotations

import argparse
from collections.abc import Mapping
from importlib import resources
from pathlib import Path

from lampwright.parts.catalogue import load_catalogue
from lampwright.parts.kinds import FIGURE_KINDS, Part
from lampwright.parts.model import Figure, LineTiming, Strip, Supply, Window
from lampwright.parts.offers import offers_of
from lampwright.units import format_quantity


def published() -> str:
    """Return the document: its introduction, then a table for each kind of part."""
    catalogue = load_catalogue()
    head = resources.files("lampwright.parts").joinpath("introduction.md").read_text(encoding="utf-8")
    shelves: list[tuple[str, Mapping[str, Part]]] = [
        ("Strips", catalogue.strips),
        ("Packs", catalogue.packs),
        ("Supplies", catalogue.supplies),
        ("Ports", catalogue.ports),
        ("Boards", catalogue.boards),
        ("Wire", catalogue.wires),
        ("Fuses", catalogue.fuses),
        ("Capacitors", catalogue.capacitors),
        ("Resistors", catalogue.resistors),
        ("Connectors", catalogue.connectors),
        ("Diodes", catalogue.diodes),
        ("Tubes", catalogue.tubes),
        ("Cords", catalogue.cords),
        ("Cable ties", catalogue.cable_ties),
    ]
    return head + "".join(f"\n## {title}\n" + _shelf(list(parts.values())) for title, parts in shelves)


def _shelf(parts: list[Part]) -> str:
    """Return a table of values, then where the figures come from, each source once."""
    keys = list(FIGURE_KINDS[type(parts[0])])
    lines = ["", "| part | " + " | ".join(keys) + " | sold for |", "| --- " * (len(keys) + 2) + "|"]
    for part in parts:
        values = [_figure(part, key).text for key in keys]
        title = f"{part.title}, {part.ip}, {part.protection}" if isinstance(part, Supply) else part.title
        lines.append(f"| `{part.name}` {title} | " + " | ".join([*values, _prices(part.name)]) + " |")
    lines += ["", "| figure | status | source |", "| --- | --- | --- |"]
    sources = {
        (key, _figure(part, key).status.value, _figure(part, key).source): None for key in keys for part in parts
    }
    lines += [f"| {key} | {status} | {source} |" for key, status, source in sources]
    timings = {part.pixel: part for part in parts if isinstance(part, Strip)}
    for pixel, strip in timings.items():
        lines += ["", f"Data line of {pixel}, colour order {strip.order} ({strip.timing_source}):", ""]
        lines += _timing(strip.timing)
    return "\n".join(lines) + "\n"


def _prices(part: str) -> str:
    """Return how a part is sold, such as "10 m 3.40, 25 m 7.20"."""
    sold = []
    for offer in offers_of(part):
        lot = format_quantity(offer.length, "length") + " " if offer.length else f"{offer.pack} for " * (offer.pack > 1)
        sold.append(f"{lot}{(offer.price or 0) / 100:.2f}")
    return ", ".join(sold)


def _figure(part: Part, key: str) -> Figure:
    figure: Figure = getattr(part, key)
    return figure


def _timing(timing: LineTiming) -> list[str]:
    halves = {
        "zero, high": timing.zero_high,
        "zero, low": timing.zero_low,
        "one, high": timing.one_high,
        "one, low": timing.one_low,
    }
    rows = [f"| {half} | {_window(window)} |" for half, window in halves.items()]
    return ["| half of a bit | least | typical | most |", "| --- | --- | --- | --- |", *rows, *_latch(timing)]


def _window(window: Window) -> str:
    return " | ".join(format_quantity(value, "time") for value in (window.least, window.typical, window.most))


def _latch(timing: LineTiming) -> list[str]:
    return [f"| latch | {format_quantity(timing.latch, 'time')} | | |"]


def main() -> None:
    """Run from the command line."""
    parser = argparse.ArgumentParser(description="Write the parts catalogue as a document.")
    parser.add_argument("file", type=Path)
    parser.parse_args().file.write_text(published(), encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main()

"""Labels for packs or supplies, members and cables, ready for sheets of 24."""

from __future__ import annotations

from collections.abc import Iterable

from lampwright.book.typeset import typeset
from lampwright.piece.model import Cable, Piece
from lampwright.power import FittedFuse, feed_name, fuses_of
from lampwright.units import format_quantity


def label_sheets(piece: Piece) -> bytes:
    """Return the labels as a PDF, 70 mm by 37 mm, 24 on each page of A4."""
    return typeset("labels", {"name": piece.brief.name, "labels": list(label_texts(piece))})


def label_texts(piece: Piece) -> Iterable[dict[str, object]]:
    """Yield each label: its kind, title, note and the title's size. [pt]"""
    for circuit in piece.circuits:
        volts = format_quantity(circuit.source.output_voltage.value, "voltage")
        care = "never charge in frost"
        if circuit.is_on_mains:
            volts, care = f'{volts}, outlet "{circuit.outlet}"', "let air at it, never open it"
        note = f"{circuit.source.title}, {volts}. Keep dry, {care}."
        for pack in range(circuit.bank.count):
            which = f", pack {pack + 1} of {circuit.bank.count}" if circuit.bank.count > 1 else ""
            yield _label(circuit.source_noun, circuit.name + which, note)
        yield _label("board", circuit.name, circuit.board.title)
        fuses = {fitted.where: fitted for fitted in fuses_of(circuit)}
        yield _label("cable", f"{circuit.name} lead", _cable(circuit.wiring.lead, fuses["lead"]))
        for run in circuit.runs:
            for feed in run.feeds:
                yield _label(
                    "cable",
                    f"{circuit.name} {run.name} {100 * feed.at:.4g} %",
                    _cable(feed.cable, fuses.get(feed_name(run.name, feed.at))),
                )
    for member in piece.members:
        yield _label("member", member.name, "Check that nothing is bent, cracked or loose.")


def _cable(cable: Cable, fitted: FittedFuse | None) -> str:
    fuse = "" if fitted is None else f"; fuse {fitted.fuse.rating.text}, never larger"
    return f"{cable.wire.title}, {format_quantity(cable.length, 'length')}; red is plus, black is ground{fuse}"


def _label(kind: str, title: str, note: str) -> dict[str, object]:
    return {"kind": kind, "title": title, "note": note, "size": 18 if len(title) <= 18 else 13}

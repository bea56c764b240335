"""The sheets of a circuit's wiring drawing: power on the left, then hub, then the runs; what each mark is, below."""

from __future__ import annotations

import hashlib
import math

from lampwright.book.drawing.sheet import PAPERS, TEXT, Box, Sheet, shortened
from lampwright.book.drawing.title import BAND, HASH_LENGTH, NO_HASH, Title, draw_band, frame_of
from lampwright.book.wiring.plan import plan_sheets
from lampwright.book.wiring.runs import draw_runs
from lampwright.book.wiring.source import draw_source
from lampwright.book.wiring.symbols import DATA, GROUND, PLUS, dot
from lampwright.layout.model import CircuitLayout, Layout
from lampwright.making import Harness
from lampwright.parts import load_catalogue
from lampwright.power import bulk_of, capacitors_for, fuses_of, line_resistors
from lampwright.units import format_quantity

_NOTE = "A diagram. Lengths from end to end; in brackets, as cut."
_TOP = 14.0
_KEY_ROW = 4.6


def draw_wiring(layout: Layout, circuit: CircuitLayout, harness: Harness) -> tuple[str, ...]:
    """Return the wiring drawing of a circuit as SVG, A4 landscape, as many sheets as its runs take.

    Everything on it is the piece's own: fuse, capacitor and resistor as the checks have them, wires and joints as the
    harness lists them. The hash is of all that is drawn.
    """
    paper = PAPERS["A4"]
    frame = frame_of(Sheet(paper))
    plans = plan_sheets(circuit, harness, _TOP, frame.bottom - BAND - 2)
    sheets = []
    for number, plan in enumerate(plans):
        sheet = Sheet(paper)
        title = Title(f"wiring of {circuit.circuit.name}", "none", number + 1, len(plans), _NOTE)
        draw_band(sheet, layout, title, has_legend=False)
        hub = draw_source(sheet, circuit, harness, [row.name for row in plan.rows])
        missing = draw_runs(sheet, circuit, harness, plan, hub)
        if missing:
            said = f"for want of room the joint list alone has {missing} of the names"
            sheet.text((frame.right - 2, frame.bottom - BAND - 1.5), said, anchor="end")
        _draw_key(sheet, circuit, Box(frame.left, frame.bottom - BAND, frame.right - 104, frame.bottom))
        sheets.append(sheet)
    whole = "\n".join(sheet.body() for sheet in sheets)
    digest = hashlib.sha256(whole.encode()).hexdigest()[:HASH_LENGTH]
    return tuple(sheet.svg().replace(NO_HASH, digest) for sheet in sheets)


def _draw_key(sheet: Sheet, circuit: CircuitLayout, box: Box) -> None:
    """Say what each line and mark is."""
    x, y = box.left + 3, box.top + 4.5
    for number, (style, text) in enumerate(((PLUS, "plus, red"), (GROUND, "ground, black"), (DATA, "data, green"))):
        left = x + 42 * number
        sheet.line([(left, y), (left + 11, y)], style)
        sheet.text((left + 13, y + 0.9), text)
    dot(sheet, (x + 131, y), GROUND)
    sheet.text((x + 134, y + 0.9), "joined")
    for number, text in enumerate(_key(circuit)[:7]):
        sheet.text((x, y + 6 + _KEY_ROW * number), shortened(text, TEXT, box.width - 5))


def _key(circuit: CircuitLayout) -> list[str]:
    part, catalogue = circuit.circuit, load_catalogue()
    volts = part.source.output_voltage.value
    rated = next((each.voltage.text for each in capacitors_for(volts)), "")
    fuses = ", ".join(dict.fromkeys(each.fuse.rating.text for each in fuses_of(part)))
    held = {line.lead for line in line_resistors(circuit)}
    leads = ", ".join(format_quantity(each, "length") for each in sorted(held))
    sizes = ", ".join(dict.fromkeys(format_quantity(each.capacitance, "capacitance") for each in bulk_of(circuit)))
    awake = "; RG keeps a pack awake" if math.isfinite(part.bank.keep_awake) else ""
    if part.is_on_mains:
        awake = "; its mains side stays closed"
    sealed = catalogue.connectors["connector-3-sealed"]
    return [
        f"G  {part.source.title}; limiter holds the circuit to {format_quantity(part.current_cap, 'current')}{awake}",
        f"F  blade fuses, {fuses}, in holders, in plus where their wire begins; never a larger one than marked",
        f"A  {part.board.title}",
        f"C  electrolytic, {sizes}, rated {rated}: mind its polarity",
        f"R  at the board's pin; the data lead behind it is {leads} long",
        f"X  {sealed.title}; unplug the {part.source_noun} before you part it",
        "W  wires, J  joints, as in the joint list. Arrows on the strip point away from A.",
    ]

"""The left part of a wiring drawing: packs or supply, fuses, lead, hub and board."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Sequence
from dataclasses import dataclass, field

from lampwright.book.drawing.sheet import MEDIUM, TEXT, Box, Sheet, Style, shortened
from lampwright.book.wiring.symbols import (
    DATA,
    GROUND,
    PLUS,
    diode,
    dot,
    feed_fuse,
    fuse,
    mains_plug,
    plug,
    rectangle,
    resistor,
    titled_box,
)
from lampwright.layout.model import CircuitLayout
from lampwright.making import Harness, HarnessWire, WireUse, gauge_text
from lampwright.piece.model import Joined
from lampwright.power import fuses_of, line_resistors
from lampwright.units import format_quantity

LEFT, RIGHT = 24.0, 68.0
"""Of packs and board. [mm]"""
HUB_PLUS, HUB_GROUND = 121.0, 125.0
_TOP = 16.0
_PACK, _PACK_STEP = 24.0, 29.0
_PIN = 9.0
_MAINS = 9.5
"""What plug and outlet take of a supply's box. [mm]"""


@dataclass
class Hub:
    """Where cables begin: two bars that grow as far down as something is joined to them."""

    top: float
    plus: list[float] = field(default_factory=list)
    ground: list[float] = field(default_factory=list)
    data: dict[str, tuple[float, float]] = field(default_factory=dict)
    """By run: where its data line comes from. [mm]"""


def wire_text(wire: HarnessWire) -> str:
    """Return what is written at a wire, such as "W4 F2 3 A AWG 16, 3.4 m (3.63 m)"; the lead's fuse is drawn by it."""
    way, cut = (format_quantity(each, "length") for each in (wire.way, wire.cut))
    return f"{_marks(wire)} {gauge_text(wire.gauges)}, {way} ({cut})"


def short_text(wire: HarnessWire) -> str:
    """Return the least that is written at a wire: its mark, and its fuse."""
    return _marks(wire)


def _marks(wire: HarnessWire) -> str:
    fuse = "" if wire.fuse is None or wire.use is WireUse.LEAD else f" {wire.fuse.mark} {wire.fuse.fuse.rating.text}"
    return f"{wire.mark}{fuse}"


def draw_source(sheet: Sheet, circuit: CircuitLayout, harness: Harness, runs: Sequence[str]) -> Hub:
    """Draw everything up to the hub, and the board with the pins of these runs."""
    hub = Hub(_TOP + 6)
    bottom = _draw_sources(sheet, circuit, harness, hub)
    _draw_board(sheet, circuit, harness, hub, bottom + 8, runs)
    return hub


def _draw_sources(sheet: Sheet, circuit: CircuitLayout, harness: Harness, hub: Hub) -> float:
    bank = circuit.circuit.bank
    count = bank.count if bank.is_shared else 1
    fuses = [f"{each.mark} {each.fuse.rating.text}" for each in fuses_of(circuit.circuit)]
    bars: tuple[list[float], list[float]] = ([], [])
    for number in range(count):
        top = _TOP + _PACK_STEP * number
        plus, ground = top + 6, top + _PACK - 5
        mark = "G1" if count == 1 else f"G{number + 1}"
        left = LEFT + _MAINS if circuit.circuit.is_on_mains else LEFT
        titled_box(sheet, Box(left, top, RIGHT, top + _PACK), mark, _source_lines(circuit))
        if circuit.circuit.is_on_mains:
            mains_plug(sheet, (left, top + _PACK / 2))
            told = f'mains outlet "{circuit.circuit.outlet}", behind an RCD'
            sheet.text((LEFT, top + _PACK + 3.6), shortened(told, TEXT, RIGHT + 20 - LEFT))
        for y, sign, style in ((plus, "+", PLUS), (ground, "−", GROUND)):
            sheet.text((RIGHT - 4, y + 1), sign, 3.0)
            sheet.line([(RIGHT, y), (RIGHT + 2, y)], style)
            plug(sheet, (RIGHT + 2, y), style)
        x = RIGHT + 6
        sheet.line([(x, plus), (x + 3, plus)], PLUS)
        fuse(sheet, (x + 3, plus), fuses[number])
        x += 13
        if math.isfinite(bank.keep_awake):
            sheet.line([(x, plus), (x + 4, plus)], PLUS)
            _draw_keep_awake(sheet, (x + 2, plus, ground), bank.keep_awake, number + 1)
            x += 4
        if bank.is_shared:
            sheet.line([(x, plus), (x + 3, plus)], PLUS)
            diode(sheet, (x + 3, plus))
            x += 8
        if count == 1:
            sheet.line([(x, plus), (HUB_PLUS, plus)], PLUS)
            sheet.line([(RIGHT + 6, ground), (HUB_GROUND, ground)], GROUND)
        else:
            sheet.line([(x, plus), (100, plus)], PLUS)
            sheet.line([(RIGHT + 6, ground), (104, ground)], GROUND)
            bars[0].append(plus)
            bars[1].append(ground)
    if count > 1:
        for x, ys, style, to in ((100, bars[0], PLUS, HUB_PLUS), (104, bars[1], GROUND, HUB_GROUND)):
            sheet.line([(x, ys[0]), (x, ys[-1])], style)
            sheet.line([(x, ys[0]), (to, ys[0])], style)
            for y in ys[:-1]:
                dot(sheet, (x, y), style)
        fuse(sheet, (107, bars[0][0]), fuses[count])
    hub.plus.append(_TOP + 6)
    hub.ground.append(_TOP + _PACK - 5)
    lead = next((wire for wire in harness.wires if wire.use is WireUse.LEAD), None)
    if lead is not None:
        mark, lengths = wire_text(lead).split(", ")
        x = 102.5 if count > 1 else 93.0 if math.isfinite(bank.keep_awake) else 87.0
        lines = [mark, *lengths.replace(" (", "|(").split("|")] if count > 1 else [mark, lengths]
        for number, line in enumerate(lines):
            sheet.text((x, _TOP + 10.2 + 3.3 * number), line)
    return _TOP + _PACK_STEP * (count - 1) + _PACK


def _draw_keep_awake(sheet: Sheet, at: tuple[float, float, float], ohms: float, number: int) -> None:
    """Draw the resistor across a pack's output at an x, from its plus to its ground; its value stands below."""
    x, plus, ground = at
    middle = (plus + ground) / 2
    sheet.line([(x, plus), (x, ground)], Style(MEDIUM))
    rectangle(sheet, Box(x - 1.4, middle - 3.5, x + 1.4, middle + 3.5), Style(MEDIUM, "#000", fill="#fff"))
    dot(sheet, (x, plus), PLUS)
    dot(sheet, (x, ground), GROUND)
    sheet.text((RIGHT + 2, ground + 4.0), f"RG{number} {format_quantity(ohms, 'resistance')}")


def _source_lines(circuit: CircuitLayout) -> list[str]:
    bank, title = circuit.circuit.bank, circuit.circuit.source.title
    lines = [part.strip() for part in title.split(",", 1)]
    if circuit.circuit.is_on_mains:
        return [*textwrap.wrap(title, 15, break_on_hyphens=False), "never opened"]
    if bank.count > 1 and bank.joined is Joined.IN_TURN:
        lines.append(f"{bank.count} of them, in turn")
    if bank.diode is not None and bank.is_shared:
        lines.append(f"{bank.joined.value} behind it")
    return lines


def _draw_board(
    sheet: Sheet, circuit: CircuitLayout, harness: Harness, hub: Hub, top: float, runs: Sequence[str]
) -> None:
    shown = [run for run in circuit.runs if run.run.name in runs]
    pin = min(_PIN, (152 - top - 20) / max(1, len(shown)))
    height = 21 + pin * len(shown)
    title = circuit.circuit.board.title
    titled_box(sheet, Box(LEFT, top, RIGHT, top + height), "A1", [])
    for number, part in enumerate(title.split(", ")):
        sheet.text((LEFT + 2, top + 8.2 + 3.3 * number), part)
    supply = next(wire for wire in harness.wires if wire.use is WireUse.BOARD)
    volts = circuit.circuit.source.output_voltage.text
    for y, name, style, x, met in (
        (top + 6, f"+{volts}", PLUS, HUB_PLUS, hub.plus),
        (top + 13, "ground", GROUND, HUB_GROUND, hub.ground),
    ):
        sheet.text((RIGHT - 1.5, y + 0.9), name, TEXT, "end")
        sheet.line([(RIGHT, y), (x, y)], style)
        dot(sheet, (x, y), style)
        met.append(y)
    sheet.text((RIGHT + 2, top + 10.6), wire_text(supply))
    if supply.fuse is not None:
        feed_fuse(sheet, (RIGHT + 10, top + 6))
    ohms = {line.run: line.resistance for line in line_resistors(circuit)}
    for number, run in enumerate(shown):
        y = top + 21 + pin * number
        sheet.text((RIGHT - 1.5, y + 0.9), run.run.pin, TEXT, "end")
        x = RIGHT
        value = ohms[run.run.name]
        if value:
            sheet.line([(x, y), (x + 4, y)], DATA)
            mark = f"R{circuit.runs.index(run) + 1}"
            resistor(sheet, (x + 4, y), f"{mark} {format_quantity(value, 'resistance')}")
            x += 13
        hub.data[run.run.name] = (x, y)

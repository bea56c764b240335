"""The right part of a wiring drawing: hub, feeds on their ways, and the runs with their joints."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from lampwright.book.drawing.sheet import (
    FINE,
    MEDIUM,
    TEXT,
    THIN,
    Box,
    Point,
    Sheet,
    Style,
    bounds,
    shortened,
    text_box,
    text_width,
)
from lampwright.book.wiring.plan import (
    BAND_ABOVE,
    BAND_BELOW,
    ROW_DATA,
    ROW_GROUND,
    STRIP_LEFT,
    STRIP_RIGHT,
    Row,
    SheetPlan,
    Tap,
    is_straight,
)
from lampwright.book.wiring.source import HUB_GROUND, HUB_PLUS, Hub, short_text, wire_text
from lampwright.book.wiring.symbols import DATA, FEED_FUSE, GROUND, PLUS, SMALL, capacitor, dot, feed_fuse, rectangle
from lampwright.layout.model import CircuitLayout
from lampwright.making import Harness, HarnessWire, WireUse
from lampwright.power import bulk_of
from lampwright.units import format_quantity

_CONNECTOR = 163.0
_CAPACITOR = 169.5
_APART = 2.0
"""From the plus to the ground conductor of a pair. [mm]"""
_COLUMN, _COLUMN_STEP = 117.0, 3.0
_TURN = 156.0
"""Where what comes from another run turns into a head."""
_BAND = Style(THIN, "#777", fill="#f1f1f1")


def draw_runs(sheet: Sheet, circuit: CircuitLayout, harness: Harness, plan: SheetPlan, hub: Hub) -> int:
    """Draw the runs of one sheet and the hub; return how many names found no room."""
    missing = 0
    for row in plan.rows:
        _draw_band(sheet, row, harness)
    turn = _TURN
    later: list[tuple[Row, HarnessWire, Point]] = []  # texts come when all conductors are known
    for row in plan.rows:
        _draw_head(sheet, circuit, harness, row, hub)
        for mark, y in row.above.items():
            wire = next(each for each in harness.wires if each.mark == mark)
            if wire.feed is not None and wire.feed.at == 0:
                turn -= 4.5
            later.append((row, wire, _draw_way(sheet, plan, row, wire, y, hub, turn)))
        for mark, y in row.below.items():
            wire = next(each for each in harness.wires if each.mark == mark)
            later.append((row, wire, _draw_own(sheet, row, wire, y)))
        if row.is_crowded:
            missing += _draw_stubs(sheet, row)
    _draw_data(sheet, plan, hub)
    for row in plan.rows:
        for start, to in row.fuses:
            _draw_fuse(sheet, start, to)
    for x, met, style in ((HUB_PLUS, hub.plus, PLUS), (HUB_GROUND, hub.ground, GROUND)):
        _lay(sheet, [(x, min(met)), (x, max(met))], style)
    sheet.text(((HUB_PLUS + HUB_GROUND) / 2, max(*hub.plus, *hub.ground) + 4), "hub", TEXT, "middle")
    for row, wire, at in later:
        missing += not _say_above(sheet, row, wire, at)
    for row in plan.rows:
        missing += not _draw_title(sheet, row)
        missing += _draw_names(sheet, row, harness)
    return missing


def _draw_band(sheet: Sheet, row: Row, harness: Harness) -> None:
    y = row.plus
    rectangle(sheet, Box(STRIP_LEFT, y - BAND_ABOVE, STRIP_RIGHT, y + BAND_BELOW), _BAND)
    sheet.line([(STRIP_LEFT, y), (STRIP_RIGHT, y)], PLUS)
    sheet.line([(STRIP_LEFT, y + ROW_GROUND), (STRIP_RIGHT, y + ROW_GROUND)], GROUND)
    sheet.line([(STRIP_LEFT, y + ROW_DATA), (STRIP_RIGHT - 2, y + ROW_DATA)], DATA)
    tip = [(STRIP_RIGHT - 1, 0.0), (STRIP_RIGHT - 4, -1.1), (STRIP_RIGHT - 4, 1.1)]
    arrow = [(x, y + ROW_DATA + dy) for x, dy in tip]
    sheet.line(arrow, Style(FINE, DATA.colour, fill=DATA.colour), is_closed=True)
    for joint in harness.joints:
        if joint.run == row.name and joint.is_strip_cut:
            x = row.x_of(joint.pixel / row.run.n_pixel)
            for dx in (-0.7, 0.7):
                _lay(sheet, [(x + dx, y - BAND_ABOVE), (x + dx, y + BAND_BELOW)], Style(MEDIUM))


def _draw_title(sheet: Sheet, row: Row) -> bool:
    """Write what the run is into its strip, as much as no cable is in the way of; return whether there was room."""
    run = row.run
    name, count = run.run.name, f"{run.n_pixel} pixels"
    length = format_quantity(row.length, "length")
    y = row.plus + ROW_DATA + 3.3
    if _say_within(sheet, y, f"{name}: {count}, {length} of {run.run.strip.name}"):
        return True
    # where joints or cables divide the strip, its parts stand apart
    parts = (f"{name}:", count, length, run.run.strip.name)
    are_said = [_say_within(sheet, y, part) for part in parts]
    return all(are_said)


def _say_within(sheet: Sheet, y: float, text: str) -> bool:
    """Write a text into a strip at this height, as far left as there is room; return whether there was."""
    places = range(int(STRIP_LEFT) + 1, int(STRIP_RIGHT) - 8)
    return any(_say(sheet, (x, y), text) for x in places if text_box((x, y), text).right < STRIP_RIGHT - 1)


def _draw_names(sheet: Sheet, row: Row, harness: Harness) -> int:
    """Write the sections below the strip, and its joints; return how many found no room."""
    missing = 0
    bottom = row.plus + BAND_BELOW
    for section in row.run.sections:
        if not section.n_pixel:
            continue
        start = section.first - row.run.first
        ends = (start / row.run.n_pixel, (start + section.n_pixel) / row.run.n_pixel)
        left, right = (row.x_of(share) for share in ends)
        for x in (left, right):
            sheet.line([(x, bottom), (x, bottom + 2.5)], Style(THIN))
        numbers = f"{start} to {start + section.n_pixel - 1}"
        missing += not _name(sheet, (left, right), bottom, (section.section.name, f"pixels {numbers}"), numbers)
    for joint in harness.joints:
        if joint.run == row.name and joint.is_strip_cut:
            x = row.x_of(joint.pixel / row.run.n_pixel)
            marks = {join.split()[0] for join in joint.joins} & {wire.mark for wire in harness.wires}
            told = " ".join([joint.mark, *sorted(marks)])
            missing += not _say(sheet, (x, bottom + 9.2), told, "middle", SMALL)
    return missing


def _name(sheet: Sheet, between: Point, bottom: float, lines: tuple[str, str], short: str) -> bool:
    """Write a section's name and its pixels below it, in the middle or where no cable is in the way."""
    left, right = between
    room = right - left - 1.5
    name = shortened(lines[0], TEXT, room)
    numbers = lines[1] if text_width(lines[1], TEXT) <= room else short
    if len(name) < min(4, len(lines[0])) or text_width(numbers, TEXT) > room:
        return False
    width = max(text_width(name, TEXT), text_width(numbers, TEXT))
    middle = (left + right) / 2
    reach = (right - left - width) / 2
    places = [middle + sign * step * reach / 20 for step in range(21) for sign in (1, -1)]
    for x in places:
        boxes = [text_box((x, bottom + dy), each, TEXT, "middle") for dy, each in ((3.4, name), (6.6, numbers))]
        if not any(box.overlaps(other, 0.3) for box in boxes for other in sheet.taken):
            for dy, each in ((3.4, name), (6.6, numbers)):
                sheet.text((x, bottom + dy), each, TEXT, "middle")
            return True
    return False


def _draw_head(sheet: Sheet, circuit: CircuitLayout, harness: Harness, row: Row, hub: Hub) -> None:
    """Draw what goes into the head: connector, capacitor, and a feed that comes straight from the hub."""
    y = row.plus
    number = next(i for i, run in enumerate(circuit.runs, start=1) if run.run.name == row.name)
    rectangle(sheet, Box(_CONNECTOR - 1.5, y - 2.5, _CONNECTOR + 1.5, y + ROW_DATA + 2.5))
    joints = [joint.mark for joint in harness.joints if joint.run == row.name and joint.where.startswith("head of")]
    sheet.text((_CONNECTOR, y - 3.4), f"X{number}", TEXT, "middle")
    sheet.text((_CONNECTOR, y + ROW_DATA + 5.2), " ".join(joints), SMALL, "middle")
    for dy, style in ((0.0, PLUS), (ROW_GROUND, GROUND), (ROW_DATA, DATA)):
        sheet.line([(_CONNECTOR + 1.5, y + dy), (STRIP_LEFT, y + dy)], style)
        sheet.circle((_CONNECTOR, y + dy), 0.6, Style(THIN))
    size = next(bulk.capacitance for bulk in bulk_of(circuit) if bulk.run == row.name)
    if size > 0:
        lines = (f"C{number}", format_quantity(size, "capacitance"))
        capacitor(sheet, (_CAPACITOR, y), ROW_GROUND, lines)
    straight = next((w for w in harness.wires if w.use is WireUse.FEED and w.run == row.name and is_straight(w)), None)
    if straight is not None:
        for dy, x, style, met in ((0.0, HUB_PLUS, PLUS, hub.plus), (ROW_GROUND, HUB_GROUND, GROUND, hub.ground)):
            sheet.line([(x, y + dy), (_CONNECTOR - 1.5, y + dy)], style)
            dot(sheet, (x, y + dy), style)
            met.append(y + dy)
        if straight.fuse is not None:
            feed_fuse(sheet, (HUB_GROUND + 3, y))
        mark, rest = wire_text(straight).split(", ")
        sheet.text((128, y + 3.6), mark)
        sheet.text((128, y + 6.9), rest)
    data = next((w for w in harness.wires if w.use is WireUse.DATA and w.run == row.name), None)
    if data is not None:
        mark, rest = wire_text(data).split(", ")
        sheet.text((128, y + ROW_DATA - 4.3), mark)
        sheet.text((128, y + ROW_DATA - 1.1), rest)


def _draw_way(sheet: Sheet, plan: SheetPlan, row: Row, wire: HarnessWire, y: float, hub: Hub, turn: float) -> Point:
    """Draw a cable from the hub or from another run, on its way above its run; return where a text may be."""
    feed = wire.feed
    assert feed is not None
    start: tuple[Point, Point]
    if feed.origin is None:
        start = ((HUB_PLUS, y), (HUB_GROUND, y + _APART))
        hub.plus.append(y)
        hub.ground.append(y + _APART)
        dot(sheet, start[0], PLUS)
        dot(sheet, start[1], GROUND)
    else:
        other = plan.row(feed.origin.run)
        if other is None:  # on another sheet
            sheet.text((_TURN - 26, y + 1.4), f"from {feed.origin.run}, {100 * feed.origin.at:.4g} %", TEXT, "end")
            start = ((_TURN - 25, y), (_TURN - 25, y + _APART))
        else:
            tap = next(each for each in other.taps if each.wire is wire and not each.is_end)
            start = _leave(sheet, other, tap, y)
    if feed.at == 0:
        ends = ((turn, row.plus), (turn + _APART, row.plus + ROW_GROUND))
        if feed.origin is not None and plan.row(feed.origin.run) is not None:
            ends = ((turn + _APART, row.plus), (turn, row.plus + ROW_GROUND))
        for style, (x, at), (to, down) in ((PLUS, start[0], ends[0]), (GROUND, start[1], ends[1])):
            _lay(sheet, [(x, at), (to, at), (to, down), (_CONNECTOR - 1.5, down)], style)
        left = turn + 5
    else:
        tap = next(each for each in row.taps if each.wire is wire and each.is_end)
        _arrive(sheet, row, tap, start)
        left = max(start[0][0], start[1][0]) + 3 if start[0][0] < tap.x else tap.x + 4
    if wire.fuse is not None:
        row.fuses.append((start[0], turn if feed.at == 0 else tap.x))
    return left, y


def _say_above(sheet: Sheet, row: Row, wire: HarnessWire, at: Point) -> bool:
    """Write what a cable is above its way, else beside it; return whether there was room."""
    x, y = at
    text = wire_text(wire)
    places = [(x + step, y - 1.0) for step in range(0, 60, 2)]
    if any(_say(sheet, place, text) for place in places if place[0] < STRIP_RIGHT - 10):
        return True
    if wire.mark in row.below and any(_say(sheet, (x - 5.0 - step, y + 1.5), text, "end") for step in range(0, 20, 4)):
        return True
    return any(_say(sheet, place, short_text(wire)) for place in places)


def _leave(sheet: Sheet, row: Row, tap: Tap, y: float) -> tuple[Point, Point]:
    """Draw a cable from its tap down or up to its way at y; return where the two conductors are then."""
    plus, ground = (tap.x, row.plus), (tap.x + _APART, row.plus + ROW_GROUND)
    _lay(sheet, [plus, (tap.x, y)], PLUS)
    _lay(sheet, [ground, (tap.x + _APART, y + _APART)], GROUND)
    dot(sheet, plus, PLUS)
    dot(sheet, ground, GROUND)
    edge = row.plus + BAND_BELOW + 9.2 if y > row.plus else row.plus - BAND_ABOVE - 0.6
    _say(sheet, (tap.x + _APART + 0.8, edge), tap.joint, "start", SMALL)
    return (tap.x, y), (tap.x + _APART, y + _APART)


def _arrive(sheet: Sheet, row: Row, tap: Tap, start: tuple[Point, Point]) -> None:
    """Draw a cable from its way to its tap."""
    for (x, at), to, style, dy in ((start[0], tap.x, PLUS, 0.0), (start[1], tap.x + _APART, GROUND, ROW_GROUND)):
        _lay(sheet, [(x, at), (to, at), (to, row.plus + dy)], style)
        dot(sheet, (to, row.plus + dy), style)
    _say(sheet, (tap.x + _APART + 0.8, row.plus - BAND_ABOVE - 0.6), tap.joint, "start", SMALL)


def _draw_own(sheet: Sheet, row: Row, wire: HarnessWire, y: float) -> Point:
    """Draw a cable from a run to the same run, on its way below it; return where its text may be."""
    begin = next(each for each in row.taps if each.wire is wire and not each.is_end)
    end = next(each for each in row.taps if each.wire is wire and each.is_end)
    start = _leave(sheet, row, begin, y)
    for (x, at), to, style, dy in ((start[0], end.x, PLUS, 0.0), (start[1], end.x + _APART, GROUND, ROW_GROUND)):
        _lay(sheet, [(x, at), (to, at), (to, row.plus + dy)], style)
        dot(sheet, (to, row.plus + dy), style)
    _say(sheet, (end.x + _APART + 0.8, row.plus + BAND_BELOW + 9.2), end.joint, "start", SMALL)
    if wire.fuse is not None:
        row.fuses.append((start[0], end.x))
    return min(start[0][0], end.x) + 4, y


def _draw_fuse(sheet: Sheet, start: Point, to: float) -> None:
    """Draw the fuse of a cable near where its way begins, towards its end's x, off whatever crosses it."""
    x, y = start
    first = HUB_GROUND if x == HUB_PLUS else x
    asides = [3.0 + step for step in range(max(1, int(abs(to - first) - FEED_FUSE - 4)))]
    places = [first + aside if to >= x else first - aside - FEED_FUSE for aside in asides]

    def is_free(left: float) -> bool:
        box = Box(left - 0.5, y - 1.1, left + FEED_FUSE + 0.5, y + 1.1)
        return not any(box.overlaps(other) for other in sheet.taken if other.bottom > other.top)

    feed_fuse(sheet, (next((left for left in places if is_free(left)), places[0]), y))


def _draw_stubs(sheet: Sheet, row: Row) -> int:
    """Let the cables of a crowded run end in their marks."""
    missing = 0
    for tap in row.taps:
        y = row.plus - BAND_ABOVE - 2
        sheet.line([(tap.x, row.plus), (tap.x, y)], PLUS)
        sheet.line([(tap.x + 1, row.plus + ROW_GROUND), (tap.x + 1, y)], GROUND)
        missing += not _say(sheet, (tap.x, y - 0.8), short_text(tap.wire), "middle", SMALL)
    return missing


def _draw_data(sheet: Sheet, plan: SheetPlan, hub: Hub) -> None:
    """Draw each data line from its resistor to its run's connector, lines side by side."""
    for number, row in enumerate(plan.rows):
        x, y = hub.data[row.name]
        to = row.plus + ROW_DATA
        column = _COLUMN - _COLUMN_STEP * (number if to > y else len(plan.rows) - 1 - number)
        _lay(sheet, [(x, y), (column, y), (column, to), (_CONNECTOR - 1.5, to)], DATA)


def _lay(sheet: Sheet, points: Sequence[Point], style: Style) -> None:
    """Draw a conductor, and keep texts off it."""
    sheet.line(points, style)
    sheet.taken += [bounds(pair) for pair in pairwise(points)]


def _say(sheet: Sheet, at: Point, text: str, anchor: str = "start", size: float = TEXT) -> bool:
    """Write a text where there is room for it; return whether there was."""
    if not text:
        return True
    box = text_box(at, text, size, anchor)
    if box.right > STRIP_RIGHT + 7 or any(box.overlaps(other, 0.3) for other in sheet.taken):
        return False
    sheet.text(at, text, size, anchor)
    return True

"""Candidates as a picture: cost against odds, light by size, density by shape; readable in grey."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from html import escape

from lampwright.propose.finalist import Candidate

Box = tuple[float, float, float, float]
Limits = tuple[float, float]
Scale = Callable[[float], float]

LEAST_SIZE, MOST_SIZE = 6.0, 16.0
TICK_WIDTH, TICK_HEIGHT = 70.0, 48.0
"""Room of a number on the axes, at least. [px]"""
WITHIN = 78.0
"""Margin at the left on a page. [px]"""
LEAST_ROOM = 0.05
"""Of the chances of failure, around those that are shown: less is told apart by nobody. [%]"""
LARGER = "the larger, the more light a metre"
LETTER, LINE = 8.2, 15.0
"""Room of a letter and a line of text of 13 px, on the wide side."""


@dataclass(frozen=True)
class Sheet:
    """Room for the picture and its margins. [px]"""

    width: float = 760
    height: float = 440
    top: float = 56
    bottom: float = 92
    left: float = 90
    margin: float = 30

    @property
    def right(self) -> float:
        """Where the axes end."""
        return self.width - self.margin

    @property
    def foot(self) -> float:
        """Where the axis of cost lies."""
        return self.height - self.bottom


def draw_candidates(name: str, candidates: Sequence[Candidate], currency: str) -> str:
    """Return an SVG of candidates, numbered from 1 in their order. At least one candidate."""
    title = _text(Sheet.left, 26, f"{name}: what it costs, and how likely the demand fails", size=16)
    paper = '<rect width="100%" height="100%" fill="#fff"/>'
    legend = ", ".join(_shapes(candidates)) + f"; {LARGER}"
    return _draw(candidates, currency, Sheet(), [legend], [paper, title])


def draw_within(candidates: Sequence[Candidate], currency: str, width: float) -> str:
    """Return that picture for a page that has a heading of its own, on no paper, as wide as there is room. [px]"""
    shapes = _shapes(candidates)
    whole = ", ".join(shapes)
    legend = [*([whole] if LETTER * len(whole) < width - WITHIN else shapes), LARGER]
    bottom = 58 + LINE * 1.2 * len(legend)
    sheet = Sheet(width, max(220.0, 0.42 * width) + bottom, 24, bottom, WITHIN, 16)
    return _draw(candidates, currency, sheet, legend, [])


def _draw(candidates: Sequence[Candidate], currency: str, sheet: Sheet, legend: Sequence[str], parts: list[str]) -> str:
    costs = _round_range([each.cost for each in candidates])
    # the chance of failure, so that 99 and 99.9 % are told apart
    fails = _round_range([100 * (1 - each.odds) for each in candidates], LEAST_ROOM)
    most = max(each.seen.per_metre for each in candidates)
    densities = _densities(candidates)
    x = _scale(costs, sheet.left, sheet.right)
    y = _scale(fails, sheet.top, sheet.foot)
    parts += _axes(sheet, currency, costs, fails, x, y)
    taken: list[Box] = []
    spots = []
    for number, each in enumerate(candidates, 1):
        size = LEAST_SIZE + (MOST_SIZE - LEAST_SIZE) * math.sqrt(each.seen.per_metre / most)
        spot = (x(each.cost), y(100 * (1 - each.odds)), size)
        spots.append((number, each, spot))
        taken.append((spot[0] - size, spot[1] - size, spot[0] + size, spot[1] + size))
    for number, each, spot in sorted(spots, key=lambda entry: -entry[2][2]):
        mark = _mark(densities.index(each.design.strip.density.value), *spot)
        parts.append(f'<g class="candidate" data-number="{number}">{mark}</g>')
    for number, _, (cx, cy, size) in spots:
        parts.append(_label(sheet, str(number), cx, cy, size, taken))
    for line, told in enumerate(reversed(legend)):
        parts.append(_text(sheet.left, sheet.height - 14 - 1.2 * LINE * line, told))
    body = "\n".join(parts)
    size_of = f'width="{sheet.width:g}" height="{sheet.height:g}" viewBox="0 0 {sheet.width:g} {sheet.height:g}"'
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" {size_of} font-family="sans-serif" font-size="13">\n{body}\n</svg>\n'
    )


def _densities(candidates: Sequence[Candidate]) -> list[float]:
    return sorted({each.design.strip.density.value for each in candidates})


def _shapes(candidates: Sequence[Candidate]) -> list[str]:
    shapes = ("round", "square", "triangle")
    return [f"{shapes[i % 3]}: {density:g} pixels a metre" for i, density in enumerate(_densities(candidates))]


def _axes(sheet: Sheet, currency: str, costs: Limits, fails: Limits, x: Scale, y: Scale) -> list[str]:
    parts = []
    for value in _ticks(*costs, TICK_WIDTH, sheet.right - sheet.left):
        parts.append(f'<path d="M{x(value):.1f} {sheet.top}V{sheet.foot:.1f}" stroke="#ddd"/>')
        parts.append(_text(x(value), sheet.foot + 18, f"{value:g}", "middle"))
    for value in _ticks(*fails, TICK_HEIGHT, sheet.foot - sheet.top):
        parts.append(f'<path d="M{sheet.left} {y(value):.1f}H{sheet.right:.1f}" stroke="#ddd"/>')
        parts.append(_text(sheet.left - 8, y(value) + 4, f"{value:g} %", "end"))
    parts.append(_text((sheet.left + sheet.right) / 2, sheet.foot + 40, f"cost, {currency}", "middle"))
    middle = (sheet.top + sheet.foot) / 2
    label = _text(22, middle, "chance that it fails (up: surer)", "middle")
    parts.append(label.replace("<text ", f'<text transform="rotate(-90 22 {middle:.1f})" ', 1))
    return parts


def _mark(shape: int, cx: float, cy: float, size: float) -> str:
    style = f'fill="{("#fff", "#bbb", "#444")[shape % 3]}" stroke="#111" stroke-width="1.5"'
    if shape % 3 == 0:
        return f'<circle cx="{cx:.1f}" cy="{cy:.1f}" r="{size:.1f}" {style}/>'
    if shape % 3 == 1:
        return f'<rect x="{cx - size:.1f}" y="{cy - size:.1f}" width="{2 * size:.1f}" height="{2 * size:.1f}" {style}/>'
    return f'<path d="M{cx:.1f} {cy - size:.1f}L{cx + size:.1f} {cy + size:.1f}H{cx - size:.1f}Z" {style}/>'


def _label(sheet: Sheet, text: str, cx: float, cy: float, size: float, taken: list[Box]) -> str:
    """Return a label where it covers no mark and no other label, as near to its mark as there is room."""
    wide = LETTER * len(text)
    for reach in range(4, 120, 4):
        for angle in range(0, 360, 30):
            far = size + reach
            mx = cx + (far + wide / 2) * math.cos(math.radians(angle))
            my = cy - (far + LINE / 2) * math.sin(math.radians(angle))
            box = (mx - wide / 2, my - LINE / 2, mx + wide / 2, my + LINE / 2)
            inside = (
                mx - wide / 2 >= sheet.left
                and box[2] <= sheet.width - 4
                and my >= sheet.top - 12
                and box[3] <= sheet.foot
            )
            if inside and not any(_overlap(box, other) for other in taken):
                taken.append(box)
                line = "" if reach < 12 else f'<path d="M{cx:.1f} {cy:.1f}L{mx:.1f} {my:.1f}" stroke="#111"/>'
                return line + _text(mx, my + 4.5, text, "middle")
    return _text(cx + size + 4, cy + 4, text)


def _overlap(one: Box, other: Box) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def _text(x: float, y: float, text: str, anchor: str = "start", size: int = 13) -> str:
    return f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" font-size="{size}" fill="#111">{escape(text)}</text>'


def _round_range(values: Sequence[float], least: float = 1e-3) -> tuple[float, float]:
    low, high = min(values), max(values)
    room = max(0.15 * (high - low), 0.02 * abs(high), least)
    return max(0.0, low - room), high + room


def _scale(limits: Limits, start: float, end: float) -> Scale:
    low, high = limits
    return lambda value: start + (end - start) * (value - low) / (high - low)


def _ticks(low: float, high: float, room: float, length: float) -> list[float]:
    raw = (high - low) / max(2, length // room)
    power = 10.0 ** math.floor(math.log10(raw))
    step = next(power * each for each in (1, 2, 5, 10) if power * each >= raw)
    first = math.ceil(low / step)
    return [round(number * step, 10) for number in range(first, math.floor(high / step) + 1)]

"""Candidates as a picture: cost against odds, light by size, density by shape; readable in grey."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from html import escape

from lampwright.propose.finalist import Candidate

Limits = tuple[float, float]
Scale = Callable[[float], float]

WIDTH, HEIGHT = 760, 440
LEFT, RIGHT, TOP, BOTTOM = 90, 30, 56, 92
LEAST_SIZE, MOST_SIZE = 6.0, 16.0
LETTER, LINE = 8.2, 15.0
"""Room of a letter and a line of text of 13 px, on the wide side."""


def draw_candidates(name: str, candidates: Sequence[Candidate], currency: str) -> str:
    """Return an SVG of candidates, numbered from 1 in their order. At least one candidate."""
    costs = _round_range([each.cost for each in candidates])
    # the chance of failure, so that 99 and 99.9 % are told apart
    fails = _round_range([100 * (1 - each.odds) for each in candidates])
    most = max(each.seen.per_metre for each in candidates)
    densities = sorted({each.design.strip.density.value for each in candidates})
    x = _scale(costs, LEFT, WIDTH - RIGHT)
    y = _scale(fails, TOP, HEIGHT - BOTTOM)
    parts = _axes(name, currency, costs, fails, x, y)
    taken: list[tuple[float, float, float, float]] = []
    spots = []
    for number, each in enumerate(candidates, 1):
        size = LEAST_SIZE + (MOST_SIZE - LEAST_SIZE) * math.sqrt(each.seen.per_metre / most)
        spot = (x(each.cost), y(100 * (1 - each.odds)), size)
        spots.append((number, each, spot))
        taken.append((spot[0] - size, spot[1] - size, spot[0] + size, spot[1] + size))
    for _, each, spot in sorted(spots, key=lambda entry: -entry[2][2]):
        parts.append(_mark(densities.index(each.design.strip.density.value), *spot))
    for number, _, (cx, cy, size) in spots:
        parts.append(_label(str(number), cx, cy, size, taken))
    shapes = ("round", "square", "triangle")
    told = ", ".join(f"{shapes[i % 3]}: {density:g} pixels a metre" for i, density in enumerate(densities))
    parts.append(_text(LEFT, HEIGHT - 14, f"{told}; the larger, the more light a metre"))
    body = "\n".join(parts)
    head = f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH}" height="{HEIGHT}" viewBox="0 0 {WIDTH} {HEIGHT}"'
    paper = '<rect width="100%" height="100%" fill="#fff"/>'
    return f'{head} font-family="sans-serif" font-size="13">\n{paper}\n{body}\n</svg>\n'


def _axes(name: str, currency: str, costs: Limits, fails: Limits, x: Scale, y: Scale) -> list[str]:
    parts = [_text(LEFT, 26, f"{name}: what it costs, and how likely the demand fails", size=16)]
    for value in _ticks(*costs):
        parts.append(f'<path d="M{x(value):.1f} {TOP}V{HEIGHT - BOTTOM}" stroke="#ddd"/>')
        parts.append(_text(x(value), HEIGHT - BOTTOM + 18, f"{value:g}", "middle"))
    for value in _ticks(*fails):
        parts.append(f'<path d="M{LEFT} {y(value):.1f}H{WIDTH - RIGHT}" stroke="#ddd"/>')
        parts.append(_text(LEFT - 8, y(value) + 4, f"{value:g} %", "end"))
    parts.append(_text((LEFT + WIDTH - RIGHT) / 2, HEIGHT - BOTTOM + 40, f"cost, {currency}", "middle"))
    middle = (TOP + HEIGHT - BOTTOM) / 2
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


def _label(text: str, cx: float, cy: float, size: float, taken: list[tuple[float, float, float, float]]) -> str:
    """Return a label where it covers no mark and no other label, as near to its mark as there is room."""
    wide = LETTER * len(text)
    for reach in range(4, 120, 4):
        for angle in range(0, 360, 30):
            far = size + reach
            mx = cx + (far + wide / 2) * math.cos(math.radians(angle))
            my = cy - (far + LINE / 2) * math.sin(math.radians(angle))
            box = (mx - wide / 2, my - LINE / 2, mx + wide / 2, my + LINE / 2)
            inside = mx - wide / 2 >= LEFT and box[2] <= WIDTH - 4 and my >= TOP - 12 and box[3] <= HEIGHT - BOTTOM
            if inside and not any(_overlap(box, other) for other in taken):
                taken.append(box)
                line = "" if reach < 12 else f'<path d="M{cx:.1f} {cy:.1f}L{mx:.1f} {my:.1f}" stroke="#111"/>'
                return line + _text(mx, my + 4.5, text, "middle")
    return _text(cx + size + 4, cy + 4, text)


def _overlap(one: tuple[float, float, float, float], other: tuple[float, float, float, float]) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def _text(x: float, y: float, text: str, anchor: str = "start", size: int = 13) -> str:
    return f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" font-size="{size}" fill="#111">{escape(text)}</text>'


def _round_range(values: Sequence[float]) -> tuple[float, float]:
    low, high = min(values), max(values)
    room = max(0.15 * (high - low), 0.02 * abs(high), 1e-3)
    return max(0.0, low - room), high + room


def _scale(limits: Limits, start: float, end: float) -> Scale:
    low, high = limits
    return lambda value: start + (end - start) * (value - low) / (high - low)


def _ticks(low: float, high: float) -> list[float]:
    raw = (high - low) / 6
    power = 10.0 ** math.floor(math.log10(raw))
    step = next(power * each for each in (1, 2, 5, 10) if power * each >= raw)
    first = math.ceil(low / step)
    return [round(number * step, 10) for number in range(first, math.floor(high / step) + 1)]

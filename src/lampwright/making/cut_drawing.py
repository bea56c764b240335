"""The cut plan as a drawing to scale: every bar, its pieces, and each mark's distance from the end."""

from __future__ import annotations

from html import escape

from lampwright.making.cutting import Bar
from lampwright.making.materials import Material, MaterialCuts

WIDTH, ROW, LEFT = 1000, 64, 30
"""Of the drawing: width, height of each bar's row, margin at the end where cutting begins."""


def draw_cuts(cuts: MaterialCuts, first: int = 0, most: int | None = None) -> str:
    """Return an SVG drawing; equal bars are drawn once with their number. Greys only, so that it prints anywhere.

    Parameters
    ----------
    first, most
        From which way to cut on, and how many of them; all unless they are given.
    """
    material, groups = cuts.material, equal_bars(cuts)
    longest = max((bar.stock.length for bar, _ in groups), default=1)
    groups = groups[first : None if most is None else first + most]
    scale = (WIDTH - 2 * LEFT) / longest
    height = ROW * len(groups) + 50
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {height}" '
        'font-family="sans-serif" font-size="11">',
        f'<rect width="{WIDTH}" height="{height}" fill="#fff"/>',
        f'<text x="{LEFT}" y="20" font-size="15">{escape(material.part)}: cuts, to scale; '
        "each mark is measured from the left end</text>",
    ]
    for row, (bar, count) in enumerate(groups):
        y = 40 + row * ROW
        parts.append(f'<text x="{LEFT}" y="{y + 8}">{count} × {escape(bar.stock.name)}</text>')
        width = bar.stock.length * scale
        parts.append(f'<rect x="{LEFT}" y="{y + 12}" width="{width:.2f}" height="18" fill="#ddd" stroke="#000"/>')
        parts += _bends(bar, y + 30, scale)
        free, low = -1.0, False
        if bar.head:
            parts.append(_head_mark(material, bar, y, scale))
        for cut in bar.cuts:
            x, end = LEFT + cut.start * scale, LEFT + cut.end * scale
            parts.append(
                f'<rect x="{x:.2f}" y="{y + 12}" width="{end - x:.2f}" height="18" fill="#fff" stroke="#000">'
                f"<title>{escape(cut.piece.name)}: {escape(material.text(cut.piece.length))}</title></rect>"
            )
            # equal bars hold pieces of different names: then only what is the same for all is written
            known = cut.piece.name if count == 1 else material.text(cut.piece.length)
            if name := _shortened(known, end - x):
                parts.append(f'<text x="{x + 4:.2f}" y="{y + 25}" font-size="10">{escape(name)}</text>')
            label = _mark(material, cut.end)
            low = end < free and not low  # where marks are close, every other label goes one line lower
            parts.append(
                f'<text x="{min(end, WIDTH - LEFT):.2f}" y="{y + (54 if low else 42)}" '
                f'text-anchor="{"end" if end > WIDTH - 60 else "middle"}">{label}</text>'
            )
            free = end + 6.5 * len(label)
    return "\n".join([*parts, "</svg>"]) + "\n"


def equal_bars(cuts: MaterialCuts) -> list[tuple[Bar, int]]:
    """Return each way to cut a stock once, with the number of bars that are cut so."""
    groups: dict[tuple[str, int, tuple[int, ...]], list[Bar]] = {}
    for bar in cuts.plan.bars:
        groups.setdefault((bar.stock.name, bar.head, tuple(cut.end for cut in bar.cuts)), []).append(bar)
    return [(bars[0], len(bars)) for bars in groups.values()]


def _bends(bar: Bar, y: float, scale: float) -> list[str]:
    """Return a thick line below each stretch of bent tube that is bent."""
    if bar.stock.tube is None or bar.stock.tube.leg is not None:
        return []
    form, at, lines = bar.stock.tube.form, 0.0, []
    for leg, bend in zip(form.legs, form.bends, strict=False):
        first = LEFT + 1000 * (at + leg) * scale
        width = 1000 * bend.radius * bend.angle * scale
        lines.append(f'<rect x="{first:.2f}" y="{y}" width="{width:.2f}" height="3"><title>bent</title></rect>')
        at += leg + bend.radius * bend.angle
    return lines


def _head_mark(material: Material, bar: Bar, y: float, scale: float) -> str:
    """Return the label of the mark before the first piece."""
    x = LEFT + bar.cuts[0].start * scale
    return f'<text x="{x:.2f}" y="{y + 42}" text-anchor="middle">{_mark(material, bar.cuts[0].start)}</text>'


def _shortened(name: str, width: float) -> str:
    """Return as much of a text as its place on the bar holds; nothing where that says nothing."""
    room = int((width - 8) / 6)
    return name if len(name) <= room else f"{name[: room - 1]}…" if room >= 6 else ""


def _mark(material: Material, length: int) -> str:
    return f"{length} px" if material.kind == "strip" else f"{length} mm"

"""``lampwright cuts``: what to cut from which length."""

from __future__ import annotations

import json
import re
from collections import Counter
from pathlib import Path

from rich.console import Console
from rich.table import Table

from lampwright.cli.options import AsJson, OutFolder, PieceFile, ShelfFile, ShopFile
from lampwright.layout import Layout, lay_out
from lampwright.making import MaterialCuts, cut_all, draw_cuts, equal_bars, fit_sections, read_shelf, read_shop
from lampwright.piece import read_piece
from lampwright.units import format_quantity
from lampwright.written import write_whole


def cuts(
    piece: PieceFile,
    /,
    *,
    shelf: ShelfFile | None = None,
    shop: ShopFile | None = None,
    out: OutFolder = Path("out"),
    as_json: AsJson = False,
) -> int:
    """Plan the cuts of tube, strip, wire and cord at the least cost, and draw them.

    What isn't in your list is sold and priced as the catalogue judges. Without a price for every length of a material
    in your list, the least length is bought.
    """
    layout = lay_out(read_piece(piece))
    plans = cut_all(
        layout, read_shelf(shelf, layout.piece.brief.name) if shelf else (), read_shop(shop) if shop else ()
    )
    folder = out / "cuts"
    folder.mkdir(parents=True, exist_ok=True)
    for plan in plans:
        name = re.sub("[^a-z0-9.]+", "-", plan.material.part.lower())
        write_whole(folder / f"{name}.svg", draw_cuts(plan))
    if as_json:
        print(json.dumps([_plain(plan) for plan in plans], indent=2, ensure_ascii=False))
        return 0
    console = Console(highlight=False, markup=False)
    for plan in plans:
        _print(console, plan)
    _print_sections(console, layout)
    console.print(
        f"Drawings in {folder}. Eyes, ears and hands protected; cut ends deburred and capped.", soft_wrap=True
    )
    return 0


def _print(console: Console, cuts: MaterialCuts) -> None:
    material, plan = cuts.material, cuts.plan
    console.print(f"{material.part}: {_verdict(cuts)}", style="bold")
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
    for column in ("bars", "of", "marks from the end", "rest"):
        table.add_column(column)
    for bar, count in equal_bars(cuts):
        marks = ", ".join(f"{mark:g}" for mark in bar.marks) or "none: use it whole"
        table.add_row(str(count), bar.stock.name, marks, material.text(bar.rest))
    console.print(table)
    console.print("marks in pixels, between which it is cut" if material.kind == "strip" else "marks in millimetres")
    console.print(f"left over: {_left_over(cuts)}", soft_wrap=True)
    if plan.n_joint:
        joints = "1 joint" if plan.n_joint == 1 else f"{plan.n_joint} joints"
        console.print(f"{joints}: these pieces are longer than anything sold; each is work and a place to fail")
    console.print()


def _left_over(cuts: MaterialCuts) -> str:
    """Return what goes back on the shelf and what is scrap."""
    material, plan = cuts.material, cuts.plan
    kept = [f"{count} × {material.text(rest)}" for rest, count in sorted(Counter(plan.kept).items(), reverse=True)]
    scrap = f", and {material.text(plan.scrap)} in bits too short to keep" if plan.scrap else ""
    return (" and ".join(kept) + " for the shelf" if kept else "nothing for the shelf") + scrap


def _print_sections(console: Console, layout: Layout) -> None:
    """Tell how the strip fits: whole pixels alone, and what of each section stays dark."""
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
    for column in ("sections", "first of them", "room", "pixels", "strip", "left dark"):
        table.add_column(column)
    for fit in fit_sections(layout):
        lengths = (format_quantity(each, "length", 3) for each in (fit.room, fit.length, fit.dark))
        room, length, dark = lengths
        table.add_row(str(fit.count), fit.name, room, str(fit.n_pixel), length, dark)
    console.print("strip, section by section", style="bold")
    console.print(table)
    console.print()


def _verdict(cuts: MaterialCuts) -> str:
    plan, material = cuts.plan, cuts.material
    money = " by judged prices" if cuts.is_judged else ""
    cost = f"{plan.cost / 100:.2f}{money}" if cuts.is_priced else f"{material.text(plan.cost)} to buy"
    if plan.is_proven:
        return f"{cost}, proven least"
    bound = f"{plan.bound / 100:.2f}" if cuts.is_priced else material.text(plan.bound)
    return f"{cost}, not proven least: no plan needs less than {bound}"


def _plain(cuts: MaterialCuts) -> dict[str, object]:
    material, plan = cuts.material, cuts.plan
    return {
        "part": material.part,
        "unit": "pixel" if material.kind == "strip" else "mm",
        "cost": plan.cost,
        "judged": cuts.is_judged,
        "cost_is": "hundredths of the currency" if cuts.is_priced else "length",
        "bound": plan.bound,
        "proven": plan.is_proven,
        "joints": plan.n_joint,
        "kept": list(plan.kept),
        "scrap": plan.scrap,
        "bars": [
            {
                "stock": bar.stock.name,
                "rest": bar.rest,
                "cuts": [{"piece": cut.piece.name, "from": cut.start, "to": cut.end} for cut in bar.cuts],
            }
            for bar in plan.bars
        ],
    }

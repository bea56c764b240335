"""From a laid-out piece to the work at the bench: what is cut from which length, at the least cost.

A :class:`~lampwright.layout.model.Layout` and the maker's lists come in; cut plans come out.
"""

from lampwright.making.cut_drawing import draw_cuts, equal_bars
from lampwright.making.cutting import Bar, Cut, CutPlan, Piece, Stock, plan_cuts
from lampwright.making.lists import ShelfRow, ShopRow, read_shelf, read_shop
from lampwright.making.materials import Material, MaterialCuts, cut_all, materials_of

__all__ = [
    "Bar",
    "Cut",
    "CutPlan",
    "Material",
    "MaterialCuts",
    "Piece",
    "ShelfRow",
    "ShopRow",
    "Stock",
    "cut_all",
    "draw_cuts",
    "equal_bars",
    "materials_of",
    "plan_cuts",
    "read_shelf",
    "read_shop",
]

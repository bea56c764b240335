"""From a laid-out piece to the work at the bench: what is cut from which length, at the least cost, and what is bought.

A :class:`~lampwright.layout.model.Layout` and the maker's lists come in; cut plans and a shopping list come out.
"""

from lampwright.making.cut_drawing import draw_cuts, equal_bars
from lampwright.making.cutting import Bar, Cut, CutPlan, Piece, Stock, plan_cuts
from lampwright.making.lists import ShelfRow, ShopRow, read_shelf, read_shop
from lampwright.making.materials import Material, MaterialCuts, cut_all, materials_of
from lampwright.making.shopping import Line, ShoppingList, shopping_list
from lampwright.making.shopping_files import shopping_csv, shopping_xlsx

__all__ = [
    "Bar",
    "Cut",
    "CutPlan",
    "Line",
    "Material",
    "MaterialCuts",
    "Piece",
    "ShelfRow",
    "ShopRow",
    "ShoppingList",
    "Stock",
    "cut_all",
    "draw_cuts",
    "equal_bars",
    "materials_of",
    "plan_cuts",
    "read_shelf",
    "read_shop",
    "shopping_csv",
    "shopping_list",
    "shopping_xlsx",
]

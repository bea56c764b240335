"""From a laid-out piece to the work at the bench: what is cut from which length, at the least cost, what is
bought, and what is done when.

A :class:`~lampwright.layout.model.Layout` and the maker's lists come in; cut plans, a shopping list
and the plan of the days until the show come out.
"""

from lampwright.making.critical_path import Network, Span, Task, critical_path
from lampwright.making.cut_drawing import draw_cuts, equal_bars
from lampwright.making.cutting import Bar, Cut, CutPlan, Piece, Stock, plan_cuts
from lampwright.making.fitting import SectionFit, fit_sections
from lampwright.making.harness import Harness, HarnessWire, JointRow, WireUse, gauge_text
from lampwright.making.lists import ShelfRow, read_shelf, read_shop, wire_prices
from lampwright.making.materials import Material, MaterialCuts, cut_all, harnesses_of, materials_of
from lampwright.making.reserving import ShelfUse, use_of_shelf
from lampwright.making.schedule import DAY, Calendar, Schedule, Slot, chance_in_time, schedule
from lampwright.making.shopping import Line, ShoppingList, shopping_list
from lampwright.making.shopping_files import shopping_csv, shopping_xlsx
from lampwright.making.week import Hours, OrderDate, Week, plan_week, task_names
from lampwright.making.work_lists import read_done, read_times

__all__ = [
    "DAY",
    "Bar",
    "Calendar",
    "Cut",
    "CutPlan",
    "Harness",
    "HarnessWire",
    "Hours",
    "JointRow",
    "Line",
    "Material",
    "MaterialCuts",
    "Network",
    "OrderDate",
    "Piece",
    "Schedule",
    "SectionFit",
    "ShelfRow",
    "ShelfUse",
    "ShoppingList",
    "Slot",
    "Span",
    "Stock",
    "Task",
    "Week",
    "WireUse",
    "chance_in_time",
    "critical_path",
    "cut_all",
    "draw_cuts",
    "equal_bars",
    "fit_sections",
    "gauge_text",
    "harnesses_of",
    "materials_of",
    "plan_cuts",
    "plan_week",
    "read_done",
    "read_shelf",
    "read_shop",
    "read_times",
    "schedule",
    "shopping_csv",
    "shopping_list",
    "shopping_xlsx",
    "task_names",
    "use_of_shelf",
    "wire_prices",
]

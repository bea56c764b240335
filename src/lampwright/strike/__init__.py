"""After the show: the piece inspected, what failed learned from, and the good lengths back on the shelf.

A laid-out piece and its filled inspection form go in; failures, a map of the damage, lots for the shelf and a report
come out.
"""

from lampwright.strike.damage_map import draw_damage
from lampwright.strike.form import FormFailure, FormRow, form_csv, form_rows, hows, pitches_of, read_form
from lampwright.strike.inspecting import inspect
from lampwright.strike.reclaim import LEAST_USEFUL, Reclaimed, put_back, reclaim
from lampwright.strike.report import Report, report_on

__all__ = [
    "LEAST_USEFUL",
    "FormFailure",
    "FormRow",
    "Reclaimed",
    "Report",
    "draw_damage",
    "form_csv",
    "form_rows",
    "hows",
    "inspect",
    "pitches_of",
    "put_back",
    "read_form",
    "reclaim",
    "report_on",
]

"""After the show: the piece inspected, what failed learned from, and the good lengths back on the shelf.

A laid-out piece and its filled inspection form go in; failures, a map of the damage, lots for the shelf and a report
come out.
"""

from lampwright.strike.damage_map import damage_picture, draw_damage, pixels_of
from lampwright.strike.filling import (
    Filling,
    begin_filling,
    form_beside,
    set_aside,
    sound_rest,
    tell,
    write_empty,
)
from lampwright.strike.form import SOUND, Entry, Form, FormFailure, FormRow, form_csv, form_of, form_rows, hows
from lampwright.strike.inspecting import inspect
from lampwright.strike.photos import DamagePhoto, damage_photos, photo_file, save_photo, small_photo, wrong_photo
from lampwright.strike.reading import PLACED, TIMED, CellFault, judge, read_form
from lampwright.strike.reclaim import LEAST_USEFUL, Reclaimed, reclaim
from lampwright.strike.report import Report, report_on

__all__ = [
    "LEAST_USEFUL",
    "PLACED",
    "SOUND",
    "TIMED",
    "CellFault",
    "DamagePhoto",
    "Entry",
    "Filling",
    "Form",
    "FormFailure",
    "FormRow",
    "Reclaimed",
    "Report",
    "begin_filling",
    "damage_photos",
    "damage_picture",
    "draw_damage",
    "form_beside",
    "form_csv",
    "form_of",
    "form_rows",
    "hows",
    "inspect",
    "judge",
    "photo_file",
    "pixels_of",
    "read_form",
    "reclaim",
    "report_on",
    "save_photo",
    "set_aside",
    "small_photo",
    "sound_rest",
    "tell",
    "write_empty",
    "wrong_photo",
]

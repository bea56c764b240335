"""What is left at its default can be set on the page, and nothing else of the file changes."""

from __future__ import annotations

import copy
import tomllib
from functools import cache
from importlib import resources
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lampwright.layout import lay_out
from lampwright.page.edits import added, copied, taken_out
from lampwright.page.form import Form, Row, form_of
from lampwright.page.picks import Picks
from lampwright.page.table_text import NoPlaceError, with_copy, with_key, without_entry, without_key
from lampwright.piece import piece_from_text
from lampwright.piece.validate import TABLES
from lampwright.piece.wording import fields_of, models_in
from lampwright.show import compile_show

Steps = tuple[str | int, ...]
EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*/*.toml"))
PIECES = [path for path in EXAMPLES if path.parent.name != "briefs"]


@cache
def formed(file: Path, text: str = "") -> tuple[str, Form]:
    """Return an example's text and its form."""
    text = text or file.read_text(encoding="utf-8")
    piece = piece_from_text(text, file)
    return text, form_of(text, compile_show(lay_out(piece)), Picks(piece))


def rows_of(form: Form) -> list[Row]:
    return [row for table in form.tables for row in (*table.rows, *table.begins)]


def without(entries: Any, path: Steps) -> Any:
    """Return entries without one key."""
    entries = copy.deepcopy(entries)
    del at(entries, path[:-1])[path[-1]]
    return entries


def at(entries: Any, path: Steps) -> Any:
    for step in path:
        entries = entries[step]
    return entries


def filled(entries: Any) -> Any:
    """Return entries without tables that hold nothing: they say nothing either."""
    if isinstance(entries, dict):
        return {key: filled(value) for key, value in entries.items() if filled(value) not in ({}, [])}
    return [filled(each) for each in entries] if isinstance(entries, list) else entries


@pytest.mark.parametrize("file", PIECES, ids=lambda path: path.stem)
@settings(max_examples=60, deadline=None)
@given(data=st.data())
def test_what_is_added_and_taken_out_again_leaves_the_file_as_it_was(file: Path, data: st.DataObject) -> None:
    text, form = formed(file)
    newline = data.draw(st.sampled_from(["\n", "\r\n"]))
    text = text.rstrip("\n").replace("\n", newline) + data.draw(st.sampled_from(["", newline]))
    row = data.draw(st.sampled_from([row for row in rows_of(form) if row.field is None]))
    more = added(text, row, "")
    table = row.path[:-1]
    assert at(tomllib.loads(more), row.path) == tomllib.loads(f"x = {row.example}")["x"]
    less = without(tomllib.loads(more), row.path)
    for key, _ in row.together:
        less = without(less, (*table, key))
    assert filled(less) == tomllib.loads(text), "everything else says the same"
    assert taken_out(more, row.path, row) == text


@pytest.mark.parametrize("file", PIECES, ids=lambda path: path.stem)
@settings(max_examples=40, deadline=None)
@given(data=st.data())
def test_a_copy_taken_out_again_leaves_the_file_as_it_was(file: Path, data: st.DataObject) -> None:
    text, form = formed(file)
    newline = data.draw(st.sampled_from(["\n", "\r\n"]))
    text = text.rstrip("\n").replace("\n", newline) + data.draw(st.sampled_from(["", newline]))
    table = data.draw(st.sampled_from([table for table in form.tables if table.may_copy]))
    more = copied(text, table.path)
    *around, last = table.path
    assert isinstance(last, int)
    entries = tomllib.loads(more)
    like = at(entries, tuple(around))
    fresh, old = like.pop(last + 1), like[last]
    assert {**fresh, "name": "", "pin": ""} == {**old, "name": "", "pin": ""}
    assert entries == tomllib.loads(text), "everything else says the same"
    assert taken_out(more, (*around, last + 1), None) == text


@pytest.mark.parametrize("file", PIECES, ids=lambda path: path.stem)
def test_whatever_may_be_left_out_can_be_taken_out_alone(file: Path) -> None:
    text, form = formed(file)
    entries = tomllib.loads(text)
    for row in rows_of(form):
        if row.field is not None and row.left_out:
            table = row.path[:-1]
            less = without(entries, row.path)
            for key, _ in row.together:
                less = without(less, (*table, key)) if key in at(entries, table) else less
            assert filled(tomllib.loads(taken_out(text, row.path, row))) == filled(less)
    for table in form.tables:
        if table.may_go:
            assert filled(tomllib.loads(taken_out(text, table.path, None))) == filled(without(entries, table.path))


def test_every_key_of_the_schema_has_its_meaning_and_no_other() -> None:
    rows = tomllib.loads((resources.files("lampwright.piece") / "keys.toml").read_text(encoding="utf-8"))
    schema: dict[str, set[str]] = {}

    def gather(name: str, annotation: Any) -> None:
        for model in models_in(annotation):
            for key, field in fields_of(model).items():
                schema.setdefault(name, set()).add(key)
                gather(f"{name}.{key}", field.annotation)

    for name, kind in TABLES.items():
        gather(name, kind.model)
    assert {name: set(table) for name, table in rows.items()} == schema


@pytest.mark.parametrize(
    ("typed", "written"),
    [("30 cm", '"30 cm"'), ("= 2 * gap", '"= 2 * gap"'), (' say "hi" ', '"say \\"hi\\""'), ("= gap", '"= gap"')],
)
def test_a_quantity_is_written_in_quotes(typed: str, written: str) -> None:
    _, form = formed(PIECES[0])
    row = form.row(("member", 0, "width"))
    assert row is not None
    assert row.written(typed) == written


@pytest.mark.parametrize(("typed", "written"), [("3", "3"), ("= drops * 2", '"= drops * 2"')])
def test_a_number_is_written_without_quotes_and_its_formula_with_them(typed: str, written: str) -> None:
    _, form = formed(PIECES[0])
    row = form.row(("standby", "every"))
    assert row is not None
    assert row.written(typed) == written


def test_a_setting_takes_a_change_over_its_cue() -> None:
    text, form = formed(PIECES[0])
    row = form.row(("cue", 0, "set", "period"))
    assert row is not None
    more = added(text, row, '{ from = "4 s", to = "9 s" }')
    assert at(tomllib.loads(more), row.path) == {"from": "4 s", "to": "9 s"}
    _, again = formed(PIECES[0], more)
    assert {table.path for table in again.tables} > {("cue", 0, "set", "period")}


@pytest.mark.parametrize("text", ["a.b = 1\n", "[x]\na.b = 1\n"])
def test_dotted_keys_are_left_to_the_file(text: str) -> None:
    path: Steps = ("a", "c") if text.startswith("a") else ("x", "a", "c")
    with pytest.raises(NoPlaceError):
        with_key(text, path, "2")


def test_comments_between_the_items_of_a_list_are_kept() -> None:
    text = "a = [\n  { at = 1 },  # the first\n  { at = 2 },  # the second\n]\n"
    assert without_entry(text, ("a", 1)) == "a = [\n  { at = 1 },  # the first\n]\n"
    assert with_copy(text, ("a", 0), {"at": "3"}).count("# the first") == 1
    assert without_key("a = 1  # one\n# two\nb = 2\n", ("a",)) == "# two\nb = 2\n"
    with pytest.raises(NoPlaceError):
        without_entry("a = [{ at = 1 },  # one\n  { at = 2 }, { at = 3 }]", ("a", 1))

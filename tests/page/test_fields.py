"""A value changed on the page changes its own characters in the file, and no others."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lampwright.page.fields import Field, changed, fields_of

ROOT = Path(__file__).parents[2]
EXAMPLE = (ROOT / "examples" / "frost-gate" / "frost-gate.toml").read_text(encoding="utf-8")
FIELDS = fields_of(EXAMPLE)


def test_each_field_says_where_it_stands() -> None:
    bare = next(field for field in FIELDS if field.key == "bare_start")
    assert bare.table == 'circuit "arch", run "hoop", section 1'
    assert (bare.value, bare.is_text, bare.comment) == ("0.4 m", True, "nothing lit below knee height")


def test_values_within_braces_are_fields_of_their_own() -> None:
    assert next(field.value for field in FIELDS if field.path == ("brief", "survive", "lit")) == "75 %"


def test_a_formula_says_what_it_gives() -> None:
    given = {field.path: field.gives for field in FIELDS if field.gives}
    assert given["measures", "climb"] == "3.28496 m"
    assert given["member", 0, "height"] == "2.6 m"
    assert ("measures", "span") not in given


@pytest.mark.parametrize(
    "text", ['a = "= spam"', 'a = "="', '[measures]\nb = "= b"\nc = "= b"', "measures = 3\na = '= 1 / 0'"]
)
def test_a_formula_that_gives_nothing_is_still_a_field(text: str) -> None:
    assert {field.gives for field in fields_of(text)} == {""}


def test_writing_back_what_is_there_changes_nothing() -> None:
    for field in FIELDS:
        assert changed(EXAMPLE, field, field.value) == EXAMPLE


@given(st.sampled_from([field for field in FIELDS if field.is_text]), st.text(st.characters(codec="utf-8")))
def test_any_text_comes_back_as_it_was_typed(field: Field, typed: str) -> None:
    path = field.path
    new = changed(EXAMPLE, field, typed)
    here: Any = tomllib.loads(new)
    for step in path:
        here = here[step]
    assert here == typed
    assert len(new.split("\n")) == len(EXAMPLE.split("\n"))


def test_a_list_over_several_lines_is_left_to_the_file() -> None:
    text = 'a = [\n  1,\n  2,\n]\nb = "x"  # kept\n'
    assert [field.key for field in fields_of(text)] == ["b"]
    assert changed(text, fields_of(text)[-1], 'say "hi"') == 'a = [\n  1,\n  2,\n]\nb = "say \\"hi\\""  # kept\n'


@pytest.mark.parametrize("ending", ["\n", "\r\n"])
def test_line_ends_stay_as_they_are(ending: str) -> None:
    text = f'a = "1 m"{ending}b = 2 # two{ending}'
    assert changed(text, fields_of(text)[-1], "3") == f'a = "1 m"{ending}b = 3 # two{ending}'

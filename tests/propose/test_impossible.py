"""Briefs that can't be met: what is said to be in the way is, and the change that is told makes them possible."""

from __future__ import annotations

import dataclasses
import datetime
from collections.abc import Callable
from concurrent.futures import Future
from pathlib import Path
from typing import Any

import pytest

from lampwright.parts import Catalogue, load_catalogue
from lampwright.propose import Proposal, Setting, propose
from lampwright.propose.wish import brief_from_text
from lampwright.signoff import Silent
from tests.propose.test_propose import TWO_POSTS

TODAY = datetime.date(2026, 11, 20)

WHITE = 'look = "bench-level"\nset = { level = 1 }\npacks = 1\n'

CASES = {
    "too dark": ({'"1 h"': '"40 h"', "base =": f'{WHITE}brightness = "100 %"\nbase ='}, ("run_time", "brightness")),
    "too cheap": ({"survive =": "budget = 60\nsurvive ="}, ("budget",)),
    "too dense": ({"base =": 'pitch = "3 mm"\nbase ='}, ("pitch",)),
    "too windy": ({'"9 m/s"': '"39 m/s"', "base =": 'tubes = ["conduit-1-2"]\nbase ='}, ("wind",)),
    "too late": ({"2026-12-12": "2026-11-24"}, ("date",)),
    "too hasty": ({"base =": 'set_up = "5 min"\nbase ='}, ("set_up",)),
}


class Here:
    """Workers without processes, which take longer to start than these designs to be signed off."""

    def __init__(self, count: int) -> None:
        assert count > 0

    def __enter__(self) -> Here:
        return self

    def __exit__(self, *_: object) -> None:
        return None

    def submit(self, function: Callable[[Any], Any], work: object) -> Future[Any]:
        future: Future[Any] = Future()
        future.set_result(function(work))
        return future


@pytest.fixture
def few_parts(monkeypatch: pytest.MonkeyPatch) -> Catalogue:
    monkeypatch.setattr("lampwright.propose.stage.Workers", Here)
    monkeypatch.setattr("lampwright.propose.stage.N_SHOWN", 2)
    whole = load_catalogue()
    return dataclasses.replace(
        whole,
        strips={name: whole.strips[name] for name in ("ws2812b-30", "ws2812b-60")},
        packs={name: whole.packs[name] for name in ("pack-5ah-2a", "pack-20ah-3a")},
        boards={name: whole.boards[name] for name in ("m328p-16mhz-crystal",)},
    )


def answer(text: str, parts: Catalogue) -> Proposal:
    return propose(Setting(brief_from_text(text, Path("posts.toml"))), Silent(), TODAY, parts)


def changed(text: str, changes: dict[str, str]) -> str:
    for old, new in changes.items():
        assert old in text
        text = text.replace(old, new)
    return text


def edited(text: str, path: tuple[str, ...], value: str) -> str:
    """The brief with one value written anew, as a person would."""
    key = path[-1]
    is_plain = key in ("date", "budget", "packs")
    lines = text.split("\n")
    at = next(number for number, line in enumerate(lines) if line.startswith(f"{key} ="))
    lines[at] = f"{key} = {value}" if is_plain else f'{key} = "{value}"'
    return "\n".join(lines)


@pytest.mark.parametrize("name", [pytest.param(name, marks=pytest.mark.slow) for name in CASES if name != "too windy"])
def test_the_change_that_is_told_makes_it_possible(name: str, few_parts: Catalogue) -> None:
    check_one(name, few_parts)


def test_a_wind_that_nothing_holds_in_is_told_with_one_that_something_does(few_parts: Catalogue) -> None:
    check_one("too windy", few_parts)


def check_one(name: str, parts: Catalogue) -> None:
    changes, keys = CASES[name]
    text = changed(TWO_POSTS, changes)
    found = answer(text, parts)
    assert found.candidates == ()
    assert found.unmet is not None
    assert found.unmet.code == "PROPOSE-002"
    assert found.ways_out
    assert {edit.key for way in found.ways_out for edit in way} <= set(keys)
    assert f'"{found.ways_out[0][0].key}"' in found.unmet.summary
    for way in found.ways_out:
        mended = text
        for edit in way:
            mended = edited(mended, edit.path, edit.value)
        assert answer(mended, parts).candidates, way

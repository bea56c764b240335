"""A brief whose page is quick: a handful of options, on a small catalogue."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import pytest

from lampwright.parts import Catalogue, load_catalogue
from lampwright.propose import stage

DOOR_POST = """\
# One post beside a door. Invented.

[brief]
name = "Door Post"
place = "yard"
date = 2026-12-12
standby = "3 min"
run_time = "1 h"
coldest = "2 degC"
wind = "0 m/s"
survive = { failures = 0, lit = "0 %" }
budget = 138

[[member]]
name = "post"
shape = "straight"
length = "1 m"

[work]
begin = 2026-11-20

[wish]
on = "post"
bare_start = "0.2 m"   # dark below
seen_from = "10 m"
surroundings = "dark park"
brightness = "5 %"     # at least
packs = 1
tubes = ["conduit-1-2"]
"""


def small_catalogue() -> Catalogue:
    """Return two strips, one board and one pack, and all other parts."""
    whole = load_catalogue()
    return dataclasses.replace(
        whole,
        strips={name: whole.strips[name] for name in ("ws2812b-30", "ws2812b-60")},
        boards={name: whole.boards[name] for name in ("m328p-16mhz-crystal",)},
        packs={name: whole.packs[name] for name in ("pack-5ah-2a",)},
    )


def search_little(patch: pytest.MonkeyPatch) -> None:
    """Let searches go by the small catalogue."""
    patch.setattr(stage, "load_catalogue", small_catalogue)


def write_brief(folder: Path, text: str = DOOR_POST) -> Path:
    """Write a brief file into a folder."""
    file = folder / "door.toml"
    file.write_text(text, encoding="utf-8")
    return file

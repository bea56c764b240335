"""``lampwright faults``: the worst is named, the exit code tells, pictures come whole."""

from __future__ import annotations

import json
from pathlib import Path

from PIL import Image

from tests.cli.conftest import Command


def test_the_worst_fault_is_named_and_drawn(lampwright: Command, folder: Path) -> None:
    outcome = lampwright("faults", "small.toml", "--pictures", "drawn")
    assert outcome.code == 0
    assert "post: the pack is empty" in outcome.out
    with Image.open(folder / "drawn" / "fault-1.png") as image:
        assert image.size == (1000, 560)


def test_a_broken_demand_is_an_exit_code(lampwright: Command, folder: Path) -> None:
    small = folder / "small.toml"
    small.write_text(small.read_text().replace("failures = 0", "failures = 1"))
    outcome = lampwright("faults", "small.toml", "--json")
    assert outcome.code == 1
    told = json.loads(outcome.out)
    assert told["passed"] is False
    assert told["singles"][0]["pixels_lit"] == 0.0
    assert told["singles"][0]["parts_lit"] == {"circuit post": 0.0, "member post": 0.0}
    assert "packs in pairs" in lampwright("faults", "small.toml").out


def test_spares_and_repairs_are_told(lampwright: Command, folder: Path) -> None:
    assert (folder / "small.toml").exists()
    outcome = lampwright("faults", "small.toml", "--spares", "10", "--repair")
    assert "spares for 10 nights" in outcome.out
    assert "Push every plug home" in outcome.out

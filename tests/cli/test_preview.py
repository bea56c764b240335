"""Pictures and films to send, from the command line."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

from tests.cli.test_commands import change

Command = Callable[..., Any]

BLINK = """colour = choose(fraction(time * 5) < 0.5, "#ffffff", "#000000")
"""


@pytest.mark.usefixtures("folder")
def test_a_still_is_written_at_the_moment_that_was_asked_for(lampwright: Command) -> None:
    for name, moment in (("early.png", "100 ms"), ("late.png", "90 s")):
        done = lampwright("preview", "small.toml", "--still", name, "--at", moment, "--width", "320")
        assert (done.code, done.out, done.err) == (0, f"wrote {name}\n", "")
    early, late = (np.asarray(Image.open(name)).astype(int) for name in ("early.png", "late.png"))
    assert early.shape == late.shape == (180, 320, 3)
    assert late.sum() > early.sum() + 1000
    assert not Path("small.html").exists()


@pytest.mark.usefixtures("folder")
def test_a_film_is_written_beside_a_still(lampwright: Command) -> None:
    done = lampwright(*"preview small.toml --still a.png --film a.gif --width 160 --lasting".split(), "400 ms")
    assert (done.code, done.err) == (0, "")
    assert done.out == "wrote a.png\nwrote a.gif: 4 frames, each as the chips will send it\n"
    with Image.open("a.gif") as film:
        assert film.n_frames == 4


@pytest.mark.usefixtures("folder")
@pytest.mark.parametrize(
    ("words", "code"),
    [
        ("--still a.jpg", "PAGE-005"),
        ("--film a.png", "PAGE-005"),
        ("--film a.gif --lasting 3h", "PAGE-007"),
        ("--film a.gif --lasting 3", "UNIT-001"),
        ("--still a.png --at 12", "UNIT-001"),
        ("--still a.png --at 90d", "COMMAND-003"),
        ("--still a.png --width 3", "COMMAND-001"),
        ("--still a.png --stand nowhere", "COMMAND-001"),
        ("--film nowhere/a.gif", "COMMAND-002"),
    ],
)
def test_what_can_not_be_written_is_refused_at_once(lampwright: Command, words: str, code: str) -> None:
    done = lampwright("preview", "small.toml", *words.split())
    assert done.code == 2
    assert done.err.startswith(f"error {code}: ")
    assert {path.name for path in Path().iterdir()} == {"small.toml"}


def test_a_film_that_may_flash_is_written_only_for_whoever_asks_for_it(lampwright: Command, folder: Path) -> None:
    (folder / "looks").mkdir()
    (folder / "looks" / "blink.look").write_text(BLINK, encoding="utf-8")
    change(folder, 'look = "slow-ice"', 'look = "blink"')
    words = "preview small.toml --film a.gif --width 160 --lasting 1s --at 62s".split()
    done = lampwright(*words)
    assert done.code == 2
    assert done.err.startswith("error PAGE-008: this stretch may flash faster than is safe")
    assert "5 flashes in a second" in done.err
    assert not Path("a.gif").exists()
    done = lampwright(*words, "--even-if-it-flashes")
    assert (done.code, done.err) == (0, "")
    with Image.open("a.gif") as film:
        assert film.info["duration"] == 4000
    calm = lampwright(*"preview small.toml --film b.gif --width 160 --lasting 1s --at 10s".split())
    assert (calm.code, calm.err) == (0, ""), "the countdown before it flashes once a second"

"""The text of a small piece, for tests that need a whole one."""

from __future__ import annotations

_TEXT = """\
[brief]
name = "Small"
place = "bench"
date = 2026-12-19
standby = "{standby}"
run_time = "1 h"
coldest = "5 degC"
wind = "0 m/s"
survive = {{ failures = 0, lit = "0 %" }}

[[member]]
name = "post"
shape = "straight"
length = "1 m"

[[circuit]]
name = "post"
pack = "{pack}"
board = "{board}"
{circuit}
[[circuit.run]]
name = "strip"
strip = "{strip}"
pin = "PD6"
[[circuit.run.section]]
on = "post"

[standby]
every = {every}
{power_loss}
[show]
rate = "{rate}"
brightness = "{brightness}"
ending = "{ending}"

{cues}
"""

TWO_CUES = """\
[[cue]]
look = "rime-road"
length = "4 s"
fade = "1 s"

[[cue]]
look = "drifting-glints"
length = "6 s"
fade = "2 s"
"""


def small_piece(**changes: str) -> str:
    """Return the piece's text with some of its parts replaced."""
    parts = {
        "standby": "1 min",
        "pack": "pack-20ah-2a4",
        "board": "m328p-16mhz-crystal",
        "circuit": "",
        "strip": "ws2812b-30",
        "every": "1",
        "power_loss": "",
        "rate": "40 /s",
        "brightness": "40 %",
        "ending": "repeat",
        "cues": TWO_CUES,
    }
    assert set(changes) <= set(parts)
    return _TEXT.format(**(parts | changes))

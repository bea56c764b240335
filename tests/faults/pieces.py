"""Pieces for the tests of faults: posts with a garland between them."""

from __future__ import annotations

from pathlib import Path

from lampwright.faults.anatomy import Anatomy, Link, Segment
from lampwright.faults.kinds import FaultKind
from lampwright.layout import Layout, lay_out
from lampwright.piece import piece_from_text

OF_MAINS = {FaultKind.SUPPLY_DEAD, FaultKind.SUPPLY_CABLE, FaultKind.OUTLET_OFF}
"""Kinds that pieces on packs don't have."""

_HEAD = """\
[brief]
name = "Row"
place = "bench"
date = 2026-12-19
standby = "1 min"
run_time = "2 h"
coldest = "5 degC"
wind = "0 m/s"
survive = {{ failures = {failures}, lit = "{lit}" }}

[[member]]
name = "post"
shape = "straight"
length = "{length}"
repeat = {{ pattern = "row", count = {count}, step = ["1 m", "0 m", "0 m"] }}

[[circuit]]
name = "post"
each = "post"
{source}
{packs}
board = "m328p-16mhz-crystal"
[[circuit.run]]
name = "line"
strip = "ws2812b-30"
pin = "PD6"
{feed}
[[circuit.run.section]]
on = "post"
{garland}
[standby]
{standby}
[show]
rate = "10 /s"
brightness = "20 %"
[[cue]]
look = "slow-ice"
length = "10 s"
"""

PACK = 'pack = "pack-10ah-2a"'

_GARLAND = """\
[[circuit.run]]
name = "garland"
strip = "ws2812b-30"
pin = "PD5"
skip = "last"
[[circuit.run.section]]
span = { from = "top", to = "next top" }
sag = "0.1 m"
"""


def row(
    count: int = 4,
    failures: int = 1,
    lit: str = "75 %",
    length: str = "1 m",
    feed: str = "",
    standby: str = "",
    *,
    garland: bool = False,
    packs: str = "",
    source: str = PACK,
) -> Layout:
    """Return posts in a row, each a circuit of its own, a garland from each to the next if wanted."""
    hung = _GARLAND if garland else ""
    text = _HEAD.format(
        failures=failures,
        lit=lit,
        length=length,
        count=count,
        feed=feed,
        garland=hung,
        standby=standby,
        packs=packs,
        source=source,
    )
    return lay_out(piece_from_text(text, Path("row.toml")))


def one_line(count: int, lit: str) -> Layout:
    """Return posts in a row that one circuit goes along, from each to the next."""
    text = _HEAD.format(
        failures=1, lit=lit, length="1 m", count=count, feed="", garland="", standby="", packs="", source=PACK
    )
    sections = "\n[[circuit.run.section]]\n".join(f'on = "post {i}"' for i in range(1, count + 1))
    text = text.replace('each = "post"\n', "").replace('on = "post"', sections)
    return lay_out(piece_from_text(text, Path("line.toml")))


_OVER = """
joint = [{ at = "50 %", resistance = "10 mohm" }]
[[circuit.run.section]]
on = "post 1"
[[circuit.run.section]]
span = { from = "post 1 top", to = "post 2 top" }
sag = "0.1 m"
[[circuit.run.section]]
on = "post 2"
"""


def over_a_span(lit: str = "100 %") -> Layout:
    """Return one run up a post, along a span with a joint in it, and along the next post."""
    text = _HEAD.format(
        failures=1, lit=lit, length="1 m", count=2, feed="", garland="", standby="", packs="", source=PACK
    )
    text = text.replace('each = "post"\n', "").replace('\n[[circuit.run.section]]\non = "post"\n', _OVER)
    return lay_out(piece_from_text(text, Path("over.toml")))


def chain(n_segment: int, n_each: int, *, both_ends: bool = False, has_backup: bool = False) -> Anatomy:
    """Return one run of segments, fed at its head or at both ends, the last segment but one a span."""
    segments = tuple(
        Segment(0, f"part {i}", i * n_each, n_each, i == n_segment - 2, (f"post {i}",)) for i in range(n_segment)
    )
    links = [Link(f"link {i}", i, i + 1, False) for i in range(1, n_segment)]
    links.append(Link("feed at 0 %", 0, 1, True))
    if both_ends:
        links.append(Link("feed at 100 %", 0, n_segment, True))
    return Anatomy(
        "chain", n_segment * n_each, segments, tuple(links), (tuple(range(n_segment)),), ("run",), has_backup
    )

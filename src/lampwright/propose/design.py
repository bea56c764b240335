"""A design: every decision taken, written out as a piece file with the reason beside each."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from lampwright.parts import NOUNS, Board, Pack, Strip, Supply, Wire, find
from lampwright.piece.circuits import DEFAULT_CAP
from lampwright.piece.model import Piece
from lampwright.piece.read import piece_from_text
from lampwright.power.fuse import carried_behind_fuse
from lampwright.propose.grouping import EntryPlan, Grouping, RunPlan
from lampwright.propose.rig import AS_STATED, Rig, hanging_values, head_with
from lampwright.propose.wish import Asked
from lampwright.units import format_quantity

LOOKS = ("slow-ice", "drifting-glints")
"""Of the library, when the wish names none."""

CUE_LENGTH = "90 s"

FED = "fed so that no pixel falls below its least supply, at the least cost of wire and work"

DRAWN_IN = 0.1e-3
"""Time for a pixel of a frame at 16 MHz, drawing and sending, two looks in a fade (our estimate from rehearsals of the
examples, on the safe side). [s]"""

LEADS = ("awg-14", "awg-12", "awg-10")
"""Of supplies: the thinnest whose fuse carries what the limiter lets through. Packs have the first (our choice)."""

PERIODS_MS = (40, 50, 80, 100)
"""Frame periods that are offered, the smoothest first (our choice)."""


@dataclass(frozen=True)
class Feeding:
    """Feeds of a run, as they will be written: share of its length, wire, length of cable [m]."""

    feeds: tuple[tuple[float, str, float], ...]


@dataclass(frozen=True)
class Design:
    """All decisions."""

    strip: Strip
    grouping: Grouping
    board: Board
    source: Pack | Supply
    packs: int
    level: int
    """Brightness in percent of full drive."""
    period_ms: int
    keep_awake: float = math.inf  # [ohm]
    feedings: Mapping[tuple[str, str], Feeding] = field(default_factory=dict)
    """By names of entry and run; what isn't there is fed at its head by the shortest cable."""
    joints: Mapping[tuple[str, str], tuple[float, ...]] = field(default_factory=dict)
    """Shares of a run where strip is cut and joined, by names of entry and run."""
    rig: Rig = AS_STATED
    """What holds it up, as far as the brief leaves that open."""
    gusts: str = "gusts"
    """What the rig was chosen for, as the file's comments tell it."""

    @property
    def source_noun(self) -> str:
        """What a maker calls what feeds each circuit: "pack" or "supply"."""
        return NOUNS[type(self.source)]


def period_for(n_pixel: int, board: Board) -> int | None:
    """Return the shortest offered frame period in which so many pixels can be drawn and sent; ``None``: none. [ms]"""
    needed = 1000 * DRAWN_IN * n_pixel * (16e6 / board.clock.value)
    return next((period for period in PERIODS_MS if period >= needed), None)


def lead_of(supply: Supply) -> str:
    """Return the wire of a supply's lead."""
    wanted = DEFAULT_CAP * supply.current_limit.value
    return next((name for name in LEADS if carried_behind_fuse(find(Wire, name)) >= wanted), LEADS[-1])


def cap_of(supply: Supply) -> float:
    """Return what the limiter of a circuit on a supply is set to: what its lead's fuse carries, if that is less. [A]"""
    return min(DEFAULT_CAP * supply.current_limit.value, carried_behind_fuse(find(Wire, lead_of(supply))))


def piece_of(asked: Asked, design: Design) -> Piece:
    """Return a design as the piece that its file describes. Raises as ``piece_from_text``."""
    return piece_from_text(write_design(asked, design), asked.file)


def write_design(asked: Asked, design: Design, about: tuple[str, ...] = ()) -> str:
    """Return a design as the text of a piece file: the brief's own text, then what was decided and why.

    ``about`` are lines told as a comment above the decisions.
    """
    lines = [head_with(asked.head, design.rig, design.gusts, asked.tug).rstrip("\n"), ""]
    lines += [f"# {line}" for line in about]
    lines.append(f"# {design.grouping.title}: {design.grouping.reason}.")
    first = 0
    for entry in design.grouping.entries:
        lines += _circuit(asked, design, entry, first)
        first += entry.count
    lines += _show(asked, design)
    return "\n".join(lines) + "\n"


def _circuit(asked: Asked, design: Design, entry: EntryPlan, first: int) -> list[str]:
    """Return an entry whose circuits are numbered from ``first`` on."""
    is_first = first == 0
    lines = ["", "[[circuit]]", f'name = "{entry.name}"']
    if entry.each:
        lines.append(f'each = "{entry.each}"')
    lines += _fed_by(asked, design, first)
    reason = f"{round(design.board.ram.value)} bytes of RAM hold this circuit's pixels"
    lines.append(_with_reason(f'board = "{design.board.name}"', reason, is_first))
    free = [pin for pin in ("PD6", "PD5", "PD7", "PD4", *design.board.pins) if pin in design.board.pins]
    pins = list(dict.fromkeys(free))
    for pin, run in zip(pins, entry.runs, strict=False):
        lines += _run(asked, design, entry, run, pin, is_first)
    return lines


def _fed_by(asked: Asked, design: Design, first: int) -> list[str]:
    """Return what feeds the circuits of an entry, and their lead."""
    source, is_first = design.source, first == 0
    if isinstance(source, Supply):
        names = [chr(ord("A") + (first + number) % asked.wish.outlets) for number in range(asked.wish.outlets)]
        outlets = ", ".join(f'"{name}"' for name in names)
        cap, lead = cap_of(source), lead_of(source)
        reason = f"listed, {source.ip}, {source.protection}: {source.current_limit.text} as long as the mains is on"
        lines = [_with_reason(f'supply = "{source.name}"', reason, is_first)]
        lines.append(_with_reason(f"outlet = [{outlets}]", "by turns: one that fails takes its own circuits", is_first))
        if cap < DEFAULT_CAP * source.current_limit.value:
            lines.append(_with_reason(f'current_cap = "{cap:.2f} A"', "what the lead's fuse carries", is_first))
        text = f'lead = {{ wire = "{lead}", length = "0.5 m" }}'
        return [*lines, _with_reason(text, "its fuse protects it and carries the limiter's current", is_first)]
    energy = format_quantity(source.charge.value, "charge", 3)
    reason = f"{energy} at most {format_quantity(source.current_limit.value, 'current', 2)}: lasts in the cold"
    lines = [_with_reason(f'pack = "{source.name}"', reason, is_first)]
    if design.packs > 1:
        lines.append(_with_reason(f"packs = {design.packs}", "one can't hold the evening, or may fail", is_first))
        lines.append('joined = "ideal diode"')
    if math.isfinite(design.keep_awake):
        text = f'keep_awake = "{format_quantity(design.keep_awake, "resistance", 3)}"'
        lines.append(_with_reason(text, "or the pack may switch itself off in standby", is_first))
    text = f'lead = {{ wire = "{LEADS[0]}", length = "0.5 m" }}'
    return [*lines, _with_reason(text, "what it loses, no feed makes good", is_first)]


def _run(asked: Asked, design: Design, entry: EntryPlan, run: RunPlan, pin: str, is_first: bool) -> list[str]:
    strip = design.strip
    pitch = format_quantity(1 / strip.density.value, "length", 3)
    lines = ["[[circuit.run]]", f'name = "{run.name}"']
    lines.append(_with_reason(f'strip = "{strip.name}"', f"a pixel every {pitch}", is_first))
    lines.append(f'pin = "{pin}"')
    if run.skip:
        lines.append(f'skip = "{run.skip}"')
    if run.way > 0.3 + 1e-9:
        lines.append(f'data_lead = "{run.way:.2f} m"')
    feeding = design.feedings.get((entry.name, run.name))
    start = f', from = "{run.crown}", from_at = "50 %"' if run.crown else ""
    feeds = feeding.feeds if feeding is not None else ((0.0, "awg-18", run.way),)
    if feeding is not None and is_first:
        lines.append(f"# {FED}")
    rows = [
        f'  {{ at = "{100 * at:g} %", wire = "{wire}", length = "{length:.2f} m"{start} }},'
        for at, wire, length in feeds
    ]
    lines += ["feed = [", *rows, "]"]
    if joints := design.joints.get((entry.name, run.name)):
        cut = ", ".join(f'{{ at = "{100 * at:.2f} %", resistance = "20 mohm" }}' for at in joints)
        lines.append(f"joint = [{cut}]")
    held = _held_by(asked, design.rig) if run.crown else ()
    return [*lines, "[[circuit.run.section]]", *run.section, *held]


def _held_by(asked: Asked, rig: Rig) -> Sequence[str]:
    """Return what carries a garland: as the brief states it, else as chosen, else as a first layout needs it."""
    stated = asked.wish_text["garland"]
    lines = {"carrier": '"nylon-550"', "fixing": '{ tie = "cable-tie-50", count = 2 }'}
    lines |= hanging_values(rig.hanging)
    lines |= {key: _plain_toml(stated[key]) for key in ("carrier", "weak_link", "fixing") if key in stated}
    return [f"{key} = {value}" for key, value in lines.items()]


def _show(asked: Asked, design: Design) -> list[str]:
    looks = LOOKS if asked.wish.look is None else (asked.wish.look,)
    rate = f"{1000 / design.period_ms:.6g}"
    lines = ["", "[show]"]
    lines.append(f'rate = "{rate} /s"  # what the pixels of a circuit leave time for')
    bound = "supply and wires" if asked.is_on_mains else "pack, wires and run time"
    lines.append(f'brightness = "{design.level} %"  # what {bound} allow')
    lines += ['ending = "repeat"', "", "# A beginning: put your own cue sheet here."]
    for look in looks:
        lines += ["[[cue]]", f'look = "{look}"', f'length = "{CUE_LENGTH}"', 'fade = "10 s"']
        lines += [f"set = {_plain_toml(asked.wish_text['set'])}", ""] if asked.wish.set else [""]
    return lines[:-1]


def _plain_toml(value: object) -> str:
    """Return settings of a look as an inline table, as they were written."""
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{key} = {_plain_toml(each)}" for key, each in value.items()) + " }"
    return json.dumps(value, ensure_ascii=False)


def _with_reason(text: str, reason: str, is_first: bool) -> str:
    return f"{text}  # {reason}" if is_first else text

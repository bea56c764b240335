"""The shape of a piece file: its tables, their keys, and what each key takes."""

from __future__ import annotations

import datetime
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

from lampwright.look.source import Value
from lampwright.parts import Board, CableTie, Cord, Diode, Fuse, Pack, Port, Strip, Supply, Tube, Wire
from lampwright.piece.choices import FuseSize, PartChoice, Settings
from lampwright.piece.currency import CurrencyName
from lampwright.piece.fields import (
    Bends,
    Choice,
    Colour,
    Counts,
    Date,
    Line,
    LookName,
    Name,
    Number,
    Outlets,
    Quantity,
    Text,
    Vector,
    Whole,
)
from lampwright.piece.model import GUST_FACTOR, Wind
from lampwright.piece.rounded import Point
from lampwright.piece.wind import WindPromise

MOST_COPIES = 200
"""Of one pattern; a slip of the finger should not fill the memory."""


class Table(BaseModel):
    """A table of the file: no other keys than its own, no silent conversions."""

    model_config = ConfigDict(
        extra="forbid", strict=True, frozen=True, arbitrary_types_allowed=True, populate_by_name=True
    )


class SurviveEntry(Table):
    failures: Annotated[int, Whole("1", 0, 20).field()]
    lit: Annotated[float, Quantity('"75 %"', "share", least="0 %", most="100 %").field()]


class BriefEntry(Table):
    name: Annotated[str, Text('"Frost Gate"').field()]
    place: Annotated[str, Text('"footpath in a park"').field()]
    date: Annotated[datetime.date, Date("2026-12-19").field()]
    standby: Annotated[float, Quantity('"10 min"', "time", least="1 min", most="30 min").field()]
    run_time: Annotated[float, Quantity('"3 h"', "time", least="1 min", most="7 d").field()]
    coldest: Annotated[float, Quantity('"-5 degC"', "temperature", least="-40 degC", most="50 degC").field()]
    wind: Annotated[Wind, WindPromise('"7 m/s"').field()]
    gust_factor: Annotated[float, Number("1.5", 1.0, 3.0).field()] = GUST_FACTOR
    tug: Annotated[float, Quantity('"100 N"', "force", least="0 N", most="5 kN").field()] = 100.0
    survive: SurviveEntry = Field(examples=['{ failures = 1, lit = "75 %" }'])
    recharge: Annotated[float | None, Quantity('"12 h"', "time", least="1 min", most="7 d").field()] = None
    travel: Annotated[str, Choice('"by air"', ("by land", "by air")).field()] = "by land"
    budget: Annotated[float | None, Number("450", 0.0, 10_000_000.0).field()] = None
    currency: Annotated[str | None, CurrencyName('"GBP"').field()] = None
    where: Annotated[str | None, Choice('"indoors"', ("indoors", "outdoors")).field()] = None


class RowEntry(Table):
    pattern: Literal["row"]
    count: Annotated[int, Whole("4", 1, MOST_COPIES).field()]
    step: Annotated[tuple[float, float, float], Vector('["0 m", "1.8 m", "0 m"]').field()]


class RingEntry(Table):
    pattern: Literal["ring"]
    count: Annotated[int, Whole("6", 1, MOST_COPIES).field()]
    radius: Annotated[float, Quantity('"3 m"', "length", above="0 m", most="10 km").field()]


class GridEntry(Table):
    pattern: Literal["grid"]
    count: Annotated[tuple[int, int], Counts("[3, 2]", MOST_COPIES).field()]
    step: Annotated[tuple[float, float], Vector('["2 m", "1.5 m"]', ("x", "y")).field()]


class PathEntry(Table):
    pattern: Literal["path"]
    points: Annotated[tuple[Point, ...], Line('[["0 m", "0 m", "0 m"], ["6 m", "0 m", "0 m"]]').field()]
    bend: Annotated[float | tuple[float, ...], Bends('"1 m"').field()] = 0.0
    count: Annotated[int | None, Whole("5", 1, MOST_COPIES).field()] = None
    spacing: Annotated[float | None, Quantity('"1.5 m"', "length", above="0 m", most="10 km").field()] = None


class MirrorEntry(Table):
    pattern: Literal["mirrored"]
    across: Annotated[str, Choice('"x"', ("x", "y")).field()] = "x"
    plane: Annotated[float, Quantity('"2 m"', "length", least="-10 km", most="10 km").field()] = 0.0


RepeatEntry = Annotated[RowEntry | RingEntry | GridEntry | PathEntry | MirrorEntry, Field(discriminator="pattern")]


class BaseEntry(Table):
    mass: Annotated[float, Quantity('"30 kg"', "mass", above="0 kg", most="10000 kg").field()]
    reach: Annotated[float, Quantity('"0.4 m"', "length", above="0 m", most="100 m").field()]
    legs: Annotated[int, Whole("4", 3, 12).field()] = 4


class PlacedEntry(Table):
    name: Annotated[str, Name('"arch"').field()]
    at: Annotated[tuple[float, float, float], Vector('["0 m", "0 m", "0 m"]').field()] = (0.0, 0.0, 0.0)
    turn: Annotated[float, Quantity('"30 deg"', "angle", least="-10 turn", most="10 turn").field()] = 0.0
    repeat: RepeatEntry | None = None
    tube: Annotated[Tube | None, PartChoice('"conduit-1"', Tube).field()] = None
    socket: Annotated[float | None, Quantity('"0.5 m"', "length", above="0 m", most="10 m").field()] = None
    base: BaseEntry | None = None


class HoopEntry(PlacedEntry):
    shape: Literal["hoop"]
    width: Annotated[float, Quantity('"2.4 m"', "length", above="0 m", most="100 m").field()]
    height: Annotated[float, Quantity('"2.6 m"', "length", above="0 m", most="100 m").field()]


class StraightEntry(PlacedEntry):
    shape: Literal["straight"]
    length: Annotated[float, Quantity('"2 m"', "length", above="0 m", most="100 m").field()]
    lean: Annotated[float, Quantity('"10 deg"', "angle", least="-180 deg", most="180 deg").field()] = 0.0


class ArcEntry(PlacedEntry):
    shape: Literal["arc"]
    chord: Annotated[float | None, Quantity('"3 m"', "length", above="0 m", most="100 m").field()] = None
    rise: Annotated[float | None, Quantity('"1 m"', "length", above="0 m", most="100 m").field()] = None
    radius: Annotated[float | None, Quantity('"2 m"', "length", above="0 m", most="1 km").field()] = None
    sweep: Annotated[float | None, Quantity('"120 deg"', "angle", above="0 deg", most="360 deg").field()] = None
    lean: Annotated[float, Quantity('"10 deg"', "angle", least="-180 deg", most="180 deg").field()] = 0.0


class BentEntry(PlacedEntry):
    shape: Literal["bent"]
    points: Annotated[
        tuple[Point, ...], Line('[["0 m", "0 m", "0 m"], ["0 m", "0 m", "2 m"], ["1 m", "0 m", "2 m"]]').field()
    ]
    bend: Annotated[float | tuple[float, ...], Bends('"15 cm"').field()] = 0.0


class StaffEntry(PlacedEntry):
    shape: Literal["staff"]
    length: Annotated[float, Quantity('"1.8 m"', "length", above="0 m", most="20 m").field()]
    lean: Annotated[float, Quantity('"10 deg"', "angle", least="-180 deg", most="180 deg").field()] = 0.0
    held: Annotated[float, Quantity('"1 m"', "length", least="0 m", most="3 m").field()]
    grip: Annotated[float, Quantity('"0.8 m"', "length", least="0 m", most="20 m").field()]


AnyMemberEntry = HoopEntry | StraightEntry | ArcEntry | BentEntry | StaffEntry
MemberEntry = Annotated[AnyMemberEntry, Field(discriminator="shape")]


class SpanEntry(Table):
    start: Annotated[str, Text('"crown"').field()] = Field(alias="from")
    to: Annotated[str, Text('"next crown"').field()]


class FixingEntry(Table):
    tie: Annotated[CableTie, PartChoice('"cable-tie-50"', CableTie).field()]
    count: Annotated[int, Whole("2", 1, 100).field()] = 1


class ZigzagEntry(Table):
    pitch: Annotated[float, Quantity('"30 cm"', "length", above="0 m", most="100 m").field()]
    to: Annotated[str | None, Name('"batten"').field()] = None
    width: Annotated[float | None, Quantity('"40 cm"', "length", above="0 m", most="100 m").field()] = None
    clear: Annotated[float, Quantity('"3 cm"', "length", least="0 m", most="10 m").field()] = 0.0


class SectionEntry(Table):
    on: Annotated[str | None, Name('"arch"').field()] = None
    bare_start: Annotated[float | None, Quantity('"0.4 m"', "length", least="0 m", most="1 km").field()] = None
    bare_end: Annotated[float | None, Quantity('"0.4 m"', "length", least="0 m", most="1 km").field()] = None
    direction: Annotated[str | None, Choice('"back"', ("along", "back")).field()] = None
    spiral: Annotated[float | None, Quantity('"10 cm"', "length", above="0 m", most="100 m").field()] = None
    zigzag: ZigzagEntry | None = None
    span: SpanEntry | None = None
    sag: Annotated[float | None, Quantity('"0.25 m"', "length", above="0 m", most="1 km").field()] = None
    carrier: Annotated[Cord | None, PartChoice('"nylon-550"', Cord).field()] = None
    slack: Annotated[float | None, Quantity('"2 %"', "share", least="0 %", most="50 %").field()] = None
    weak_link: Annotated[float | None, Quantity('"150 N"', "force", above="0 N", most="100 kN").field()] = None
    fixing: FixingEntry | None = None


class CableEntry(Table):
    wire: Annotated[Wire, PartChoice('"awg-18"', Wire).field()]
    length: Annotated[float, Quantity('"1.5 m"', "length", least="0 m", most="1 km").field()]
    fuse: Annotated[Fuse | None, FuseSize('"3 A"').field()] = None


class FeedEntry(CableEntry):
    at: Annotated[float, Quantity('"100 %"', "share", least="0 %", most="100 %").field()]
    start: Annotated[str | None, Name('"hoop"').field()] = Field(None, alias="from")
    from_at: Annotated[float | None, Quantity('"50 %"', "share", least="0 %", most="100 %").field()] = None


class JointEntry(Table):
    at: Annotated[float, Quantity('"50 %"', "share", least="0 %", most="100 %").field()]
    resistance: Annotated[float, Quantity('"20 mohm"', "resistance", least="0 ohm", most="1 kohm").field()]


class ReadingEntry(Table):
    pattern: Annotated[str, Choice('"white"', ("dark", "red", "green", "blue", "white")).field()]
    level: Annotated[float, Quantity('"100 %"', "share", least="0 %", most="100 %").field()] = 1.0
    current: Annotated[float, Quantity('"1.62 A"', "current", least="0 A", most="100 A").field()]
    head: Annotated[float, Quantity('"4.85 V"', "voltage", above="0 V", most="60 V").field()]
    far_end: Annotated[float, Quantity('"4.31 V"', "voltage", above="0 V", most="60 V").field()]
    run: Annotated[str | None, Name('"hoop"').field()] = None


class RunEntry(Table):
    name: Annotated[str, Name('"hoop"').field()]
    strip: Annotated[Strip, PartChoice('"ws2812b-60"', Strip).field()]
    pin: Annotated[str, Text('"PD6"').field()]
    skip: Annotated[str | None, Choice('"last"', ("first", "last")).field()] = None
    capacitor: Annotated[float | None, Quantity('"1000 uF"', "capacitance", least="0 uF", most="1 F").field()] = None
    data_resistor: Annotated[
        float | None, Quantity('"330 ohm"', "resistance", least="0 ohm", most="1 Mohm").field()
    ] = None
    data_lead: Annotated[float | None, Quantity('"0.3 m"', "length", least="0 m", most="1 km").field()] = None
    feed: list[FeedEntry] | None = None
    joint: list[JointEntry] = []
    section: list[SectionEntry] = Field(min_length=1, examples=["[[circuit.run.section]]"])


class CircuitEntry(Table):
    name: Annotated[str, Name('"arch"').field()]
    each: Annotated[str | None, Name('"arch"').field()] = None
    pack: Annotated[Pack | None, PartChoice('"pack-20ah-2a4"', Pack).field()] = None
    supply: Annotated[Supply | None, PartChoice('"supply-10a"', Supply).field()] = None
    outlet: Annotated[str | tuple[str, ...], Outlets('"left wall"').field()] = "A"
    packs: Annotated[int, Whole("2", 1, 4).field()] = 1
    joined: Annotated[str | None, Choice('"in turn"', ("in turn", "ideal diode", "plain diode")).field()] = None
    diode: Annotated[Diode | None, PartChoice('"diode-1n5822"', Diode).field()] = None
    port: Annotated[Port | None, PartChoice('"usb-c-3a"', Port).field()] = None
    pack_cycles: Annotated[int | None, Whole("120", 0, 10_000).field()] = None
    other_ports: Annotated[float, Quantity('"0.5 A"', "current", least="0 A", most="100 A").field()] = 0.0
    keep_awake: Annotated[float | None, Quantity('"47 ohm"', "resistance", above="0 ohm", most="1 Mohm").field()] = None
    board: Annotated[Board, PartChoice('"m328p-16mhz-crystal"', Board).field()]
    current_cap: Annotated[float | None, Quantity('"1.9 A"', "current", above="0 A", most="100 A").field()] = None
    lead: CableEntry | None = None
    plug: Annotated[float | None, Quantity('"10 mohm"', "resistance", least="0 ohm", most="100 ohm").field()] = None
    pack_droop: Annotated[float | None, Quantity('"50 mohm"', "resistance", least="0 ohm", most="100 ohm").field()] = (
        None
    )
    copper: Annotated[float | None, Quantity('"40 degC"', "temperature", least="-40 degC", most="120 degC").field()] = (
        None
    )
    reading: list[ReadingEntry] = []
    run: list[RunEntry] = Field(min_length=1, examples=["[[circuit.run]]"])


class AllowancesEntry(Table):
    solder: Annotated[float, Quantity('"3 cm"', "length", least="0 m", most="10 m").field()] = 0.03
    loop: Annotated[float, Quantity('"10 cm"', "length", least="0 m", most="10 m").field()] = 0.1
    relief: Annotated[float, Quantity('"5 cm"', "length", least="0 m", most="10 m").field()] = 0.05
    knots: Annotated[float, Quantity('"80 cm"', "length", least="0 m", most="10 m").field()] = 0.8


class WorkEntry(Table):
    begin: Annotated[datetime.date | None, Date("2026-12-05").field()] = None
    from_hour: Annotated[float, Number("17", 0.0, 23.75).field()] = 17.0
    hours: Annotated[float, Quantity('"4 h"', "time", least="15 min", most="24 h").field()] = 4 * 3600.0
    helpers: Annotated[int, Whole("1", 0, 50).field()] = 0


class StandbyEntry(Table):
    colour: Annotated[str, Colour('"#ffb060"').field()] = "#ffb060"
    level: Annotated[float, Quantity('"20 %"', "share", above="0 %", most="100 %").field()] = 0.2
    first: Annotated[int, Whole("0", 0, 100_000).field()] = 0
    every: Annotated[int, Whole("3", 1, 10_000).field()] = 3
    after_power_loss: Annotated[str, Choice('"go on"', ("count down again", "go on")).field()] = "count down again"
    switch_on_spread: Annotated[float, Quantity('"2 min"', "time", least="0 s", most="1 h").field()] = 120.0


class ShowEntry(Table):
    rate: Annotated[float, Quantity('"40 /s"', "rate", least="1 /s", most="200 /s").field()]
    brightness: Annotated[float, Quantity('"70 %"', "share", above="0 %", most="100 %").field()]
    ending: Annotated[str, Choice('"repeat"', ("repeat", "hold", "dark")).field()] = "repeat"
    white: Annotated[str, Choice('"balanced"', ("as made", "balanced")).field()] = "as made"
    steps: Annotated[str, Choice('"dithered"', ("plain", "dithered")).field()] = "plain"


class CueEntry(Table):
    look: Annotated[str, LookName('"slow-ice"').field()]
    length: Annotated[float, Quantity('"30 min"', "time", least="1 s", most="1 d").field()]
    fade: Annotated[float, Quantity('"10 s"', "time", least="0 s", most="1 d").field()] = 0.0
    stagger: Annotated[float, Quantity('"0.5 s"', "time", least="0 s", most="10 min").field()] = 0.0
    set: Annotated[dict[str, Value], Settings('{ pace = "0.2 /s" }').field()] = {}

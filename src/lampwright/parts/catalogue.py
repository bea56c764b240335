"""Read the parts catalogue from its data files, and find parts in it."""

from __future__ import annotations

import difflib
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any, TypeVar

from lampwright.parts.kinds import FIGURE_KINDS, NOUNS, Part
from lampwright.parts.model import (
    Board,
    CableTie,
    Capacitor,
    Connector,
    Cord,
    Diode,
    Figure,
    Fuse,
    LineTiming,
    Pack,
    Port,
    Resistor,
    Status,
    Strip,
    Supply,
    Tube,
    Window,
    Wire,
)
from lampwright.units import Kind, MakerError, Problem, parse

PartT = TypeVar(
    "PartT",
    Strip,
    Pack,
    Supply,
    Port,
    Board,
    Wire,
    Fuse,
    Capacitor,
    Resistor,
    Connector,
    Diode,
    Tube,
    Cord,
    CableTie,
)


@dataclass(frozen=True)
class Catalogue:
    """Every part by its name."""

    strips: Mapping[str, Strip]
    packs: Mapping[str, Pack]
    supplies: Mapping[str, Supply]
    ports: Mapping[str, Port]
    boards: Mapping[str, Board]
    wires: Mapping[str, Wire]
    fuses: Mapping[str, Fuse]
    capacitors: Mapping[str, Capacitor]
    resistors: Mapping[str, Resistor]
    connectors: Mapping[str, Connector]
    diodes: Mapping[str, Diode]
    tubes: Mapping[str, Tube]
    cords: Mapping[str, Cord]
    cable_ties: Mapping[str, CableTie]

    def of(self, kind: type[PartT]) -> Mapping[str, PartT]:
        """Return the parts of one kind, such as ``Strip``, by name."""
        shelves: dict[type[Any], Mapping[str, Any]] = {
            Strip: self.strips,
            Pack: self.packs,
            Supply: self.supplies,
            Port: self.ports,
            Board: self.boards,
            Wire: self.wires,
            Fuse: self.fuses,
            Capacitor: self.capacitors,
            Resistor: self.resistors,
            Connector: self.connectors,
            Diode: self.diodes,
            Tube: self.tubes,
            Cord: self.cords,
            CableTie: self.cable_ties,
        }
        return shelves[kind]


@cache
def load_catalogue() -> Catalogue:
    """Return the catalogue; its files are read once."""
    return Catalogue(
        strips=_by_name(_strips(_read("strips"))),
        packs=_by_name(_packs(_read("packs"))),
        supplies=_by_name(_supplies(_read("supplies"))),
        ports=_by_name([Port(**_figures(Port, row), **_labels(row)) for row in _read("ports")["port"]]),
        boards=_by_name(_boards(_read("boards"))),
        wires=_by_name([Wire(**_figures(Wire, row), **_labels(row)) for row in _read("wire")["wire"]]),
        fuses=_by_name(_fuses(_read("fuses"))),
        capacitors=_by_name(_capacitors(_read("capacitors"))),
        resistors=_by_name(_resistors(_read("resistors"))),
        connectors=_by_name(
            [
                Connector(**_figures(Connector, row), **_labels(row), poles=row["poles"])
                for row in _read("connectors")["connector"]
            ]
        ),
        diodes=_by_name([Diode(**_figures(Diode, row), **_labels(row)) for row in _read("diodes")["diode"]]),
        tubes=_by_name(_tubes(_read("tubes"))),
        cable_ties=_by_name(
            [CableTie(**_figures(CableTie, row), **_labels(row)) for row in _read("cable-ties")["cable_tie"]]
        ),
        cords=_by_name([Cord(**_figures(Cord, row), **_labels(row)) for row in _read("cords")["cord"]]),
    )


def find(kind: type[PartT], name: str) -> PartT:
    """Return the part of this kind by its catalogue name, such as ``find(Strip, "ws2812b-60")``.

    Raises
    ------
    MakerError
        PARTS-001 with the nearest names, when there is no such part.
    """
    shelf = load_catalogue().of(kind)
    if name in shelf:
        return shelf[name]
    raise MakerError([_unknown_part(kind, name, shelf)])


def _unknown_part(kind: type[Part], name: str, shelf: Mapping[str, Part]) -> Problem:
    noun = NOUNS[kind]
    nearest = difflib.get_close_matches(name, shelf, n=3, cutoff=0.5)
    if nearest:
        do = "did you mean " + " or ".join(f'"{text}"' for text in nearest) + "?"
    else:
        do = f'write the name of a {noun} of the catalogue, such as "{next(iter(shelf))}"'
    return Problem(
        code="PARTS-001",
        summary=f'there is no {noun} "{name}" in the catalogue',
        found=f'"{name}"',
        allowed=", ".join(shelf),
        do=do,
    )


def _read(file: str) -> dict[str, Any]:
    path = resources.files("lampwright.parts").joinpath("catalogue", f"{file}.toml")
    return tomllib.loads(path.read_text(encoding="utf-8"))


def _by_name(parts: list[PartT]) -> dict[str, PartT]:
    return {part.name: part for part in parts}


def _figure(row: Mapping[str, str], kind: Kind) -> Figure:
    return Figure(parse(row["value"], kind), row["value"], Status(row["status"]), row["source"])


def _figures(kind: type[Part], row: Mapping[str, Any]) -> dict[str, Any]:
    return {key: _figure(row[key], measures) for key, measures in FIGURE_KINDS[kind].items()}


def _labels(row: Mapping[str, Any]) -> dict[str, Any]:
    return {"name": row["name"], "title": row["title"]}


def _strips(raw: dict[str, Any]) -> list[Strip]:
    strips = []
    for row in raw["strip"]:
        shared = raw["pixel"][row["pixel"]]
        merged = {**shared, **row, "title": f"{shared['title']}, {row['density']['value']}"}
        timing = shared["timing"]
        strips.append(
            Strip(
                **_labels(merged),
                **_figures(Strip, merged),
                pixel=row["pixel"],
                order=shared["order"],
                has_second_data=shared["second_data"],
                timing=_timing(timing),
                timing_source=f"{timing['status']}: {timing['source']}",
            )
        )
    return strips


def _timing(row: Mapping[str, Any]) -> LineTiming:
    def window(key: str) -> Window:
        least, typical, most = (parse(text, "time") for text in row[key])
        return Window(least, typical, most)

    return LineTiming(
        window("zero_high"),
        window("zero_low"),
        window("one_high"),
        window("one_low"),
        parse(row["latch"], "time"),
    )


def _packs(raw: dict[str, Any]) -> list[Pack]:
    shared = raw["shared"]
    cold = tuple((parse(degrees, "temperature"), parse(share, "share")) for degrees, share in shared["cold_capacity"])
    load = tuple((parse(part, "share"), parse(share, "share")) for part, share in shared["load_efficiency"])
    age = tuple((float(cycles), parse(share, "share")) for cycles, share in shared["age_capacity"])
    return [
        Pack(
            **_labels(row),
            # the ports of a class share what one of them may give, unless its row says otherwise
            **_figures(Pack, {"total_limit": row["current_limit"], **shared, **row}),
            cold_capacity=cold,
            cold_source=shared["cold_source"],
            load_efficiency=load,
            load_source=shared["load_source"],
            age_capacity=age,
            age_source=shared["age_source"],
        )
        for row in raw["pack"]
    ]


def _supplies(raw: dict[str, Any]) -> list[Supply]:
    return [
        Supply(
            **_labels(row),
            **_figures(Supply, {**raw["shared"], **row}),
            ip=row["ip"],
            protection=row["protection"],
        )
        for row in raw["supply"]
    ]


def _boards(raw: dict[str, Any]) -> list[Board]:
    return [
        Board(
            **_labels(row),
            **_figures(Board, {**raw["chip"][row["chip"]], **row}),
            chip=row["chip"],
            pins=tuple(raw["chip"][row["chip"]]["pins"]),
        )
        for row in raw["board"]
    ]


def _tubes(raw: dict[str, Any]) -> list[Tube]:
    return [Tube(**_figures(Tube, {**raw["metal"][row["metal"]], **row}), **_labels(row)) for row in raw["tube"]]


def _fuses(raw: dict[str, Any]) -> list[Fuse]:
    shared = raw["shared"]
    voltage = _figure(shared["voltage"], "voltage")
    status, source = Status(shared["rating_status"]), shared["rating_source"]
    return [
        Fuse(
            name=f"fuse-{_compact(text)}",
            title=f"{text} blade fuse",
            rating=Figure(parse(text, "current"), text, status, source),
            voltage=voltage,
        )
        for text in raw["sizes"]["ratings"]
    ]


def _capacitors(raw: dict[str, Any]) -> list[Capacitor]:
    shared = raw["shared"]
    status, source = Status(shared["capacitance_status"]), shared["capacitance_source"]
    capacitors = []
    for row in raw["row"]:
        voltage = _figure(row["voltage"], "voltage")
        capacitors += [
            Capacitor(
                name=f"cap-{_compact(text)}{row['suffix']}",
                title=f"{text}, {voltage.text} electrolytic capacitor",
                capacitance=Figure(parse(text, "capacitance"), text, status, source),
                tolerance=_figure(shared["tolerance"], "share"),
                voltage=voltage,
                series_resistance=_figure(shared["series_resistance"], "resistance"),
            )
            for text in row["capacitances"]
        ]
    return capacitors


def _resistors(raw: dict[str, Any]) -> list[Resistor]:
    shared = raw["shared"]
    status, source = Status(shared["resistance_status"]), shared["resistance_source"]
    return [
        Resistor(
            name=f"res-{_compact(text)}{size['suffix']}",
            title=f"{text}, {size['power']['value']} resistor",
            resistance=Figure(parse(text, "resistance"), text, status, source),
            tolerance=_figure(shared["tolerance"], "share"),
            power=_figure(size["power"], "power"),
        )
        for size in raw["size"]
        for text in size["resistances"]
    ]


def _compact(text: str) -> str:
    """Return a value as it stands in a part's name, such as "1000uf"."""
    return text.replace(" ", "").lower()

"""One strip shared out in one way among circuits: laid out, drawn at moments of its show, priced and weighed once.

What is known of a build serves every board, pack and brightness that is tried with it.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lampwright.faults import embody
from lampwright.faults.cost import single_outages
from lampwright.faults.every import every_fault
from lampwright.faults.odds import demand_holds, evening_chances, rates
from lampwright.layout import CircuitLayout, Layout, lay_out
from lampwright.layout.transitions import transitions
from lampwright.making import materials_of, shopping_list
from lampwright.making.lists import ShelfRow
from lampwright.making.materials import cut_material
from lampwright.making.week import tasks_of
from lampwright.parts import Board, Diode, Offer, Pack, Strip, Supply, find
from lampwright.piece.model import Bank, Joined, Piece, SpanSection, Staff
from lampwright.propose.design import Design, piece_of
from lampwright.propose.grouping import Grouping
from lampwright.propose.holding import what_bears
from lampwright.propose.rig import AS_STATED, Rig
from lampwright.propose.rig_price import HELD_KINDS, is_of_rig
from lampwright.propose.wish import Asked
from lampwright.show import CircuitShow, compile_show, render
from lampwright.show.compile import CURRENT_UNIT

Floats = NDArray[np.float64]

N_MOMENT = 32
"""Moments of the show at which a build is drawn (our choice); the finalists are held against every frame."""

AT_A_MEMBER, AT_A_SPAN, AT_A_CIRCUIT = 600.0, 600.0, 120.0
"""To stand up a member, hang a span, place and try a circuit, on site (common practice, no source). [s]"""

ANY_BOARD, ANY_PACK, ANY_SUPPLY = "m2560-16mhz-crystal", "pack-20ah-3a", "supply-10a"
"""What stands for board and pack or supply until they are chosen; their prices don't count."""


@dataclass(frozen=True)
class Setting:
    """What all builds of a brief share: the brief, and the maker's lists."""

    asked: Asked
    shelf: tuple[ShelfRow, ...] = ()
    shop: tuple[Offer, ...] = ()


@dataclass(frozen=True, eq=False)
class Build:
    """A strip and a grouping, with what follows from them."""

    setting: Setting
    strip: Strip
    grouping: Grouping
    layout: Layout
    bears: tuple[object, ...]
    """All that a rig knows of it; builds for which this is equal are held by the same rigs."""
    light: Floats
    """(n_circuit, N_MOMENT) current of the pixels' light at full brightness. [A]"""
    shares: tuple[float, float, float]
    """Mean share of full drive of red, green and blue, over pixels and moments, at full brightness. [1]"""
    joints: dict[tuple[str, str], tuple[float, ...]]

    @property
    def piece(self) -> Piece:
        """The piece, with a board and a pack that stand for others."""
        return self.layout.piece

    @property
    def n_pixel(self) -> int:
        """Of the largest circuit."""
        return max(each.n_pixel for each in self.layout.circuits)

    @cached_property
    def hardest(self) -> int:
        """Number of the circuit that draws most."""
        drawn = self.light.mean(axis=1) + [1e-3 * each.n_pixel for each in self.layout.circuits]
        return int(np.argmax(drawn))

    @cached_property
    def _making(self) -> tuple[int, float, float]:
        """Price of all but packs and boards, in hundredths; mass [kg]; work [s]."""
        shelf, shop = self.setting.shelf, self.setting.shop
        lit = [each for each in materials_of(self.layout) if each.kind not in HELD_KINDS]
        cuts = [cut_material(each, shelf, shop) for each in lit]
        bought = shopping_list(self.layout, cuts, shelf, shop)
        lines = [line for line in bought.lines if line.kind not in ("pack", "supply", "board") and not is_of_rig(line)]
        price = sum(line.total or 0 for line in lines)
        tasks = tasks_of(self.layout, cuts, bought, {}, {})
        hands = sum(task.likely for task in tasks if not task.is_wait and not task.name.startswith("soak test"))
        return price, _mass(self.layout), hands

    @property
    def price(self) -> int:
        """Of what lights it, packs, boards and feeds beyond the plainest left out, in hundredths of the currency."""
        return self._making[0]

    @property
    def mass(self) -> float:
        """Of its strip. [kg]"""
        return self._making[1]

    @property
    def work(self) -> float:
        """Of hands, from the first cut to what is loaded for the way, cutting tube left out. [s]"""
        return self._making[2]

    @property
    def set_up(self) -> float:
        """On site, shared among all who set it up, carrying bases left out. [s]"""
        n_span = sum(
            isinstance(s.section, SpanSection) for c in self.layout.circuits for r in c.runs for s in r.sections
        )
        standing = [each for each in self.piece.members if not isinstance(each.shape, Staff)]
        work = AT_A_MEMBER * len(standing) + AT_A_SPAN * n_span + AT_A_CIRCUIT * len(self.layout.circuits)
        return work / self.crew

    @property
    def crew(self) -> int:
        """How many set it up: as the wish says, else the maker and all helpers."""
        return self.setting.asked.wish.crew or 1 + self.piece.work.helpers

    def odds(self, packs: int) -> float:
        """Return the chance that as much stays lit as the brief wants, by packs a circuit, or on its outlets. [1]"""
        if packs not in self._odds:
            circuits = tuple(_banked(each, packs) for each in self.layout.circuits)
            body = embody(dataclasses.replace(self.layout, circuits=circuits))
            self._odds[packs] = demand_holds(body, evening_chances(body, rates()))
        return self._odds[packs]

    @cached_property
    def _odds(self) -> dict[int, float]:
        return {}

    @cached_property
    def weighed(self) -> dict[object, Any]:
        """What was weighed of it before, by board, pack, packs and level: kept by ``weigh``."""
        return {}

    @cached_property
    def kept(self) -> float:
        """The share of circuits that stays lit after as many faults as the brief names, at worst. [1]

        Exact for one fault; for more, each further one is taken to cost as much as the worst.
        """
        body = embody(self.layout)
        failures = self.piece.brief.survive.failures
        if not failures:
            return 1.0
        lasting = [each for each in single_outages(body, every_fault(body)) if each.lasts > 60.0]
        worst = min((each.circuits_lit for each in lasting), default=1.0)
        return max(0.0, 1.0 - failures * (1.0 - worst))


def lay_plain(setting: Setting, strip: Strip, grouping: Grouping, rig: Rig = AS_STATED) -> Layout:
    """Return strip and grouping laid out. Raises ``MakerError`` where the brief itself is at fault."""
    return lay_out(piece_of(setting.asked, dataclasses.replace(_plain(setting.asked, strip, grouping), rig=rig)))


def _plain(
    asked: Asked, strip: Strip, grouping: Grouping, joints: dict[tuple[str, str], tuple[float, ...]] | None = None
) -> Design:
    return Design(strip, grouping, find(Board, ANY_BOARD), any_source(asked), 1, 100, 40, joints=joints or {})


def make_build(setting: Setting, strip: Strip, grouping: Grouping, layout: Layout) -> Build:
    """Return a build of what :func:`lay_plain` has laid out, drawn at moments of its show."""
    joints = _joints(grouping, layout)
    if joints:
        layout = lay_out(piece_of(setting.asked, _plain(setting.asked, strip, grouping, joints)))
    shows = compile_show(layout)
    moments = [_moments(show) for show in shows]
    light = np.stack([each[0] for each in moments])
    weights = np.array([show.n_pixel for show in shows], dtype=np.float64)
    shares = np.average(np.stack([each[1] for each in moments]), axis=0, weights=weights)
    return Build(
        setting,
        strip,
        grouping,
        layout,
        what_bears(layout),
        light,
        (float(shares[0]), float(shares[1]), float(shares[2])),
        joints,
    )


def with_strip(build: Build, strip: Strip) -> Build:
    """Return a build with strip of the same density, whose pixels draw and shine otherwise."""
    design = Design(
        strip, build.grouping, find(Board, ANY_BOARD), any_source(build.setting.asked), 1, 100, 40, joints=build.joints
    )
    layout = lay_out(piece_of(build.setting.asked, design))
    before, after = (sum(_channels(each)) for each in (build.strip, strip))
    light = build.light * (after / before)
    return dataclasses.replace(build, strip=strip, layout=layout, bears=what_bears(layout), light=light)


def _moments(show: CircuitShow) -> tuple[Floats, Floats]:
    """Return the (N_MOMENT,) current of light at moments of the show, and the (3,) mean shares, as if not limited."""
    numbers = show.standby_frames + (np.arange(N_MOMENT) + 0.5) * show.pass_frames / N_MOMENT
    asked, drive = np.empty(N_MOMENT), np.zeros(3)
    for index, number in enumerate(numbers.astype(int)):
        block = render(show, int(number), 1)
        asked[index] = block.load[0] * (CURRENT_UNIT / 255.0)
        scale = min(1.0, block.scale[0] / 256)
        drive += block.codes[0].mean(axis=0) / 255.0 / max(scale, 1 / 256)
    return asked, drive / N_MOMENT


def _channels(strip: Strip) -> Sequence[float]:
    return (strip.red_current.value, strip.green_current.value, strip.blue_current.value)


def _joints(grouping: Grouping, layout: Layout) -> dict[tuple[str, str], tuple[float, ...]]:
    """Return where strip is cut and joined, by entry and run; circuits of one entry are built alike."""
    found: dict[tuple[str, str], tuple[float, ...]] = {}
    first = 0
    for entry in grouping.entries:
        circuit = layout.circuits[first]
        first += entry.count
        for each in transitions(circuit):
            if each.is_cut:
                key = (entry.name, each.run)
                found[key] = (*found.get(key, ()), each.share)
    return found


def any_source(asked: Asked) -> Pack | Supply:
    """Return what stands for what feeds a circuit until that is chosen."""
    return find(Supply, ANY_SUPPLY) if asked.is_on_mains else find(Pack, ANY_PACK)


def _banked(circuit: CircuitLayout, packs: int) -> CircuitLayout:
    return dataclasses.replace(circuit, circuit=dataclasses.replace(circuit.circuit, bank=bank_of(packs)))


def bank_of(packs: int, keep_awake: float = math.inf) -> Bank:
    """Return so many packs, joined by ideal diodes where there are several."""
    if packs == 1:
        return Bank(keep_awake=keep_awake)
    return Bank(packs, Joined.IDEAL_DIODE, find(Diode, "diode-ideal-5a"), keep_awake=keep_awake)


def _mass(layout: Layout) -> float:
    """Return the mass of strip. [kg]"""
    return sum(
        section.length * run.run.strip.mass.value
        for circuit in layout.circuits
        for run in circuit.runs
        for section in run.sections
    )

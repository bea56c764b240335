"""What holds a piece up: whether the search finds all that the checks of ``rigging`` let stand, and prices it right."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from functools import partial
from pathlib import Path

import pytest

from lampwright.findings.model import Severity
from lampwright.layout import Layout
from lampwright.making import cut_all, shopping_list
from lampwright.making.week import tasks_of
from lampwright.parts import Board, Cord, Pack, Strip, Tube, find
from lampwright.piece.model import Base, SpanSection
from lampwright.propose.build import Setting, lay_plain, make_build
from lampwright.propose.grouping import whole_members
from lampwright.propose.holding import Rigs, find_rigs
from lampwright.propose.rig import Footing, Rig
from lampwright.propose.rig_price import RigPrices
from lampwright.propose.weigh import cost_of, joined, weigh
from lampwright.propose.wish import Asked, brief_from_text
from lampwright.rigging import check_rigging

GARLANDED = """\
[brief]
name = "Two Posts and a Garland"
place = "yard"
date = 2026-12-12
standby = "3 min"
run_time = "1 h"
coldest = "-2 degC"
wind = "8 m/s"
survive = { failures = 0, lit = "0 %" }

[[member]]
name = "post"
shape = "straight"
length = "2.4 m"
repeat = { pattern = "row", count = 2, step = ["2 m", "0 m", "0 m"] }

[wish]
on = "post"
tubes = ["conduit-1-2", "conduit-3-4", "conduit-1", "aluminium-6063-25"]
base = { reach = "0.5 m", legs = 4, step = "4 kg" }
garland = { sag = "0.2 m", point = "top" }
seen_from = "10 m"
surroundings = "dark park"
"""

STEPS = 12


def read(text: str) -> tuple[Asked, partial[Layout], Rigs]:
    asked = brief_from_text(text, Path("posts.toml"))
    setting = Setting(asked)
    strip, grouping = find(Strip, "ws2812b-30"), whole_members(asked, 2)
    lay = partial(lay_plain, setting, strip, grouping)
    layout = lay()
    prices = RigPrices(layout, (), ())
    return asked, lay, find_rigs(asked.wish, asked.members, lay, prices, layout.piece.brief.wind)


@pytest.fixture(scope="module")
def garlanded() -> tuple[Asked, partial[Layout], Rigs]:
    return read(GARLANDED)


def is_quiet(layout: Layout) -> bool:
    return all(each.severity in (Severity.PASS, Severity.NOTE) for each in check_rigging(layout))


def on_base(rig: Rig, tube: Tube, mass: float) -> Rig:
    footing = rig.footings[0]
    assert footing.base is not None
    base = Base(mass, footing.base.reach, footing.base.legs)
    return dataclasses.replace(rig, footings=(Footing(footing.member, tube, base),))


def plain_enumeration(asked: Asked, lay: partial[Layout], found: Rigs) -> Iterator[tuple[str, str, float]]:
    """The lightest base of each cord and tube for which all checks are quiet, found by trying every step."""
    for carrier in {each.rig.hanging.carrier.name: each for each in found.options if each.rig.hanging}.values():
        for tube in asked.wish.tubes:
            for step in range(1, STEPS + 1):
                rig = on_base(carrier.rig, tube, 4.0 * step)
                if is_quiet(lay(rig)):
                    assert rig.hanging is not None
                    yield rig.hanging.carrier.name, tube.name, 4.0 * step
                    break


def test_no_tube_and_no_lighter_base_that_holds_is_missed(garlanded: tuple[Asked, partial[Layout], Rigs]) -> None:
    asked, lay, found = garlanded
    held = set(plain_enumeration(asked, lay, found))
    chosen = {
        (each.rig.hanging.carrier.name, each.rig.footings[0].tube.name, each.rig.footings[0].base.mass)
        for each in found.options
        if each.is_clean and each.rig.hanging and each.rig.footings[0].tube and each.rig.footings[0].base
    }
    assert chosen
    assert chosen <= held
    # what holds and isn't chosen is beaten by something that is
    tubes = {tube.name: tube for tube in asked.wish.tubes}
    best = [(each.cost, mass_held(lay(each.rig))) for each in found.options]
    for _, tube, mass in held - chosen:
        layout = lay(on_base(found.options[0].rig, tubes[tube], mass))
        assert any(cost <= whole_list(layout) and mine <= mass_held(layout) + 1e-9 for cost, mine in best)


def mass_held(layout: Layout) -> float:
    """Mass of posts and their bases, the cord left out, which is the same on all of them. [kg]"""
    supports = [each.support for each in layout.piece.members]
    return sum(2.4 * each.tube.mass.value + each.base.mass for each in supports if each.tube and each.base)


def whole_list(layout: Layout) -> int:
    """Price of all tube, cord and what joins them on the maker's own shopping list, in hundredths."""
    lines = shopping_list(layout, cut_all(layout)).lines
    is_held = ("end cap", "sleeve", "cable-tie")
    return sum(line.total or 0 for line in lines if line.kind in ("tube", "cord") or line.part.startswith(is_held))


def test_what_holds_and_what_lights_add_up_to_the_shopping_list_and_the_work(
    garlanded: tuple[Asked, partial[Layout], Rigs],
) -> None:
    asked, lay, found = garlanded
    setting, strip, grouping = Setting(asked), find(Strip, "ws2812b-30"), whole_members(asked, 2)
    build = make_build(setting, strip, grouping, lay())
    board, pack = find(Board, "m328p-16mhz-crystal"), find(Pack, "pack-10ah-2a")
    lit = weigh(build, board, pack, 1, 20)
    assert lit is not None
    for rig in found.options:
        option = joined(lit, rig)
        layout = lay_plain(setting, strip, grouping, rig.rig)
        cuts = cut_all(layout)
        bought = shopping_list(layout, cuts)
        other = sum(line.total or 0 for line in bought.lines if line.kind not in ("pack", "board"))
        own = cost_of(build, board, pack, 1) - build.price / 100
        assert option.figures.cost == pytest.approx(own + other / 100)
        tasks = tasks_of(layout, cuts, bought, {}, {})
        hands = sum(task.likely for task in tasks if not task.is_wait and not task.name.startswith("soak test"))
        assert option.figures.work == pytest.approx(hands)


def test_less_wind_never_takes_more(garlanded: tuple[Asked, partial[Layout], Rigs]) -> None:
    asked, lay, found = garlanded
    prices = RigPrices(lay(), (), ())
    cheapest = [min(each.cost for each in found.options)]
    lightest = [min(each.mass for each in found.options)]
    for wind in (6.0, 3.0):
        rigs = find_rigs(asked.wish, asked.members, lay, prices, wind)
        cheapest.append(min(each.cost for each in rigs.options))
        lightest.append(min(each.mass for each in rigs.options))
    assert cheapest == sorted(cheapest, reverse=True)
    assert lightest == sorted(lightest, reverse=True)


def test_a_cord_that_the_brief_names_is_kept() -> None:
    text = GARLANDED.replace('point = "top"', 'point = "top", carrier = "polyester-4", weak_link = "60 N"')
    _, lay, found = read(text)
    assert {each.rig.hanging.carrier for each in found.options if each.rig.hanging} == {find(Cord, "polyester-4")}
    spans = [
        section
        for circuit in lay(found.options[0].rig).piece.circuits
        for run in circuit.runs
        for section in run.sections
        if isinstance(section, SpanSection)
    ]
    assert [span.hold.weak_link for span in spans] == [60.0]

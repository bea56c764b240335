"""A curtain on the mains is proposed on supplies that may stand there, on outlets that may fail."""

from __future__ import annotations

import datetime
import json
import math
from dataclasses import replace
from pathlib import Path

import pytest

from lampwright.cli.propose import plain_candidate
from lampwright.faults import embody
from lampwright.faults.odds import demand_holds, evening_chances, rates
from lampwright.layout import lay_out
from lampwright.parts import Supply, load_catalogue
from lampwright.piece.read import piece_from_text
from lampwright.propose.demands import demands_of
from lampwright.propose.design import cap_of, lead_of, piece_of
from lampwright.propose.finalist import make_candidate, work_on
from lampwright.propose.search import search, unbeaten, weigh_all
from lampwright.propose.space import Space, supplies_for
from lampwright.propose.telling import COMES_TO
from lampwright.units import MakerError
from tests.propose.test_propose import TWO_POSTS, make_space

ON_MAINS = TWO_POSTS.replace('place = "yard"', 'place = "hall"\nwhere = "indoors"').replace(
    "seen_from", 'supply = "mains"\noutlets = 2\nseen_from'
)


@pytest.fixture(scope="module")
def space() -> Space:
    found, probe = make_space(ON_MAINS)
    return replace(found, packs=supplies_for(probe.brief, load_catalogue()), counts=(1,))


def test_the_search_over_supplies_is_that_of_plain_enumeration(space: Space) -> None:
    build = space.builds[0]
    demands = demands_of(build.setting.asked.wish, replace(build.piece.brief, budget=250.0))
    plain = [each for each in weigh_all(space) if all(demand.is_met(each.figures) for demand in demands)]
    found = search(space, demands).options
    assert [each.figures for each in found] == [each.figures for each in unbeaten(plain)]
    assert found
    assert all(math.isinf(each.figures.run_time) for each in found)


def test_a_design_hangs_on_outlets_by_turns_and_its_fuse_carries_its_limiter(space: Space) -> None:
    option = search(space, ()).options[0]
    asked = option.build.setting.asked
    piece = piece_of(asked, option.design())
    assert [each.outlet for each in piece.circuits[:2]] == ["A", "B"]
    for circuit in piece.circuits:
        assert isinstance(circuit.source, Supply)
        assert circuit.current_cap <= cap_of(circuit.source) + 0.005
        assert circuit.wiring.lead.wire.name == lead_of(circuit.source)
    body = embody(lay_out(piece))
    assert option.figures.odds == pytest.approx(demand_holds(body, evening_chances(body, rates())))


def test_only_supplies_that_bear_the_place_are_proposed(space: Space) -> None:
    brief = space.builds[0].piece.brief
    assert {each.ip for each in supplies_for(brief, load_catalogue())} == {"IP20", "IP67"}
    for is_outdoors in (True, None):
        assert {each.ip for each in supplies_for(replace(brief, is_outdoors=is_outdoors), load_catalogue())} == {"IP67"}
    assert all("sealed" in each.name for each in supplies_for(replace(brief, coldest=263.15), load_catalogue()))


def test_nobody_is_sent_off_on_a_mains_lead() -> None:
    carried = ON_MAINS.replace('shape = "straight"\n', 'shape = "staff"\nheld = "1 m"\ngrip = "0.6 m"\n')
    with pytest.raises(MakerError) as caught:
        make_space(carried)
    assert caught.value.problems[0].code == "PIECE-032"


def test_a_finished_design_tells_that_lasting_has_no_end(space: Space) -> None:
    option = search(space, ()).options[0]
    candidate = make_candidate(work_on(option, datetime.date(2026, 12, 1), frozenset()))
    assert candidate is not None
    assert COMES_TO["lasts"](candidate) == "no end"
    assert "as long as the mains is on" in candidate.text
    plain = json.loads(json.dumps(plain_candidate(1, candidate), allow_nan=False))
    assert plain["supply"].startswith("supply-")
    assert plain["run_time_s"] is None
    piece = piece_from_text(candidate.text, Path("posts.toml"))
    assert all(each.is_on_mains for each in piece.circuits)

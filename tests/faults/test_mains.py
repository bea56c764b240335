"""An outlet that fails takes every circuit on it: the odds must not count it as many independent faults."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from lampwright.faults.arrangements import compare_arrangements
from lampwright.faults.changes import changes
from lampwright.faults.cost import PASSING, lit_circuits
from lampwright.faults.every import Body, embody, every_fault, join_damages, show_damage
from lampwright.faults.kinds import FaultKind
from lampwright.faults.odds import lit_circuit_odds
from lampwright.faults.repair import repair_languages, repairs
from lampwright.faults.showing import Damage
from lampwright.faults.spares import expected_failures
from lampwright.faults.survey import judge_survival, survey
from lampwright.findings.model import Severity
from tests.faults.pieces import OF_MAINS, row

ONE = 'supply = "supply-4a"'
TWO = 'supply = "supply-4a"\noutlet = ["left", "right"]'
FEW = (FaultKind.SUPPLY_DEAD, FaultKind.OUTLET_OFF, FaultKind.POST_DOWN)


def mains(source: str, count: int = 4, **more: str) -> Body:
    return embody(row(count, source=source, **more))  # type: ignore[arg-type]


def enumerated(body: Body, chances: dict[FaultKind, float]) -> np.ndarray:
    """Return the distribution of lit circuits by going through every set of faults."""
    faults = [each for each in every_fault(body) if each.lasts > PASSING and chances[each.kind] > 0]
    found = np.zeros(len(body.anatomies) + 1)
    for broken in itertools.product((False, True), repeat=len(faults)):
        chance, damages = 1.0, dict[int, Damage]()
        for fault, is_broken in zip(faults, broken, strict=True):
            chance *= chances[fault.kind] if is_broken else 1.0 - chances[fault.kind]
            damages = join_damages(damages, fault.damages) if is_broken else damages
        found[int(lit_circuits(body, show_damage(body, damages).lost).sum())] += chance
    return found


@pytest.mark.parametrize("source", [ONE, TWO])
@pytest.mark.parametrize("garland", [False, True])
def test_the_odds_with_outlets_are_those_of_plain_enumeration(source: str, garland: bool) -> None:
    body = embody(row(3, source=source, garland=garland, length="0.5 m"))
    for seed in range(3):
        dice = np.random.default_rng(seed)
        chances = dict.fromkeys(FaultKind, 0.0) | {kind: float(dice.uniform(0.05, 0.4)) for kind in FEW}
        assert lit_circuit_odds(body, chances) == pytest.approx(enumerated(body, chances), abs=1e-12)


def test_one_outlet_takes_all_or_nothing() -> None:
    chances = dict.fromkeys(FaultKind, 0.0) | {FaultKind.OUTLET_OFF: 0.1}
    assert lit_circuit_odds(mains(ONE), chances) == pytest.approx([0.1, 0, 0, 0, 0.9])
    # two outlets by hand: both 0.01, one of them 2 x 0.09, none 0.81
    assert lit_circuit_odds(mains(TWO), chances) == pytest.approx([0.01, 0, 0.18, 0, 0.81])


def test_circuits_on_the_mains_have_no_packs_that_fail_and_others_no_supplies() -> None:
    of_mains = {fault.kind for fault in every_fault(mains(ONE))}
    of_packs = {fault.kind for fault in every_fault(embody(row()))}
    assert of_mains - of_packs == OF_MAINS
    assert of_packs - of_mains == {
        FaultKind.PACK_EMPTY,
        FaultKind.PACK_OFF,
        FaultKind.PACK_COLD,
        FaultKind.CABLE_BROKEN,
    }


def test_an_outlet_that_takes_too_much_breaks_the_demand_and_more_outlets_mend_it() -> None:
    finding = judge_survival(survey(row(4, source=ONE)))
    assert finding.severity is Severity.FAIL
    assert finding.value == 'broken by outlet "A": the mains is off'
    assert finding.do.startswith("circuits dealt out to 4 outlets, each with an RCD of its own would do")
    each_its_own = 'supply = "supply-4a"\noutlet = ["one", "two", "three", "four"]'
    assert judge_survival(survey(row(4, source=each_its_own))).severity is Severity.PASS


def test_no_second_pack_is_offered_to_a_supply() -> None:
    names = [change.name for change in changes(mains(ONE))]
    assert not any("pack" in name for name in names)
    assert "a supply and a board ready, and someone to swap them" in names
    assert [name for name in names if "outlets" in name] == [
        "circuits dealt out to 2 outlets, each with an RCD of its own",
        "circuits dealt out to 4 outlets, each with an RCD of its own",
    ]
    compared = {each.name: each for each in compare_arrangements(mains(ONE))}
    assert compared[names[-1]].holds > compared["as the piece file says"].holds


def test_the_crew_is_told_what_to_do_without_a_word_of_batteries() -> None:
    body = embody(row(2, source=TWO, garland=True))
    kinds = {fault.kind for fault in every_fault(body)}
    for language in repair_languages():
        found = repairs(body, language)
        assert {kind for each in found for kind in each.kinds} == kinds
        text = " ".join((each.sees + " ".join(each.steps)).lower() for each in found)
        assert "batter" not in text
        assert "akku" not in text


def test_a_supply_is_among_the_spares() -> None:
    expected = expected_failures(mains(ONE), 10)
    assert expected["supply"] > 0
    assert "pack" not in expected

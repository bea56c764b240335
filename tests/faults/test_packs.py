"""Two packs on a circuit: one of them may fail, if the other is awake and may carry everything."""

from __future__ import annotations

import pytest

from lampwright.faults import judge_survival, survey
from lampwright.faults.anatomy import take_apart
from lampwright.faults.cost import joint_outages, single_outages
from lampwright.faults.every import OF_ONE_PACK, embody, every_fault
from lampwright.faults.kinds import FaultKind
from lampwright.faults.odds import lit_circuit_odds
from lampwright.findings.model import Severity
from tests.faults.pieces import row

SHARED = 'packs = 2\njoined = "ideal diode"\n'
AWAKE = SHARED + 'keep_awake = "47 ohm"\n'  # 106 mA, above the 100 mA at which the pack switches off


@pytest.mark.parametrize(
    ("packs", "n_pack"),
    [
        ("", 1),
        ('packs = 2\njoined = "in turn"\n', 1),
        (SHARED, 1),  # the pack that gives nothing falls asleep
        (AWAKE, 2),
        (AWAKE + 'current_cap = "2.1 A"\n', 1),  # more than one pack may give
        (AWAKE.replace("= 2", "= 3"), 2),
    ],
)
def test_a_second_pack_counts_only_where_it_takes_over(packs: str, n_pack: int) -> None:
    layout = row(packs=packs)
    assert [take_apart(circuit).n_pack for circuit in layout.circuits] == [n_pack] * 4


def test_one_pack_gone_loses_nothing_and_both_put_the_circuit_out() -> None:
    body = embody(row(count=1, packs=AWAKE))
    of_packs = [fault for fault in every_fault(body) if fault.kind in OF_ONE_PACK]
    assert [fault.name for fault in of_packs] == [
        "post 1, pack 1: the pack is empty",
        "post 1, pack 2: the pack is empty",
        "post 1, pack 1: the pack shut itself off",
        "post 1, pack 2: the pack shut itself off",
    ]
    assert not any(outage.lost.any() for outage in single_outages(body, of_packs))
    both = joint_outages(body, of_packs)
    # either way of losing the one with either way of losing the other
    assert len(both) == 4
    assert all(outage.lost.all() for outage in both)


def test_packs_in_pairs_meet_a_demand_that_one_pack_each_does_not() -> None:
    only_packs = [kind for kind in FaultKind if kind in (FaultKind.PACK_EMPTY, FaultKind.PACK_OFF)]
    chances = {kind: 0.1 if kind in only_packs else 0.0 for kind in FaultKind}
    alone, paired = (embody(row(count=1, packs=packs)) for packs in ("", AWAKE))
    # by hand: one pack works with 0.9 × 0.9 = 0.81; of two, not both fail: 1 - 0.19² = 0.9639
    assert lit_circuit_odds(alone, chances)[1] == pytest.approx(0.81)
    assert lit_circuit_odds(paired, chances)[1] == pytest.approx(0.9639)


def test_cold_empties_both_packs_alike() -> None:
    chances = {kind: 0.1 if kind is FaultKind.PACK_COLD else 0.0 for kind in FaultKind}
    assert lit_circuit_odds(embody(row(count=1, packs=AWAKE)), chances)[1] == pytest.approx(0.9)


def test_a_whole_piece_survives_a_pack_and_not_a_plug() -> None:
    found = survey(row(packs=AWAKE, lit="100 %"))
    breaking = {name for names in found.breaks for name in names}
    assert not any(", pack " in name for name in breaking)
    assert judge_survival(found).severity is Severity.FAIL

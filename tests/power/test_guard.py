"""A wire that no fuse guards can set a piece on fire."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable
from itertools import combinations

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from lampwright.findings.model import Finding, Severity
from lampwright.parts import Diode, Fuse, Wire, find, load_catalogue
from lampwright.piece.model import Bank, Cable, Circuit, Feed, Joined, Origin
from lampwright.power import Conductor, board_supply, check_protection, circuit_guards, fuses_of, guards, is_guarded
from lampwright.power.guard_plan import applied, cheapest_guard
from lampwright.power.rail_draw import RailDraw
from lampwright.show.model import CircuitShow

BuildShow = Callable[..., CircuitShow]
SIZES = sorted(load_catalogue().fuses.values(), key=lambda fuse: fuse.rating.value)


def cable(wire: str, fuse: str | None = None, length: float = 1.0) -> Cable:
    return Cable(find(Wire, wire), length, None if fuse is None else find(Fuse, fuse))


def wired(show: CircuitShow, lead: Cable, *feeds: tuple[float, Cable] | tuple[float, Cable, float]) -> Circuit:
    """Return a circuit with this lead and these feeds: where, by which cable, from where on its own run."""
    circuit = show.layout.circuit
    run = dataclasses.replace(
        circuit.runs[0],
        feeds=tuple(Feed(at, by, Origin("strip", origin[0]) if origin else None) for at, by, *origin in feeds),
    )
    wiring = dataclasses.replace(circuit.wiring, lead=lead)
    return dataclasses.replace(circuit, wiring=wiring, runs=(run,))


def judged(circuit: Circuit, **currents: float) -> Finding:
    """Return POWER-021 with the lead and each feed at these currents that last."""
    names = [guard.conductor.name for guard in circuit_guards(circuit) if guard.conductor.name != "board's supply"]
    flows = np.array([currents.get(name.replace(" ", "_"), 0.1) for name in names])
    one = np.ones((1, 1), np.float32)
    draw = RailDraw(one[0], np.zeros(1, np.int32), one, tuple(names), flows, 0 * flows, flows, 0)
    return next(each for each in check_protection(circuit, draw) if each.code == "POWER-021")


def unsafe(circuit: Circuit) -> set[str]:
    return {each.conductor.name for each in circuit_guards(circuit) if not each.is_safe}


def test_a_thin_feed_behind_a_thick_lead_is_told_with_a_way_out(show_of: BuildShow) -> None:
    circuit = wired(show_of(60), cable("awg-14", "fuse-5a"), (0.0, cable("awg-20")))
    finding = judged(circuit, lead=2.6)  # 2.6 / 0.75 is 3.5: the show needs 4 A
    assert finding.severity is Severity.NOTE or finding.severity is Severity.WARN
    assert finding.summary.startswith(
        "fuses: 5 A at the pack, 1 A in the board's supply; too much for the feed of strip"
    )
    assert (finding.value, finding.limit) == ("5 A for the feed of strip at 0 %", "at most 1.5 A")
    assert finding.do == 'at the least cost: wire = "awg-14" for the feed of strip at 0 %'


def test_a_smaller_fuse_that_bears_the_show_costs_nothing(show_of: BuildShow) -> None:
    circuit = wired(show_of(60), cable("awg-14", "fuse-5a"), (0.0, cable("awg-18")))
    finding = judged(circuit, lead=1.2)
    assert finding.do == 'at the least cost: fuse = "2 A" for the lead (it bears this show)'


def test_a_long_feed_takes_a_fuse_rather_than_copper(show_of: BuildShow) -> None:
    circuit = wired(show_of(60), cable("awg-10", "fuse-15a"), (0.0, cable("awg-18", length=20.0)))
    finding = judged(circuit, lead=10.0)
    assert finding.do == 'at the least cost: fuse = "2 A" for the feed of strip at 0 %'
    assert not unsafe(wired(show_of(60), cable("awg-10", "fuse-15a"), (0.0, cable("awg-18", "fuse-2a", 20.0))))


def test_current_from_the_other_end_of_a_run_counts(show_of: BuildShow) -> None:
    """The feed at the head has its fuse, but a short in it is fed by the far end's, too."""
    show = show_of(60)
    lead, thick, thin = cable("awg-14", "fuse-5a"), cable("awg-12"), cable("awg-18", "fuse-2a")
    assert unsafe(wired(show, lead, (0.0, thin), (1.0, thick))) == {"feed of strip at 0 %"}
    assert unsafe(wired(show, lead, (0.0, thin), (1.0, thin))) == set()
    assert unsafe(wired(show, lead, (0.0, thin))) == set()
    # what begins and ends on one run has current from both ends: a fuse at one of them doesn't guard it
    assert unsafe(wired(show, lead, (0.0, thick), (1.0, thin, 0.5))) == {"feed of strip at 100 %"}


def test_a_fuse_that_the_show_blows_is_told(show_of: BuildShow) -> None:
    circuit = wired(show_of(60), cable("awg-14", "fuse-2a"), (0.0, cable("awg-14")))
    finding = judged(circuit, lead=1.8)  # 2.4 A: the next size is 3 A
    assert (finding.severity, finding.value, finding.limit) == (Severity.WARN, "2 A for the lead", "at least 3 A")
    assert finding.do == 'write fuse = "3 A" for the lead, or lower the brightness'
    fed = wired(show_of(60), cable("awg-14", "fuse-5a"), (0.0, cable("awg-18", "fuse-1a")))
    assert judged(fed, **{"feed_of_strip_at_0_%": 1.7}).do == (
        "take a wire for the feed of strip at 0 % that may carry 3 A and fuse it so, or lower the brightness"
    )


def test_a_pack_that_cannot_hurt_the_wire_makes_it_a_note(show_of: BuildShow) -> None:
    lead, feed = cable("awg-14", "fuse-3a"), cable("awg-18")  # AWG 18 may carry 2.3 A
    two_packs = Bank(2, Joined.IDEAL_DIODE, find(Diode, "diode-ideal-5a"))
    note = judged(wired(show_of(60), lead, (0.0, feed)))
    assert note.severity is Severity.NOTE  # one pack gives 2 A
    assert "an overload switches the pack off, no fuse blows" in note.summary
    both = judged(wired(show_of(60, bank=two_packs), lead, (0.0, feed)))
    assert both.severity is Severity.WARN
    assert both.summary.startswith("fuses: 3 A at each of 2 packs, 3 A behind their diodes; too much for")


def test_the_boards_supply_is_guarded_whatever_the_lead_takes(show_of: BuildShow) -> None:
    for fuse in SIZES:
        circuit = wired(show_of(60), dataclasses.replace(cable("awg-10"), fuse=fuse), (0.0, cable("awg-10")))
        supply = next(each for each in circuit_guards(circuit) if each.conductor.name == "board's supply")
        assert supply.is_safe, fuse
        assert (board_supply(circuit).fuse is not None) == (fuse.rating.value > 3.7)  # AWG 16's


def test_every_fuse_has_a_mark_of_its_own(show_of: BuildShow) -> None:
    bank = Bank(2, Joined.IDEAL_DIODE, find(Diode, "diode-ideal-5a"))
    circuit = wired(show_of(60, bank=bank), cable("awg-10", "fuse-7.5a"), (0.0, cable("awg-18", "fuse-2a")))
    assert [(each.mark, each.where, each.fuse.rating.text) for each in fuses_of(circuit)] == [
        ("F1", "pack 1", "7.5 A"),
        ("F2", "pack 2", "7.5 A"),
        ("F3", "lead", "7.5 A"),
        ("F4", "board's supply", "1 A"),
        ("F5", "feed of strip at 0 %", "2 A"),
    ]


def test_a_circuit_as_it_is_when_nothing_is_said_is_guarded(show_of: BuildShow) -> None:
    for limit in ("0.5 A", "1 A", "2 A", "3 A", "5 A", "9 A"):
        assert is_guarded(show_of(60, pack={"current_limit": limit}).layout.circuit), limit


GAUGES = st.sampled_from(["awg-10", "awg-12", "awg-14", "awg-16", "awg-18", "awg-20"])
FUSES = st.sampled_from([None, "fuse-1a", "fuse-2a", "fuse-5a"])
PLACES = ("source", "hub", "run a", "run b")
CONDUCTORS = st.lists(
    st.builds(
        lambda wire, ends, fuse: Conductor("w", find(Wire, wire), *ends, None if fuse is None else find(Fuse, fuse)),
        GAUGES,
        st.sampled_from(list(combinations(PLACES, 2))),
        FUSES,
    ),
    max_size=7,
)


@given(conductors=CONDUCTORS)
def test_what_fuses_let_through_is_the_least_cut(conductors: list[Conductor]) -> None:
    """Source: Ford and Fulkerson 1956, the greatest flow is the least cut; here every cut is tried."""
    found = guards([*conductors, Conductor("tried", find(Wire, "awg-20"), "run b", "nowhere")])[-1]
    cuts = []
    inner = PLACES[1:-1]
    for size in range(len(inner) + 1):
        for chosen in combinations(inner, size):
            near = {"source", *chosen}
            crossing = [each for each in conductors if (each.start in near) != (each.end in near)]
            cuts.append(sum(math.inf if each.fuse is None else each.fuse.rating.value for each in crossing))
    assert found.at_start == pytest.approx(min(cuts))
    assert found.at_end == 0


@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    lead=st.sampled_from(["awg-10", "awg-14"]),
    fuse=st.sampled_from(["fuse-2a", "fuse-3a", "fuse-5a"]),
    feeds=st.lists(st.tuples(GAUGES, FUSES, st.floats(0.1, 30.0)), min_size=1, max_size=3),
)
def test_what_is_proposed_guards_every_wire(
    show_of: BuildShow, lead: str, fuse: str, feeds: list[tuple[str, str | None, float]]
) -> None:
    laid = [(number / 2, cable(*each)) for number, each in enumerate(feeds)]
    circuit = wired(show_of(60), cable(lead, fuse), *laid)
    names = [guard.conductor.name for guard in circuit_guards(circuit) if guard.conductor.name != "board's supply"]
    plan = cheapest_guard(circuit, dict.fromkeys(names, (0.2, 0.4)))
    assert plan is not None
    assert is_guarded(applied(circuit, plan))
    assert (not plan.wires and not plan.fuses and plan.lead_fuse is None) == is_guarded(circuit)

"""The odds that enough stays lit: exact, and the same by simulation."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from lampwright.faults.anatomy import Anatomy, Link, Segment
from lampwright.faults.circuit_odds import chain_lit, lit_pixels
from lampwright.faults.cost import PASSING, lit_circuits
from lampwright.faults.every import Body, damage_of_member, embody, every_fault, parts_of_circuit
from lampwright.faults.kinds import FaultKind
from lampwright.faults.odds import demand_holds, lit_circuit_odds, lit_pixel_odds, work_out_odds
from lampwright.faults.showing import Damage, what_shows
from tests.faults.pieces import OF_MAINS, row

N_SAMPLE = 200
N_PIECE = 200


def random_anatomy(dice: np.random.Generator, name: str, members: list[str], backup: bool, far: bool) -> Anatomy:
    """Return a small circuit with any number of runs, joints, spans, feeds and loops."""
    segments: list[Segment] = []
    links: list[Link] = []
    runs = []
    for run in range(int(dice.integers(1, 3))):
        start, first = len(segments), sum(each.n_pixel for each in segments)
        for i in range(int(dice.integers(1, 4))):
            size = int(dice.integers(1, 5))
            is_span = bool(i and dice.random() < 0.4)
            near = members[0] if dice.random() < 0.7 else members[-1]
            held = (near, members[int(dice.integers(len(members)))]) if is_span else (near,)
            segments.append(Segment(run, f"part {run} {i}", first, size, is_span, held))
            first += size
            if i:
                links.append(Link(f"link {len(links)}", len(segments) - 1, len(segments), False))
        runs.append(tuple(range(start, len(segments))))
        for _ in range(int(dice.integers(1, 3))):
            origin = int(dice.integers(0, start + 1)) if dice.random() < 0.5 else 0
            end, is_fused = int(dice.integers(start, len(segments))) + 1, bool(dice.random() < 0.3)
            links.append(Link("feed", origin, end, True, is_fused=is_fused))
    n_pixel = sum(each.n_pixel for each in segments)
    names = tuple(f"run {i}" for i in range(len(runs)))
    n_pack = int(dice.integers(1, 3))
    has_fuse = bool(dice.random() < 0.3)
    built = (tuple(segments), tuple(links), tuple(runs), names, backup, far, n_pack)
    return Anatomy(name, n_pixel, *built, has_board_fuse=has_fuse)


def random_body(dice: np.random.Generator) -> Body:
    """Return a piece of a few such circuits that share members, each with one of its own besides."""
    piece = row(6, lit=f"{int(dice.integers(30, 100))} %", garland=True).piece
    piece = replace(piece, circuits=piece.circuits[:3])
    members = [member.name for member in piece.members]
    anatomies = []
    for number, circuit in enumerate(piece.circuits):
        turned = [*members[number:3], *members[:number], members[3 + number]]
        backup, far = (bool(each < 0.4) for each in dice.random(2))
        anatomies.append(random_anatomy(dice, circuit.name, turned, backup, far))
    offsets = [0, *itertools.accumulate(one.n_pixel for one in anatomies)]
    return Body(piece, tuple(anatomies), tuple(offsets))


def simulate(body: Body, chances: dict[FaultKind, float], dice: np.random.Generator) -> np.ndarray:
    """Break the piece by dice and look at what shows, the way the faults are drawn: lit circuits, (N_SAMPLE,)."""
    faults = [fault for fault in every_fault(body) if fault.lasts > PASSING]
    hits = dice.random((N_SAMPLE, len(faults))) < np.array([chances[fault.kind] for fault in faults])
    seen: dict[tuple[int, Damage], np.ndarray] = {}
    lit = []
    for sample in hits:
        damages = [Damage()] * len(body.anatomies)
        for index in np.flatnonzero(sample):
            for number, damage in faults[index].damages.items():
                damages[number] = damages[number] | damage
        lost = np.zeros(body.n_pixel, bool)
        for number, damage in enumerate(damages):
            if (number, damage) not in seen:
                seen[number, damage] = what_shows(body.anatomies[number], damage).lost
            lost[body.offsets[number] : body.offsets[number + 1]] = seen[number, damage]
        lit.append(int(lit_circuits(body, lost).sum()))
    return np.array(lit)


def test_exact_odds_lie_within_the_simulations_interval_on_200_random_pieces() -> None:
    dice = np.random.default_rng(7)
    excess = 0.0
    for _ in range(N_PIECE):
        body = random_body(dice)
        chances = {kind: float(dice.choice([0.0, 0.02, 0.1, 0.2])) for kind in FaultKind}
        exact = lit_circuit_odds(body, chances)
        assert exact.sum() == pytest.approx(1.0, abs=1e-12)
        lit = simulate(body, chances, dice)
        for needed in range(1, len(exact)):
            holds = min(1.0, float(exact[needed:].sum()))
            count = int((lit >= needed).sum())
            # 600 such intervals: at 1e-6 each, a false alarm comes once in 1700 runs
            low, high = stats.binom.interval(1 - 1e-6, N_SAMPLE, holds)
            assert low <= count <= high
        mean = float((exact * np.arange(len(exact))).sum())
        spread = math.sqrt(max(1e-12, float((exact * np.arange(len(exact)) ** 2).sum()) - mean**2) / N_SAMPLE)
        excess += (float(lit.mean()) - mean) / max(spread, 1e-6) if spread > 1e-5 else 0.0
    # all pieces together would show a small lean that each alone hides
    assert abs(excess) < 5 * math.sqrt(N_PIECE)


def test_exact_odds_are_those_of_plain_enumeration() -> None:
    anatomy = Anatomy(
        "loop",
        5,
        (
            Segment(0, "a", 0, 1, False, ("m",)),
            Segment(0, "b", 1, 2, True, ("m", "n")),
            Segment(0, "c", 3, 2, False, ("n",)),
        ),
        (Link("ab", 1, 2, False), Link("bc", 2, 3, False), Link("f", 0, 1, True), Link("g", 0, 3, True)),
        ((0, 1, 2),),
        ("run",),
        False,
    )
    rates = iter(np.random.default_rng(3).uniform(0.05, 0.4, len(FaultKind)))
    chances = {kind: float(next(rates)) for kind in FaultKind}
    parts = [(kind, damage) for kind, _, damage, _ in parts_of_circuit(anatomy)]
    parts = [each for each in parts if not (each[1].is_unpowered or each[1].is_silent)]
    expected = np.zeros(6)
    for broken in itertools.product((False, True), repeat=len(parts)):
        chance, damage = 1.0, Damage()
        for (kind, one), is_broken in zip(parts, broken, strict=True):
            chance *= chances[kind] if is_broken else 1.0 - chances[kind]
            damage = damage | one if is_broken else damage
        expected[5 - int(what_shows(anatomy, damage).lost.sum())] += chance
    assert lit_pixels(anatomy, chances, 1.0) == pytest.approx(expected, abs=1e-12)


@pytest.mark.parametrize("has_backup", [False, True])
def test_a_chain_is_counted_as_by_plain_enumeration(has_backup: bool) -> None:
    dead, cut = np.array([0.1, 0.3, 0.2, 0.25]), np.array([0.05, 0.0, 0.1, 0.0])
    segment = Segment(0, "a", 0, 4, False, ("m",))
    anatomy = Anatomy("chain", 4, (segment,), (Link("f", 0, 1, True),), ((0,),), ("run",), has_backup)
    expected = np.zeros(5)
    for broken in itertools.product((False, True), repeat=8):
        chance = math.prod(p if b else 1 - p for p, b in zip([*dead, *cut], broken, strict=True))
        damage = Damage(
            dead=frozenset(i for i in range(4) if broken[i]), breaks=frozenset(i for i in range(4) if broken[4 + i])
        )
        expected[4 - int(what_shows(anatomy, damage).lost.sum())] += chance
    assert chain_lit(dead, cut, has_backup) == pytest.approx(expected, abs=1e-12)


def test_a_member_that_two_circuits_need_takes_both() -> None:
    body = embody(row(2, lit="100 %", length="1.5 m", garland=True))
    chances = dict.fromkeys(FaultKind, 0.0) | {FaultKind.POST_DOWN: 0.1}
    assert set(damage_of_member(body, "post 2")) == {0, 1}
    # by hand: post 1 down puts circuit 1 out; post 2 down circuit 2, and the garland, less than half of circuit 1
    assert lit_circuit_odds(body, chances) == pytest.approx([0.1 * 0.1, 2 * 0.1 * 0.9, 0.9 * 0.9])


def test_a_member_that_holds_most_of_a_neighbours_pixels_takes_both_at_once() -> None:
    body = embody(row(2, lit="100 %", length="0.5 m", garland=True))
    chances = dict.fromkeys(FaultKind, 0.0) | {FaultKind.POST_DOWN: 0.1}
    # by hand: post 2 down takes both; post 1 alone takes one; independent circuits would give another 0.1 x 0.1
    assert lit_circuit_odds(body, chances) == pytest.approx([0.1, 0.1 * 0.9, 0.9 * 0.9])


def test_pixels_are_counted_over_the_whole_piece() -> None:
    body = embody(row(3, garland=True))
    chances = dict.fromkeys(FaultKind, 0.0) | {FaultKind.PACK_EMPTY: 0.5}
    lit = lit_pixel_odds(body, chances)
    assert len(lit) == body.n_pixel + 1
    first, second, last = (one.n_pixel for one in body.anatomies)
    assert first == second != last
    assert lit[first + last] == pytest.approx(2 * 0.125)
    assert lit[body.n_pixel] == pytest.approx(0.125)


def test_forty_circuits_with_every_kind_of_fault_are_counted_without_listing_sets() -> None:
    feed = """\
joint = [
  { at = "20 %", resistance = "20 mohm" }, { at = "40 %", resistance = "20 mohm" },
  { at = "60 %", resistance = "20 mohm" }, { at = "80 %", resistance = "20 mohm" },
]
feed = [
  { at = "0 %", wire = "awg-18", length = "0.3 m" },
  { at = "100 %", wire = "awg-18", length = "1 m" },
]"""
    body = embody(row(40, length="10 m", garland=True, feed=feed))
    # no two alike, so that nothing is worked out once for all
    anatomies = tuple(
        replace(one, links=(*one.links, *(Link("feed", 0, 1, True),) * number), has_backup=number % 2 == 0)
        for number, one in enumerate(body.anatomies)
    )
    body = replace(body, anatomies=anatomies)
    kinds = {fault.kind for fault in every_fault(body)}
    assert kinds == set(FaultKind) - OF_MAINS
    chances = dict.fromkeys(FaultKind, 0.01)
    lit = lit_circuit_odds(body, chances)  # benchmarks/fault_odds.py tells how long it takes
    assert lit.sum() == pytest.approx(1.0)


def test_what_matters_most_is_what_would_help_most() -> None:
    odds = work_out_odds(embody(row(4, lit="100 %")))
    assert odds.low < odds.holds < odds.high
    (kind, weight), *rest = odds.weights
    assert weight >= rest[0][1] > 0
    body = embody(row(4, lit="100 %"))
    assert 0 < demand_holds(body, dict.fromkeys(FaultKind, 0.001)) < 1
    assert kind in (FaultKind.PACK_COLD, FaultKind.SWITCHED_LATE, FaultKind.PLUG_OUT)


def test_a_spare_in_the_case_makes_good_the_first_circuit_that_goes_out() -> None:
    body = embody(row(3))
    chances = dict.fromkeys(FaultKind, 0.0) | {FaultKind.PACK_EMPTY: 0.2, FaultKind.RAIL_SHORT: 0.1}
    lit = lit_pixel_odds(body, chances, has_spare=True)
    size = body.anatomies[0].n_pixel
    # by hand: of three circuits each is shorted (0.1), which nothing mends, or its pack is empty (0.2)
    expected = np.zeros(4)
    for states in itertools.product((False, True), repeat=6):
        empty, shorted = states[:3], states[3:]
        chance = math.prod(0.2 if e else 0.8 for e in empty) * math.prod(0.1 if s else 0.9 for s in shorted)
        first = next((i for i in range(3) if empty[i]), None)
        out = sum(s or (e and i != first) for i, (e, s) in enumerate(zip(empty, shorted, strict=True)))
        expected[3 - out] += chance
    assert lit[::size] == pytest.approx(expected)


def test_members_of_one_circuit_alone_are_counted_within_it() -> None:
    # one circuit over twelve posts: 2 to the 12 sets of posts aren't listed, and yet the result is theirs
    n = 12
    segments = tuple(Segment(0, f"part {i}", i, 1, False, (f"post {i}",)) for i in range(n))
    links = (Link("feed", 0, 1, True), *(Link(f"link {i}", i, i + 1, False) for i in range(1, n)))
    anatomy = Anatomy("line", n, segments, links, (tuple(range(n)),), ("run",), False)
    chances = dict.fromkeys(FaultKind, 0.0) | {FaultKind.POST_DOWN: 0.1}
    lit = lit_pixels(anatomy, chances, 1.0, own=anatomy.members)
    # by hand: lit up to the first post that is down
    assert lit == pytest.approx([0.9**k * 0.1 for k in range(n)] + [0.9**n])

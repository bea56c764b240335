"""What failed at one place of a run teaches that place, and leaves the others as they were judged."""

from __future__ import annotations

import datetime
import sqlite3
from collections import Counter
from collections.abc import Mapping
from contextlib import closing
from pathlib import Path

import pytest
from scipy import stats

from lampwright.faults import learned_rates, what_was_learned, work_out_odds
from lampwright.faults.every import Body, embody, every_fault
from lampwright.faults.kinds import PLACED, FaultKind, Place, Rates, all_kinds
from lampwright.faults.learned import judged_rates
from lampwright.faults.odds import evening_chances, lit_pixel_odds
from lampwright.faults.wear import Wear, all_wear
from lampwright.layout import Layout
from lampwright.stock import Failure, Inspection, Seen, add_inspection, inspections, open_stock, seen_so_far
from lampwright.stock.tables import FILE_MARK, STEPS
from lampwright.strike import Entry, form_csv, form_of, inspect, read_form
from tests.faults.pieces import over_a_span

DAY = datetime.date(2026, 12, 21)
STEP_OF_PLACES = next(i for i, step in enumerate(STEPS) if any("watched_by_place" in line for line in step))


@pytest.fixture(scope="module")
def gate() -> Layout:
    return over_a_span()


@pytest.fixture(scope="module")
def body(gate: Layout) -> Body:
    return embody(gate)


def struck(gate: Layout, body: Body, folder: Path, damage: Mapping[tuple[str, str], Entry]) -> Inspection:
    """Return the inspection of the gate after two nights with this damage."""
    form = form_of(gate, body)
    path = folder / "inspection.csv"
    path.write_text(form_csv(form.rows, {thing: [entry] for thing, entry in damage.items()}), encoding="utf-8")
    return inspect(body, [each.failure for each in read_form(path, form)], DAY, nights=2, hours=6.4)


def seen_of(folder: Path, inspection: Inspection) -> Mapping[tuple[str, str], Seen]:
    with open_stock(folder / "stock.db", create=True) as book:
        add_inspection(book, inspection)
        assert inspections(book) == (inspection,)
        return seen_so_far(book)


def test_transitions_that_parted_raise_their_own_rate_and_not_that_of_spans(
    gate: Layout, body: Body, tmp_path: Path
) -> None:
    rows = [row for row in form_of(gate, body).rows if row.place is Place.TRANSITION]
    inspection = struck(gate, body, tmp_path, {row.key: Entry("parted") for row in rows[:2]})
    assert [each.place for each in inspection.failures] == ["transition", "transition"]
    rates = learned_rates(seen_of(tmp_path, inspection))
    judged = all_kinds()[FaultKind.RAIL_OPEN].rate
    # by hand: Beta(0.5, 199.5), 2 failures, each transition watched for two nights
    assert rates[FaultKind.RAIL_OPEN, Place.TRANSITION].mean == pytest.approx(2.5 / (200 + 2 * len(rows)))
    for quiet in (Place.FREE, Place.FIXED):
        assert rates[FaultKind.RAIL_OPEN, quiet].mean < judged.mean
    assert rates[FaultKind.RAIL_OPEN] == judged
    calm = rates | {(FaultKind.RAIL_OPEN, Place.TRANSITION): judged}
    assert work_out_odds(body, rates).holds < work_out_odds(body, calm).holds


def test_a_garland_that_parted_teaches_spans_and_leaves_transitions(gate: Layout, body: Body, tmp_path: Path) -> None:
    row = next(row for row in form_of(gate, body).rows if row.sort == "strip" and row.place is Place.FREE)
    inspection = struck(gate, body, tmp_path, {row.key: Entry("parted", str(row.first + 5))})
    rates = learned_rates(seen_of(tmp_path, inspection))
    judged = all_kinds()[FaultKind.RAIL_OPEN].rate.mean
    assert rates[FaultKind.RAIL_OPEN, Place.FREE].mean > judged > rates[FaultKind.RAIL_OPEN, Place.TRANSITION].mean


def test_data_that_is_gone_from_the_first_pixel_on_teaches_the_head(gate: Layout, body: Body, tmp_path: Path) -> None:
    row = next(row for row in form_of(gate, body).rows if row.sort == "strip" and row.first == 0)
    inspection = struck(gate, body, tmp_path, {row.key: Entry("data gone", "0")})
    assert inspection.failures[0].place == "head"


def test_every_place_on_the_form_is_watched_and_every_place_of_a_fault_has_a_row(gate: Layout, body: Body) -> None:
    watched = inspect(body, (), DAY, nights=1, hours=3.0).watched
    rows = Counter(row.place for row in form_of(gate, body).rows if row.sort in ("strip", "joint"))
    faults = Counter(fault.place for fault in every_fault(body) if fault.kind is FaultKind.RAIL_OPEN)
    # by hand: the posts, the span and its joint, and the two ways from one to the other
    assert rows == {Place.FIXED: 2, Place.FREE: 2, Place.TRANSITION: 2}
    assert faults == {Place.TRANSITION: 2, Place.FREE: 1}
    for place, count in rows.items():
        assert place is not None
        assert watched["rail-open", place.value] == watched["data-open", place.value] == count
    assert watched["data-open", "head"] == 1
    assert all((fault.place is not None) == (fault.kind in PLACED) for fault in every_fault(body))


def test_a_place_takes_its_own_rate_in_the_odds_and_no_other(body: Body) -> None:
    judged = {kind: facts.rate for kind, facts in all_kinds().items()}
    before = work_out_odds(body, judged)
    same = work_out_odds(body, judged | {(kind, place): judged[kind] for kind in PLACED for place in Place})
    assert same.holds == pytest.approx(before.holds, rel=1e-12)
    # there is no joint within a fixed stretch, so nothing rests on that
    rail = judged[FaultKind.RAIL_OPEN]
    absent = judged | {(FaultKind.RAIL_OPEN, Place.FIXED): rail.learn(50, 60)}
    assert work_out_odds(body, absent).holds == pytest.approx(before.holds, rel=1e-12)
    often = judged | {(FaultKind.RAIL_OPEN, Place.FREE): rail.learn(50, 60)}
    # by hand: a run fed at its head is whole while each of its links is; the span's one joint counts once
    holds = [every_pixel_lit(body, rates) for rates in (judged, often)]
    mean = (rail.bad + 50) / (rail.bad + rail.good + 60)
    assert holds[1] / holds[0] == pytest.approx((1 - mean) / (1 - rail.mean), rel=1e-12)


def every_pixel_lit(body: Body, rates: Rates) -> float:
    return float(lit_pixel_odds(body, evening_chances(body, rates))[-1])


def test_what_nobody_told_the_place_of_counts_at_every_place() -> None:
    judged = all_kinds()[FaultKind.RAIL_OPEN].rate
    old = {("rail-open", ""): Seen(2, 100.0, 3)}
    assert learned_rates(old)[FaultKind.RAIL_OPEN] == judged.learn(2, 100.0)
    both = learned_rates(old | {("rail-open", "transition"): Seen(1, 20.0, 1)})
    # one update after the other is the same as both at once
    assert both[FaultKind.RAIL_OPEN, Place.TRANSITION] == judged.learn(2, 100.0).learn(1, 20.0)
    assert both[FaultKind.RAIL_OPEN] == judged.learn(2, 100.0)


def test_a_book_without_places_opens_and_teaches_what_it_taught(tmp_path: Path) -> None:
    path = tmp_path / "stock.db"
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        for step in STEPS[:STEP_OF_PLACES]:
            for statement in step:
                connection.execute(statement)
        connection.execute(f"PRAGMA application_id = {FILE_MARK}")
        connection.execute(f"PRAGMA user_version = {STEP_OF_PLACES}")
        connection.execute("INSERT INTO inspection VALUES (1, 'Row', '2026-12-01', 2, 6.0, '')")
        connection.execute("INSERT INTO watched VALUES (1, 'rail-open', 24.0)")
        connection.execute(
            "INSERT INTO failure VALUES (1, 1, 'rail-open', 'post 1', 'line', 0.5, 'parted', NULL, '', '')"
        )
        # written down by the older version, which watched no ties
        connection.execute("INSERT INTO failure VALUES (2, 1, 'slipped-tie', '', 'post 1', NULL, '', NULL, '', '')")
    with open_stock(path) as book:
        (kept,) = inspections(book)
        assert kept.failures[0] == Failure("rail-open", "post 1", "line", 0.5, "parted")
        assert seen_so_far(book) == {("rail-open", ""): Seen(1, 24.0, 1)}
        with book.change() as connection:  # its watching still goes with its inspection
            connection.execute("DELETE FROM inspection")
        assert seen_so_far(book) == {}


def test_ties_tape_sleeves_and_bent_members_are_learned_and_move_no_odds(
    gate: Layout, body: Body, tmp_path: Path
) -> None:
    fixing, member = (next(row for row in form_of(gate, body).rows if row.sort == s) for s in ("fixing", "member"))
    span = next(row for row in form_of(gate, body).rows if row.sort == "span")
    damage = {fixing.key: Entry("slipped tie"), member.key: Entry("bent"), span.key: Entry("torn sleeve")}
    seen = seen_of(tmp_path, struck(gate, body, tmp_path, damage))
    learned = {(each.kind, each.place): each for each in what_was_learned(seen)}
    n_member = len(body.piece.members)
    for spot in ((Wear.SLIPPED_TIE, None), (Wear.BENT, None), (Wear.TORN_SLEEVE, Place.FREE)):
        each = learned[spot]
        assert each.seen.failures == 1
        assert each.prior == all_wear()[spot[0]].rate
        # against scipy.stats: Beta after one failure
        spread = stats.beta(each.prior.bad + 1, each.prior.good + each.seen.watched - 1)
        assert each.rate.mean == pytest.approx(spread.mean())
        assert each.span == pytest.approx(spread.interval(0.9))
    assert learned[Wear.SLIPPED_TIE, None].seen.watched == 2 * n_member
    assert learned[Wear.TAPE_LET_GO, None].rate.mean < judged_rates()["tape-let-go"].mean
    wear = {wear.value for wear in Wear}
    assert learned_rates(seen) == learned_rates({spot: each for spot, each in seen.items() if spot[0] not in wear})

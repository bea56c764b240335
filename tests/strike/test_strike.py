"""After the show: what failed is read as it was written, and what is good goes back on the shelf."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from lampwright.faults import learned_rates, work_out_odds
from lampwright.faults.every import embody, every_fault
from lampwright.faults.kinds import FaultKind, Per, all_kinds
from lampwright.faults.wear import Wear
from lampwright.findings import pages
from lampwright.findings.model import Finding, Severity
from lampwright.layout import Layout
from lampwright.making import cut_all, read_shelf, shopping_list, use_of_shelf
from lampwright.stock import (
    Failure,
    NewLot,
    add_lot,
    book_in,
    find_lots,
    history,
    issue,
    lot_of,
    open_stock,
    reserve,
    seen_so_far,
)
from lampwright.strike import (
    LEAST_USEFUL,
    FormFailure,
    draw_damage,
    form_csv,
    form_of,
    form_rows,
    inspect,
    read_form,
    reclaim,
    report_on,
)
from lampwright.strike.form import hows
from lampwright.strike.reclaim import good_stretches
from lampwright.strike.report import advice
from lampwright.units import MakerError
from tests.faults.pieces import row

DAY = datetime.date(2026, 12, 20)


@pytest.fixture(scope="module")
def layout() -> Layout:
    joint = 'joint = [{ at = "50 %", resistance = "20 mohm" }]'
    return row(3, length="2 m", feed=joint, garland=True)


def filled(layout: Layout, folder: Path, changes: dict[str, str]) -> tuple[FormFailure, ...]:
    """Return what a form says that has been filled in so: "circuit,thing" to "failed,at,minute"."""
    form = form_of(layout, embody(layout))
    lines = form_csv(form.rows).splitlines()
    for begins, cells in changes.items():
        (number,) = (i for i, line in enumerate(lines) if line.startswith(begins))
        head = lines[number].removesuffix(",,,,,")
        lines[number] = f"{head},{cells},,"
    path = folder / "form.csv"
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return read_form(path, form)


def test_an_empty_form_says_that_nothing_failed(layout: Layout, tmp_path: Path) -> None:
    assert filled(layout, tmp_path, {}) == ()


def test_everything_that_can_fail_has_a_row_and_every_way_to_fail_has_advice(layout: Layout) -> None:
    on_mains = row(2, source='supply = "supply-4a"')
    sorts = {each.sort for one in (layout, on_mains) for each in form_rows(one, embody(one))}
    assert sorts == set(hows())
    kinds = {kind or how.replace(" ", "-") for ways in hows().values() for how, kind in ways.items()}
    assert kinds == set(advice())
    assert {kind.value for kind in FaultKind} <= kinds
    known = set(pages.codes())
    assert {code for each in advice().values() for code in each.codes} <= known


def test_a_place_is_told_by_pixel_or_by_metre(layout: Layout, tmp_path: Path) -> None:
    # 30 pixels a metre: the first pixel beyond 0.5 m is number 15
    by_pixel, by_metre = (
        filled(layout, tmp_path, {'post 1,"line, post 1': f"dead pixel,{at},95"})[0] for at in ("15", "0.5 m")
    )
    assert by_pixel == by_metre
    assert (by_pixel.pixel, by_pixel.failure.kind, by_pixel.failure.minute) == (15, "pixel-dead", 95.0)
    assert by_pixel.failure.at == pytest.approx(0.5)


def test_what_cant_be_read_is_told_at_once_with_its_place(layout: Layout, tmp_path: Path) -> None:
    with pytest.raises(MakerError) as caught:
        filled(layout, tmp_path, {'post 1,"line, post 1': "deadpixel,15,", "post 2,pack": "flat,,late"})
    assert [problem.summary for problem in caught.value.problems] == [
        "a strip doesn't fail like this",
        "these are no minutes",
    ]
    assert caught.value.problems[0].do == 'did you mean "dead pixel"?'


def test_each_thing_is_watched_for_as_long_as_its_rate_counts(layout: Layout) -> None:
    body = embody(layout)
    seen = inspect(body, (), DAY, nights=2, hours=6.5)
    faults = [fault.kind for fault in every_fault(body)]
    # strip is watched between its joints too, stretch by stretch: three posts, two garlands
    more = {FaultKind.RAIL_OPEN: 5, FaultKind.DATA_OPEN: 5, FaultKind.WET_JOINT: 5}
    for kind in FaultKind:
        times = 2 if all_kinds()[kind].rate.per is Per.NIGHT else 6.5
        watched = sum(amount for (name, _), amount in seen.watched.items() if name == kind.value)
        assert watched == pytest.approx((faults.count(kind) + more.get(kind, 0)) * times)
    for wear in Wear:
        things = 5 if wear is Wear.TORN_SLEEVE else 3
        assert sum(amount for (name, _), amount in seen.watched.items() if name == wear.value) == things * 2


def stretches(layout: Layout, failures: Sequence[FormFailure]) -> list[tuple[int, int, str]]:
    circuit = layout.circuits[0]
    return [
        (each.first, each.end, each.condition)
        for each in good_stretches(circuit, circuit.runs[0], [f for f in failures if f.row.run == "line"])
    ]


def test_strip_is_cut_around_what_failed(layout: Layout, tmp_path: Path) -> None:
    n = layout.circuits[0].runs[0].n_pixel
    assert stretches(layout, ()) == [(0, n, "good")]
    dead = filled(layout, tmp_path, {'post 1,"line, post 1': "dead pixel,20,"})
    assert stretches(layout, dead) == [(0, 20, "good"), (21, n, "good")]
    near_the_end = filled(layout, tmp_path, {'post 1,"line, post 1': f"crushed,{n - 5},"})
    assert stretches(layout, near_the_end) == [(0, n - 5, "good")]  # five pixels aren't worth a joint
    somewhere = filled(layout, tmp_path, {'post 1,"line, post 1': "wet,,"})
    assert stretches(layout, somewhere) == [(0, n, "untested")]
    torn = filled(layout, tmp_path, {'post 1,"line, post 1': "torn sleeve,1 m,"})
    assert stretches(layout, torn) == [(0, n, "worn")]


@given(st.sets(st.integers(0, 58), max_size=8))
def test_no_pixel_is_reclaimed_twice_and_no_failed_one_at_all(layout: Layout, lost: set[int]) -> None:
    circuit = layout.circuits[0]
    run = circuit.runs[0]
    rows = form_rows(layout, embody(layout))
    strip = next(each for each in rows if each.sort == "strip" and each.circuit == circuit.circuit.name)
    failed = [FormFailure(strip, Failure("pixel-dead", "", "", how="dead pixel"), pixel) for pixel in sorted(lost)]
    seen: set[int] = set()
    for each in good_stretches(circuit, run, failed):
        here = set(range(each.first, each.end))
        assert len(here) >= LEAST_USEFUL
        assert not here & (seen | lost)
        seen |= here
    # what isn't reclaimed is lost, or lies in a stretch too short
    for pixel in set(range(run.n_pixel)) - seen - lost:
        left = max([-1, *(each for each in lost if each < pixel)])
        right = min([run.n_pixel, *(each for each in lost if each > pixel)])
        assert right - left - 1 < LEAST_USEFUL


def test_all_that_was_built_is_back_on_the_shelf_or_in_the_bin(layout: Layout, tmp_path: Path) -> None:
    whole = reclaim(layout, (), nights=1)
    assert whole.waste == 0.0
    length = sum(lot.count * (lot.length or 0) for lot in whole.lots if lot.part == "ws2812b-30")
    pixels = sum(run.n_pixel for circuit in layout.circuits for run in circuit.runs)
    assert length == pytest.approx(pixels / 30)
    assert sum(lot.count for lot in whole.lots if lot.part == "pack-10ah-2a") == 3
    changes = {"post 2,board": "dead,,", 'post 1,"line, post 1': "parted,20,"}
    broken = reclaim(layout, filled(layout, tmp_path, changes), nights=1)
    assert sum(lot.count for lot in broken.lots if lot.part == "m328p-16mhz-crystal") == 2
    assert broken.waste > 0
    assert broken.came_back < whole.came_back
    assert broken.spent == pytest.approx(whole.spent)


def test_a_pack_comes_back_into_its_own_lot_with_one_cycle_more(layout: Layout, tmp_path: Path) -> None:
    with open_stock(tmp_path / "stock.db", create=True) as book:
        number = add_lot(book, NewLot("pack-10ah-2a", 3, cycles=40.0, condition="new"))
        reserve(book, "Row", {number: 3})
        issue(book, "Row")
        failures = filled(layout, tmp_path, {"post 2,pack": "flat,,170"})
        inspection = inspect(embody(layout), [each.failure for each in failures], DAY, nights=2, hours=4.0)
        book_in(book, inspection, reclaim(layout, failures, nights=2).lots)
        lot = lot_of(book, number)
        assert (lot.what.count, lot.what.cycles, lot.what.condition) == (2, 42.0, "good")
        assert [each.what for each in history(book, number)][-1] == "came back"
        (flat,) = [each for each in find_lots(book, "pack-10ah-2a") if each.number != number]
        assert (flat.what.count, flat.what.condition) == (1, "untested")


def test_the_second_time_costs_less_and_knows_more(layout: Layout, tmp_path: Path) -> None:
    path = tmp_path / "stock.db"
    body = embody(layout)
    failures = filled(layout, tmp_path, {'post 1,"line, post 1': "dead pixel,20,", "post 2,plugs": "out,,30"})
    first = shopping_list(layout, cut_all(layout))
    with open_stock(path, create=True) as book:
        inspection = inspect(body, [each.failure for each in failures], DAY, nights=3, hours=6.0)
        book_in(book, inspection, reclaim(layout, failures, nights=3).lots)
        before = find_lots(book)
        with pytest.raises(MakerError, match="was inspected on 2026-12-20 already"):
            book_in(book, inspection, reclaim(layout, failures, nights=3).lots)
        assert find_lots(book) == before  # nothing comes back twice
        rates = learned_rates(seen_so_far(book))
    shelf = read_shelf(path)
    plans = cut_all(layout, shelf)
    # reclaimed strip is cut before anything is bought
    strip = next(plan for plan in plans if plan.material.kind == "strip")
    assert any(bar.stock.lot is not None for bar in strip.plan.bars)
    assert shopping_list(layout, plans, shelf).total < first.total / 2
    used = use_of_shelf(layout, shelf).lots
    with open_stock(path) as book:
        reserve(book, "Row again", used)
        assert {each.number for each in find_lots(book) if each.reserved} == set(used)
    judged = work_out_odds(body)
    learned = work_out_odds(body, rates)
    assert rates[FaultKind.PLUG_OUT].mean > all_kinds()[FaultKind.PLUG_OUT].rate.mean
    assert learned.holds != pytest.approx(judged.holds, abs=1e-4)


def test_the_map_shows_a_number_at_each_thing_that_failed(layout: Layout, tmp_path: Path) -> None:
    changes = {'post 1,"line, post 1': "dead pixel,20,", "post 2,pack": "flat,,170", ",post 3": "bent,,"}
    failures = filled(layout, tmp_path, changes)
    whole, hurt = tmp_path / "whole.png", tmp_path / "hurt.png"
    draw_damage(layout, (), whole)
    draw_damage(layout, failures, hurt)
    dark = [int((np.asarray(Image.open(path).convert("L"))[:560] < 60).sum()) for path in (whole, hurt)]
    assert dark[1] > dark[0] + 200  # the circuit whose pack was flat, the bent post, three numbers


def test_the_report_tells_what_warned_and_what_didnt(layout: Layout, tmp_path: Path) -> None:
    body = embody(layout)
    failures = filled(layout, tmp_path, {"post 2,pack": "flat,,170", "post 1,board": "dead,,"})
    inspection = inspect(body, [each.failure for each in failures], DAY, nights=1, hours=2.0)
    findings = [
        Finding("POWER-003", Severity.WARN, "post 2", "runs short", "", "", None, ""),
        Finding("BOARD-001", Severity.PASS, "post 1", "fits", "", "", None, ""),
        Finding("FLASH-001", Severity.WARN, "Row", "flashes", "", "", None, ""),
    ]
    report = report_on(body, inspection, failures, reclaim(layout, failures, 1), findings)
    assert "1 of 3 circuits were never out as a whole: 33 %." in report.happened
    assert report.happened[0] == "one night, 2 h under power, inspected on 2026-12-20; 2 things failed."
    assert sorted(report.warned) == [
        "The board is dead (once): nothing had warned of it; BOARD-001 board-out-of-ram passed.",
        "The pack is empty (once): POWER-003 pack-empty-early had warned of it.",
        "Warned, and nothing came of it this time: FLASH-001 light-flashing.",
    ]
    assert sorted(line.split(":")[0] for line in report.change) == ["The board is dead", "The pack is empty"]


def test_supplies_and_outlets_are_asked_for_and_go_back_on_the_shelf(tmp_path: Path) -> None:
    layout = row(3, source='supply = "supply-4a"\noutlet = ["left", "right"]')
    body = embody(layout)
    changes = {"post 1,supply,": "dead,,30", ",outlet left": "tripped,,40"}
    failures = filled(layout, tmp_path, changes)
    assert {each.failure.kind for each in failures} == {"supply-dead", "outlet-off"}
    seen = inspect(body, [each.failure for each in failures], DAY, nights=1, hours=2)
    assert seen.watched["outlet-off", ""] == 2
    back = reclaim(layout, failures, 1)
    assert sum(lot.count for lot in back.lots if lot.part == "supply-4a") == 2
    happened = " ".join(report_on(body, seen, failures, back, ()).happened)
    # the outlet took posts 1 and 3
    assert "1 of 3 circuits were never out as a whole" in happened

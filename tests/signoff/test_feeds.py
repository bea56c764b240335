"""The feeds that are proposed hold every frame, and the piece with them passes its checks."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from typing import Any

import pytest

from lampwright.findings.model import Severity
from lampwright.making import wire_prices
from lampwright.parts import Offer, Wire, find, unit_price
from lampwright.piece import Piece
from lampwright.power import priced_wires
from lampwright.signoff import EntryFeeds, plan_feeds, sign_off

Small = Callable[..., Piece]
DEAR = '{ at = "0 %", wire = "awg-10", length = "0.3 m" },\n  { at = "50 %", wire = "awg-10", length = "2.3 m" },'
CHEAP = '{ at = "0 %", wire = "awg-18", length = "0.3 m" },'


def planned(piece: Piece, told: Any) -> EntryFeeds:
    (entry,) = plan_feeds(sign_off(piece, told), priced_wires(), told)
    return entry


def fed_as_planned(piece: Piece, entry: EntryFeeds) -> Piece:
    """Return the piece with what was proposed."""
    runs = []
    for run, feeds in zip(piece.circuits[0].runs, entry.runs, strict=True):
        assert feeds.plan is not None
        by_wire = zip(feeds.plan.sites, feeds.plan.wires, strict=True)
        runs.append(dataclasses.replace(run, feeds=tuple(site.feed(wire) for site, wire in by_wire)))
    circuit = dataclasses.replace(piece.circuits[0], runs=tuple(runs))
    return dataclasses.replace(piece, circuits=(circuit,))


def test_a_piece_that_is_fed_as_proposed_passes(small: Small, told: Any) -> None:
    piece = small((CHEAP, DEAR))
    entry = planned(piece, told)
    (run,) = entry.runs
    assert entry.is_found
    assert run.plan is not None
    assert run.plan.cost < run.written_cost
    report = sign_off(fed_as_planned(piece, entry), told)
    power = {finding.code: finding for finding in report.findings if finding.code.startswith("POWER-01")}
    assert {finding.severity for finding in power.values()} == {Severity.PASS}
    protected = next(finding for finding in report.findings if finding.code == "POWER-021")
    assert protected.margin is None or protected.margin >= 0 or "lead" in protected.value
    assert entry.lowest == pytest.approx(min(float(rail.lowest.min()) for rail in report.rails), abs=1e-6)
    assert entry.lowest >= 4.5


def test_what_no_feed_can_hold_is_said(small: Small, told: Any) -> None:
    bright = small(
        ('brightness = "20 %"', 'brightness = "100 %"'),
        ('"pack-10ah-2a"', '"pack-10ah-2a"\nlead = { wire = "awg-20", length = "20 m" }'),
    )
    entry = planned(bright, told)
    assert not entry.is_found
    assert entry.lowest_written < 4.5
    assert all(run.plan is None for run in entry.runs)


def test_the_makers_own_prices_count() -> None:
    shop = (
        Offer("awg-18 red", 10.0, 900, 1, 2.0),
        Offer("awg-18", 50.0, 2500, 1, 2.0),
        Offer("awg-20", None, 10, 1, 1.0),
    )
    prices = {each.wire.name: each.price for each in wire_prices(shop)}
    assert prices["awg-18"] == pytest.approx(0.5)  # 25.00 for 50 m, any colour
    assert prices["awg-20"] == unit_price("awg-20")  # what isn't sold by length is no wire
    assert set(prices) == {each.wire.name for each in priced_wires()}
    assert find(Wire, "awg-18").name in prices

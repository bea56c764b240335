"""A finding that is about a moment leads to that moment."""

from __future__ import annotations

import json

import pytest
from playwright.sync_api import Page, Route, expect

from lampwright.cli.table import findings_json
from lampwright.findings.model import Finding
from lampwright.piece import read_piece
from lampwright.show.render import render
from lampwright.signoff import Report, sign_off
from lampwright.signoff.progress import Silent
from tests.page.served import SMALL, Served


@pytest.fixture(scope="module")
def report() -> Report:
    return sign_off(read_piece(SMALL), Silent())


def found(report: Report, code: str) -> Finding:
    return next(finding for finding in report.findings if finding.code == code)


def test_the_peak_of_the_draw_is_where_the_finding_says(report: Report) -> None:
    (show,), (draw,) = report.shows, report.draws
    moment = found(report, "POWER-001").moment
    assert moment is not None
    frame = round(moment * 1000 / show.frame_ms)
    assert draw.current[frame] == draw.current.max()
    brightest = render(show, frame, 1).codes.sum(dtype=int)
    assert all(render(show, other, 1).codes.sum(dtype=int) <= brightest * 1.2 for other in range(600, 700, 7))


def test_the_lowest_supply_is_where_the_finding_says(report: Report) -> None:
    (show,), (rail,) = report.shows, report.rails
    moment = found(report, "POWER-010").moment
    assert moment is not None
    assert rail.lowest[round(moment * 1000 / show.frame_ms)] == rail.lowest.min()


def test_what_is_about_no_moment_has_none(report: Report) -> None:
    assert found(report, "RIGGING-008").moment is None
    assert found(report, "POWER-005").moment is None
    assert found(report, "POWER-021").moment is None  # a short blows the fuse, whenever it comes


def test_a_button_at_the_finding_moves_the_time_bar_there(opened: Page, report: Report) -> None:
    expect(opened.locator(".findings:not(.estimate) .counts")).to_contain_text("passed", timeout=60_000)
    opened.locator("summary", has_text="passed").click()
    moment = found(report, "POWER-001").moment
    opened.get_by_role("button", name="go to the worst moment of POWER-001, post").click()
    expect(opened.get_by_role("button", name="Play", exact=True)).to_be_visible()
    assert opened.evaluate("lampwright.clock.seconds") == moment


def test_the_json_of_check_tells_the_moment(report: Report) -> None:
    rows = json.loads(findings_json("x", report.findings))["findings"]
    assert next(row for row in rows if row["code"] == "POWER-010")["moment_s"] == found(report, "POWER-010").moment


def test_nothing_moves_before_every_frame_is_screened_for_flashes(tab: Page, served: Served) -> None:
    def as_unscreened(route: Route) -> None:
        answer = route.fetch()
        route.fulfill(response=answer, json=answer.json() | {"isScreened": False})

    tab.route("**/shown", as_unscreened)
    tab.goto(served.address)
    expect(tab.get_by_role("button", name="Play", exact=True)).to_be_visible()
    began = tab.evaluate("window.lampwright.clock.seconds")
    tab.wait_for_timeout(400)
    assert tab.evaluate("window.lampwright.clock.seconds") == began
    tab.unroute("**/shown")
    tab.reload()
    expect(tab.get_by_role("button", name="Pause")).to_be_visible()

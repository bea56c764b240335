"""The curves beside the time bar hide nothing bad, and lead to it."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page, expect

from lampwright.page.traces import traces_of
from lampwright.piece import read_piece
from lampwright.signoff import Report, sign_off
from lampwright.signoff.progress import Silent
from tests.page.served import SMALL


@pytest.fixture(scope="module")
def report() -> Report:
    return sign_off(read_piece(SMALL), Silent())


@pytest.fixture
def weighed(opened: Page) -> Page:
    expect(opened.locator(".trace")).to_have_count(1, timeout=120_000)
    return opened


def test_no_dip_and_no_peak_is_lost_between_the_points(report: Report) -> None:
    (trace,), (draw,), (rail,) = traces_of(report), report.draws, report.rails
    n_frame = draw.standby_frames + draw.pass_frames
    assert min(trace["volts"]) == pytest.approx(float(rail.lowest[:n_frame].min()), abs=1e-4)
    assert max(trace["draw"]) == pytest.approx(float(draw.current[:n_frame].max()), abs=1e-4)
    frame = round(trace["lowestAt"] / draw.frame_period)
    assert rail.lowest[frame] == rail.lowest[:n_frame].min()
    assert len(trace["volts"]) == len(trace["draw"]) == len(trace["left"])


def test_the_figures_follow_the_time_bar(weighed: Page, report: Report) -> None:
    (trace,) = traces_of(report)
    now = weighed.locator(".trace .now")
    for index in (0, len(trace["draw"]) - 2):
        weighed.evaluate(f"lampwright.clock.play(false), lampwright.clock.seek({(index + 0.5) * trace['seconds']})")
        expect(now).to_contain_text(
            f"{trace['draw'][index]:.2f} of {trace['cap']:.2f} A · {trace['volts'][index]:.2f} V"
        )


def test_the_lowest_supply_is_one_key_away(weighed: Page, report: Report) -> None:
    weighed.get_by_role("button", name="go to the lowest volts of post").press("Enter")
    assert weighed.evaluate("lampwright.clock.seconds") == traces_of(report)[0]["lowestAt"]
    expect(weighed.get_by_role("button", name="Play", exact=True)).to_be_visible()


def test_a_click_on_a_trace_goes_to_that_moment(weighed: Page, report: Report) -> None:
    (trace,) = traces_of(report)
    weighed.evaluate("lampwright.clock.play(false)")
    box = weighed.locator(".trace canvas").bounding_box()
    assert box is not None
    weighed.mouse.click(box["x"] + box["width"] / 2, box["y"] + 5)
    whole = trace["seconds"] * len(trace["draw"])
    assert weighed.evaluate("lampwright.clock.seconds") == pytest.approx(whole / 2, abs=whole / 100)


def test_the_wind_stands_below_the_traces(weighed: Page) -> None:
    expect(weighed.locator("#traces .wind")).to_contain_text("take it down before gusts of")

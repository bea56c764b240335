"""The curves beside the time bar hide nothing bad, and lead to it."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from playwright.sync_api import Page, expect

from lampwright.page.traces import traces_of
from lampwright.piece import piece_from_text, read_piece
from lampwright.show import CircuitShow, sample
from lampwright.signoff import Report, estimate, get_ready, sign_off, sign_off_ready
from lampwright.signoff.progress import Silent
from tests.page.served import SMALL
from tests.small_piece import small_piece


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


def test_a_supply_has_nothing_that_runs_low() -> None:
    """The page then says "mains" in place of what is left."""
    text = small_piece().replace('pack = "pack-20ah-2a4"', 'supply = "supply-4a"')
    (trace,) = traces_of(sign_off(piece_from_text(text, Path("mains.toml")), Silent()))
    assert trace["left"] == []
    assert (trace["limit"], trace["cap"]) == pytest.approx((4.0, 0.8 * 4.0))


CHANGES = {
    "nothing": (),
    "brightness": (('brightness = "20 %"', 'brightness = "45 %"'),),
    "rate": (('rate = "10 /s"', 'rate = "25 /s"'),),
    "standby": (('standby = "1 min"', 'standby = "2 min"'),),
    "ending": (('ending = "repeat"', 'ending = "hold"'),),
    "dark ending": (('ending = "repeat"', 'ending = "dark"'),),
    "fade": (('fade = "1 s"', 'fade = "4 s"'),),
    "cue": (('length = "10 s"', 'length = "23 s"'),),
    "look": (('look = "slow-ice"', 'look = "rime-road"'),),
    "post": (('length = "4 m"', 'length = "2.7 m"'),),
    "pack": (('pack = "pack-10ah-2a"', 'pack = "pack-20ah-3a"'),),
    "wire": (('wire = "awg-18", length = "4.3 m"', 'wire = "awg-22", length = "6 m"'),),
}
"""What is changed in the piece file, by what it is about."""


def moments_of(show: CircuitShow, n_frame: int) -> NDArray[np.int64]:
    """Return the frames since power-on that the sample draws as they are: all of standby, some of the show."""
    _, firsts = np.unique(sample(show, n_frame).stands_for, return_index=True)
    begun = show.standby_frames + show.cues[0].fade
    return np.concatenate([np.arange(show.standby_frames), firsts[firsts >= begun]])


@pytest.mark.parametrize("what", CHANGES)
def test_curves_of_an_estimate_are_those_of_every_frame_where_it_has_looked(what: str) -> None:
    text = SMALL.read_text(encoding="utf-8")
    for old, new in CHANGES[what]:
        assert old in text
        text = text.replace(old, new)
    ready = get_ready(piece_from_text(text, SMALL))
    (quick,), (exact,) = (traces_of(each) for each in (estimate(ready, ()), sign_off_ready(ready, Silent())))
    (show,) = ready.shows
    n_frame = show.standby_frames + show.pass_frames
    for steady in ("name", "seconds", "cap", "limit", "leastVolts"):
        assert quick[steady] == exact[steady]
    size = round(1000 * quick["seconds"] / show.frame_ms)
    is_seen = np.zeros(n_frame, bool)
    is_seen[moments_of(show, n_frame)] = True
    points = np.flatnonzero(np.logical_and.reduceat(is_seen, np.arange(0, n_frame, size)))
    standby = show.standby_frames // size
    assert len(points) >= standby + (20 if size == 1 else 0)
    for curve in ("draw", "volts"):
        assert len(quick[curve]) == len(exact[curve]) == -(-n_frame // size)
        np.testing.assert_array_equal(np.take(quick[curve], points), np.take(exact[curve], points), curve)
    assert quick["left"][:standby] == exact["left"][:standby]
    np.testing.assert_allclose(quick["left"], exact["left"], atol=0.002)
    assert quick["draw"][round(quick["peakAt"] / quick["seconds"])] == max(quick["draw"])
    assert quick["volts"][round(quick["lowestAt"] / quick["seconds"])] == min(quick["volts"])


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

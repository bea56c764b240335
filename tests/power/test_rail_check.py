"""What the maker is told about far ends, wires and colours."""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Callable

import numpy as np
import pytest

from lampwright.findings.model import Finding, Severity
from lampwright.piece.model import Piece
from lampwright.power import gather_rails, rail_check, rail_part, ready_rails
from lampwright.show.model import CircuitShow

BuildShow = Callable[..., CircuitShow]
Judge = Callable[..., dict[str, Finding]]


@pytest.fixture
def judge(piece_with: Callable[..., Piece], monkeypatch: pytest.MonkeyPatch) -> Judge:
    """Return the findings by code of a show made of grey frames."""

    def run(show: CircuitShow, levels: list[int]) -> dict[str, Finding]:
        frames = np.repeat(np.array(levels, dtype=np.uint8), show.n_pixel * 3).reshape(-1, show.n_pixel, 3)
        monkeypatch.setattr(rail_check, "frames_at", lambda _, numbers: frames[numbers])
        show = dataclasses.replace(show, pass_frames=len(levels))
        rails = ready_rails(show.layout)
        draw = gather_rails(show, rails, [rail_part(rails, frames[:1]), rail_part(rails, frames[1:])])
        found = rail_check.check_rails(show, piece_with(brightness=0.5), rails, draw)
        return {finding.code: finding for finding in found}

    return run


def test_a_dim_strip_passes_everything(show_of: BuildShow, judge: Judge) -> None:
    findings = judge(show_of(100), [0, 20, 10])
    assert {finding.severity for finding in findings.values()} == {Severity.PASS}
    assert all(finding.do == "" for finding in findings.values())


def test_a_low_far_end_names_when_where_and_what_would_do(show_of: BuildShow, judge: Judge) -> None:
    finding = judge(show_of(300, frame_ms=1000), [0, 60, 2])["POWER-010"]
    assert finding.severity is Severity.FAIL
    assert "pixel 300 of strip, 4.99 m from its head, 1 s after power-on; 33 % of the frames" in finding.summary
    # some 4.5 A asked of a pack that loses 0.25 V at 2 A: no feed can help, but less light does
    assert finding.do.startswith('feed "strip" at 100 % of its length as well ([[circuit.run.feed]]), or write bright')


def test_the_fewest_feeds_that_serve_are_named(show_of: BuildShow, judge: Judge) -> None:
    finding = judge(show_of(200, pack={"current_limit": "9 A"}), [25, 25])["POWER-010"]
    assert finding.severity is not Severity.PASS
    assert re.match(
        r'feed "strip" at [\d %and]+ of its length,? (each )?by [a-z0-9.-]+ along the run \(wire and work some \d+ EUR',
        finding.do,
    )


def test_the_brightness_named_holds_and_a_little_more_does_not(show_of: BuildShow) -> None:
    show = show_of(300)
    rails = ready_rails(show.layout)
    bright = np.full((300, 3), 200, np.uint8)
    share = rail_check.light_that_holds(rails, bright, 4.5)
    lowest = [
        rails.solve((bright.astype(int) * round(1000 * each) // 1000).astype(np.uint8)[None]).lowest[0]
        for each in (share, share + 0.006)
    ]
    assert lowest[0] >= 4.5 > lowest[1]


def test_colours_that_shift_are_told_by_name(show_of: BuildShow, judge: Judge) -> None:
    finding = judge(show_of(300), [0, 20, 10])["POWER-013"]
    assert finding.severity is Severity.WARN
    assert "green, pixel 300 of strip" in finding.summary or "blue, pixel 300 of strip" in finding.summary
    assert finding.do.startswith("white turns yellow, then red, along the run")


def test_a_thin_feed_that_heats_fails(show_of: BuildShow, judge: Judge) -> None:
    show = show_of(100, pack={"current_limit": "9 A"})
    thin = judge(show, [110, 110])["POWER-012"]
    assert thin.severity is Severity.FAIL  # some 2.7 A through AWG 18, whose ampacity is 2.3 A
    assert thin.limit == "at most 2.3 A"
    assert "fuse it at the pack" in thin.do


def test_the_drop_of_a_wire_is_ohms_law(show_of: BuildShow, judge: Judge) -> None:
    # 0.5 m of AWG 18 and two plugs of 10 mohm: 2 x (0.5 x 20.95 + 10) mohm x 1.5 A is 61 mV
    show = show_of(100)
    level = round(255 * (1.5 - 0.03 - 0.1) / 6.0)
    finding = judge(show, [level, level])["POWER-011"]
    assert finding.severity is Severity.PASS
    assert "lead 61" in finding.summary or "lead 0.061" in finding.summary

"""A check left out of the sign-off is a fault found on the night."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from lampwright.findings.model import Severity
from lampwright.piece import Piece
from lampwright.power import n_frame_to_measure, ready_rails
from lampwright.show import view_piece
from lampwright.signoff import Silent, measure, sign_off
from lampwright.units import MakerError

Small = Callable[..., Piece]


def test_every_check_is_there_in_the_order_of_the_work(small: Small, told: Any) -> None:
    report = sign_off(small(), told)
    assert [finding.code for finding in report.findings] == [
        "BOARD-001",
        "BOARD-002",
        "POWER-001",
        "POWER-002",
        "POWER-003",
        "POWER-004",
        "POWER-005",
        "POWER-010",
        "POWER-011",
        "POWER-012",
        "POWER-013",
        "POWER-020",
        "POWER-021",
        "POWER-030",
        "POWER-031",
        "POWER-032",
        "POWER-042",
        "RIGGING-007",
        "RIGGING-008",
        "FAULT-001",
        "SHOW-004",
        "FLASH-001",
        "FLASH-002",
    ]
    assert report.has_passed
    assert report.layout.circuits[0].n_pixel == 240


def test_every_frame_of_standby_pass_and_repeat_is_weighed(small: Small, told: Any) -> None:
    report = sign_off(small(), told)
    n_frame = 600 + 100 + 10  # a minute of standby, ten seconds of show, one of fade into the repeat
    assert n_frame_to_measure(report.shows[0]) == len(report.draws[0].current) == n_frame
    assert told.stages == {"draw, rails and flashes of every frame": (n_frame, n_frame)}


def test_side_by_side_measuring_gives_the_same_draw_and_flashes(
    small: Small, told: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    report = sign_off(small(), Silent())
    shows, sheet = report.shows, report.piece.show
    view = view_piece([show.layout for show in shows])
    networks = [ready_rails(show.layout) for show in shows]
    alone = measure.measure_shows(shows, networks, sheet, view, Silent())
    monkeypatch.setattr(measure, "ALONE_BELOW", 0)
    monkeypatch.setattr(measure, "STRETCH_FRAMES", 300)
    monkeypatch.setattr(measure.os, "cpu_count", lambda: 2)
    together = measure.measure_shows(shows, networks, sheet, view, told)
    assert (together.draws[0].current == alone.draws[0].current).all()
    assert (together.rails[0].lowest == alone.rails[0].lowest).all()
    assert together.rails[0].wire_rms == pytest.approx(alone.rails[0].wire_rms, rel=1e-12)
    assert together.flashing.general.worst.flashes == alone.flashing.general.worst.flashes == 1.0
    assert together.flashing.general.worst.start == alone.flashing.general.worst.start
    assert told.stages == {"draw, rails and flashes of every frame": (710, 710)}


def test_five_metres_at_144_are_refused_and_no_show_is_made_for_them(small: Small) -> None:
    piece = small(("ws2812b-60", "ws2812b-144"), ('length = "4 m"', 'length = "5 m"'))
    report = sign_off(piece, Silent())
    assert not report.has_passed
    assert report.shows == report.draws == ()
    ram, line, *_ = report.findings
    assert (ram.code, ram.severity, ram.value, ram.limit) == (
        "BOARD-001",
        Severity.FAIL,
        "2592 bytes",
        "at most 2048 bytes",
    )
    assert line.code == "BOARD-002"


def test_a_look_that_is_not_there_is_named_even_when_no_board_has_room(small: Small) -> None:
    piece = small(("ws2812b-60", "ws2812b-144"), ('length = "4 m"', 'length = "5 m"'), ('"slow-ice"', '"slow-icy"'))
    with pytest.raises(MakerError) as caught:
        sign_off(piece, Silent())
    assert [problem.code for problem in caught.value.problems] == ["SHOW-001"]


def test_what_no_firmware_can_be_written_for_is_refused_by_the_check(small: Small) -> None:
    slow = small(('rate = "10 /s"', 'rate = "8 /s"'))
    with pytest.raises(MakerError) as caught:
        sign_off(slow, Silent())
    assert [problem.code for problem in caught.value.problems] == ["FIRMWARE-003"]


def test_a_section_without_room_stops_before_anything_is_judged(small: Small) -> None:
    with pytest.raises(MakerError) as caught:
        sign_off(small(('on = "post"', 'on = "post"\nbare_start = "3.99 m"')), Silent())
    assert [problem.code for problem in caught.value.problems] == ["LAYOUT-001"]

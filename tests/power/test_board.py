"""Whether the board has room and time for its pixels, before anything is built."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from lampwright.findings.model import Severity
from lampwright.power import check_board
from lampwright.show.model import CircuitShow

BuildShow = Callable[..., CircuitShow]


def test_five_metres_at_144_per_metre_are_refused_with_ram_needed_and_ram_there(show_of: BuildShow) -> None:
    ram, _ = check_board(show_of(720).layout, 0.050)
    assert ram.code == "BOARD-001"
    assert ram.severity is Severity.FAIL
    assert ram.summary == "RAM for 720 pixels on atmega328p, 400 bytes of it kept for the stack"
    # 3 × 720 bytes of buffer + 32 of variables + 400 of stack
    assert (ram.value, ram.limit) == ("2592 bytes", "at most 2048 bytes")
    # (2048 - 432) / 3 = 538.7
    assert ram.do == (
        "put at most 538 pixels on this board: split the run over two circuits, "
        "choose a strip with fewer pixels per metre, or a chip with more RAM"
    )


def test_frost_gates_longest_circuit_fits(show_of: BuildShow) -> None:
    ram, line = check_board(show_of(459).layout, 0.025)
    assert (ram.severity, ram.value) == (Severity.PASS, "1809 bytes")
    assert ram.margin == pytest.approx(1 - 1809 / 2048)
    # 459 × 30 µs + 300 µs
    assert (line.severity, line.value, line.limit) == (Severity.PASS, "14.1 ms", "at most 25 ms")


def test_a_line_busy_longer_than_a_frame_is_a_failure(show_of: BuildShow) -> None:
    _, line = check_board(show_of(500).layout, 0.010)
    assert line.severity is Severity.FAIL
    # 15.3 ms busy; with a fifth of the period left over: 19.125 ms, and the next period that
    # gives a round rate is 20 ms
    assert line.do == 'write rate = "50 /s" or less, or put fewer pixels on this circuit'


def test_a_line_that_leaves_little_time_is_warned_of(show_of: BuildShow) -> None:
    _, line = check_board(show_of(500).layout, 0.016)
    assert line.severity is Severity.WARN
    assert line.do == 'little time is left to work out the next frame: consider rate = "50 /s"'

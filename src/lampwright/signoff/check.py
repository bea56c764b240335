"""From a piece to its findings: layout, boards, show, power, rigging, faults."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from lampwright.faults import judge_starts, judge_survival, survey
from lampwright.findings.model import Finding, Severity
from lampwright.firmware import refusals
from lampwright.layout import CircuitLayout, Layout, check_layout, lay_out
from lampwright.piece.model import Piece
from lampwright.power import (
    Draw,
    RailDraw,
    Rails,
    check_board,
    check_mains,
    check_packs,
    check_passives,
    check_power,
    check_protection,
    check_rails,
    check_supply,
    ready_rails,
    with_readings,
)
from lampwright.rigging import check_rigging
from lampwright.show import CircuitShow, check_flashes, check_levels, compile_show, view_piece
from lampwright.signoff.measure import measure_shows
from lampwright.signoff.progress import Progress
from lampwright.units import MakerError, Problem


@dataclass(frozen=True)
class Report:
    """What is known of a piece before anything is built.

    ``shows``, ``draws`` and ``rails`` leave out circuits whose board has too little RAM: no firmware can be
    made for them.
    """

    piece: Piece
    layout: Layout
    shows: tuple[CircuitShow, ...]
    draws: tuple[Draw, ...]
    rails: tuple[RailDraw, ...]
    findings: tuple[Finding, ...]

    @property
    def has_passed(self) -> bool:
        """Whether no check failed."""
        return has_passed(self.findings)


def has_passed(findings: tuple[Finding, ...]) -> bool:
    """Return whether none of these is a failure."""
    return all(finding.severity is not Severity.FAIL for finding in findings)


@dataclass(frozen=True)
class Ready:
    """A piece laid out, wired and compiled, its figures fitted to its meter readings; no frame is measured yet."""

    piece: Piece
    layout: Layout
    boards: Mapping[str, tuple[Finding, ...]]
    """Findings on each circuit's board, by the circuit's name."""
    shows: tuple[CircuitShow, ...]
    networks: tuple[Rails, ...]
    """Of each show."""


@dataclass(frozen=True)
class Weighed:
    """What frames come to: of each show its draw and rails, and the findings on flashes of all together."""

    draws: tuple[Draw, ...]
    rails: tuple[RailDraw, ...]
    flashes: tuple[Finding, ...]


def get_ready(piece: Piece) -> Ready:
    """Return a piece with everything that comes before its frames.

    Raises
    ------
    MakerError
        As :func:`sign_off`.
    """
    layout = lay_out(piece)
    layout = dataclasses.replace(layout, circuits=tuple(with_readings(circuit) for circuit in layout.circuits))
    boards = {c.circuit.name: check_board(c, piece.show.frame_period) for c in layout.circuits}
    fitting = tuple(c for c in layout.circuits if _has_room(boards[c.circuit.name]))
    shows = compile_show(dataclasses.replace(layout, circuits=fitting))
    _refuse_what_firmware_cannot_do(shows, boards)
    return Ready(piece, layout, boards, shows, _ready_networks(fitting))


def sign_off(piece: Piece, progress: Progress) -> Report:
    """Return every finding that needs no firmware, circuit by circuit.

    Raises
    ------
    MakerError
        What in the piece file, its layout or its looks can't be read or is wrong; what no firmware can be written
        for, unless a finding says so already.
    """
    return sign_off_ready(get_ready(piece), progress)


def sign_off_ready(
    ready: Ready,
    progress: Progress,
    standing: tuple[Finding, ...] | None = None,
    screened: Callable[[tuple[Finding, ...]], None] = lambda _: None,
) -> Report:
    """Return every finding on a piece that is ready, from every frame of its show.

    ``standing`` are the findings on faults and rigging, where they are known from before; ``screened`` is given those
    on flashes as soon as they are there.
    """
    weighed = _measure(ready, progress)
    screened(weighed.flashes)
    known = (*check_rigging(ready.layout), *judge_faults(ready.layout)) if standing is None else standing
    return judge(ready, weighed, known)


def judge(ready: Ready, weighed: Weighed, standing: tuple[Finding, ...]) -> Report:
    """Return the report of a piece whose frames are weighed; ``standing`` are the findings that need no frame."""
    piece = ready.piece
    powers = {
        show.layout.circuit.name: _in_order(
            *check_power(show, piece, draw),
            *_check_source(show, piece, draw, network),
            *check_rails(show, piece, network, rail),
            *check_protection(show.layout.circuit, rail),
            *check_passives(show.layout, draw),
        )
        for show, draw, network, rail in zip(ready.shows, weighed.draws, ready.networks, weighed.rails, strict=True)
    }
    findings = tuple(finding for circuit in ready.layout.circuits for finding in _of(circuit, ready.boards, powers))
    whole = (*check_layout(ready.layout), *check_mains(piece), *standing, check_levels(piece), *weighed.flashes)
    return Report(piece, ready.layout, ready.shows, weighed.draws, weighed.rails, (*findings, *whole))


def _check_source(show: CircuitShow, piece: Piece, draw: Draw, network: Rails) -> tuple[Finding, ...]:
    circuit = show.layout.circuit
    if circuit.is_on_mains:
        return check_supply(circuit, piece.brief, draw)
    return check_packs(show, piece, draw, network)


def judge_faults(layout: Layout) -> tuple[Finding, ...]:
    """Return the findings on every fault of a piece, and on its being switched on by hand."""
    surveyed = survey(layout)
    starts = judge_starts(surveyed.body)
    return (judge_survival(surveyed), *([starts] if starts else []))


def _in_order(*findings: Finding) -> tuple[Finding, ...]:
    return tuple(sorted(findings, key=lambda finding: finding.code))


def _ready_networks(layouts: Sequence[CircuitLayout]) -> tuple[Rails, ...]:
    """Return each circuit's rails; all that is wired wrongly is told at once, what comes from one entry once."""
    networks: list[Rails] = []
    problems: list[Problem] = []
    for layout in layouts:
        try:
            networks.append(ready_rails(layout))
        except MakerError as error:
            problems += [problem for problem in error.problems if problem not in problems]
    if problems:
        raise MakerError(problems)
    return tuple(networks)


def _measure(ready: Ready, progress: Progress) -> Weighed:
    if not ready.shows:
        return Weighed((), (), ())
    view = view_piece([show.layout for show in ready.shows])
    measured = measure_shows(ready.shows, ready.networks, ready.piece.show, view, progress)
    flashes = check_flashes(ready.piece, ready.shows, view, measured.flashing)
    return Weighed(measured.draws, measured.rails, flashes)


def _refuse_what_firmware_cannot_do(shows: tuple[CircuitShow, ...], boards: dict[str, tuple[Finding, ...]]) -> None:
    """Raise now what building would refuse, so that no piece passes its checks that can't be built."""
    sound = [show for show in shows if has_passed(boards[show.layout.circuit.name])]
    if problems := refusals(sound):
        raise MakerError(problems)


def _has_room(findings: tuple[Finding, ...]) -> bool:
    return not any(f.code == "BOARD-001" and f.severity is Severity.FAIL for f in findings)


def _of(
    circuit: CircuitLayout, boards: Mapping[str, tuple[Finding, ...]], powers: dict[str, tuple[Finding, ...]]
) -> tuple[Finding, ...]:
    name = circuit.circuit.name
    return boards[name] + powers.get(name, ())

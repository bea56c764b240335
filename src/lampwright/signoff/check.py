"""From a piece to its findings: layout, boards, show, power."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass

from lampwright.findings.model import Finding, Severity
from lampwright.layout import CircuitLayout, Layout, lay_out
from lampwright.piece.model import Piece
from lampwright.power import Draw, check_board, check_power
from lampwright.show import CircuitShow, check_flashes, check_levels, compile_show, view_piece
from lampwright.signoff.measure import measure_shows
from lampwright.signoff.progress import Progress


@dataclass(frozen=True)
class Report:
    """What is known of a piece before anything is built.

    ``shows`` and ``draws`` leave out circuits whose board has too little RAM: no firmware can be
    made for them.
    """

    piece: Piece
    layout: Layout
    shows: tuple[CircuitShow, ...]
    draws: tuple[Draw, ...]
    findings: tuple[Finding, ...]

    @property
    def has_passed(self) -> bool:
        """Whether no check failed."""
        return has_passed(self.findings)


def has_passed(findings: tuple[Finding, ...]) -> bool:
    """Return whether none of these is a failure."""
    return all(finding.severity is not Severity.FAIL for finding in findings)


def sign_off(piece: Piece, progress: Progress) -> Report:
    """Return every finding that needs no firmware, circuit by circuit.

    Raises
    ------
    MakerError
        What in the piece file, its layout or its looks can't be read or is wrong.
    """
    layout = lay_out(piece)
    boards = {c.circuit.name: check_board(c, piece.show.frame_period) for c in layout.circuits}
    fitting = tuple(c for c in layout.circuits if _has_room(boards[c.circuit.name]))
    shows = compile_show(dataclasses.replace(layout, circuits=fitting))
    draws, flashes = _measure(piece, shows, progress)
    powers = {show.layout.circuit.name: check_power(show, piece, draw) for show, draw in zip(shows, draws, strict=True)}
    findings = tuple(finding for circuit in layout.circuits for finding in _of(circuit, boards, powers))
    return Report(piece, layout, shows, draws, (*findings, check_levels(piece), *flashes))


def _measure(
    piece: Piece, shows: tuple[CircuitShow, ...], progress: Progress
) -> tuple[tuple[Draw, ...], tuple[Finding, ...]]:
    """Return each circuit's draw, and the findings on flashes of all of them together."""
    if not shows:
        return (), ()
    view = view_piece([show.layout for show in shows])
    measured = measure_shows(shows, piece.show, view, progress)
    return measured.draws, check_flashes(piece, shows, view, measured.flashing)


def _has_room(findings: tuple[Finding, ...]) -> bool:
    return not any(f.code == "BOARD-001" and f.severity is Severity.FAIL for f in findings)


def _of(
    circuit: CircuitLayout, boards: dict[str, tuple[Finding, ...]], powers: dict[str, tuple[Finding, ...]]
) -> tuple[Finding, ...]:
    name = circuit.circuit.name
    return boards[name] + powers.get(name, ())

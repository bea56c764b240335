"""A supply that may not stand where it stands, or gives more than its wire bears, burns or kills: it must be told."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from lampwright.findings.model import Finding, Severity
from lampwright.parts import Fuse, Supply, find, override
from lampwright.piece import piece_from_text
from lampwright.piece.model import Circuit, Piece
from lampwright.power import check_mains, check_passives, check_power, check_protection, check_supply, outlets_of
from lampwright.power.wiring import source_of
from lampwright.show.model import CircuitShow
from tests.power.conftest import MeasureFrames
from tests.power.test_protection_check import draw_of
from tests.small_piece import small_piece

BuildShow = Callable[..., CircuitShow]
BuildPiece = Callable[..., Piece]


def fed(supply: str = "supply-10a", **figures: str) -> Supply:
    return override(find(Supply, supply), figures)


def judge(show: CircuitShow, piece: Piece, measure: MeasureFrames) -> dict[str, Finding]:
    wanted = np.full((4, show.layout.n_pixel, 3), 60, dtype=np.uint8)
    draw = measure(show, wanted)
    circuit = show.layout.circuit
    found = (*check_power(show, piece, draw), *check_supply(circuit, piece.brief, draw))
    return {each.code: each for each in (*found, *check_passives(show.layout, draw))}


def test_a_supply_never_runs_out_and_says_so(
    show_of: BuildShow, piece_with: BuildPiece, measure: MeasureFrames
) -> None:
    found = judge(show_of(supply=fed(), current_cap=1.5), piece_with(run_time=1e6), measure)
    assert found["POWER-003"].severity is Severity.PASS
    assert found["POWER-003"].value == "no end"
    assert found["POWER-001"].limit == "at most 10 A"
    assert "supply limit 10 A (common practice)" in found["POWER-001"].basis
    assert found["POWER-031"].severity is Severity.PASS


def test_a_limiter_above_what_the_lead_may_carry_is_told(
    show_of: BuildShow, piece_with: BuildPiece, measure: MeasureFrames
) -> None:
    """AWG 18 bears 2.3 A: a fuse of 2 A, which carries 1.5 A on and on."""
    found = judge(show_of(30, supply=fed()), piece_with(), measure)["POWER-001"]
    assert found.severity is Severity.WARN
    assert 'write current_cap = "1.5 A", or take a thicker lead' in found.do


@pytest.mark.parametrize(
    ("ip", "is_outdoors", "severity"),
    [
        ("IP20", False, Severity.PASS),
        ("IP20", None, Severity.WARN),
        ("IP20", True, Severity.FAIL),
        ("IP43", True, Severity.FAIL),
        ("IP24", True, Severity.FAIL),
        ("IPX4", True, Severity.FAIL),
        ("IP44", True, Severity.PASS),
        ("IP67", None, Severity.PASS),
    ],
)
def test_a_supply_outdoors_must_bear_splashes(
    show_of: BuildShow,
    piece_with: BuildPiece,
    measure: MeasureFrames,
    ip: str,
    is_outdoors: bool | None,
    severity: Severity,
) -> None:
    piece = piece_with()
    piece = dataclasses.replace(piece, brief=dataclasses.replace(piece.brief, is_outdoors=is_outdoors))
    found = judge(show_of(supply=fed(ip=ip)), piece, measure)["POWER-051"]
    assert found.severity is severity
    assert bool(found.do) is (severity is not Severity.PASS)


def test_a_supply_that_may_not_start_in_the_cold_is_told(
    show_of: BuildShow, piece_with: BuildPiece, measure: MeasureFrames
) -> None:
    cold = piece_with(coldest=263.15)
    assert judge(show_of(supply=fed()), cold, measure)["POWER-052"].severity is Severity.WARN
    sealed = judge(show_of(supply=fed("supply-8a-sealed")), cold, measure)
    assert sealed["POWER-052"].severity is Severity.PASS


def test_a_wire_that_its_fuse_does_not_protect_fails_on_the_mains(show_of: BuildShow) -> None:
    """The lead of AWG 18 bears 2.3 A, and a fuse of 5 A in it does not protect it: a supply gives 15 A for hours."""
    circuit = show_of(60, supply=fed()).layout.circuit
    wide = dataclasses.replace(circuit.wiring.lead, fuse=find(Fuse, "fuse-5a"))
    fused = dataclasses.replace(circuit, wiring=dataclasses.replace(circuit.wiring, lead=wide))
    rails = draw_of(np.full((2, 1), 5.0), 1.0)
    found = {each.code: each for each in check_protection(fused, rails)}["POWER-021"]
    assert found.severity is Severity.FAIL
    assert found.summary.startswith("fuses: 5 A at the supply")
    assert "supply" in found.basis
    as_chosen = {each.code: each for each in check_protection(circuit, rails)}["POWER-021"]
    assert as_chosen.severity is Severity.PASS


def test_the_supply_sags_by_its_load_regulation_and_no_more(show_of: BuildShow) -> None:
    circuit = show_of(supply=fed(load_regulation="2 %")).layout.circuit
    source = source_of(circuit)
    assert (source.voltage, source.limit) == (5.0, 10.0)
    assert source.resistance * 10.0 == pytest.approx(0.02 * 5.0)  # by the definition of load regulation


def mains_piece(*names: str) -> Piece:
    outlets = ", ".join(f'"{name}"' for name in names)
    text = small_piece().replace(
        'pack = "pack-20ah-2a4"', f'supply = "supply-10a"\noutlet = [{outlets}]\neach = "post"'
    )
    pattern = '{ pattern = "row", count = 3, step = ["0 m", "1 m", "0 m"] }'
    text = text.replace('length = "1 m"\n', f'length = "1 m"\nrepeat = {pattern}\n', 1)
    return piece_from_text(text, Path("mains.toml"))


def test_circuits_are_dealt_out_to_outlets_in_turn() -> None:
    piece = mains_piece("left", "right")
    assert [each.outlet for each in piece.circuits] == ["left", "right", "left"]
    left, right = outlets_of(piece.circuits)
    assert (left.name, left.circuits, right.circuits) == ("left", (0, 2), (1,))
    # 80 % of 10 A at 5 V through 80 %: by hand
    assert (left.power, right.power) == pytest.approx((2 * 50.0, 50.0))


def test_what_to_mind_on_the_mains_is_always_told() -> None:
    (found,) = check_mains(mains_piece("left"))
    assert (found.code, found.severity, found.value) == ("POWER-050", Severity.NOTE, "150 W")
    for word in ("listed or certified", "residual-current", "licensed electrician", "portable appliances"):
        assert word in found.do
    assert check_mains(piece_from_text(small_piece(), Path("small.toml"))) == ()


def test_a_supply_is_loaded_to_80_percent_unless_the_maker_says_otherwise() -> None:
    circuit: Circuit = mains_piece("left").circuits[0]
    assert circuit.current_cap == pytest.approx(0.8 * 10.0)
    assert circuit.source_limit == 10.0
    assert circuit.is_on_mains

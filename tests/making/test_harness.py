"""A joint that is on no list isn't soldered, or isn't found when the arch stays dark."""

from __future__ import annotations

from pathlib import Path

import pytest

from lampwright.faults.anatomy import take_apart
from lampwright.layout import Layout, lay_out
from lampwright.making import Harness, WireUse, cut_all, harnesses_of, materials_of
from lampwright.making.harness import sleeve_for
from lampwright.making.week import count_units
from lampwright.parts import load_catalogue
from lampwright.piece import piece_from_text, read_piece
from tests.small_piece import small_piece

EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*/*.toml"))


@pytest.fixture(scope="module", params=EXAMPLES, ids=lambda file: file.stem)
def laid_out(request: pytest.FixtureRequest) -> Layout:
    return lay_out(read_piece(request.param))


@pytest.fixture(scope="module")
def harnesses(laid_out: Layout) -> tuple[Harness, ...]:
    return harnesses_of(laid_out, cut_all(laid_out))


def test_both_ends_of_every_conductor_are_soldered_once(harnesses: tuple[Harness, ...]) -> None:
    for harness in harnesses:
        joins = [join for row in harness.joints for join in row.joins]
        for wire in harness.wires:
            for _, colour in wire.strands:
                told = f"{wire.mark} {colour}"
                exact = [join for join in joins if told in join and wire.mark in join.split()]
                assert len(exact) == 2, (harness.circuit, wire.mark, colour, exact)


def test_joints_are_as_many_as_the_week_plans(laid_out: Layout, harnesses: tuple[Harness, ...]) -> None:
    counts = count_units(laid_out, cut_all(laid_out))
    assert counts["solder joint"] == sum(len(row.joins) for harness in harnesses for row in harness.joints)


def test_what_can_fail_as_a_joint_is_on_the_list(laid_out: Layout, harnesses: tuple[Harness, ...]) -> None:
    for circuit, harness in zip(laid_out.circuits, harnesses, strict=True):
        links = take_apart(circuit).links
        assert sum(link.is_feed for link in links) == sum(wire.use is WireUse.FEED for wire in harness.wires)
        stated = {round(joint.at * run.n_pixel) for run in circuit.runs for joint in run.run.joints}
        assert stated <= {row.pixel for row in harness.joints if row.is_strip_cut}


def test_what_is_listed_is_what_is_cut(laid_out: Layout, harnesses: tuple[Harness, ...]) -> None:
    listed = sorted(
        (wire.label, gauge.name, colour, round(1000 * wire.cut))
        for harness in harnesses
        for wire in harness.wires
        for gauge, colour in wire.strands
    )
    cut = sorted(
        (piece.name, *each.part.split(" "), piece.length)
        for each in materials_of(laid_out)
        if each.kind == "wire"
        for piece in each.pieces
    )
    assert [row[:3] for row in listed] == [row[:3] for row in cut]
    for one, other in zip(listed, cut, strict=True):
        assert abs(one[3] - other[3]) <= 1  # cut lengths are rounded up


def test_places_are_measured_from_the_head(laid_out: Layout, harnesses: tuple[Harness, ...]) -> None:
    for circuit, harness in zip(laid_out.circuits, harnesses, strict=True):
        for run in circuit.runs:
            pitch = 1 / run.run.strip.density.value
            for row in harness.joints:
                if row.run == run.run.name:
                    assert 0 <= row.pixel <= run.n_pixel
                    assert row.metre == pytest.approx(row.pixel * pitch, abs=pitch / 2 + 1e-9)


def test_packs_that_share_a_load_have_a_fuse_and_a_diode_each() -> None:
    text = small_piece().replace('board = "', 'packs = 2\njoined = "ideal diode"\nboard = "', 1)
    layout = lay_out(piece_from_text(text, Path("two.toml")))
    (harness,) = harnesses_of(layout, cut_all(layout))
    rows = [row for row in harness.joints if row.where.startswith("pack")]
    assert [row.where for row in rows] == ["pack 1", "pack 2"]
    for row in rows:
        assert sum("fuse" in join for join in row.joins) == 2
        assert sum("diode" in join for join in row.joins) == 2


def test_sleeve_slips_over_its_wire() -> None:
    # outside of a wire: conductor and twice 0.6 mm of insulation; AWG 20 is 0.812 mm thick (ASTM B258)
    wires = load_catalogue().wires
    assert sleeve_for(wires["awg-20"]) == pytest.approx(0.006)  # 2.01 mm times 1.5 is just above 3 mm
    for wire in wires.values():
        assert sleeve_for(wire) >= 2 * (wire.area.value / 3.1416) ** 0.5 + 0.0012

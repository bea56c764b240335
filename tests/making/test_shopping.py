"""What isn't on the list isn't there when the shops are shut."""

from __future__ import annotations

import csv
import dataclasses
import datetime
import io
import xml.etree.ElementTree as ET
import zipfile
from collections import Counter
from functools import cache
from pathlib import Path

import pytest

from lampwright.layout import Layout, lay_out
from lampwright.making import (
    Line,
    ShelfRow,
    ShoppingList,
    cut_all,
    shopping_csv,
    shopping_list,
    shopping_xlsx,
)
from lampwright.making.substitutes import substitute_for
from lampwright.parts import Diode, Offer, find, load_catalogue, mass_of
from lampwright.piece import piece_from_text, read_piece
from lampwright.piece.model import Bank, Joined
from lampwright.power import bulk_of, fuses_of, line_resistors
from tests.small_piece import small_piece

GATE = Path(__file__).parents[2] / "examples" / "frost-gate" / "frost-gate.toml"
SHOP = (
    Offer("pack-20ah-3a", None, 2490, 1, 3.0),
    Offer("res-330ohm", None, 120, 10, 2.0),
    Offer("res-330ohm", None, 30, 1, 1.0),
    Offer("ws2812b-60", 5.0, 1840, 1, 4.0),
)


@pytest.fixture(scope="module")
def gate() -> Layout:
    return lay_out(read_piece(GATE))


@cache
def bought(*shelf: ShelfRow) -> ShoppingList:
    layout = lay_out(read_piece(GATE))
    return shopping_list(layout, cut_all(layout, shelf, SHOP), shelf, SHOP)


def line(shopping: ShoppingList, part: str) -> Line:
    (found,) = [each for each in shopping.lines if each.part == part]
    return found


def test_needs_spares_and_what_is_sold_together() -> None:
    shopping = bought()
    pack = line(shopping, "pack-20ah-3a")
    assert (pack.needed, pack.spare, pack.buy, pack.total) == (4, 1, 5, 5 * 2490)
    resistor = line(shopping, "res-330ohm")  # 7 runs and 2 spare: ten for 1.20 are cheaper than nine at 0.30
    assert (resistor.needed, resistor.spare, resistor.buy, resistor.total) == (7, 2, 1, 120)
    strip = line(shopping, "ws2812b-60")
    assert strip.total == strip.buy * 1840
    assert not any(each.is_judged for each in (pack, resistor, strip))
    assert shopping.total == 5 * 2490 + 120 + strip.buy * 1840 + shopping.judged
    assert shopping.longest_wait == 5.0  # the connectors, by judgement
    assert not shopping.unpriced


def test_packs_that_share_a_circuit_are_bought_with_a_fuse_and_a_diode_each(gate: Layout) -> None:
    bank = Bank(2, Joined.IDEAL_DIODE, find(Diode, "diode-ideal-5a"), keep_awake=33.0)
    laid = tuple(
        dataclasses.replace(each, circuit=dataclasses.replace(each.circuit, bank=bank)) for each in gate.circuits
    )
    layout = dataclasses.replace(gate, circuits=laid)
    shopping = shopping_list(layout, ())
    assert line(shopping, "pack-20ah-3a").needed == 8
    assert line(shopping, "diode-ideal-5a").needed == 8
    assert sum(each.needed for each in shopping.lines if each.kind == "fuse") == 12  # each pack's, and each lead's
    assert line(shopping, "fuse holder").needed == 12
    assert line(shopping, "plug for a pack").needed == 8
    assert line(shopping, "res-33ohm-2w").needed == 8  # 0.76 W at 5 V, at no more than half of its power


def test_what_nobody_was_asked_is_told() -> None:
    solder = line(bought(), "solder")
    assert (solder.price, solder.is_judged) == (800, True)
    unpriced = (*SHOP, Offer("solder", None, None, 1, 2.0))
    layout = lay_out(read_piece(GATE))
    shopping = shopping_list(layout, cut_all(layout, (), unpriced), (), unpriced)
    assert line(shopping, "solder").price is None  # the maker's own list comes first, even where it says nothing
    assert [each.part for each in shopping.unpriced] == ["solder"]
    rows = {row["part"]: row["price by"] for row in csv.DictReader(io.StringIO(shopping_csv(shopping)))}
    assert (rows["solder"], rows["pack-20ah-3a"], rows["tape, roll"]) == ("", "your list", "judgement")


def test_the_shelf_is_taken_off() -> None:
    pack = line(bought(ShelfRow("pack-20ah-3a", None, 3)), "pack-20ah-3a")
    assert (pack.on_shelf, pack.buy) == (3, 2)
    pack = line(bought(ShelfRow("pack-20ah-3a", None, 30)), "pack-20ah-3a")
    assert (pack.on_shelf, pack.buy, pack.total) == (5, 0, 0)
    offcuts, strip = [each for each in bought(ShelfRow("ws2812b-60", 5.0, 2)).lines if each.part == "ws2812b-60"]
    assert (offcuts.buy, offcuts.on_shelf) == (0, 2)
    assert strip.buy == line(bought(), "ws2812b-60").buy - 2


def test_a_fuse_carries_the_cap_at_three_quarters_of_its_rating(gate: Layout) -> None:
    fuses = load_catalogue().fuses
    for each in gate.circuits:
        lead = dataclasses.replace(each.circuit.wiring.lead, fuse=None)  # as if nothing were said of it
        wiring = dataclasses.replace(each.circuit.wiring, lead=lead)
        (fitted,) = [
            fitted for fitted in fuses_of(dataclasses.replace(each.circuit, wiring=wiring)) if fitted.where == "lead"
        ]
        fuse = fitted.fuse
        assert 0.75 * fuse.rating.value >= each.circuit.current_cap
        assert all(
            other.rating.value >= fuse.rating.value
            for other in fuses.values()
            if 0.75 * other.rating.value >= each.circuit.current_cap
        )


def test_capacitors_and_resistors_are_those_that_check_names(gate: Layout) -> None:
    counts = Counter(
        f"cap-{bulk.capacitance * 1e6:.0f}uf" for each in gate.circuits for bulk in bulk_of(each) if bulk.is_chosen
    )
    assert sum(counts.values()) == 7
    for part, count in counts.items():
        assert line(bought(), part).needed == count
    resistors = [found.resistance for each in gate.circuits for found in line_resistors(each)]
    assert line(bought(), "res-330ohm").needed == resistors.count(330.0) == 7


def test_what_the_maker_has_is_not_replaced() -> None:
    own = 'pin = "PD6"\ncapacitor = "1200 uF"\ndata_resistor = "470 ohm"'
    layout = lay_out(piece_from_text(small_piece().replace('pin = "PD6"', own), Path("small.toml")))
    parts = {each.part for each in shopping_list(layout, cut_all(layout)).lines}
    assert {"capacitor 1200 uF", "res-470ohm"} <= parts
    bare = own.replace("470 ohm", "0 ohm")
    layout = lay_out(piece_from_text(small_piece().replace('pin = "PD6"', bare), Path("small.toml")))
    assert not any(
        "res-" in each.part or "resistor" in each.part for each in shopping_list(layout, cut_all(layout)).lines
    )


def test_what_serves_instead_is_no_worse() -> None:
    catalogue = load_catalogue()
    assert substitute_for("awg-18 red") == "mm2-1 red"  # 19.5 ohm/km against 20.95
    for name, pack in catalogue.packs.items():
        if other := substitute_for(name):
            assert catalogue.packs[other].current_limit.value >= pack.current_limit.value
            assert catalogue.packs[other].charge.value >= pack.charge.value
    assert substitute_for("m328p-16mhz-resonator") == "m328p-16mhz-crystal"
    assert substitute_for("m328p-16mhz-crystal") == ""
    assert substitute_for("solder") == ""


def test_wire_weighs_what_its_copper_does() -> None:
    # AWG 14: 2.081 mm2 at 8.93 g/cm3 is 18.58 g/m
    assert mass_of("awg-14 red") == pytest.approx(0.01858, rel=1e-3)
    coils = [each for each in bought().lines if each.part == "awg-14 red"]
    assert coils
    for coil in coils:
        assert coil.mass == pytest.approx(0.01858 * 10 * coil.buy, rel=1e-3)


def test_both_files_say_the_same() -> None:
    shopping = bought()
    rows = list(csv.DictReader(io.StringIO(shopping_csv(shopping))))
    assert sum(round(100 * float(row["total"])) for row in rows if row["total"]) == shopping.total
    content = shopping_xlsx(shopping, datetime.date(2026, 12, 19))
    assert content == shopping_xlsx(shopping, datetime.date(2026, 12, 19))
    with zipfile.ZipFile(io.BytesIO(content)) as book:
        sheet = ET.fromstring(book.read("xl/worksheets/sheet1.xml"))
    space = {"x": "http://schemas.openxmlformats.org/spreadsheetml/2006/main"}
    cells = {cell.get("r"): cell for cell in sheet.iterfind(".//x:c", space)}
    last = len(shopping.lines) + 2
    assert cells[f"H{last}"].findtext("x:f", None, space) == f"SUM(H2:H{last - 1})"
    assert float(cells[f"H{last}"].findtext("x:v", "", space)) * 100 == pytest.approx(shopping.total)
    for number, row in enumerate(rows, start=2):
        assert cells[f"F{number}"].findtext("x:v", None, space) == row["buy"]


def test_joined_tube_has_its_sleeves_and_every_member_its_caps(gate: Layout) -> None:
    cuts = cut_all(gate)
    lines = {line.part: line for line in shopping_list(gate, cuts).lines}
    # each arch is 2 x 1.4 m + 1.2 m x pi = 6.57 m of tube that is sold by 3 m: three lengths, two joints
    assert lines["sleeve for conduit-1"].needed == 4 * 2
    assert lines["end cap for conduit-1"].needed == 4 * 2
    assert all(lines[part].price is not None for part in ("sleeve for conduit-1", "end cap for conduit-1"))
    # 4 x 346 pixels at 60 a metre are 23.1 m: as much tape, of rolls of 20 m
    assert lines["tape, roll"].needed == 2

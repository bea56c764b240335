"""A crew that has never seen the piece has nothing but this card."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pypdfium2
import pytest

from lampwright.book import card_text, handover_card, languages
from lampwright.faults import embody, repairs
from lampwright.layout import Layout, lay_out
from lampwright.parts import Diode, find
from lampwright.piece import read_piece
from lampwright.piece.model import Bank, Ending, Joined, PowerLoss
from lampwright.rigging import check_rigging
from lampwright.units import parse

GATE = Path(__file__).parents[2] / "examples" / "frost-gate" / "frost-gate.toml"
EVERY_LANGUAGE = pytest.mark.parametrize("language", languages())


@pytest.fixture(scope="module")
def gate() -> Layout:
    return lay_out(read_piece(GATE))


def read_back(pdf: bytes) -> list[str]:
    return [re.sub(r"\s+", " ", page.get_textpage().get_text_range()) for page in pypdfium2.PdfDocument(pdf)]


@EVERY_LANGUAGE
def test_the_figures_are_those_of_the_piece(gate: Layout, language: str) -> None:
    page, _ = read_back(handover_card(gate, language))
    assert "Frost Gate" in page
    assert re.search(r"\b4 (in all|insgesamt)", page)
    assert re.search(r"\b10 (lights, then|Lichter, dann)", page)
    assert "10 min" in page
    assert "1 h 30 min" in page
    assert " ".join(str(n) for n in range(10, 0, -1)) in page


@EVERY_LANGUAGE
def test_the_wind_to_take_it_down_in_is_what_it_bears_and_not_what_was_asked(gate: Layout, language: str) -> None:
    (told,) = (each.value for each in check_rigging(gate) if each.code == "RIGGING-008")
    metres = int(parse(told, "speed") + 0.05)
    page, _ = read_back(handover_card(gate, language))
    assert re.search(rf"(Gusts of|Böen von) {metres} m/s \({int(3.6 * metres)} km/h\)", page)
    asked = replace(gate.piece, brief=replace(gate.piece.brief, wind=1.0))
    assert card_text(replace(gate, piece=asked), language)["down"] == card_text(gate, language)["down"]


@EVERY_LANGUAGE
def test_who_changes_packs_in_turn_is_told_so_and_plugs_in_one_each(gate: Layout, language: str) -> None:
    bank = Bank(2)
    circuits = tuple(replace(each, bank=bank) for each in gate.piece.circuits)
    layout = replace(gate, piece=replace(gate.piece, circuits=circuits))
    pages = read_back(handover_card(layout, language))
    assert len(pages) == 2
    assert re.search(r"plug in the next one of the same name|den nächsten mit demselben Namen", pages[0])
    assert re.search(r"\b4 (in all|insgesamt)", pages[0])
    assert not re.search(r"of the same name|mit demselben Namen", read_back(handover_card(gate, language))[0])


@EVERY_LANGUAGE
def test_packs_that_share_a_circuit_are_all_plugged_in(gate: Layout, language: str) -> None:
    bank = Bank(2, Joined.IDEAL_DIODE, find(Diode, "diode-ideal-5a"))
    circuits = tuple(replace(each, bank=bank) for each in gate.piece.circuits)
    page, _ = read_back(handover_card(replace(gate, piece=replace(gate.piece, circuits=circuits)), language))
    assert re.search(r"\b8 (in all|insgesamt)", page)


@EVERY_LANGUAGE
def test_one_sheet_whatever_the_piece_is_called(gate: Layout, language: str) -> None:
    old = gate.piece
    brief = replace(old.brief, name="Winterwald " * 10, place="meadow behind the town hall " * 4, standby=1800.0)
    for ending in Ending:
        piece = replace(old, brief=brief, show=replace(old.show, ending=ending))
        pages = read_back(handover_card(replace(gate, piece=piece), language))
        assert len(pages) == 2
        assert "30 28 26" not in pages[0]  # thirty minutes: every third, so that the table fits
        assert "30 27 24" in pages[0]


@EVERY_LANGUAGE
def test_its_back_tells_what_to_do_about_each_thing_that_can_fail(gate: Layout, language: str) -> None:
    _, back = read_back(handover_card(gate, language))
    plain = re.sub(r"\s+", "", back)
    for path in repairs(embody(gate), language):
        for line in (path.sees, *path.steps):
            assert re.sub(r"\s+", "", line) in plain, line


@EVERY_LANGUAGE
def test_it_says_what_a_loss_of_power_does(gate: Layout, language: str) -> None:
    pages = {}
    for loss in PowerLoss:
        piece = replace(gate.piece, standby=replace(gate.piece.standby, after_power_loss=loss))
        pages[loss] = read_back(handover_card(replace(gate, piece=piece), language))[0]
    assert re.search("from the beginning|von vorn", pages[PowerLoss.COUNT_DOWN_AGAIN])
    assert re.search("goes on where it was|dort weiter", pages[PowerLoss.GO_ON])


@EVERY_LANGUAGE
def test_who_carries_it_is_told_to_step_aside_and_never_to_walk_away(language: str) -> None:
    layout = lay_out(read_piece(GATE.parents[1] / "slow-procession" / "slow-procession.toml"))
    page, back = read_back(handover_card(layout, language))
    assert re.search("hand it to whoever carries it|der Person geben, die es trägt", page)
    assert re.search("Step aside|Zur Seite gehen", page)
    assert not re.search("walk away|weggehen", page)
    assert re.search("A staff fell|Ein Stab ist gefallen", back)
    assert not re.search("post or an arch|Pfosten oder Bogen", back)


@EVERY_LANGUAGE
def test_one_battery_with_one_light_has_no_others_and_no_count(gate: Layout, language: str) -> None:
    brief = replace(gate.piece.brief, standby=60.0)
    lone = replace(gate.piece, circuits=gate.piece.circuits[:1], brief=brief)
    card = card_text(replace(gate, piece=lone, circuits=gate.circuits[:1]), language)
    said = str([card[part] for part in ("plug", "see", "worry", "do")])
    assert re.search("One light blinks until|Ein Licht blinkt, bis", said)
    assert not re.search("each battery|in all|the others|lights|Jeden Akku|insgesamt|Die anderen|Lichter", said)


@EVERY_LANGUAGE
def test_no_word_of_the_trade(gate: Layout, language: str) -> None:
    said = str(card_text(gate, language)).lower()
    for word in "circuit pixel firmware volt ampere pack board rail feed standby chip strip cue".split():
        assert not re.search(rf"\b{word}s?\b", said.replace("'standby'", "")), word


def test_every_language_says_everything() -> None:
    gate = lay_out(read_piece(GATE))
    first, *others = (card_text(gate, language) for language in languages())
    for other in others:
        assert other.keys() == first.keys()
        for key, value in first.items():
            if isinstance(value, list):
                there = other[key]
                assert isinstance(there, list)
                assert len(value) == len(there), key


def test_what_a_maker_writes_is_no_markup(gate: Layout) -> None:
    brief = replace(gate.piece.brief, name="#sys *bold* $x$ <tag> \\", place='"; #panic()')
    page, back = read_back(handover_card(replace(gate, piece=replace(gate.piece, brief=brief)), "en"))
    assert "#sys *bold* $x$ <tag> \\" in page
    assert "#panic()" in page
    assert "#sys *bold*" in back


def test_the_same_piece_gives_the_same_bytes(gate: Layout) -> None:
    assert handover_card(gate, "en") == handover_card(gate, "en")

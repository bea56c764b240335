"""A crew that has never seen the piece has nothing but this card."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pypdfium2
import pytest

from lampwright.book import card_text, handover_card, languages
from lampwright.piece import read_piece
from lampwright.piece.model import Ending, Piece, PowerLoss

GATE = Path(__file__).parents[2] / "examples" / "frost-gate" / "frost-gate.toml"
EVERY_LANGUAGE = pytest.mark.parametrize("language", languages())


@pytest.fixture(scope="module")
def gate() -> Piece:
    return read_piece(GATE)


def read_back(pdf: bytes) -> list[str]:
    return [re.sub(r"\s+", " ", page.get_textpage().get_text_range()) for page in pypdfium2.PdfDocument(pdf)]


@EVERY_LANGUAGE
def test_the_figures_are_those_of_the_piece(gate: Piece, language: str) -> None:
    (page,) = read_back(handover_card(gate, language))
    assert "Frost Gate" in page
    assert re.search(r"\b4 (in all|insgesamt)", page)
    assert re.search(r"\b10 (lights, then|Lichter, dann)", page)
    assert "10 min" in page
    assert "1 h 30 min" in page
    assert "7 m/s" in page
    assert " ".join(str(n) for n in range(10, 0, -1)) in page


@EVERY_LANGUAGE
def test_one_page_whatever_the_piece_is_called(gate: Piece, language: str) -> None:
    brief = replace(gate.brief, name="Winterwald " * 10, place="meadow behind the town hall " * 4, standby=1800.0)
    for ending in Ending:
        piece = replace(gate, brief=brief, show=replace(gate.show, ending=ending))
        pages = read_back(handover_card(piece, language))
        assert len(pages) == 1
        assert "30 28 26" not in pages[0]  # thirty minutes: every third, so that the table fits
        assert "30 27 24" in pages[0]


@EVERY_LANGUAGE
def test_it_says_what_a_loss_of_power_does(gate: Piece, language: str) -> None:
    pages = {
        loss: read_back(handover_card(replace(gate, standby=replace(gate.standby, after_power_loss=loss)), language))[0]
        for loss in PowerLoss
    }
    assert re.search("from the beginning|von vorn", pages[PowerLoss.COUNT_DOWN_AGAIN])
    assert re.search("goes on where it was|dort weiter", pages[PowerLoss.GO_ON])


@EVERY_LANGUAGE
def test_no_word_of_the_trade(gate: Piece, language: str) -> None:
    said = str(card_text(gate, language)).lower()
    for word in "circuit pixel firmware volt ampere pack board rail feed standby chip strip cue".split():
        assert not re.search(rf"\b{word}s?\b", said.replace("'standby'", "")), word


def test_every_language_says_everything() -> None:
    gate = read_piece(GATE)
    first, *others = (card_text(gate, language) for language in languages())
    for other in others:
        assert other.keys() == first.keys()
        for key, value in first.items():
            if isinstance(value, list):
                there = other[key]
                assert isinstance(there, list)
                assert len(value) == len(there), key


def test_what_a_maker_writes_is_no_markup(gate: Piece) -> None:
    brief = replace(gate.brief, name="#sys *bold* $x$ <tag> \\", place='"; #panic()')
    (page,) = read_back(handover_card(replace(gate, brief=brief), "en"))
    assert "#sys *bold* $x$ <tag> \\" in page
    assert "#panic()" in page


def test_the_same_piece_gives_the_same_bytes(gate: Piece) -> None:
    assert handover_card(gate, "en") == handover_card(gate, "en")

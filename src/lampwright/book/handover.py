"""The handover card: one sheet for a crew that has never seen the piece; its back tells what to do about failures."""

from __future__ import annotations

import math
import tomllib
from functools import cache
from importlib import resources
from typing import Any

from lampwright.book.typeset import typeset
from lampwright.faults import embody, repairs
from lampwright.layout import Layout
from lampwright.piece.model import Ending, Piece, PowerLoss
from lampwright.rigging import take_down_gust
from lampwright.rigging.wind import beaufort
from lampwright.units import format_quantity

MOST_COLUMNS = 12
"""Minutes that the card's table has room for; of a longer countdown every second or further minute is shown."""


def languages() -> tuple[str, ...]:
    """Return the languages that the card can speak, such as "en"."""
    return tuple(_words())


def handover_card(layout: Layout, language: str) -> bytes:
    """Return the card as a PDF: a page in large type, and its back."""
    return typeset("handover", card_text(layout, language))


def card_text(layout: Layout, language: str) -> dict[str, object]:
    """Return all that the card says; times and counts are those of the piece file, the wind is RIGGING-008's gust."""
    piece = layout.piece
    words, brief = _words_for(piece, language), piece.brief
    gust = take_down_gust(layout)
    minutes = int(brief.standby // 60)
    step = -(-minutes // MOST_COLUMNS)
    filled = {
        "n_pack": str(
            sum(each.bank.count if each.bank.is_shared else 1 for each in piece.circuits if not each.is_on_mains)
        ),
        "n_supply": str(sum(each.is_on_mains for each in piece.circuits)),
        "minutes": str(minutes),
        "standby": format_quantity(brief.standby, "time"),
        "show": format_quantity(sum(cue.length for cue in piece.show.cues), "time"),
        "gust": _gust(gust),
        "sign": words["wind_signs"][min(beaufort(brief.mean_of(gust)), len(words["wind_signs"]) - 1)],
    }
    said: dict[str, object] = {
        key: [line.format(**filled) for line in value] if isinstance(value, list) else value
        for key, value in words.items()
    }
    ending = {Ending.REPEAT: "repeat", Ending.HOLD: "hold", Ending.DARK: "dark"}[piece.show.ending]
    loss = "again" if piece.standby.after_power_loss is PowerLoss.COUNT_DOWN_AGAIN else "go_on"
    said["plug"] = [*_lines(said["plug"]), words["walk"]]
    said["worry"] = [*_lines(said["worry"]), words["stuck"]]
    said["see"] = [*_lines(said["see"]), words[ending]]
    in_turn = any(each.bank.count > 1 and not each.bank.is_shared for each in piece.circuits)
    said["do"] = [*_lines(said["do"]), words[loss], *([words["swap"]] if in_turn else [])]
    said |= {"name": brief.name, "place": brief.place, "date": brief.date.isoformat(), "lang": language}
    paths = [[each.sees, list(each.steps)] for each in repairs(embody(layout), language)]
    return said | {"minutes": list(range(minutes, 0, -step)), "repairs": paths}


def _words_for(piece: Piece, language: str) -> dict[str, Any]:
    """Return the card's words for this piece: others in their place where it is of another sort."""
    said = _words()[language]
    is_alone = len(piece.circuits) == 1 and piece.circuits[0].bank.count == 1
    applies = {
        "alone": is_alone and piece.has_packs,
        "mains": piece.has_mains and not piece.has_packs,
        "both": piece.has_mains and piece.has_packs,
        "one_light": piece.brief.standby < 2 * 60,
        "carried": piece.has_carried and not piece.has_standing,
    }
    words = {key: value for key, value in said.items() if not isinstance(value, dict)}
    for sort in (sort for sort, is_so in applies.items() if is_so):
        words |= said[sort]
    return words


def _gust(speed: float) -> str:
    """Return a gust as wind meters and forecasts show it, rounded down: "10 m/s (36 km/h)"."""
    metres = math.floor(speed + 1e-9)
    return f"{metres} m/s ({math.floor(3.6 * metres)} km/h)"


def _lines(value: object) -> list[str]:
    assert isinstance(value, list)
    return value


@cache
def _words() -> dict[str, dict[str, Any]]:
    text = resources.files("lampwright.book").joinpath("templates", "words.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)

"""The handover card: one page for a crew that has never seen the piece."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib import resources

from lampwright.book.typeset import typeset
from lampwright.piece.model import Ending, Piece, PowerLoss
from lampwright.units import format_quantity

MOST_COLUMNS = 12
"""Minutes that the card's table has room for; of a longer countdown every second or further minute is shown."""


def languages() -> tuple[str, ...]:
    """Return the languages that the card can speak, such as "en"."""
    return tuple(_words())


def handover_card(piece: Piece, language: str) -> bytes:
    """Return the card as a PDF of one page."""
    return typeset("handover", card_text(piece, language))


def card_text(piece: Piece, language: str) -> dict[str, object]:
    """Return all that the card says; times, counts and the wind are those of the piece file."""
    words, brief = _words()[language], piece.brief
    minutes = int(brief.standby // 60)
    step = -(-minutes // MOST_COLUMNS)
    filled = {
        "n_pack": str(len(piece.circuits)),
        "minutes": str(minutes),
        "standby": format_quantity(brief.standby, "time"),
        "show": format_quantity(sum(cue.length for cue in piece.show.cues), "time"),
        "wind": format_quantity(brief.wind, "speed"),
    }
    said: dict[str, object] = {
        key: [line.format(**filled) for line in value] if isinstance(value, list) else value
        for key, value in words.items()
    }
    ending = {Ending.REPEAT: "repeat", Ending.HOLD: "hold", Ending.DARK: "dark"}[piece.show.ending]
    loss = "again" if piece.standby.after_power_loss is PowerLoss.COUNT_DOWN_AGAIN else "go_on"
    said["see"] = [*_lines(said["see"]), words[ending]]
    said["do"] = [*_lines(said["do"]), words[loss]]
    said |= {"name": brief.name, "place": brief.place, "date": brief.date.isoformat(), "lang": language}
    return said | {"minutes": list(range(minutes, 0, -step))}


def _lines(value: object) -> list[str]:
    assert isinstance(value, list)
    return value


@cache
def _words() -> dict[str, dict[str, str | list[str]]]:
    text = resources.files("lampwright.book").joinpath("templates", "words.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)

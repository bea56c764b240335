"""What a value of the piece file may be picked from: words, parts, looks, members, runs, points, pins."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from lampwright.page.fields import Step
from lampwright.parts import Board, find, load_catalogue
from lampwright.piece.keys import Key
from lampwright.piece.model import Member, Piece
from lampwright.piece.points import points_of
from lampwright.show.compile import library_names
from lampwright.units.errors import MakerError

Pick = tuple[str, str]
"""A value, and what is said beside it."""

RUN_NAMED_IN = {"from": "feed", "run": "reading"}
"""Keys that name a run, by the list in whose tables they do so."""


class Picks:
    """The lists of one state of the piece, each made once, by its name."""

    def __init__(self, piece: Piece) -> None:
        self._piece = piece
        self.lists: dict[str, Sequence[Pick]] = {}

    def of(self, entries: Mapping[str, Any], path: tuple[Step, ...], key: Key, entry: Mapping[str, Any]) -> str:
        """Return the name of the list for a key of the table at ``path``; empty where anything may be typed."""
        if key.words:
            return self._keep(" / ".join(key.words), [(word, "") for word in key.words])
        if key.part is not None:
            parts = load_catalogue().of(key.part)
            return self._keep(key.part.__name__, [(name, part.title) for name, part in parts.items()])
        if key.is_look:
            return self._keep("looks", self._looks())
        circuit = entries["circuit"][path[1]] if path[0] == "circuit" else {}
        runs = [(str(run.get("name")), "") for run in circuit.get("run", [])]
        if path[-1] == "span":
            return self._keep(f"points of {circuit.get('each')}", self._points(circuit.get("each")))
        if key.name == "each" or (path == ("wish",) and key.name == "on"):
            return self._keep("members", [(str(each.get("name")), "") for each in entries["member"]])
        if key.name == "on" or (path[-1] == "zigzag" and key.name == "to"):
            return self._keep(f"places for {circuit.get('each')}", self._places(entries))
        if path[-2:-1] == (RUN_NAMED_IN.get(key.name),):
            return self._keep(f"runs of {path[1]}", runs)
        if key.name == "pin" and "strip" in entry:
            return self._keep(f"pins of {path[1]}", [(pin, "") for pin in pins_of(circuit)])
        return ""

    def _keep(self, name: str, picks: Sequence[Pick]) -> str:
        self.lists.setdefault(name, picks)
        return name

    def _looks(self) -> list[Pick]:
        own = sorted(path.stem for path in (self._piece.file.parent / "looks").glob("*.look"))
        return [
            *((name, "of this piece") for name in own),
            *((name, "") for name in library_names() if name not in own),
        ]

    def _places(self, entries: Mapping[str, Any]) -> list[Pick]:
        names = [str(each.get("name")) for each in entries["member"]]
        full = [member.name for member in self._piece.members if member.name not in names]
        return [(name, "") for name in (*names, *full)]

    def _points(self, each: object) -> list[Pick]:
        """Return the points that a span may hang between: those of a circuit's own member and its neighbours first."""
        members = self._piece.members
        own = next((member for member in members if _belongs(member, each)), None)
        near = () if own is None else points_of(own.shape)
        texts = [*near, *(f"{word} {point}" for word in ("next", "previous") for point in near)]
        texts += [f"{member.name} {point}" for member in members for point in points_of(member.shape)]
        return [(text, "") for text in texts]


def _belongs(member: Member, entry: object) -> bool:
    """Return whether a member is that of an entry, or one of its pattern."""
    return member.name == entry or (
        member.name.startswith(f"{entry} ") and member.name.removeprefix(f"{entry} ").isdigit()
    )


def pins_of(circuit: Mapping[str, Any]) -> tuple[str, ...]:
    """Return the pins of a circuit's board, as far as the board can be told."""
    board = circuit.get("board")
    try:
        return find(Board, str(board.get("part") if isinstance(board, dict) else board)).pins
    except MakerError:
        return ()

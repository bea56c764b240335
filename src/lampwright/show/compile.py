"""Compiles the cue sheet for every circuit: looks found, settings checked, times in frames."""

from __future__ import annotations

import difflib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib import resources
from pathlib import Path
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from lampwright.layout.model import CircuitLayout, Layout
from lampwright.look import (
    Change,
    CueTime,
    Drive,
    Look,
    Places,
    Program,
    Value,
    compile_look,
    read_look,
    settle,
)
from lampwright.look.colour import hex_to_linear
from lampwright.parts.model import Strip
from lampwright.piece.model import Cue, FixedSection, Piece, PowerLoss, Section
from lampwright.show.model import CircuitShow, CueProgram, Indicator, Limiter
from lampwright.units import format_quantity
from lampwright.units.errors import MakerError, Place, Problem

CURRENT_UNIT = 10e-6
"""The limiter counts current in units of 10 µA. [A]"""
MOST_COUNTED = (1 << 32) // 255 * CURRENT_UNIT
"""Current for light that its sums of 32 bits hold, each channel counted in steps of 1/255. [A]"""

NO_DRAFTS: Mapping[str, Look] = MappingProxyType({})


def compile_show(layout: Layout, drafts: Mapping[str, Look] = NO_DRAFTS) -> tuple[CircuitShow, ...]:
    """Return each circuit's show; ``drafts`` stand in place of the looks of their names.

    Raises
    ------
    MakerError
        SHOW-001 look not found, SHOW-002 pack gives no current for light, SHOW-003 indicator off the
        strip, SHOW-005 more current than the limiter counts; LOOK codes for looks and their settings.
    """
    piece = layout.piece
    sheet = _read_sheet(piece, drafts)
    shows: list[CircuitShow] = []
    problems: list[Problem] = []
    for circuit in layout.circuits:
        try:
            shows.append(_Compiler(piece, circuit, sheet).compile())
        except MakerError as error:
            problems.extend(p for p in error.problems if p not in problems)
    if problems:
        raise MakerError(problems)
    return tuple(shows)


@dataclass(frozen=True)
class _SheetCue:
    """A cue whose look is read and whose settings are checked."""

    cue: Cue
    look: Look
    settings: Mapping[str, Value]


def _read_sheet(piece: Piece, drafts: Mapping[str, Look]) -> tuple[_SheetCue, ...]:
    problems: list[Problem] = []
    cues = []
    looks = dict(drafts)
    for number, cue in enumerate(piece.show.cues):
        try:
            if cue.look not in looks:
                looks[cue.look] = _find_look(piece, number, cue.look)
            where = {name: piece.source.find("cue", number, "set", name) for name in cue.settings}
            cues.append(_SheetCue(cue, looks[cue.look], settle(looks[cue.look], cue.settings, where)))
        except MakerError as error:
            problems.extend(p for p in error.problems if p not in problems)
    if problems:
        raise MakerError(problems)
    return tuple(cues)


def library_names() -> tuple[str, ...]:
    """Return the names of the looks that come with the program."""
    return tuple(sorted(_library()))


def library_text(name: str) -> str:
    """Return the text of a look that comes with the program."""
    return _library()[name]


@cache
def _library() -> Mapping[str, str]:
    folder = resources.files("lampwright.look") / "library"
    return {
        entry.name.removesuffix(".look"): entry.read_text(encoding="utf-8")
        for entry in folder.iterdir()
        if entry.name.endswith(".look")
    }


def _find_look(piece: Piece, number: int, name: str) -> Look:
    """Return a look from ``looks/`` beside the piece file, else from the library."""
    own = piece.file.parent / "looks" / f"{name}.look"
    if Path(name).name == name and own.exists():
        return read_look(_text_of(own), name, str(own))
    if name in _library():
        return read_look(library_text(name), name, f"library/{name}.look")
    folder = piece.file.parent / "looks"
    mine = [path.stem for path in folder.glob("*.look") if path.is_file()] if folder.is_dir() else []
    do = f"use one of these, or write looks/{name}.look beside the piece file"
    raise MakerError([_no_such_look(name, mine, do, piece.source.find("cue", number, "look"))])


def find_look(name: str) -> Look:
    """Return a look of the library by its name, or of a file that ends in ``.look``.

    Raises
    ------
    MakerError
        SHOW-001 no such look; LOOK codes for what is wrong in its text.
    """
    if name.endswith(".look"):
        return read_look(_text_of(Path(name)), Path(name).stem, name)
    if name in _library():
        return read_look(library_text(name), name, f"library/{name}.look")
    raise MakerError([_no_such_look(name, [], "use one of these, or give a file that ends in .look", None)])


def _no_such_look(name: str, mine: Sequence[str], do: str, place: Place | None) -> Problem:
    known = sorted({*_library(), *mine})
    near = difflib.get_close_matches(name, known, 1)
    named = difflib.get_close_matches(name, known, 5, 0.3) or known[:5]
    some = ", ".join(f'"{n}"' for n in named)
    return Problem(
        "SHOW-001",
        f'there is no look "{name}"',
        f'"{name}"',
        f"{some} and {len(known) - len(named)} more, all of them in docs/looks.md",
        f'did you mean "{near[0]}"?' if near else do,
        place,
    )


def look_places(piece: Piece, layout: CircuitLayout) -> Places:
    """Return what a look may know of a circuit's pixels."""
    section = np.zeros(layout.n_pixel, dtype=np.int64)
    member = np.zeros(layout.n_pixel, dtype=np.int64)
    order = {each.name: number for number, each in enumerate(piece.members)}
    for number, part in enumerate(part for run in layout.runs for part in run.sections):
        own = slice(part.first, part.first + part.n_pixel)
        section[own] = number
        member[own] = _nearest_members(part.section, part.n_pixel, order)
    return Places(layout.along, layout.xyz, layout.circuit.number, section, member)


def _nearest_members(section: Section, n_pixel: int, order: Mapping[str, int]) -> NDArray[np.int64]:
    """Return member numbers: a span's first half belongs to where it starts, the rest to where it ends."""
    if isinstance(section, FixedSection):
        return np.full(n_pixel, order[section.member.name])
    ends = (order[section.start.member.name], order[section.end.member.name])
    return np.where(np.arange(n_pixel) < (n_pixel + 1) // 2, *ends)


def _text_of(file: Path) -> str:
    try:
        return file.read_text(encoding="utf-8")
    except OSError as error:
        problem = Problem(
            "LOOK-001",
            f"{file} can't be read",
            "a folder" if file.is_dir() else (error.strerror or "an error of the disk"),
            "a look as plain text in UTF-8",
            _what_to_do(file),
        )
        raise MakerError([problem]) from None
    except UnicodeDecodeError as error:
        problem = Problem(
            "LOOK-001",
            f"{file} is not a text file",
            f"byte {error.start + 1}, {error.object[error.start]:#04x}",
            "a look as plain text in UTF-8",
            "save it as plain text from a text editor",
        )
        raise MakerError([problem]) from None


def _what_to_do(file: Path) -> str:
    if file.is_dir():
        return "give the folder another name"
    return "let yourself read the file" if file.exists() else "correct the name, or write the file"


class _Compiler:
    """Compiles one circuit's show."""

    def __init__(self, piece: Piece, layout: CircuitLayout, sheet: tuple[_SheetCue, ...]) -> None:
        self.piece, self.layout, self.sheet = piece, layout, sheet
        self.frame_ms = round(piece.show.frame_period * 1000)
        self.places = look_places(piece, layout)
        self.drive = _drive(piece, layout.circuit.strip)

    def compile(self) -> CircuitShow:
        cues = self._cues()
        return CircuitShow(
            self.layout,
            self.frame_ms,
            self._frame_count(self.piece.brief.standby),
            sum(cue.length for cue in cues),
            self.piece.show.ending,
            cues,
            self._indicator(),
            self._limiter(),
            _channel_order(self.layout.circuit.strip.order),
            self._goes_on_until(),
        )

    def _goes_on_until(self) -> int:
        if self.piece.standby.after_power_loss is PowerLoss.COUNT_DOWN_AGAIN:
            return 0
        return self._frame_count(self.piece.brief.standby + self.piece.brief.run_time)

    def _frame_count(self, seconds: float) -> int:
        return round(seconds * 1000 / self.frame_ms)

    def _cues(self) -> tuple[CueProgram, ...]:
        """Return compiled cues; equal looks with equal settings share one program."""
        lengths = [max(1, self._frame_count(s.cue.length)) for s in self.sheet]
        fades = [min(self._frame_count(s.cue.fade), n) for s, n in zip(self.sheet, lengths, strict=True)]
        last = self._last_frames(lengths, fades)
        programs: dict[tuple[object, ...], Program] = {}
        cues = []
        start = 0
        for entry, length, fade in zip(self.sheet, lengths, fades, strict=True):
            key = _program_key(entry)
            if key not in programs:
                time = CueTime(length * self.frame_ms / 1000, entry.cue.stagger * self.layout.circuit.number)
                programs[key] = compile_look(
                    entry.look, entry.settings, self.places, self.frame_ms / 1000, last[key], self.drive, time
                )
            cues.append(CueProgram(programs[key], start, length, fade))
            start += length
        return tuple(cues)

    def _last_frames(self, lengths: list[int], fades: list[int]) -> dict[tuple[object, ...], int]:
        """Return, per program, the last frame that any of its cues asks for, fading out included."""
        last: dict[tuple[object, ...], int] = {}
        for index, entry in enumerate(self.sheet):
            following = fades[(index + 1) % len(fades)]
            key = _program_key(entry)
            last[key] = max(last.get(key, 0), lengths[index] + following)
        return last

    def _indicator(self) -> Indicator:
        standby = self.piece.standby
        minutes = -(-self._frame_count(self.piece.brief.standby) * self.frame_ms // 60_000)
        pixels = tuple(standby.first + standby.every * minute for minute in range(minutes))
        head = self.layout.runs[0]
        if pixels and pixels[-1] >= head.n_pixel:
            problem = Problem(
                "SHOW-003",
                f'the count indicator doesn\'t fit on run "{head.run.name}" of circuit "{self.layout.circuit.name}"',
                f"{minutes} minutes up to pixel {pixels[-1]}",
                f"pixels 0 to {head.n_pixel - 1}",
                "shorten the standby, or make first or every in [standby] smaller",
                self.piece.source.find("standby", "every") or self.piece.source.find("brief", "standby"),
            )
            raise MakerError([problem])
        linear = hex_to_linear(standby.colour)
        assert linear is not None, "the piece file's reader lets only hex colours through"
        parts = zip(linear, self.drive.balance, strict=True)
        red, green, blue = (round(255 * share * balance * standby.level) for share, balance in parts)
        return Indicator(pixels, (red, green, blue))

    def _limiter(self) -> Limiter:
        """Return the limiter; proves that the chip's 32-bit sums hold the brightest frame."""
        circuit, strip = self.layout.circuit, self.layout.circuit.strip
        currents = (strip.red_current, strip.green_current, strip.blue_current)
        red, green, blue = (round(figure.value / CURRENT_UNIT) for figure in currents)
        dark = circuit.board.current.value + self.layout.n_pixel * strip.quiescent_current.value
        left = circuit.current_cap - dark
        if left <= 0:
            problem = Problem(
                "SHOW-002",
                f'circuit "{circuit.name}" has no current left for light',
                f"{_current(circuit.current_cap)} allowed, {_current(dark)} drawn with every pixel dark",
                "a current cap above what the board and the dark pixels draw",
                "choose a pack with a higher limit, fewer pixels, or raise current_cap",
                self.piece.source.find("circuit"),
            )
            raise MakerError([problem])
        cap = int(left / CURRENT_UNIT * 255)
        brightest = 255 * self.layout.n_pixel * (red + green + blue)
        if max(brightest, cap) >= 1 << 32:
            problem = Problem(
                "SHOW-005",
                f'circuit "{circuit.name}" draws more than the limiter can count',
                f"{_current(max(brightest, cap) / 255 * CURRENT_UNIT)} for light with {self.layout.n_pixel} pixels",
                f"at most {_current(MOST_COUNTED)}",
                "share the pixels out among several circuits, each with its own pack and board",
                self.piece.source.find("circuit"),
            )
            raise MakerError([problem])
        return Limiter((red, green, blue), cap)


def _current(value: float) -> str:
    return format_quantity(value, "current")


def _drive(piece: Piece, strip: Strip) -> Drive:
    white = (strip.white_red.value, strip.white_green.value, strip.white_blue.value)
    balance = white if piece.show.is_balanced else (1.0, 1.0, 1.0)
    return Drive(piece.show.brightness, balance, piece.show.is_dithered)


def _program_key(entry: _SheetCue) -> tuple[object, ...]:
    """Return what tells programs apart: cues alike in all of it share one."""
    length = entry.cue.length if any(isinstance(v, Change) for v in entry.settings.values()) else None
    settings = tuple(sorted(entry.settings.items(), key=lambda item: item[0]))
    return entry.look.name, settings, entry.cue.stagger, length


def _channel_order(order: str) -> tuple[int, int, int]:
    first, second, third = ("RGB".index(letter) for letter in order)
    return first, second, third

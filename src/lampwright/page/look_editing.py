"""Looks written on the page: read and compiled as they are typed, costed on the chip, written beside the piece.

A look is read and never executed here; the browser runs what the compiler has made of it.
"""

from __future__ import annotations

import dataclasses
import hashlib
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, PlainTextResponse, Response
from starlette.routing import Route

from lampwright.firmware import find_compiler
from lampwright.look import Look, read_look
from lampwright.page.answers import refused
from lampwright.page.scene import scene_of
from lampwright.page.workspace import Draft, Workspace
from lampwright.piece.model import Cue
from lampwright.power.line import write_time
from lampwright.rehearsal.look_cost import frame_cycles
from lampwright.show import CircuitShow, compile_show
from lampwright.show.compile import library_names, library_text
from lampwright.units.errors import MakerError, Problem
from lampwright.written import write_whole

LOOK_NAME = re.compile(r"[a-z][a-z0-9-]{0,39}")
"""What a look may be called: it becomes the name of a file."""

LONGEST_LOOK = 20_000
"""Characters of a look's text; those of the library have some hundreds."""

COSTED_FRAMES = 12
"""Frames that the emulated chip works out for the cost."""


class LookEditing:
    """Answers the page's editor."""

    def __init__(self, workspace: Workspace) -> None:
        self._workspace = workspace

    def routes(self) -> list[Route]:
        """Return where the page asks."""
        return [
            Route("/looks", self.looks),
            Route("/look/{name}", self.look),
            Route("/look-try", self.attempt, methods=["POST"]),
            Route("/look-cost", self.cost, methods=["POST"]),
            Route("/look-write", self.write, methods=["POST"]),
        ]

    async def looks(self, _request: Request) -> Response:
        """Answer with the names of all looks: the piece's own, and the library's."""
        folder = self._workspace.file.parent / "looks"
        own = sorted(path.stem for path in folder.glob("*.look") if LOOK_NAME.fullmatch(path.stem))
        return JSONResponse({"own": own, "library": list(library_names())})

    async def look(self, request: Request) -> Response:
        """Answer with a look's text: the piece's own, else the library's."""
        name = request.path_params["name"]
        try:
            file = own_file(self._workspace.file, name)
            text = _text_of(file)
        except MakerError as error:
            return refused(error)
        if text is None and name in library_names():
            return JSONResponse({"text": library_text(name), "digest": ""})
        return JSONResponse({"text": text or "", "digest": digest_of(text)})

    async def attempt(self, request: Request) -> Response:
        """Answer with the piece as this text makes it glow, or with what is wrong in the text."""

        def work(draft: Draft, name: str, text: str, _digest: str) -> dict[str, Any]:
            trial, shows = tried(draft, name, text)
            return {"scene": scene_of(trial, shows), "title": shows[0].cues[0].program.look.title}

        return await self._answer(request, work)

    async def cost(self, request: Request) -> Response:
        """Answer with what the look costs on the chips of this piece."""

        def work(draft: Draft, name: str, text: str, _digest: str) -> dict[str, Any]:
            _, shows = tried(draft, name, text)
            return {"told": told_cost(max(shows, key=lambda show: show.layout.n_pixel))}

        return await self._answer(request, work)

    async def write(self, request: Request) -> Response:
        """Write the look beside the piece, unless somebody else has changed it there."""

        def work(draft: Draft, name: str, text: str, digest: str) -> dict[str, Any]:
            tried(draft, name, text)
            write_look(self._workspace.file, name, text, digest)
            self._workspace.look_again()
            return {"digest": digest_of(text)}

        return await self._answer(request, work)

    async def _answer(self, request: Request, work: Callable[[Draft, str, str, str], dict[str, Any]]) -> Response:
        try:
            given = await request.json()
            number, name, text = int(given["number"]), str(given["name"]), str(given["text"])
            digest = str(given.get("digest", ""))
        except (ValueError, KeyError, TypeError):
            return PlainTextResponse("no look", 400)
        if len(text) > LONGEST_LOOK:
            return PlainTextResponse(f"a look has at most {LONGEST_LOOK} characters", 413)
        try:
            return JSONResponse(await run_in_threadpool(work, self._workspace.state(number), name, text, digest))
        except MakerError as error:
            return refused(error)


def tried(draft: Draft, name: str, text: str) -> tuple[Any, tuple[CircuitShow, ...]]:
    """Return the piece with this look alone on its cue sheet, and its shows; settings as the sheet has them.

    Raises
    ------
    MakerError
        LOOK codes, each at its line and column; PAGE-009, no such name for a look.
    """
    own_file(draft.piece.file, name)
    look: Look = read_look(text, name, f"{name}.look")
    sheet = draft.piece.show
    first = next((cue for cue in sheet.cues if cue.look == name), None)
    settings = first.settings if first is not None else {}
    cue = Cue(name, sum(each.length for each in sheet.cues), 0.0, settings)
    trial = dataclasses.replace(draft.piece, show=dataclasses.replace(sheet, cues=(cue,)))
    return trial, compile_show(dataclasses.replace(draft.layout, piece=trial), {name: look})


def told_cost(show: CircuitShow) -> str:
    """Return what a show of one look costs its circuit's chip, as measured on the emulated one."""
    board, n_pixel = show.layout.circuit.board, show.layout.n_pixel
    try:
        fewest, most = frame_cycles(show.cues[0].program, find_compiler(), board.chip, COSTED_FRAMES)
    except ValueError:
        return f"too large or too slow for the {board.title}"
    frame = show.frame_ms / 1000
    line = write_time(n_pixel, show.layout.circuit.strip.timing) / frame
    compose = most / board.clock.value / frame
    low, high = fewest // n_pixel, most // n_pixel
    cycles = f"{low} to {high}" if low != high else f"{high}"
    left = 1 - compose - line
    rest = f"{left:.0%} is left" if left >= 0 else "that is more than there is"
    return (
        f"{cycles} cycles a pixel on {board.title}: {compose:.0%} of a frame's {show.frame_ms} ms for the "
        f"{n_pixel} pixels of {show.layout.circuit.name}, {line:.0%} to send them; {rest}"
    )


def own_file(piece_file: Path, name: str) -> Path:
    """Return the file of a look of this name beside a piece.

    Raises
    ------
    MakerError
        PAGE-009, no look can be called so, or its place is outside of the piece's folder.
    """
    folder = piece_file.parent.resolve()
    file = folder / "looks" / f"{name}.look"
    if not LOOK_NAME.fullmatch(name) or not file.resolve().is_relative_to(folder):
        raise MakerError([_no_name(name)])
    return file


def write_look(piece_file: Path, name: str, text: str, digest: str) -> None:
    """Write a look beside a piece, whole or not at all.

    Parameters
    ----------
    digest
        Of the text that the page began with, empty where there was no file.

    Raises
    ------
    MakerError
        PAGE-009 no such name; PAGE-010 the file is no longer what the page began with.
    OSError
        The file can't be written.
    """
    file = own_file(piece_file, name)
    if digest_of(_text_of(file)) != digest:
        raise MakerError([_changed_elsewhere(file)])
    file.parent.mkdir(exist_ok=True)
    write_whole(file, text)


def digest_of(text: str | None) -> str:
    """Return what tells one text from another; nothing for no text."""
    return "" if text is None else hashlib.sha256(text.encode()).hexdigest()


def _text_of(file: Path) -> str | None:
    try:
        return file.read_text(encoding="utf-8")
    except FileNotFoundError:
        return None
    except (OSError, UnicodeDecodeError):
        raise MakerError([_changed_elsewhere(file)]) from None


def _no_name(name: str) -> Problem:
    return Problem(
        "PAGE-009",
        "a look can't be called so",
        f'"{name}"',
        "small letters, digits and hyphens, a letter first, at most 40 signs; a file in looks/ beside the piece",
        'choose another name, such as "my-rime"',
    )


def _changed_elsewhere(file: Path) -> Problem:
    return Problem(
        "PAGE-010",
        "the look was changed by somebody else",
        f"looks/{file.name} is no longer what the page has begun with",
        "a file that only this page changes while it is open",
        "take it into the page again and make your change once more, or write under another name",
    )

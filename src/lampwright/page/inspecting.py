"""The inspection on the page: the form beside the piece, filled by taps; its photos, and the map of what failed.

The form is the file that the command line fills and reads; each answer is written into it at once, unless somebody else
has changed it since the page has seen it.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict, fields
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, PlainTextResponse, Response
from starlette.routing import Route

from lampwright.faults.every import embody
from lampwright.page.answers import problem_data, refused
from lampwright.page.workspace import Draft, Workspace
from lampwright.strike import (
    PLACED,
    TIMED,
    Entry,
    Filling,
    Form,
    FormRow,
    begin_filling,
    damage_picture,
    form_beside,
    form_of,
    hows,
    judge,
    photo_file,
    pixels_of,
    save_photo,
    set_aside,
    small_photo,
    sound_rest,
    tell,
    wrong_photo,
)
from lampwright.strike.form import Thing
from lampwright.units.errors import MakerError, Problem
from lampwright.written.picture import png_bytes

SMALL = 480
"""Side of a photo that the page shows. [px]"""

UNSAVED = "The form is of the piece as its file has it: write the file first, or undo."

Act = Callable[[Filling, Any], object]
"""What one request does with the form, given its JSON."""


class Inspecting:
    """Answers the page's inspection."""

    def __init__(self, workspace: Workspace) -> None:
        self._workspace = workspace
        self._lock = threading.Lock()

    def routes(self) -> list[Route]:
        """Return where the page asks."""
        return [
            Route("/inspection", self.shown),
            Route("/inspection/tell", self.tell, methods=["POST"]),
            Route("/inspection/rest", self.rest, methods=["POST"]),
            Route("/inspection/anew", self.anew, methods=["POST"]),
            Route("/inspection/map", self.map),
            Route("/inspection/photo", self.keep, methods=["POST"]),
            Route("/inspection/photo", self.photo),
        ]

    async def shown(self, _request: Request) -> Response:
        """Answer with the form as its file has it now."""
        return await self._answer(lambda: self._data(self._filling()))

    async def tell(self, request: Request) -> Response:
        """Take what is said of one thing, in place of what was said of it."""

        def act(filling: Filling, given: Any) -> None:
            thing = (str(given["circuit"]), str(given["thing"]))
            entries = [Entry(**{each.name: str(one[each.name]) for each in fields(Entry)}) for one in given["entries"]]
            ensure_right(_row_of(filling.form, thing), entries, filling.form)
            tell(filling, {thing: entries})

        return await self._change(request, act)

    async def rest(self, request: Request) -> Response:
        """Take all of a circuit that nobody has spoken of for sound."""

        def act(filling: Filling, given: Any) -> None:
            circuit = str(given["circuit"])
            tell(filling, sound_rest(filling, [thing for thing in filling.entries if thing[0] == circuit]))

        return await self._change(request, act)

    async def anew(self, request: Request) -> Response:
        """Keep the form under another name, and begin an empty one."""
        return await self._change(request, lambda filling, _given: set_aside(filling) if filling.digest else None)

    async def map(self, _request: Request) -> Response:
        """Answer with the map of what has failed so far."""

        def work() -> Response:
            picture = damage_picture(self._workspace.draft.layout, self._filling().failures())
            return Response(png_bytes(picture), media_type="image/png")

        return await self._answer(work)

    async def keep(self, request: Request) -> Response:
        """Keep a photo of a thing beside the piece, and answer with its name."""
        thing = request.query_params.get("circuit", ""), request.query_params.get("thing", "")
        content = await request.body()

        def work() -> dict[str, str]:
            form = form_for(self._workspace.draft)
            return {"name": save_photo(form.folder, _row_of(form, thing), content)}

        return await self._answer(work)

    async def photo(self, request: Request) -> Response:
        """Answer with a photo of the piece's folder, small."""
        name = request.query_params.get("name", "")

        def work() -> Response:
            folder = form_for(self._workspace.draft).folder
            file = photo_file(folder, name)
            if file is None or wrong_photo(folder, name) is not None:
                return PlainTextResponse("no such photo", 404)
            return Response(small_photo(file, SMALL), media_type="image/jpeg")

        return await self._answer(work)

    async def _change(self, request: Request, act: Act) -> Response:
        """Change the form and answer with it, when it is still the one that the page has seen."""
        try:
            given = await request.json()
            digest = str(given["digest"])
        except (ValueError, KeyError, TypeError):
            return PlainTextResponse("nothing is told", 400)

        def work() -> dict[str, Any]:
            with self._lock:
                act(self._filling(digest), given)
            return self._data(self._filling())

        return await self._answer(work)

    async def _answer(self, work: Callable[[], Any]) -> Response:
        """Do something with the form, and answer with what comes of it or with what is wrong."""
        if not self._workspace.is_saved():
            return PlainTextResponse(UNSAVED, 409)
        try:
            answer = await run_in_threadpool(work)
        except WrongEntryError as error:
            return JSONResponse({"problems": error.data()}, 422)
        except MakerError as error:
            return refused(error)
        except OSError as error:
            return refused(MakerError([_not_written(error)]))
        except (KeyError, TypeError):
            return PlainTextResponse("no such thing", 400)
        return answer if isinstance(answer, Response) else JSONResponse(answer)

    def _filling(self, digest: str | None = None) -> Filling:
        """Return the form as its file has it; with ``digest``, what is told is refused where that is another state."""
        filling = begin_filling(form_beside(self._workspace.file), form_for(self._workspace.draft))
        return filling if digest is None else Filling(filling.path, filling.form, filling.entries, digest)

    def _data(self, filling: Filling) -> dict[str, Any]:
        """Return the form ready for JSON."""
        layout = self._workspace.draft.layout
        rows = {row.key: row for row in filling.form.rows}

        def entry_data(thing: Thing, entry: Entry) -> dict[str, Any]:
            failure, _ = judge(rows[thing], entry, filling.form)
            hit = [] if failure is None else stretches(pixels_of(layout, failure.row, failure.pixel))
            return {**asdict(entry), "hit": hit}

        things = [
            {**data, "entries": [entry_data(thing, each) for each in filling.entries[thing]]}
            for thing, data in things_of(self._workspace.draft).items()
        ]
        return {
            "digest": filling.digest,
            "file": filling.path.name,
            "things": things,
            "ways": {sort: list(ways) for sort, ways in hows().items()},
            "told": len(filling.entries) - len(filling.untold()),
            "failed": len(filling.failures()),
        }


class WrongEntryError(MakerError):
    """What is said of a thing can't be read; each problem belongs to a cell of one of its entries."""

    def __init__(self, faults: Sequence[tuple[int, str, Problem]]) -> None:
        super().__init__([problem for _, _, problem in faults])
        self._faults = faults

    def data(self) -> list[dict[str, Any]]:
        """Return the problems ready for JSON, each with its entry and its cell."""
        return [{**problem_data(problem), "entry": number, "cell": cell} for number, cell, problem in self._faults]


def ensure_right(row: FormRow, entries: Sequence[Entry], form: Form) -> None:
    """Raise a :class:`WrongEntryError` with all that can't be read, if anything can't."""
    faults = [
        (number, fault.column, fault.problem())
        for number, entry in enumerate(entries)
        for fault in judge(row, entry, form)[1]
    ]
    if faults:
        raise WrongEntryError(faults)


def stretches(pixels: NDArray[np.int64]) -> list[list[int]]:
    """Return pixels as first and count of each stretch without a gap."""
    if not len(pixels):
        return []
    each = np.split(pixels, np.flatnonzero(np.diff(pixels) != 1) + 1)
    return [[int(part[0]), len(part)] for part in each]


@lru_cache(maxsize=4)
def form_for(draft: Draft) -> Form:
    """Return the form of the piece in this state."""
    return form_of(draft.layout, embody(draft.layout))


@lru_cache(maxsize=4)
def things_of(draft: Draft) -> Mapping[Thing, Mapping[str, Any]]:
    """Return what the page knows of each thing, whatever is told of it; pixels count over all circuits."""
    return {
        row.key: {
            "circuit": row.circuit,
            "thing": row.thing,
            "sort": row.sort,
            "run": row.run,
            "first": row.first,
            "count": row.n_pixel,
            "where": PLACED.get(row.sort, ""),
            "isTimed": row.sort in TIMED,
            "pixels": stretches(pixels_of(draft.layout, row, None)),
        }
        for row in form_for(draft).rows
    }


def _row_of(form: Form, thing: Thing) -> FormRow:
    """Return a thing's row. Raises ``KeyError`` where the piece has no such thing."""
    return {row.key: row for row in form.rows}[thing]


def _not_written(error: OSError) -> Problem:
    return Problem(
        "STRIKE-003",
        "the computer refuses a file",
        f"{error.strerror or error}: {error.filename}",
        "a folder of the piece in which you may write, on a disk with room",
        "free some room or change the permissions, then say the last thing again",
    )

"""Faults that the page can switch on: all that the piece may suffer, and what it shows while some of them last."""

from __future__ import annotations

import base64
import math
from collections.abc import Sequence
from functools import lru_cache
from typing import Any

import numpy as np
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, PlainTextResponse, Response
from starlette.routing import Route

from lampwright.faults import Outage, Suffered, embody, suffer, worst_first
from lampwright.faults.every import Body, PieceFault
from lampwright.page.answers import refused
from lampwright.page.workspace import Draft, Workspace
from lampwright.units import format_quantity
from lampwright.units.errors import MakerError

MOST_AT_ONCE = 8
"""Faults that may be switched on together."""

LIT, DARK, FROZEN, WRONG = range(4)
"""What a pixel shows, one byte each."""


class Failing:
    """The faults of the piece that a workspace shows."""

    def __init__(self, workspace: Workspace) -> None:
        self._workspace = workspace

    def routes(self) -> list[Route]:
        """Return where the page asks."""
        return [Route("/faults", self.faults), Route("/suffer", self.suffer, methods=["POST"])]

    async def faults(self, _request: Request) -> Response:
        """Answer with every fault, the worst first; its place in this list is its number."""
        draft = self._workspace.draft
        _, weighed = await run_in_threadpool(_weighed, draft)
        return JSONResponse({"number": draft.number, "faults": [_fault_data(*each) for each in weighed]})

    async def suffer(self, request: Request) -> Response:
        """Answer with what the piece shows while the faults of these numbers last."""
        try:
            given = await request.json()
            number, chosen = int(given["number"]), [int(each) for each in given["faults"]]
        except (ValueError, KeyError, TypeError):
            return PlainTextResponse("no numbers of faults", 400)
        try:
            draft = self._workspace.state(number)
        except MakerError as error:
            return refused(error)
        body, weighed = await run_in_threadpool(_weighed, draft)
        if len(chosen) > MOST_AT_ONCE or not all(0 <= each < len(weighed) for each in chosen):
            return PlainTextResponse(f"at most {MOST_AT_ONCE} faults out of {len(weighed)}", 400)
        return JSONResponse(_suffered_data(body, [weighed[each][0] for each in chosen]))


@lru_cache(maxsize=2)
def _weighed(draft: Draft) -> tuple[Body, tuple[tuple[PieceFault, Outage], ...]]:
    body = embody(draft.layout)
    return body, worst_first(body)


def _fault_data(fault: PieceFault, outage: Outage) -> dict[str, Any]:
    return {"name": fault.name, "pixelsLit": outage.pixels_lit, "passes": _passes(fault)}


def _passes(fault: PieceFault) -> str:
    """Return after how long a fault mends itself, empty where it doesn't this evening."""
    return "" if math.isinf(fault.lasts) else format_quantity(fault.lasts, "time", 2)


def _suffered_data(body: Body, faults: Sequence[PieceFault]) -> dict[str, Any]:
    """Return what a piece shows with these faults, ready for JSON; a byte tells what is wrong with each pixel."""
    suffered = suffer(body, faults)
    marks = np.full(body.n_pixel, LIT, np.uint8)
    for mark, mask in ((DARK, suffered.shown.dark), (FROZEN, suffered.shown.frozen), (WRONG, suffered.shown.wrong)):
        marks[mask] = mark
    return {
        "marks": base64.b64encode(marks.tobytes()).decode(),
        "pixelsLit": suffered.pixels_lit,
        "told": _told(body, suffered),
        "holds": suffered.holds,
        "verdict": _verdict(body, suffered),
    }


def _told(body: Body, suffered: Suffered) -> str:
    shown = suffered.shown
    counts = {"dark": shown.dark, "frozen in the last colour": shown.frozen, "showing anything": shown.wrong}
    told = ", ".join(f"{int(mask.sum())} {what}" for what, mask in counts.items() if mask.any())
    lit = f"{format_quantity(suffered.pixels_lit, 'share', 3)} of the pixels"
    circuits = f"{suffered.circuits_lit} of {len(body.anatomies)} circuits"
    return f"{lit} and {circuits} are lit" + (f"; {told}" if told else "")


def _verdict(body: Body, suffered: Suffered) -> str:
    """Return whether the brief's demand holds, and how many faults it is about."""
    asked = body.piece.brief.survive.failures
    if asked == 0:
        return "The brief demands nothing once something has failed."
    wanted = f"{suffered.circuits_needed} of {len(body.anatomies)} circuits lit after any {_faults(asked)}"
    if suffered.n_lasting > asked:
        return f"The brief wants {wanted}; {_faults(suffered.n_lasting)} are more than it asks about."
    return f"The brief's demand {'holds' if suffered.holds else 'is broken'}: it wants {wanted}."


def _faults(count: int) -> str:
    return {1: "one fault", 2: "two faults", 3: "three faults"}.get(count, f"{count} faults")

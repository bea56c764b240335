"""To look at candidates on the page, and to choose one: its piece file is written, and its page opened."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, PlainTextResponse, Response
from starlette.routing import BaseRoute, Mount, Route
from starlette.types import ASGIApp, Receive, Scope, Send

from lampwright.page.answers import refused
from lampwright.page.brief import BriefStates
from lampwright.page.desk import Desk
from lampwright.page.offers import candidate_data
from lampwright.page.workspace import Workspace
from lampwright.propose import draw_within
from lampwright.units.errors import MakerError

NARROWEST, WIDEST = 280, 1600
"""Widths of the picture that are drawn. [px]"""


class Choosing:
    """Answers what only a brief's page asks; ``page_of`` makes the page of a piece."""

    def __init__(self, states: BriefStates, desk: Desk, page_of: Callable[[Workspace], ASGIApp]) -> None:
        self._states, self._desk, self._page_of = states, desk, page_of
        self._pages: dict[int, ASGIApp] = {}
        self._looked_at = lru_cache(maxsize=16)(self._look_at)

    def routes(self) -> list[BaseRoute]:
        """Return where the page asks."""
        return [
            Route("/search", self.search, methods=["POST"]),
            Route("/stop", self.stop, methods=["POST"]),
            Route("/picture/{answer:int}/{width:int}", self.picture),
            Route("/candidate/{answer:int}/{number:int}", self.candidate),
            Route("/write", self.write, methods=["POST"]),
            Mount("/made/{made:int}", self.made),
        ]

    async def search(self, _request: Request) -> Response:
        """Search for the brief that is shown."""
        return await self._desk.done(self._states.search_again)

    async def stop(self, _request: Request) -> Response:
        """Give up the search."""
        return await self._desk.done(self._states.stop)

    async def picture(self, request: Request) -> Response:
        """Answer with the picture of the candidates, so wide."""
        width = min(WIDEST, max(NARROWEST, request.path_params["width"]))
        try:
            proposal = self._states.answer(request.path_params["answer"]).proposal
        except MakerError as error:
            return refused(error)
        if not proposal.candidates:
            return PlainTextResponse("there are no candidates", 404)
        return JSONResponse({"svg": draw_within(proposal.candidates, proposal.currency, width)})

    async def candidate(self, request: Request) -> Response:
        """Answer with one candidate to look at."""
        answer, number = request.path_params["answer"], request.path_params["number"]
        try:
            return JSONResponse(await run_in_threadpool(self._looked_at, answer, number))
        except MakerError as error:
            return refused(error)

    def _look_at(self, answer: int, number: int) -> dict[str, Any]:
        given, candidate = self._states.candidate(answer, number)
        return candidate_data(candidate, given.asked, self._states.file)

    async def write(self, request: Request) -> Response:
        """Write a candidate's piece file and answer with the number of its page."""
        try:
            given = await request.json()
            answer, number, name = int(given["answer"]), int(given["candidate"]), str(given["name"])
        except (ValueError, KeyError, TypeError):
            return PlainTextResponse("not a choice", 400)
        try:
            return JSONResponse({"made": await run_in_threadpool(self._states.write, answer, number, name)})
        except MakerError as error:
            return refused(error)

    async def made(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Serve the page of a piece that was written, below the brief's."""
        number = scope["path_params"]["made"]
        workspace = self._states.written(number)
        if workspace is None:
            await PlainTextResponse("no such piece was written", 404)(scope, receive, send)
            return
        if number not in self._pages:
            self._pages[number] = self._page_of(workspace)
        await self._pages[number](scope, receive, send)

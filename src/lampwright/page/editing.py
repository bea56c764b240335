"""What every page of a file asks beside changed values: keys and tables taken out, tables copied."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response
from starlette.routing import Route

from lampwright.page.desk import Desk
from lampwright.page.fields import Step
from lampwright.page.states import States


class Editing:
    """Answers what the page asks of a path in the file."""

    def __init__(self, states: States[Any], desk: Desk) -> None:
        self._states, self._desk = states, desk

    def routes(self) -> list[Route]:
        """Return where the page asks."""
        return [
            Route("/take-out", self.take_out, methods=["POST"]),
            Route("/copy", self.copy, methods=["POST"]),
        ]

    async def take_out(self, request: Request) -> Response:
        """Take a key or a table out."""
        return await self._at_path(request, self._states.take_out)

    async def copy(self, request: Request) -> Response:
        """Copy a table."""
        return await self._at_path(request, self._states.copy)

    async def _at_path(self, request: Request, act: Callable[[int, tuple[Step, ...]], None]) -> Response:
        try:
            given = await request.json()
            number, path = int(given["number"]), tuple(given["path"])
            hash(path)
        except (ValueError, KeyError, TypeError):
            return PlainTextResponse("not a change", 400)
        return await self._desk.done(lambda: act(number, path))

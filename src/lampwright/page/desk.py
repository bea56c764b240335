"""What every page of a file asks for: itself, the state that is shown, news of it, changes, and the file."""

from __future__ import annotations

import asyncio
import json
import secrets
from collections.abc import AsyncIterator, Callable
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, PlainTextResponse, Response, StreamingResponse
from starlette.routing import Route

from lampwright.findings import explain
from lampwright.page.answers import refused
from lampwright.page.preview import PLACE, built_page
from lampwright.page.states import States
from lampwright.units.errors import MakerError

TOLD_EVERY = 0.25
"""How often the page is told of progress. [s]"""


class Desk:
    """Answers the requests of one page; ``about`` tells the browser's part what it is of."""

    def __init__(self, states: States[Any], key: str, about: str) -> None:
        self._states, self._key, self._about = states, key, about

    def routes(self) -> list[Route]:
        """Return where the page asks."""
        return [
            Route("/", self.page),
            Route("/shown", self.shown),
            Route("/news", self.news),
            Route("/change", self.change, methods=["POST"]),
            Route("/undo", self.undo, methods=["POST"]),
            Route("/save", self.save, methods=["POST"]),
            Route("/reread", self.reread, methods=["POST"]),
            Route("/explain/{code}", self.explain),
        ]

    async def page(self, request: Request) -> Response:
        """Answer with the page itself, which asks by the key in its address."""
        if not secrets.compare_digest(request.query_params.get("key", "").encode(), self._key.encode()):
            return PlainTextResponse("Open the page by the address that the program has printed.", 403)
        nonce = secrets.token_urlsafe(16)
        text = built_page().replace(
            PLACE, f'<script type="text/plain" id="key" data-about="{self._about}">{self._key}</script>', 1
        )
        text = text.replace("<script", f'<script nonce="{nonce}"').replace("<style", f'<style nonce="{nonce}"')
        policy = (
            f"default-src 'none'; script-src 'nonce-{nonce}' blob:; style-src 'nonce-{nonce}'; connect-src 'self'; "
            "img-src 'self' data: blob:; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
        )
        return HTMLResponse(text, headers={"content-security-policy": policy})

    async def shown(self, _request: Request) -> Response:
        """Answer with everything that the page shows."""
        return JSONResponse(await run_in_threadpool(self._states.shown))

    async def news(self, request: Request) -> Response:
        """Send progress, a line of JSON each time that there is any, until the page goes away."""

        async def lines() -> AsyncIterator[str]:
            last = None
            while not await request.is_disconnected():
                now = self._states.progress()
                if now != last:
                    yield json.dumps(now) + "\n"
                last = now
                await asyncio.sleep(TOLD_EVERY)

        return StreamingResponse(lines(), media_type="application/x-ndjson")

    async def change(self, request: Request) -> Response:
        """Change one value, or several at once."""
        try:
            given = await request.json()
            several = given.get("changes", [given])
            changes = [(tuple(each["path"]), str(each["value"])) for each in several]
            number = int(given["number"])
        except (ValueError, KeyError, TypeError, AttributeError):
            return PlainTextResponse("not a change", 400)
        return await self.done(lambda: self._states.change(number, changes))

    async def undo(self, _request: Request) -> Response:
        """Go back by one state."""
        return await self.done(self._states.undo)

    async def save(self, _request: Request) -> Response:
        """Write the file."""
        return await self.done(self._states.save)

    async def reread(self, _request: Request) -> Response:
        """Take the file as it is."""
        return await self.done(self._states.reread)

    async def explain(self, request: Request) -> Response:
        """Answer with the page of a code."""
        try:
            return JSONResponse({"text": explain(request.path_params["code"]).text})
        except MakerError as error:
            return refused(error)

    async def done(self, act: Callable[[], None]) -> Response:
        """Do what the page asks for and answer with what is shown then, or with what is wrong."""
        try:
            await run_in_threadpool(act)
        except MakerError as error:
            return refused(error)
        await run_in_threadpool(self._states.await_answer)
        return JSONResponse(await run_in_threadpool(self._states.shown))

"""The page's server: the loopback only, one piece, and nothing that runs what a stranger wrote."""

from __future__ import annotations

import asyncio
import json
import secrets
import socket
from collections.abc import AsyncIterator, Callable
from pathlib import Path

import uvicorn
from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, PlainTextResponse, Response, StreamingResponse
from starlette.routing import Route

from lampwright.findings import explain
from lampwright.page.answers import refused
from lampwright.page.errands import Errands
from lampwright.page.failing import Failing
from lampwright.page.guard import Guard
from lampwright.page.look_editing import LookEditing
from lampwright.page.preview import PLACE, built_page, may_flash, preview_page
from lampwright.page.probe import Probe
from lampwright.page.workspace import Workspace
from lampwright.units.errors import MakerError, Problem

TOLD_EVERY = 0.25
"""How often the page is told of progress. [s]"""


def page_app(workspace: Workspace, key: str, hosts: frozenset[str]) -> Guard:
    """Return the ASGI application for one piece.

    Parameters
    ----------
    key
        What every request of the page must carry.
    hosts
        The names, with their port, by which the server may be called.
    """
    desk = _Desk(workspace, key)
    routes = [
        Route("/", desk.page),
        Route("/piece", desk.piece),
        Route("/news", desk.news),
        Route("/change", desk.change, methods=["POST"]),
        Route("/undo", desk.undo, methods=["POST"]),
        Route("/save", desk.save, methods=["POST"]),
        Route("/reread", desk.reread, methods=["POST"]),
        Route("/preview", desk.preview, methods=["POST"]),
        Route("/explain/{code}", desk.explain),
        *Failing(workspace).routes(),
        *Probe(workspace).routes(),
        *LookEditing(workspace).routes(),
        *Errands(workspace).routes(),
    ]
    return Guard(Starlette(routes=routes), key, hosts)


class _Desk:
    """Answers the page's requests."""

    def __init__(self, workspace: Workspace, key: str) -> None:
        self._workspace, self._key = workspace, key

    async def page(self, request: Request) -> Response:
        if not secrets.compare_digest(request.query_params.get("key", "").encode(), self._key.encode()):
            return PlainTextResponse("Open the page by the address that the program has printed.", 403)
        nonce = secrets.token_urlsafe(16)
        text = built_page().replace(PLACE, f'<script type="text/plain" id="key">{self._key}</script>', 1)
        text = text.replace("<script", f'<script nonce="{nonce}"').replace("<style", f'<style nonce="{nonce}"')
        policy = (
            f"default-src 'none'; script-src 'nonce-{nonce}' blob:; style-src 'nonce-{nonce}'; connect-src 'self'; "
            "img-src 'self' data: blob:; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
        )
        return HTMLResponse(text, headers={"content-security-policy": policy})

    async def piece(self, _request: Request) -> Response:
        return JSONResponse(await run_in_threadpool(self._workspace.shown))

    async def news(self, request: Request) -> Response:
        """Send progress, a line of JSON each time that there is any, until the page goes away."""

        async def lines() -> AsyncIterator[str]:
            last = None
            while not await request.is_disconnected():
                now = self._workspace.progress()
                if now != last:
                    yield json.dumps(now) + "\n"
                last = now
                await asyncio.sleep(TOLD_EVERY)

        return StreamingResponse(lines(), media_type="application/x-ndjson")

    async def change(self, request: Request) -> Response:
        try:
            given = await request.json()
            number, path, value = int(given["number"]), tuple(given["path"]), str(given["value"])
        except (ValueError, KeyError, TypeError):
            return PlainTextResponse("not a change", 400)
        return await self._done(lambda: self._workspace.change(number, path, value))

    async def undo(self, _request: Request) -> Response:
        return await self._done(self._workspace.undo)

    async def save(self, _request: Request) -> Response:
        return await self._done(self._workspace.save)

    async def reread(self, _request: Request) -> Response:
        return await self._done(self._workspace.reread)

    async def preview(self, _request: Request) -> Response:
        findings = self._workspace.findings()
        if findings is None:
            return PlainTextResponse("Every frame is still being weighed; try again in a moment.", 409)
        text = preview_page(self._workspace.draft.scene, may_flash(findings))
        name = self._workspace.file.with_suffix(".html").name
        return HTMLResponse(text, headers={"content-disposition": f"attachment; filename={json.dumps(name)}"})

    async def explain(self, request: Request) -> Response:
        try:
            return JSONResponse({"text": explain(request.path_params["code"]).text})
        except MakerError as error:
            return refused(error)

    async def _done(self, act: Callable[[], None]) -> Response:
        """Do what the page asks for and answer with the piece as it is then, or with what is wrong."""
        try:
            await run_in_threadpool(act)
        except MakerError as error:
            return refused(error)
        await run_in_threadpool(self._workspace.await_answer)
        return JSONResponse(await run_in_threadpool(self._workspace.shown))


def serve(file: Path, port: int, tell: Callable[[str], None]) -> None:
    """Serve the page of a piece file on the loopback until it is stopped; ``tell`` gets its address.

    Port 0 takes any free one.

    Raises
    ------
    MakerError
        The piece can't be read; PAGE-004, the port is taken.
    """
    built_page()  # told before anything starts
    workspace = Workspace(file)
    key = secrets.token_urlsafe(24)
    listening = _listen(port)
    number = listening.getsockname()[1]
    hosts = frozenset({f"127.0.0.1:{number}", f"localhost:{number}"})
    app = page_app(workspace, key, hosts)
    server = uvicorn.Server(uvicorn.Config(app, log_level="error", lifespan="off", timeout_graceful_shutdown=1))
    tell(f"http://127.0.0.1:{number}/?key={key}")
    try:
        server.run(sockets=[listening])
    finally:
        workspace.close()


def _listen(port: int) -> socket.socket:
    listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    try:
        listening.bind(("127.0.0.1", port))
        listening.listen()  # from here on a browser waits instead of being refused
    except OSError as error:
        listening.close()
        problem = Problem(
            "PAGE-004",
            f"port {port} can't be used",
            error.strerror or str(error),
            "a port that no other program listens on; without --port any free one is taken",
            "leave --port out, or choose another",
        )
        raise MakerError([problem]) from None
    return listening

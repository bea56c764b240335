"""The page's server: the loopback only, one piece or brief, and nothing that runs what a stranger wrote."""

from __future__ import annotations

import json
import secrets
import socket
from collections.abc import Callable
from pathlib import Path

import uvicorn
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import HTMLResponse, PlainTextResponse, Response
from starlette.routing import BaseRoute, Route

from lampwright.page.brief import BriefStates, Lists
from lampwright.page.choosing import Choosing
from lampwright.page.desk import Desk
from lampwright.page.editing import Editing
from lampwright.page.errands import Errands
from lampwright.page.failing import Failing
from lampwright.page.guard import Guard
from lampwright.page.inspecting import Inspecting
from lampwright.page.look_editing import LookEditing
from lampwright.page.preview import built_page, may_flash, preview_page
from lampwright.page.probe import Probe
from lampwright.page.workspace import Workspace
from lampwright.piece.toml import read_text
from lampwright.propose import is_brief
from lampwright.units.errors import MakerError, Problem


def page_app(states: Workspace | BriefStates, key: str, hosts: frozenset[str]) -> Guard:
    """Return the ASGI application for one piece, or for a brief and the pieces that are made from it.

    Parameters
    ----------
    key
        What every request of the page must carry.
    hosts
        The names, with their port, by which the server may be called.
    """
    routes = brief_routes(states, key) if isinstance(states, BriefStates) else piece_routes(states, key)
    return Guard(Starlette(routes=routes), key, hosts)


def brief_routes(states: BriefStates, key: str) -> list[BaseRoute]:
    """Return where the page of a brief asks."""
    desk = Desk(states, key, "brief")

    def page_of(workspace: Workspace) -> Starlette:
        return Starlette(routes=piece_routes(workspace, key))

    return [*desk.routes(), *Editing(states, desk).routes(), *Choosing(states, desk, page_of).routes()]


def piece_routes(workspace: Workspace, key: str) -> list[BaseRoute]:
    """Return where the page of a piece asks."""
    desk = Desk(workspace, key, "piece")
    return [
        *desk.routes(),
        *Editing(workspace, desk).routes(),
        Route("/preview", _ToSend(workspace).preview, methods=["POST"]),
        *Failing(workspace).routes(),
        *Probe(workspace).routes(),
        *LookEditing(workspace).routes(),
        *Errands(workspace).routes(),
        *Inspecting(workspace).routes(),
    ]


class _ToSend:
    """Answers with the piece as one file to send."""

    def __init__(self, workspace: Workspace) -> None:
        self._workspace = workspace

    async def preview(self, _request: Request) -> Response:
        """Answer with that file, once it is known whether it may flash."""
        findings = self._workspace.findings()
        if findings is None:
            return PlainTextResponse("Every frame is still being weighed; try again in a moment.", 409)
        text = preview_page(self._workspace.draft.scene, may_flash(findings))
        name = self._workspace.file.with_suffix(".html").name
        return HTMLResponse(text, headers={"content-disposition": f"attachment; filename={json.dumps(name)}"})


def serve(file: Path, port: int, tell: Callable[[str], None], lists: Lists | None = None) -> None:
    """Serve the page of a piece file or a brief on the loopback until it is stopped; ``tell`` gets its address.

    Port 0 takes any free one. ``lists`` are for a brief's searches.

    Raises
    ------
    MakerError
        The piece or brief can't be read; PAGE-004, the port is taken.
    """
    built_page()  # told before anything starts
    states = BriefStates(file, lists) if is_brief(read_text(file)) else Workspace(file)
    key = secrets.token_urlsafe(24)
    listening = _listen(port)
    number = listening.getsockname()[1]
    hosts = frozenset({f"127.0.0.1:{number}", f"localhost:{number}"})
    app = page_app(states, key, hosts)
    server = uvicorn.Server(uvicorn.Config(app, log_level="error", lifespan="off", timeout_graceful_shutdown=1))
    tell(f"http://127.0.0.1:{number}/?key={key}")
    try:
        server.run(sockets=[listening])
    finally:
        states.close()


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

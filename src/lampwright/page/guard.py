"""What keeps everybody but the maker's own page away from the server.

It listens on the loopback only, but any page in the maker's browser could still send to it. So a request
must name this very address as its host (no other name that somebody let point here), must not come from
another origin, and must carry the key that was made when the program started.
"""

from __future__ import annotations

import re
import secrets
from collections.abc import Awaitable, Callable

from starlette.datastructures import Headers
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

LARGEST_BODY = 1_000_000
"""Bytes of a request; a piece file has some thousands."""

PHOTO_PATH, LARGEST_PHOTO = "/inspection/photo", 20_000_000
"""The one place that takes more, and how much; what is kept of it is limited further."""

PAGES = re.compile(r"/(made/\d{1,9}/)?")
"""The page, and those of the pieces that were made from a brief."""

KEY_HEADER = "x-lampwright-key"

HEADERS = (
    (b"cache-control", b"no-store"),
    (b"x-content-type-options", b"nosniff"),
    (b"referrer-policy", b"no-referrer"),
    (b"cross-origin-resource-policy", b"same-origin"),
    (b"cross-origin-opener-policy", b"same-origin"),
)


class Guard:
    """Lets through only what comes from the page that this server has sent."""

    def __init__(self, app: ASGIApp, key: str, hosts: frozenset[str]) -> None:
        self._app, self._key, self._hosts = app, key, hosts

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request, or refuse it."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        refusal = self._refusal(scope)
        answer = _with_headers(send)
        if refusal is not None:
            await refusal(scope, receive, answer)
            return
        await self._limited(scope, receive, answer)

    def _refusal(self, scope: Scope) -> PlainTextResponse | None:
        headers = Headers(scope=scope)
        if headers.get("host", "") not in self._hosts:
            return PlainTextResponse("not by this name", 421)
        origin = headers.get("origin")
        if origin is not None and origin not in {f"http://{host}" for host in self._hosts}:
            return PlainTextResponse("not from another page", 403)
        length = headers.get("content-length", "0")
        if not length.isdecimal() or int(length) > _largest(scope):
            return PlainTextResponse("too long", 413)
        is_page = PAGES.fullmatch(scope["path"]) is not None  # asks for its key by itself
        if not is_page and not secrets.compare_digest(headers.get(KEY_HEADER, "").encode(), self._key.encode()):
            return PlainTextResponse("without its key", 403)
        return None

    async def _limited(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Read the body first, as far as it may go, so that a refusal is the only answer."""
        body = bytearray()
        while (message := await receive())["type"] == "http.request":
            body += message.get("body", b"")
            if len(body) > _largest(scope):
                await PlainTextResponse("too long", 413)(scope, receive, send)
                return
            if not message.get("more_body", False):
                break
        messages: list[Message] = [{"type": "http.request", "body": bytes(body), "more_body": False}]

        async def again() -> Message:
            return messages.pop() if messages else await receive()

        await self._app(scope, again, send)


def _largest(scope: Scope) -> int:
    return LARGEST_PHOTO if scope["path"].endswith(PHOTO_PATH) else LARGEST_BODY


def _with_headers(send: Send) -> Callable[[Message], Awaitable[None]]:
    async def answer(message: Message) -> None:
        if message["type"] == "http.response.start":
            message["headers"] = [*message.get("headers", []), *HEADERS]
        await send(message)

    return answer

"""A page that is served to a test."""

from __future__ import annotations

import http.client
import json
import shutil
import threading
from dataclasses import dataclass
from pathlib import Path
from queue import Queue
from typing import Any
from urllib.parse import urlsplit

from lampwright.page.server import serve

SMALL = Path(__file__).parents[1] / "signoff" / "small.toml"


@dataclass(frozen=True)
class Served:
    """A page that is served, and the file behind it."""

    file: Path
    address: str

    @property
    def key(self) -> str:
        return urlsplit(self.address).query.removeprefix("key=")

    @property
    def port(self) -> int:
        port = urlsplit(self.address).port
        assert port is not None
        return port

    def ask(self, method: str, path: str, body: bytes = b"", **headers: str) -> tuple[int, bytes]:
        """Send a request with the headers of the page, each of which can be replaced."""
        answer = self.answer(method, path, body, **headers)
        return answer.status, answer.read()

    def answer(self, method: str, path: str, body: bytes = b"", **headers: str) -> http.client.HTTPResponse:
        """Send such a request, and return the answer with its own headers."""
        given = {"Host": f"127.0.0.1:{self.port}", "X-Lampwright-Key": self.key}
        given |= {name.replace("_", "-"): value for name, value in headers.items()}
        line = http.client.HTTPConnection("127.0.0.1", self.port, timeout=20)
        line.request(method, path, body, {name: value for name, value in given.items() if value})
        return line.getresponse()

    def told(self, path: str, given: object = None) -> tuple[int, Any]:
        """Ask as the page does, and return the answer's JSON."""
        body = b"" if given is None else json.dumps(given).encode()
        status, answer = self.ask("GET" if given is None else "POST", path, body)
        return status, json.loads(answer) if status in {200, 422} else answer


def serve_copy(piece: Path, folder: Path) -> Served:
    """Serve the page of a copy of a piece file, until the program ends."""
    file = folder / piece.name
    shutil.copy(piece, file)
    return serve_file(file)


def serve_file(file: Path) -> Served:
    """Serve the page of a piece or brief file, until the program ends."""
    told: Queue[str] = Queue()
    threading.Thread(target=serve, args=(file, 0, told.put), daemon=True).start()
    return Served(file, told.get(timeout=60))

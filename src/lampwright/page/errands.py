"""What the program makes of the piece beside the page: lists, plans, papers, and the rehearsal with its pictures.

Lists and papers are made by the very commands of the program, each in a process of its own, from the piece file as it
is written; so the page and the command line can't differ. The rehearsal is of the state that the page shows, and its
progress can be watched.
"""

from __future__ import annotations

import os
import subprocess
import sys
import threading
import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from tempfile import TemporaryDirectory
from types import MappingProxyType
from typing import Any

from starlette.requests import Request
from starlette.responses import FileResponse, JSONResponse, PlainTextResponse, Response
from starlette.routing import Route

from lampwright.page.states import StaleError, While
from lampwright.page.workspace import Workspace, finding_data
from lampwright.rehearsal import Earlier, Plan, draw_rehearsal, draw_timing
from lampwright.signoff import Report, make_firmware, prove
from lampwright.units.errors import MakerError

COMMANDS: Mapping[str, Sequence[str]] = MappingProxyType(
    {
        "cuts": ("cuts", "FILE", "--out", "cuts"),
        "shopping": ("shopping", "FILE", "--out", "shopping"),
        "week": ("week", "FILE"),
        "wiring": ("wiring", "FILE", "--out", "wiring"),
        "drawing": ("drawing", "FILE", "--out", "drawing"),
        "papers": ("papers", "FILE", "--out", "papers"),
        "book": ("book", "FILE", "--out", "book"),
    }
)
"""Command and options of each errand; all but the week leave files in the folder named last."""

REHEARSAL = "rehearsal"

START = "import sys; from lampwright.cli import main; sys.exit(main())"
"""Text by which a process becomes the program."""

COLUMNS = "84"
"""Signs that a line of a command's answer may have on the page."""

POLL = 0.2
"""Between two looks at what is awaited. [s]"""

UNMADE = 2
"""From this exit code on nothing was made; 1 says that a check failed."""


@dataclass
class Errand:
    """One thing that is being made, or was."""

    folder: Path
    state: str = "running"
    """Or "done", or "failed"."""
    stage: str = ""
    share: float = 0.0
    text: str = ""
    findings: list[dict[str, Any]] = field(default_factory=list)
    process: subprocess.Popen[str] | None = None

    def files(self) -> list[Path]:
        """Return what was made, in the order of its names."""
        return sorted(path for path in self.folder.rglob("*") if path.is_file())

    def data(self) -> dict[str, Any]:
        """Return it ready for JSON."""
        made = [path.relative_to(self.folder).as_posix() for path in self.files()] if self.state == "done" else []
        return {
            "state": self.state,
            "stage": self.stage,
            "share": self.share,
            "text": self.text,
            "findings": self.findings,
            "files": made,
        }


class Errands:
    """Starts errands and tells how they get on; each kind runs once at a time."""

    def __init__(self, workspace: Workspace) -> None:
        self._workspace = workspace
        self._scratch = TemporaryDirectory(prefix="lampwright-")
        self._errands: dict[str, Errand] = {}
        self._count = 0
        workspace.at_close(self._close)

    def routes(self) -> list[Route]:
        """Return where the page asks."""
        return [
            Route("/errand/{kind}", self.start, methods=["POST"]),
            Route("/errand/{kind}", self.told),
            Route("/errand/{kind}/{number:int}", self.file),
        ]

    async def start(self, request: Request) -> Response:
        """Start an errand, unless it runs already."""
        kind = request.path_params["kind"]
        if kind not in COMMANDS and kind != REHEARSAL:
            return PlainTextResponse("nothing of that kind can be made", 404)
        running = self._errands.get(kind)
        if running is not None and running.state == "running":
            return JSONResponse(running.data())
        if kind != REHEARSAL and not self._workspace.is_saved():
            return PlainTextResponse("This is made from the piece file: write the file first.", 409)
        self._count += 1
        errand = Errand(Path(self._scratch.name) / f"{kind}-{self._count}")
        errand.folder.mkdir()
        self._errands[kind] = errand
        if kind == REHEARSAL:
            work = threading.Thread(target=self._rehearse, args=(errand,), name=kind, daemon=True)
        else:
            work = threading.Thread(target=self._run, args=(errand, COMMANDS[kind]), name=kind, daemon=True)
        work.start()
        return JSONResponse(errand.data())

    async def told(self, request: Request) -> Response:
        """Answer how an errand gets on, and what it has made."""
        errand = self._errands.get(request.path_params["kind"])
        return PlainTextResponse("not begun", 404) if errand is None else JSONResponse(errand.data())

    async def file(self, request: Request) -> Response:
        """Answer with one of the files that an errand has made, by its place in the list."""
        errand = self._errands.get(request.path_params["kind"])
        made = errand.files() if errand is not None and errand.state == "done" else []
        number = request.path_params["number"]
        return FileResponse(made[number]) if number < len(made) else PlainTextResponse("no such file", 404)

    def _run(self, errand: Errand, command: Sequence[str]) -> None:
        """Run a command of the program in a process of its own."""
        words = [str(self._workspace.file.resolve()) if word == "FILE" else word for word in command]
        errand.process = subprocess.Popen(
            [sys.executable, "-c", START, *words],
            cwd=errand.folder,
            env={**os.environ, "COLUMNS": COLUMNS, "NO_COLOR": "1", "PYTHONIOENCODING": "utf-8"},
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            encoding="utf-8",
        )
        errand.text, _ = errand.process.communicate()
        errand.state = "done" if errand.process.returncode < UNMADE else "failed"

    def _weighed(self, errand: Errand) -> Report:
        """Return the report on every frame, as soon as it is there."""
        errand.stage = "weighing every frame"
        while (report := self._workspace.report()) is None:
            if self._workspace.is_closed:
                raise StaleError
            time.sleep(POLL)
        return report

    def _rehearse(self, errand: Errand) -> None:
        """Build the firmware, run it on emulated chips and draw what was seen."""

        def tell(stage: str, share: float) -> None:
            errand.stage, errand.share = stage, share

        progress = While(lambda: not self._workspace.is_closed, tell)
        try:
            report = self._weighed(errand)
            with TemporaryDirectory(dir=self._scratch.name) as built:
                proof = prove(make_firmware(report, Path(built), progress), Plan(), progress, None, Earlier.of_user())
            name = report.piece.brief.name
            draw_rehearsal(report.shows, proof.rehearsal.circuits, name, errand.folder / "rehearsal.png", proof.faults)
            draw_timing(report.shows, proof.rehearsal.circuits, name, errand.folder / "timing.png")
        except StaleError:
            errand.state = "failed"
        except MakerError as error:
            errand.text, errand.state = str(error), "failed"
        else:
            errand.findings = [finding_data(found) for found in proof.findings if found not in report.findings]
            errand.state = "done"

    def _close(self) -> None:
        for errand in self._errands.values():
            if errand.process is not None and errand.process.poll() is None:
                errand.process.terminate()

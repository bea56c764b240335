"""One pixel under the maker's finger: its address, place and colour, and its volts at that very moment."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, PlainTextResponse, Response
from starlette.routing import Route

from lampwright.page.answers import refused
from lampwright.page.workspace import Draft, Workspace
from lampwright.power import Rails, ready_rails, with_readings
from lampwright.show import render
from lampwright.units import format_quantity
from lampwright.units.errors import MakerError

LAST_FRAME = 1 << 31
"""More than any night has."""


class Probe:
    """Solves a circuit's rails for one frame and tells what one pixel has of it."""

    def __init__(self, workspace: Workspace) -> None:
        self._workspace = workspace

    def routes(self) -> list[Route]:
        """Return where the page asks."""
        return [Route("/probe", self.probe, methods=["POST"])]

    async def probe(self, request: Request) -> Response:
        """Answer with what one pixel is and has at a frame since power-on."""
        try:
            given = await request.json()
            number, circuit, pixel, frame = (int(given[name]) for name in ("number", "circuit", "pixel", "frame"))
        except (ValueError, KeyError, TypeError):
            return PlainTextResponse("no pixel", 400)
        try:
            draft = self._workspace.state(number)
            if not 0 <= circuit < len(draft.shows):
                return PlainTextResponse("no such circuit", 400)
            show = draft.shows[circuit]
            if not (0 <= pixel < show.layout.n_pixel and 0 <= frame < LAST_FRAME):
                return PlainTextResponse("no such pixel or frame", 400)
            return JSONResponse(await run_in_threadpool(probed, draft, circuit, pixel, frame))
        except MakerError as error:
            return refused(error)


def probed(draft: Draft, circuit: int, pixel: int, frame: int) -> dict[str, Any]:
    """Return what a pixel of a circuit is and has at a frame, ready for JSON.

    Raises
    ------
    MakerError
        The rails can't be solved as they are wired.
    """
    show = draft.shows[circuit]
    codes = render(show, frame, 1).codes[0]
    solved = rails_of(draft, circuit).frame(codes)
    red, green, blue = (int(code) for code in codes[pixel])
    volts, least = float(solved.pixel_voltage[pixel]), show.layout.circuit.strip.supply_least.value
    return {
        "address": address(draft, circuit, pixel),
        "code": [red, green, blue],
        "volts": volts,
        "told": f"{format_quantity(volts, 'voltage', 3)}, at least {format_quantity(least, 'voltage', 3)} needed; "
        f"{format_quantity(float(solved.pixel_current[pixel]), 'current', 3)}",
    }


def address(draft: Draft, circuit: int, pixel: int) -> str:
    """Return where a pixel is in the wiring and in the air, as the maker would say it."""
    layout = draft.shows[circuit].layout
    run = next(each for each in layout.runs if each.first <= pixel < each.first + each.n_pixel)
    section = next(each for each in run.sections if each.first <= pixel < each.first + each.n_pixel)
    x, y, z = (f"{metres:.2f}" for metres in layout.xyz[pixel])
    return (
        f"{layout.circuit.name}, pixel {pixel - run.first + 1} of {run.run.name}, {layout.along[pixel]:.2f} m from its "
        f"head; {section.section.name}; at {x}, {y}, {z} m"
    )


@lru_cache(maxsize=16)
def rails_of(draft: Draft, circuit: int) -> Rails:
    """Return a circuit's rails, as its readings have them."""
    return ready_rails(with_readings(draft.shows[circuit].layout))

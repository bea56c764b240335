"""Pictures and films of a piece, as ``lampwright preview`` writes them."""

from __future__ import annotations

import errno
import os
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated

from cyclopts import Parameter
from cyclopts.validators import Number

from lampwright.cli.bars import Bars
from lampwright.page.backdrop import Light
from lampwright.page.camera import Stand
from lampwright.page.film import Film, film_frames, screen, write_gif, write_mp4
from lampwright.page.preview import may_flash
from lampwright.page.still import Painter, Sight
from lampwright.piece import read_piece
from lampwright.piece.model import Piece
from lampwright.show import CircuitShow, compile_show
from lampwright.signoff import get_ready
from lampwright.units import MakerError, Problem, parse
from lampwright.written.picture import write_png

JUST_BEGUN = 20.0
"""Seconds into the show, unless another moment is asked for; as on the page."""

LATEST = "7 d"

WIDTHS = {".gif": 640}
"""Picture points across of films that would be too large to send otherwise."""

WIDTH = 1280


@Parameter(name="*")
@dataclass(frozen=True)
class Pictures:
    """Pictures instead of the page."""

    still: Annotated[Path | None, Parameter(help="Write a still picture to this file, ending in .png.")] = None
    film: Annotated[Path | None, Parameter(help="Write a film to this file, ending in .gif or .mp4.")] = None
    at: Annotated[
        str | None, Parameter(help='When, since power-on, such as "12 min"; otherwise 20 s into the show.')
    ] = None
    lasting: Annotated[str, Parameter(help="How long the film is.")] = "6 s"
    stand: Annotated[Stand, Parameter(help="Where one stands.")] = Stand.IN_FRONT
    light: Annotated[Light, Parameter(help="The light around the piece.")] = Light.DUSK
    width: Annotated[
        int | None,
        Parameter(help="Picture points across; otherwise 1280, or 640 for .gif.", validator=Number(gte=160, lte=3840)),
    ] = None
    even_if_it_flashes: Annotated[
        bool, Parameter(negative="", help="Write a film that may flash too fast, with a notice before it.")
    ] = False


def write_pictures(file: Path, pictures: Pictures) -> None:
    """Write the still and the film that are asked for, and say so.

    Raises
    ------
    MakerError
        The piece can't be read; what is asked for can't be written; PAGE-008, the film may flash.
    """
    if pictures.still is not None:
        _refuse_kind(pictures.still, "--still", ".png")
    if pictures.film is not None:
        _refuse_kind(pictures.film, "--film", ".gif", ".mp4")
    for wanted in (pictures.still, pictures.film):
        if wanted is not None and not wanted.absolute().parent.is_dir():  # told before the long work
            raise FileNotFoundError(errno.ENOENT, os.strerror(errno.ENOENT), str(wanted))
    piece = read_piece(file)
    ready = get_ready(piece)
    shows = ready.shows or compile_show(ready.layout)
    start = _moment(shows[0], pictures.at)
    if pictures.still is not None:
        painter = Painter(piece, shows, _sight(pictures, pictures.still))
        write_png(pictures.still, painter.paint(round(start * 1000 / shows[0].frame_ms)))
        print(f"wrote {pictures.still}")
    if pictures.film is not None:
        _write_film(pictures.film, piece, shows, pictures, start)


def _write_film(file: Path, piece: Piece, shows: tuple[CircuitShow, ...], pictures: Pictures, start: float) -> None:
    chosen = film_frames(shows[0].frame_ms, start, parse(pictures.lasting, "time"))
    findings = screen(piece, shows, chosen)
    flashes = may_flash(findings)
    if flashes and not pictures.even_if_it_flashes:
        raise MakerError([_flashing("; ".join(finding.value for finding in findings))])
    film = Film(chosen, shows[0].frame_ms * chosen.step, flashes)
    write = write_gif if file.suffix.lower() == ".gif" else write_mp4
    with Bars() as bars:
        bars.begin("painting the film", len(chosen))
        write(file, Painter(piece, shows, _sight(pictures, file)), film, bars.reach)
    print(f"wrote {file}: {len(chosen)} frames, each as the chips will send it")


def _sight(pictures: Pictures, file: Path) -> Sight:
    width = pictures.width or WIDTHS.get(file.suffix.lower(), WIDTH)
    return Sight(pictures.stand, pictures.light, width, round(width * 9 / 16))


def _moment(show: CircuitShow, at: str | None) -> float:
    """Return when the picture is taken, since power-on. [s]"""
    if at is None:
        return show.standby_frames * show.frame_ms / 1000 + JUST_BEGUN
    seconds = parse(at, "time")
    if not 0 <= seconds <= parse(LATEST, "time"):
        raise MakerError(
            [
                Problem(
                    "COMMAND-003",
                    "nothing is shown at this time",
                    f'--at "{at}"',
                    f"a time since power-on, from 0 s to {LATEST}",
                    'name a moment of standby or show, such as "12 min"',
                )
            ]
        )
    return seconds


def _refuse_kind(file: Path, option: str, *allowed: str) -> None:
    if file.suffix.lower() not in allowed:
        ends = " or ".join(allowed)
        raise MakerError(
            [
                Problem(
                    "PAGE-005",
                    "a picture of this kind can't be written",
                    f'{option} "{file.name}"',
                    f"a name that ends in {ends}",
                    f"call it {file.with_suffix(allowed[0]).name}",
                )
            ]
        )


def _flashing(value: str) -> Problem:
    return Problem(
        "PAGE-008",
        "this stretch may flash faster than is safe for some people to look at, and a film starts by itself",
        value,
        "at most 3 flashes in any second",
        "choose another stretch or a still; --even-if-it-flashes writes it with a notice before it, "
        "for somebody who knows and has asked for it",
    )

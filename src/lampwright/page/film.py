"""Moving pictures of a stretch of the show: GIF, or MP4 where the optional PyAV is installed.

A film starts by itself wherever it is opened, so its own stretch is screened for flashes before it is written.
"""

from __future__ import annotations

import io
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import chain, pairwise
from pathlib import Path

import numpy as np
from PIL import Image, ImageDraw, ImageFont

from lampwright.findings.model import Finding
from lampwright.page.still import Painter
from lampwright.piece.model import Piece
from lampwright.show import CircuitShow, Screening, check_flashes, frames, view_piece
from lampwright.show.render import blocks
from lampwright.units import MakerError, Problem, format_quantity
from lampwright.written import write_whole

SHORTEST_MS = 20
"""Programs that show a GIF slow down whatever is faster. (common practice, no source)"""

GIF_STEP_MS = 10
"""A GIF tells its times in hundredths of a second. (GIF89a, Graphic Control Extension, Delay Time)"""

COLOURS = 256
"""Of one GIF's palette. (GIF89a, Global Color Table)"""

MOST_FRAMES = 3000
"""Two minutes at 25 frames a second; more is work for hours and a file that nobody can send. (our choice)"""

NOTICE_SECONDS = 4
"""How long a film that may flash shows its notice first. (our choice) [s]"""

SHORTEST_ROUND = 2.0
"""A shorter film isn't shown again and again: the jump at its end would flash too. (our choice) [s]"""

NOTICE = (
    "Flashing light",
    "",
    "This film may flash faster than is safe",
    "for some people to look at.",
    "Flashing light can trigger seizures.",
    "Stop it now, unless you want to see it.",
)

Tell = Callable[[int], None]


@dataclass(frozen=True)
class Film:
    """A stretch of the show."""

    frames: Sequence[int]
    """Counted from power-on, evenly spaced."""
    step_ms: int
    """From each to the next."""
    may_flash: bool
    """Then a notice comes first, and no GIF starts over."""

    @property
    def n_notice(self) -> int:
        """Frames for which the notice is shown."""
        return -(-NOTICE_SECONDS * 1000 // self.step_ms) if self.may_flash else 0


def film_frames(frame_ms: int, start: float, length: float) -> range:
    """Return the frames of a film, counted from power-on: all, or every so many where they are too short for films.

    Parameters
    ----------
    frame_ms
        Of the show.
    start, length
        Since power-on, and how long. [s]

    Raises
    ------
    MakerError
        PAGE-007, the film is empty or too long.
    """
    first = round(start * 1000 / frame_ms)
    step = -(-SHORTEST_MS // frame_ms)
    longest = MOST_FRAMES * step * frame_ms / 1000
    if not frame_ms / 1000 <= length <= longest:
        raise MakerError(
            [
                Problem(
                    "PAGE-007",
                    "a film of this length can't be written",
                    format_quantity(length, "time"),
                    f"{frame_ms} ms to {format_quantity(longest, 'time')}",
                    "choose a shorter stretch; the page and its preview show all of the night",
                )
            ]
        )
    return range(first, first + round(length * 1000 / frame_ms), step)


def screen(piece: Piece, shows: Sequence[CircuitShow], chosen: range) -> tuple[Finding, ...]:
    """Return the findings on flashes in the stretch of these frames, those between them included."""
    view = view_piece([show.layout for show in shows])
    first, count = chosen[0], chosen[-1] - chosen[0] + 1
    screening = Screening(shows, piece.show, view, first)
    lead_in = first - screening.start
    if lead_in:
        screening.follow([frames(show, screening.start, lead_in) for show in shows])
    for parts in zip(*(blocks(show, first, count) for show in shows), strict=True):
        screening.follow([part.codes for part in parts])
    return check_flashes(piece, shows, view, screening.result())


def write_gif(path: Path, painter: Painter, film: Film, tell: Tell) -> None:
    """Write a film as GIF, whole or not at all; ``tell`` hears how many frames are painted.

    Raises
    ------
    OSError
        The file can't be written.
    """
    palette = _palette(painter, film)

    def in_palette(picture: Image.Image) -> Image.Image:
        return picture.quantize(palette=palette, dither=Image.Dither.NONE)

    pictures = [in_palette(picture) for picture in _painted(painter, film, tell)]
    delays = _delays(len(pictures), film.step_ms)
    if film.may_flash:
        pictures.insert(0, in_palette(notice(painter)))
        delays.insert(0, NOTICE_SECONDS * 1000)
    buffer = io.BytesIO()
    is_long = sum(delays) >= 1000 * SHORTEST_ROUND
    again = {"loop": 0} if is_long and not film.may_flash else {}
    pictures[0].save(buffer, "GIF", save_all=True, append_images=pictures[1:], duration=delays, optimize=False, **again)
    write_whole(path, buffer.getvalue())


def write_mp4(path: Path, painter: Painter, film: Film, tell: Tell) -> None:
    """Write a film as MP4 (H.264), whole or not at all; ``tell`` hears how many frames are painted.

    Raises
    ------
    MakerError
        PAGE-006, PyAV is not installed.
    OSError
        The file can't be written.
    """
    try:
        import av  # an optional extra: its codecs are large, and few films are sent
    except ImportError:
        raise MakerError([_no_av()]) from None
    buffer = io.BytesIO()
    with av.open(buffer, "w", format="mp4") as file:
        stream = file.add_stream("libx264", rate=Fraction(1000, film.step_ms))
        # two by two of the picture's points share their colour, so that sizes are even
        stream.width, stream.height = painter.camera.width & ~1, painter.camera.height & ~1
        stream.pix_fmt = "yuv420p"
        stream.options = {"crf": "18"}
        for picture in chain([notice(painter)] * film.n_notice, _painted(painter, film, tell)):
            codes = np.asarray(picture)[: stream.height, : stream.width]
            file.mux(stream.encode(av.VideoFrame.from_ndarray(np.ascontiguousarray(codes), format="rgb24")))
        file.mux(stream.encode())
    write_whole(path, buffer.getvalue())


def notice(painter: Painter) -> Image.Image:
    """Return the picture that comes before a film that may flash."""
    camera = painter.camera
    picture = Image.new("RGB", (camera.width, camera.height), (29, 27, 24))
    size = max(8, min(camera.width // 26, camera.height // 12))
    pen = ImageDraw.Draw(picture)
    text = "\n".join(NOTICE)
    middle = (camera.width / 2, camera.height / 2)
    font = ImageFont.load_default(size)
    pen.multiline_text(middle, text, (255, 217, 160), font, anchor="mm", align="center", spacing=size * 0.4)
    return picture


def _painted(painter: Painter, film: Film, tell: Tell) -> Iterator[Image.Image]:
    for done, frame in enumerate(film.frames, start=1):
        yield painter.paint(frame)
        tell(done)


def _palette(painter: Painter, film: Film) -> Image.Image:
    """Return one palette for the whole film, from frames spread over it: a palette for each would flicker."""
    n_frame = len(film.frames)
    some = [painter.paint(film.frames[index]) for index in np.linspace(0, n_frame - 1, min(8, n_frame)).astype(int)]
    if film.may_flash:
        some.append(notice(painter))
    width, height = some[0].size
    sheet = Image.new("RGB", (width, height * len(some)))
    for number, picture in enumerate(some):
        sheet.paste(picture, (0, number * height))
    return sheet.quantize(COLOURS, method=Image.Quantize.MEDIANCUT)


def _delays(count: int, step_ms: int) -> list[int]:
    """Return how long each of ``count`` frames is shown, rounded so that no error adds up. [ms]"""
    ends = [round(number * step_ms / GIF_STEP_MS) for number in range(count + 1)]
    return [GIF_STEP_MS * (end - start) for start, end in pairwise(ends)]


def _no_av() -> Problem:
    return Problem(
        "PAGE-006",
        "a film as .mp4 needs a part that is not installed",
        "no PyAV beside the program",
        "PyAV, or a film as .gif",
        'type  pip install "lampwright[film]"  once, or name a file that ends in .gif',
    )

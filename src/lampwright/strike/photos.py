"""Photos of what failed: JPEG or PNG in the piece's own folder, known by their content, never by their name alone."""

from __future__ import annotations

import difflib
import hashlib
import io
import re
import struct
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from PIL import Image, ImageOps

from lampwright.strike.form import FormFailure, FormRow
from lampwright.units import MakerError, Problem
from lampwright.written import write_whole

CODE = "STRIKE-004"

FOLDER = "photos"
"""Beside the piece file; what the page is given goes there."""

MOST_BYTES = 16_000_000
MOST_PIXELS = 64_000_000
"""A telephone's largest have about fifty million."""

ENDINGS = {"JPEG": ".jpg", "PNG": ".png"}

ALLOWED = (
    f"a JPEG or PNG in the piece's folder, up to {MOST_BYTES // 1_000_000} MB and {MOST_PIXELS // 1_000_000} million "
    'pixels, such as "photos/arch.jpg"'
)

MOST_SHOWN = 6
"""Photos on the page after the show; more would be too small to see anything."""

SHOWN_SIDE = 480
"""Of a photo on that page; on paper it is at most 7 cm wide. [px]"""

UNREADABLE = (OSError, SyntaxError, ValueError, EOFError, struct.error, Image.DecompressionBombError)
"""What the reader of pictures raises on bytes that are none."""


@dataclass(frozen=True)
class WrongPhoto:
    """Why a photo can't be used, and what to do."""

    summary: str
    do: str


def wrong_photo(folder: Path, name: str) -> WrongPhoto | None:
    """Return what is wrong with the photo of this name in a piece's folder; ``None`` where nothing is."""
    file = photo_file(folder, name)
    if file is None:
        return WrongPhoto("this is outside of the piece's folder", f"copy it into {FOLDER}/ beside the piece file")
    try:
        state = file.stat()
        summary = _flaw(file, state.st_size, state.st_mtime_ns) if file.is_file() else "this is no file"
    except (OSError, ValueError):
        near = _near(folder, name)
        do = f'did you mean "{near}"?' if near else f"copy it into {FOLDER}/ beside the piece file, or leave it out"
        return WrongPhoto("there is no such picture", do)
    return WrongPhoto(summary, "take another picture, or save it once more as JPEG") if summary else None


def photo_file(folder: Path, name: str) -> Path | None:
    """Return the file of a photo; ``None`` where that is outside of the piece's folder."""
    root = folder.resolve()
    try:
        file = (root / name.replace("\\", "/")).resolve()
    except (OSError, ValueError, RuntimeError):  # too long, a NUL, a ring of links
        return None
    return file if file.is_relative_to(root) else None


def save_photo(folder: Path, row: FormRow, content: bytes) -> str:
    """Keep a photo of a thing beside the piece, whole or not at all; return its name as the form has it.

    It is called after the thing and its own content, so that no other photo is ever written over.

    Raises
    ------
    MakerError
        STRIKE-004: it is no JPEG or PNG, too large, or damaged; or ``photos/`` leads out of the piece's folder.
    OSError
        It can't be written.
    """
    if len(content) > MOST_BYTES:
        raise MakerError([_refusal("this photo is too large", f"{len(content) / 1e6:.1f} MB")])
    flaw, form = _judged(content)
    if flaw:
        raise MakerError([_refusal(flaw, f"{len(content)} bytes")])
    called = re.sub(r"[^a-z0-9]+", "-", f"{row.circuit} {row.thing}".lower()).strip("-")[:60].rstrip("-")
    name = f"{FOLDER}/{called}-{hashlib.sha256(content).hexdigest()[:8]}{ENDINGS[form]}"
    file = photo_file(folder, name)
    if file is None:
        raise MakerError([_refusal("its place is outside of the piece's folder", f"{FOLDER}/, which leads elsewhere")])
    file.parent.mkdir(exist_ok=True)
    write_whole(file, content)
    return name


def small_photo(file: Path, side: int) -> bytes:
    """Return a photo as a small JPEG, upright, at most ``side`` pixels wide and high, with nothing else in it.

    Raises
    ------
    OSError
        It can't be read.
    """
    with Image.open(file, formats=tuple(ENDINGS)) as photo:
        photo.draft("RGB", (side, side))  # a JPEG is read smaller right away
        upright = ImageOps.exif_transpose(photo).convert("RGB")
    upright.thumbnail((side, side))
    small = Image.new("RGB", upright.size)
    small.paste(upright)  # without what the camera wrote beside the picture: place, owner, time
    text = io.BytesIO()
    small.save(text, "JPEG", quality=82)
    return text.getvalue()


@dataclass(frozen=True)
class DamagePhoto:
    """A photo of something that failed, small."""

    number: int
    """Of the failure, as the map of the damage has it."""
    told: str
    jpeg: bytes


def damage_photos(folder: Path, failures: Sequence[FormFailure]) -> tuple[DamagePhoto, ...]:
    """Return the first photos of what failed, as the page after the show has room for.

    Raises
    ------
    OSError
        One of them can't be read any more.
    """
    found: list[DamagePhoto] = []
    for number, each in enumerate(failures, 1):
        file = photo_file(folder, each.failure.photo) if each.failure.photo else None
        if file is not None and len(found) < MOST_SHOWN:
            found.append(DamagePhoto(number, f"{each.failure.how}{each.place()}", small_photo(file, SHOWN_SIDE)))
    return tuple(found)


@lru_cache(maxsize=1024)
def _flaw(file: Path, size: int, _changed: int) -> str:
    """Return what is wrong with a file as a photo; a file that hasn't changed is not read again."""
    return "this photo is too large" if size > MOST_BYTES else _judged(file.read_bytes())[0]


def _judged(content: bytes) -> tuple[str, str]:
    """Return what is wrong with a photo, empty where nothing is, and its format."""
    try:
        with Image.open(io.BytesIO(content), formats=tuple(ENDINGS)) as photo:
            form = photo.format or ""
            if photo.width * photo.height > MOST_PIXELS:
                return "this photo has too many pixels", form
            photo.draft("RGB", (64, 64))
            photo.load()  # to the end: half a photo has a good beginning
    except UNREADABLE:
        return "this is no JPEG or PNG, or a damaged one", ""
    return "", form


def _near(folder: Path, name: str) -> str:
    there = [file.relative_to(folder).as_posix() for each in ("*", f"{FOLDER}/*") for file in folder.glob(each)]
    near = difflib.get_close_matches(name, sorted(there), n=1, cutoff=0.6)
    return near[0] if near else ""


def _refusal(summary: str, found: str) -> Problem:
    return Problem(CODE, summary, found, ALLOWED, "choose another photo, or save it once more as JPEG")

"""What stands around the pixels in a picture: sky, ground, members, cords, and a person for scale."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw

from lampwright.look.colour import srgb_to_linear
from lampwright.page.camera import Camera

TUBE_ACROSS = 0.028
"""Members are drawn this thick. (our choice, as on the page) [m]"""

CORD_ACROSS = 0.006
"""Hanging strip is drawn this thick where it is dark. (our choice) [m]"""

HAZE = 60.0
"""At this distance two thirds of the ground's colour have gone over into the sky's. (our choice) [m]"""

_LIGHT_OF_CODE = np.array([srgb_to_linear(code / 255) for code in range(256)], dtype=np.float32)

FINER = 2
"""Lines are drawn this much larger and then made small, so that their edges are smooth."""

STEEP = -0.9
"""Upward part of a line of sight by which one looks at somebody from above. (our choice)"""

Colour = tuple[float, float, float]

OUTLINE: tuple[tuple[float, float], ...] = (
    (0.00, 0.13), (0.04, 0.15), (0.45, 0.13), (0.85, 0.17), (1.05, 0.16), (1.32, 0.22), (1.42, 0.21), (1.47, 0.08),
    (1.51, 0.055), (1.54, 0.07), (1.60, 0.095), (1.66, 0.10), (1.71, 0.08), (1.745, 0.03), (1.75, 0.0),
)  # fmt: skip
"""Height and half width of somebody of 1.75 m in a coat. (our own drawing) [m]"""


class Light(Enum):
    """The light around the piece."""

    DUSK = "dusk"
    NIGHT = "night"
    WORK_LIGHT = "work-light"


@dataclass(frozen=True)
class Shades:
    """Colours of one light, as on the screen (sRGB, 0 to 255)."""

    above: Colour
    horizon: Colour
    ground: Colour
    member: Colour
    cord: Colour
    person: Colour


SHADES = {
    Light.DUSK: Shades((24, 31, 52), (76, 78, 96), (42, 45, 44), (92, 98, 108), (66, 71, 78), (64, 69, 80)),
    Light.NIGHT: Shades((5, 7, 12), (15, 18, 26), (17, 18, 20), (62, 66, 72), (40, 43, 47), (30, 32, 38)),
    Light.WORK_LIGHT: Shades(
        (150, 162, 174), (196, 203, 208), (128, 133, 125), (222, 225, 228), (84, 88, 92), (88, 93, 102)
    ),
}


@dataclass(frozen=True)
class Body:
    """What of a piece is seen without its light. Lines are (n, 3) [m]."""

    members: Sequence[NDArray[np.float64]]
    cords: Sequence[NDArray[np.float64]]
    ground: float
    """Height of the ground. [m]"""
    person: NDArray[np.float64]
    """Where somebody stands, (3,). [m]"""


def draw_backdrop(body: Body, camera: Camera, light: Light) -> NDArray[np.float32]:
    """Return the picture without any light of the piece, (height, width, 3), linear, 0 to 1."""
    shades = SHADES[light]
    picture = Image.fromarray(_sky_and_ground(camera, body.ground, shades)).resize(
        (camera.width * FINER, camera.height * FINER), Image.Resampling.BILINEAR
    )
    pen = ImageDraw.Draw(picture)
    for line in body.cords:
        _line(pen, camera, line, CORD_ACROSS, shades.cord)
    for line in body.members:
        _line(pen, camera, line, TUBE_ACROSS, shades.member)
    _person(pen, camera, body.person, shades.person)
    small = picture.resize((camera.width, camera.height), Image.Resampling.BOX)
    return np.asarray(_LIGHT_OF_CODE[np.asarray(small)])


def _sky_and_ground(camera: Camera, ground: float, shades: Shades) -> NDArray[np.uint8]:
    """Return the picture's rows one by one: the eye never tilts sideways, so each has one colour.

    (Straight down it has one to a hair.)
    """
    rows = np.arange(camera.height) + 0.5
    _right, up, along = camera.axes
    rise = ((camera.height / 2 - rows) / camera.focal)[:, None] * up + along
    slope = rise[:, 2] / np.linalg.norm(rise, axis=1)
    far = np.where(slope < 0, (camera.eye[2] - ground) / np.maximum(1e-9, -slope), np.inf)
    is_ground = (slope < 0)[:, None]
    haze = (1 - np.exp(-far / HAZE))[:, None]
    sky = _between(shades.horizon, shades.above, np.clip(slope * 3.0, 0.0, 1.0)[:, None])
    colours = np.where(is_ground, _between(shades.ground, shades.horizon, haze), sky)
    return np.repeat(np.round(colours).astype(np.uint8)[:, None, :], camera.width, axis=1)


def _between(first: Colour, second: Colour, share: NDArray[np.float64]) -> NDArray[np.float64]:
    mixed: NDArray[np.float64] = (1 - share) * np.array(first) + share * np.array(second)
    return mixed


def _line(pen: ImageDraw.ImageDraw, camera: Camera, line: NDArray[np.float64], across: float, colour: Colour) -> None:
    """Draw a line in space, as thick everywhere as it looks from the eye."""
    seen = camera.see(line)
    ends = np.stack([seen.x, seen.y], axis=1) * FINER
    steps = np.gradient(ends, axis=0)
    lengths = np.maximum(1e-9, np.hypot(steps[:, 0], steps[:, 1]))[:, None]
    aside = np.stack([-steps[:, 1], steps[:, 0]], axis=1) / lengths
    half = np.maximum(0.8, FINER * camera.focal * across / np.where(seen.is_before, seen.depth, 1.0) / 2)[:, None]
    first, second = ends + half * aside, ends - half * aside
    for i in np.flatnonzero(seen.is_before[:-1] & seen.is_before[1:]):
        corners = [first[i], first[i + 1], second[i + 1], second[i]]
        pen.polygon([(float(x), float(y)) for x, y in corners], fill=_whole(colour))


def person_outlines(camera: Camera, place: NDArray[np.float64]) -> list[NDArray[np.float64]]:
    """Return somebody's outlines on the picture, each (n, 2); none where the eye is too near.

    Whoever looks from high above sees shoulders and a head, anybody else the whole figure, turned to the eye.
    """
    upward = np.array([0.0, 0.0, 1.0])
    if camera.axes[2][2] < STEEP:
        turns = np.linspace(0, 2 * np.pi, 25)
        ring = np.stack([np.cos(turns), np.sin(turns), np.zeros_like(turns)], axis=1)
        parts = [place + 1.4 * upward + ring * [0.22, 0.14, 0], place + 1.65 * upward + ring * [0.09, 0.11, 0]]
    else:
        aside = np.array([camera.axes[0][0], camera.axes[0][1], 0.0])
        middle = place + np.array([[height] for height, _half in OUTLINE]) * upward
        halves = np.array([[half] for _height, half in OUTLINE]) * aside
        parts = [np.concatenate([middle + halves, (middle - halves)[::-1]])]
    views = [camera.see(part) for part in parts]
    return [np.stack([seen.x, seen.y], axis=1) for seen in views if seen.is_before.all()]


def person_mask(camera: Camera, place: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Return where somebody covers the picture, (height, width)."""
    mask = Image.new("1", (camera.width, camera.height))
    pen = ImageDraw.Draw(mask)
    for outline in person_outlines(camera, place):
        pen.polygon([(float(x), float(y)) for x, y in outline], fill=1)
    return np.array(mask, dtype=np.bool_)


def _person(pen: ImageDraw.ImageDraw, camera: Camera, place: NDArray[np.float64], colour: Colour) -> None:
    """Draw somebody for scale; what lies above is a little lighter."""
    for number, outline in enumerate(person_outlines(camera, place)):
        shade = _whole(tuple(part * (1 + 0.25 * number) for part in colour))
        pen.polygon([(float(x) * FINER, float(y) * FINER) for x, y in outline], fill=shade)


def _whole(colour: Sequence[float]) -> tuple[int, int, int]:
    red, green, blue = colour
    return round(red), round(green), round(blue)

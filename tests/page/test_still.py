"""A still shows the piece as it is at that moment: every light in its place and colour, and nothing else."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from lampwright.page.backdrop import Light, person_mask
from lampwright.page.camera import FILLED, Stand, stand
from lampwright.page.still import Painter, Sight, body_of
from lampwright.piece.model import Piece
from lampwright.show import CircuitShow, frames

SIZE = (480, 270)


def painter(piece: Piece, shows: tuple[CircuitShow, ...], where: Stand = Stand.IN_FRONT) -> Painter:
    return Painter(piece, shows, Sight(where, Light.NIGHT, *SIZE))


@pytest.fixture(scope="module")
def frost_gate_painter(frost_gate: Piece, shows: tuple[CircuitShow, ...]) -> Painter:
    return painter(frost_gate, shows)


def codes_of(shows: tuple[CircuitShow, ...]) -> NDArray[np.uint8]:
    return np.zeros((sum(show.n_pixel for show in shows), 3), np.uint8)


def test_one_lit_pixel_shines_in_its_place_and_in_its_colour(
    frost_gate_painter: Painter, shows: tuple[CircuitShow, ...]
) -> None:
    places = np.concatenate([show.layout.xyz for show in shows])
    seen = frost_gate_painter.camera.see(places)
    dark = np.asarray(frost_gate_painter.paint_codes(codes_of(shows))).astype(int)
    for pixel, channel in ((30, 0), (400, 1), (1000, 2)):
        codes = codes_of(shows)
        codes[pixel, channel] = 60
        more = np.asarray(frost_gate_painter.paint_codes(codes)).astype(int) - dark
        y, x = np.unravel_index(more[:, :, channel].argmax(), more.shape[:2])
        assert np.hypot(x + 0.5 - seen.x[pixel], y + 0.5 - seen.y[pixel]) < 1.0
        others = [other for other in range(3) if other != channel]
        assert more[:, :, channel].max() > 20
        assert np.abs(more[:, :, others]).max() <= 1
        far = np.hypot(*np.meshgrid(np.arange(SIZE[0]) - x, np.arange(SIZE[1]) - y)) > SIZE[1] / 4
        assert np.abs(more[far]).max() <= 1, "light reaches the pixel's neighbourhood only"


def test_a_still_is_made_from_the_codes_of_that_very_frame(
    frost_gate_painter: Painter, shows: tuple[CircuitShow, ...]
) -> None:
    for frame in (0, shows[0].standby_frames + 500, shows[0].standby_frames + shows[0].pass_frames + 60):
        codes = np.concatenate([frames(show, frame, 1)[0] for show in shows])
        by_hand = np.asarray(frost_gate_painter.paint_codes(codes))
        np.testing.assert_array_equal(np.asarray(frost_gate_painter.paint(frame)), by_hand)


@pytest.mark.parametrize("where", [Stand.IN_FRONT, Stand.FROM_ABOVE])
def test_the_whole_piece_is_on_the_picture_and_fills_it(
    frost_gate: Piece, shows: tuple[CircuitShow, ...], where: Stand
) -> None:
    body = body_of(frost_gate, shows)
    places = np.vstack([*body.members, *body.cords])
    seen = stand(where, places, *SIZE).see(places)
    across = (np.ptp(seen.x) / SIZE[0], np.ptp(seen.y) / SIZE[1])
    assert seen.is_before.all()
    assert max(across) == pytest.approx(FILLED, abs=0.05)
    assert min(seen.x.min(), seen.y.min()) > 0
    assert seen.x.max() < SIZE[0]
    assert seen.y.max() < SIZE[1]


def test_somebody_beside_the_piece_is_as_tall_as_people_are(frost_gate: Piece, shows: tuple[CircuitShow, ...]) -> None:
    camera = painter(frost_gate, shows, Stand.ON_FOOT).camera
    place = body_of(frost_gate, shows).person
    rows = np.flatnonzero(person_mask(camera, place).any(axis=1))
    depth = float(camera.see(place[None, :]).depth[0])
    assert len(rows) * depth / camera.focal == pytest.approx(1.75, abs=0.06)


def test_brighter_codes_never_look_darker(frost_gate_painter: Painter, shows: tuple[CircuitShow, ...]) -> None:
    before = np.zeros((SIZE[1], SIZE[0], 3), np.uint8)
    for code in (0, 1, 10, 46, 255):
        now = np.asarray(frost_gate_painter.paint_codes(codes_of(shows) + np.uint8(code)))
        assert (now.astype(int) >= before.astype(int)).all()
        before = now

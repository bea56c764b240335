"""A promise of wind means the same however it is put."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lampwright.piece import Piece, piece_from_text
from lampwright.piece.wind import AIR_DENSITY
from tests.piece.conftest import changed

WIND = 'wind = "6 m/s"'


@pytest.mark.parametrize(
    ("said", "speed", "kept"),
    [
        ('"6 m/s"', 6.0, ""),
        ('"20 mph"', 8.9408, ""),
        ('"= 3 m/s * 2"', 6.0, ""),
        ('"force 5"', 10.7, "force 5"),
        ('"Beaufort 5"', 10.7, "force 5"),
        ('"5 Bft"', 10.7, "force 5"),
        ('"force 0"', 0.2, "force 0"),
        ('"140.625 Pa"', 15.0, "140.625 Pa"),
        ('"= 0.25 kPa"', 20.0, "= 0.25 kPa"),
    ],
)
def test_each_way_to_say_it(read_changed: Callable[..., Piece], said: str, speed: float, kept: str) -> None:
    brief = read_changed((WIND, f"wind = {said}")).brief
    assert (brief.wind, brief.wind_said) == (pytest.approx(speed), kept)
    assert brief.gust == pytest.approx(1.5 * speed)


def test_stated_gusts_are_taken_as_they_are(read_changed: Callable[..., Piece]) -> None:
    brief = read_changed((WIND, 'wind = "12 m/s"\ngust_factor = 1')).brief
    assert (brief.gust, brief.mean_of(brief.gust)) == (12.0, 8.0)
    brief = read_changed((WIND, 'wind = "12 m/s"\ngust_factor = "= 7/5"')).brief
    assert (brief.gust, brief.mean_of(brief.gust)) == (pytest.approx(16.8), pytest.approx(12.0))


@given(st.floats(0.0, 2250.0))
def test_pressure_comes_back_from_its_speed(pressure: float) -> None:
    brief = piece_from_text(changed((WIND, f'wind = "{pressure:.3f} Pa"')), Path("piece.toml")).brief
    assert AIR_DENSITY / 2 * brief.wind**2 == pytest.approx(float(f"{pressure:.3f}"), rel=1e-12)

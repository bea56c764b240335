"""The strip's balanced white against its datasheet and the sRGB standard.

WS2812B datasheet (in copies), luminous intensities: red 390 to 420, green 660 to 720, blue 180 to
200 mcd. IEC 61966-2-1:1999, luminance weights of white: 0.2126, 0.7152, 0.0722.
"""

from __future__ import annotations

import pytest

from lampwright.parts import Strip, find


def test_the_shares_of_white_weigh_as_the_standards_white_does() -> None:
    strip = find(Strip, "ws2812b-60")
    shares = [strip.white_red.value, strip.white_green.value, strip.white_blue.value]
    light = [share * mcd for share, mcd in zip(shares, (405, 690, 190), strict=True)]
    assert [part / sum(light) for part in light] == pytest.approx([0.2126, 0.7152, 0.0722], abs=0.003)

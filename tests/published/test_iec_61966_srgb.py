"""Colours picked on a screen against the sRGB standard.

IEC 61966-2-1:1999, transfer function and the luminance weights of its primaries; worked values
computed from them: grey 128 has a relative luminance of 0.21586, (255, 128, 0) of 0.36698.
"""

from __future__ import annotations

import pytest

from lampwright.look.colour import hex_to_linear

WEIGHTS = (0.2126, 0.7152, 0.0722)


@pytest.mark.parametrize(
    ("text", "luminance"), [("#808080", 0.21586), ("#ff8000", 0.36698), ("#ff0000", 0.2126), ("#ffffff", 1.0)]
)
def test_a_hex_colour_becomes_its_linear_light(text: str, luminance: float) -> None:
    linear = hex_to_linear(text)
    assert linear is not None
    assert sum(w * c for w, c in zip(WEIGHTS, linear, strict=True)) == pytest.approx(luminance, abs=5e-6)

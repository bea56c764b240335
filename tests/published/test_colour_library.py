"""Colour arithmetic against an outside library: colour-science (PyPI), 0.4.

sRGB's transfer function (IEC 61966-2-1:1999), CIE 1976 lightness (ISO/CIE 11664-4), and the
chromaticity of a black body by Planck's law and the CIE 1931 observer, not by splines.
"""

from __future__ import annotations

import warnings

import numpy as np
import pytest

with warnings.catch_warnings():
    warnings.simplefilter("ignore")  # about plotting packages that this test doesn't need
    import colour

from lampwright.look import tables
from lampwright.look.colour import kelvin_to_linear, planckian_chromaticity, srgb_to_linear


def test_screen_colours_decode_as_the_library_decodes_them() -> None:
    shares = np.linspace(0, 1, 256)
    ours = [srgb_to_linear(share) for share in shares]
    np.testing.assert_allclose(ours, colour.models.eotf_sRGB(shares), atol=1e-12)


def test_judged_brightness_is_the_librarys_lightness() -> None:
    lightness = np.arange(256) / 256
    ours = tables.SEEN.values.values / 2**tables.CURVE_PLACES
    np.testing.assert_allclose(ours, colour.colorimetry.luminance_CIE1976(lightness * 100, 1.0), atol=2**-13)


@pytest.mark.parametrize("temperature", [1800, 2200, 2700, 3000, 4000, 5000, 6500, 9000, 15_000])
def test_temperatures_lie_on_the_librarys_planckian_locus(temperature: float) -> None:
    body = colour.sd_blackbody(temperature, colour.SpectralShape(360, 830, 1))
    observer = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"]
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        whole = colour.sd_to_XYZ(body, observer)
    x, y = colour.XYZ_to_xy(whole)
    assert planckian_chromaticity(temperature) == (pytest.approx(x, abs=2e-3), pytest.approx(y, abs=2e-3))
    linear = np.clip(colour.XYZ_to_RGB(whole / whole[1], "sRGB"), 0, None)
    np.testing.assert_allclose(kelvin_to_linear(temperature), linear / linear.max(), atol=0.02)

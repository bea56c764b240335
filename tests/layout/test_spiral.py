"""Strip wound around a mast is cut too short when the turns are counted wrongly."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable

import numpy as np
import pytest

from lampwright.findings.model import Severity
from lampwright.layout import check_layout, lay_out
from lampwright.layout.spiral import bend_radius, strip_radius
from lampwright.parts import Tube, find
from lampwright.piece.model import FixedSection, Hoop, Member, Piece, Straight, Support

BuildPiece = Callable[..., Piece]


@pytest.fixture
def mast() -> Member:
    return Member("mast", Straight(2.0, 0.2), (1.0, 2.0, 0.0), 0.7, Support(find(Tube, "aluminium-6061-50")))


def test_strip_on_a_mast_is_as_long_as_its_unrolled_turns(piece_of: BuildPiece, mast: Member) -> None:
    # Unrolled, 20 turns of 10 cm on a radius of 27.5 mm are the long side of a triangle: 2 m by 20 * 2 pi * 0.0275 m.
    wound = FixedSection("mast", mast, 0.0, 0.0, spiral=0.1)
    length = math.hypot(2.0, 20 * math.tau * 0.0275)
    layout = lay_out(piece_of(wound))
    assert layout.circuits[0].n_pixel == math.floor(60 * length)


def test_pixels_of_a_spiral_are_one_pitch_apart_and_keep_their_distance_from_the_axis(
    piece_of: BuildPiece, mast: Member
) -> None:
    xyz = lay_out(piece_of(FixedSection("mast", mast, 0.0, 0.0, spiral=0.3), density=600.0)).circuits[0].xyz
    steps = np.linalg.norm(np.diff(xyz, axis=0), axis=1)
    assert steps == pytest.approx(np.full(len(steps), 1 / 600), rel=1e-4)
    axis = np.array([math.sin(0.2) * math.cos(0.7), math.sin(0.2) * math.sin(0.7), math.cos(0.2)])
    off = np.linalg.norm(np.cross(xyz - np.array([1.0, 2.0, 0.0]), axis), axis=1)
    assert off == pytest.approx(np.full(len(off), 0.0275), rel=1e-6)


def test_a_drop_laid_back_is_the_same_drop_from_its_other_end(piece_of: BuildPiece, mast: Member) -> None:
    along = lay_out(piece_of(FixedSection("mast", mast, 0.2, 0.2))).circuits[0].xyz
    back = lay_out(piece_of(FixedSection("mast", mast, 0.2, 0.2, is_back=True))).circuits[0].xyz
    assert back == pytest.approx(along[::-1], abs=1e-9)


def test_helix_bends_its_strip_as_the_drawn_curve_does(mast: Member) -> None:
    section = FixedSection("mast", mast, 0.0, 0.0, spiral=0.2)
    r, p = strip_radius(section), 0.2
    # Curvature of x(t) by |x' x x''| / |x'|³.
    first, second = np.array([0.0, r, p / math.tau]), np.array([-r, 0.0, 0.0])
    curvature = np.linalg.norm(np.cross(first, second)) / np.linalg.norm(first) ** 3
    assert bend_radius(section) == pytest.approx(1 / curvature)


def test_a_bend_too_tight_is_warned_of(piece_of: BuildPiece, mast: Member) -> None:
    def severity(pitch: float | None) -> list[Severity]:
        piece = piece_of(FixedSection("mast", mast, 0.0, 0.0, spiral=pitch))
        return [finding.severity for finding in check_layout(lay_out(piece))]

    assert (severity(0.1), severity(0.3), severity(None)) == ([Severity.WARN], [Severity.PASS], [])
    small = dataclasses.replace(mast, shape=Hoop(0.08, 1.0))
    (finding,) = check_layout(lay_out(piece_of(FixedSection("loop", small, 0.0, 0.0))))
    assert finding.severity is Severity.WARN
    assert finding.value == "4 cm"

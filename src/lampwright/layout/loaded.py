"""Spans under load: a cord that stretches, and the plane into which a side wind swings it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Reals = NDArray[np.float64]
Real = float | Reals

_MOST_STEPS = 100
_CLOSE = 1e-12  # of the chord: where the search for the end's place stops


@dataclass(frozen=True)
class StretchedSpan:
    """Cords that stretch, solved; all fields have one shape.

    The plane is the curve's own, x square to the load: see :func:`swing` for wind.
    """

    pull: Reals  # along x, the same everywhere [N]
    start_lift: Reals  # the force against the load that the start gives [N]
    end_lift: Reals  # and the end [N]
    length: Reals  # stretched [m]
    sag: Reals  # from the chord's middle, along the load, at the middle of the cord [m]

    @property
    def tension(self) -> Reals:
        """Tension at the end that has the more. [N]"""
        return np.asarray(np.hypot(self.pull, np.maximum(self.start_lift, self.end_lift)), dtype=np.float64)


@dataclass(frozen=True)
class SwungPlane:
    """The plane that holds both ends and the direction of the load; all fields have one shape."""

    width: Reals  # between the ends, square to the load [m]
    rise: Reals  # of the end, against the load [m]
    load: Reals  # per length, weight and wind together [N/m]
    angle: Reals  # of the load from the vertical [rad]


def swing(width: Real, rise: Real, weight: Real, wind: Real) -> SwungPlane:
    """Return the plane in which a span hangs when wind blows square to it.

    Weight and wind are both spread evenly along the cord, so their sum has one direction, and the
    curve lies in the plane of that direction and the chord.

    Parameters
    ----------
    width, rise : float64, one or an array
        Between the ends over the ground; height of the end above the start. [m]
    weight, wind : float64, one or an array
        Load per length downward, above zero, and sideways. [N/m]

    Source
    ------
    Statics: resultant of two uniform loads. Wind that is spread along the cord whatever its slope is on
    the safe side.
    """
    load = np.hypot(weight, wind)
    against = np.asarray(rise) * (np.asarray(weight) / load)
    along = np.sqrt(np.maximum(np.square(width) + np.square(rise) - np.square(against), 0.0))
    return SwungPlane(along, against, load, np.asarray(np.arctan2(wind, weight)))


def stretch(width: Real, rise: Real, length: Real, load: Real, stiffness: Real) -> StretchedSpan:
    """Return how cords hang that stretch in proportion to their tension.

    Parameters
    ----------
    width, rise : float64, one or an array
        Of the ends, in the plane of the load; width above zero. [m]
    length : float64, one or an array
        Unstretched; may be less than the chord. [m]
    load : float64, one or an array
        Per unstretched length, above zero. [N/m]
    stiffness : float64, one or an array
        Tension over strain, EA; infinity for a cord that does not stretch, which must be longer than its chord. [N]

    Raises
    ------
    ValueError
        Where no such cord can hang.

    Notes
    -----
    The pull H and the lift at the middle D make the complementary energy least, which is convex:

        E = integral of (T²/2EA + T) ds - H L - D h,    T² = H² + (w (s - S/2) + D)²

    Its gradient is the distance by which the end misses its place, its second derivatives are the
    cord's give, so Newton's steps, shortened while they overshoot, always arrive.

    Source
    ------
    Irvine, Cable Structures, section 1.5, the elastic catenary (from memory).
    """
    arrays = np.broadcast_arrays(*(np.asarray(v, dtype=np.float64) for v in (width, rise, length, load, stiffness)))
    width, rise, length, load, stiffness = arrays
    chord = np.hypot(width, rise)
    if not np.all((width > 0) & (load > 0) & (length > 0) & ((length > chord) | np.isfinite(stiffness))):
        raise ValueError("a cord needs width, load and length above zero, and give where it is shorter than its chord")
    pull, lift = _first_guess(width, rise, length, load, stiffness)
    for _ in range(_MOST_STEPS):
        miss_x, miss_y, give = _misses(pull, lift, width, rise, length, load, stiffness)
        if np.all(np.hypot(miss_x, miss_y) <= _CLOSE * chord):
            break
        determinant = give[0] * give[2] - give[1] ** 2
        step_pull = -(give[2] * miss_x - give[1] * miss_y) / determinant
        step_lift = -(give[0] * miss_y - give[1] * miss_x) / determinant
        share = np.where(step_pull < -0.9 * pull, -0.9 * pull / np.where(step_pull == 0, 1.0, step_pull), 1.0)
        downhill = miss_x * step_pull + miss_y * step_lift
        for _ in range(30):
            x, y, _give = _misses(
                pull + share * step_pull, lift + share * step_lift, width, rise, length, load, stiffness
            )
            overshoots = x * step_pull + y * step_lift > np.abs(downhill)
            if not np.any(overshoots):
                break
            share = np.where(overshoots, share / 2, share)
        pull, lift = pull + share * step_pull, lift + share * step_lift
    return _solved(pull, lift, rise, length, load, stiffness)


def _first_guess(width: Reals, rise: Reals, length: Reals, load: Reals, stiffness: Reals) -> tuple[Reals, Reals]:
    """Return the pull of a shallow parabola with the slack that there is, or of a stretched string."""
    chord = np.hypot(width, rise)
    slack = np.maximum(length / chord - 1.0, 1e-9)
    slung = load * width / np.sqrt(24 * slack)
    taut = np.where(np.isfinite(stiffness), stiffness, 0.0) * np.maximum(chord / length - 1.0, 0.0)
    # A stretched string whose slack is nil sags by its own give: H³ = EA (wL)²/24.
    own = np.cbrt(np.where(np.isfinite(stiffness), stiffness, np.inf) * np.square(load * width) / 24)
    pull = np.minimum(slung, own) + taut
    return pull, pull * rise / width


def _misses(
    pull: Reals, lift: Reals, width: Reals, rise: Reals, length: Reals, load: Reals, stiffness: Reals
) -> tuple[Reals, Reals, tuple[Reals, Reals, Reals]]:
    """Return by how much the end misses its place [m], and the give: dx/dH, dx/dD, dy/dD [m/N]."""
    low, high = lift - load * length / 2, lift + load * length / 2
    low_tension, high_tension = np.hypot(pull, low), np.hypot(pull, high)
    turned = np.arcsinh(high / pull) - np.arcsinh(low / pull)
    # The difference of the tensions as a quotient keeps its digits where both are nearly alike.
    risen = (high - low) * (high + low) / (high_tension + low_tension)
    x = pull * length / stiffness + pull / load * turned - width
    y = lift * length / stiffness + risen / load - rise
    sines = high / high_tension - low / low_tension
    own = length / stiffness
    return (
        x,
        y,
        (own + (turned - sines) / load, pull / load * (1 / high_tension - 1 / low_tension), own + sines / load),
    )


def _solved(pull: Reals, lift: Reals, rise: Reals, length: Reals, load: Reals, stiffness: Reals) -> StretchedSpan:
    low, high = lift - load * length / 2, lift + load * length / 2
    low_tension, high_tension, middle = np.hypot(pull, low), np.hypot(pull, high), np.hypot(pull, lift)
    whole_tension = (high * high_tension - low * low_tension) / 2 + pull**2 / 2 * (
        np.arcsinh(high / pull) - np.arcsinh(low / pull)
    )
    height = (lift + low) * length / 4 / stiffness + (lift - low) * (lift + low) / (middle + low_tension) / load
    along = (pull * length / 2) / stiffness + pull / load * (np.arcsinh(lift / pull) - np.arcsinh(low / pull))
    width = pull * length / stiffness + pull / load * (np.arcsinh(high / pull) - np.arcsinh(low / pull))
    return StretchedSpan(pull, -low, high, length + whole_tension / load / stiffness, rise * along / width - height)

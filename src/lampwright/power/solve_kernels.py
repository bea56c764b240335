"""The compiled inner loops of the rail solver; :mod:`lampwright.power.solve` says what they solve.

All of them lie in this one file and call nothing outside it, because numba's cache looks only at the file of the
function that it compiled. Unknowns are in elimination order, their values as in
:class:`lampwright.power.elimination.Pattern`.
"""

from __future__ import annotations

from typing import Any

import numba
import numpy as np

_compile: Any = numba.njit
"""Untyped here, since the types that come with numba don't know all of its options."""

LANES = 16
"""Frames solved side by side; their unknowns stay in the core's cache."""

CORNER = 0.1  # pixel_model.CORNER [1]
FLOOR_WIDTH = 0.2  # pixel_model.FLOOR_WIDTH [V]


@_compile(cache=True, error_model="numpy")
def factor(values: Any, column: Any, row: Any, target: Any, first_target: Any) -> None:
    """Factor a symmetric matrix in place: unit lower factor below, pivots on the diagonal."""
    n_entry = len(row)
    for j in range(len(column) - 1):
        pivot = values[n_entry + j]
        pair = first_target[j]
        for p in range(column[j], column[j + 1]):
            share = values[p] / pivot
            for q in range(p, column[j + 1]):
                values[target[pair]] -= share * values[q]
                pair += 1
        for p in range(column[j], column[j + 1]):
            values[p] /= pivot


@_compile(cache=True, error_model="numpy")
def substitute(values: Any, column: Any, row: Any, right: Any) -> None:
    """Replace a right side by the solution, by a matrix factored before."""
    n, n_entry = len(column) - 1, len(row)
    for j in range(n):
        for p in range(column[j], column[j + 1]):
            right[row[p]] -= values[p] * right[j]
    for j in range(n - 1, -1, -1):
        right[j] /= values[n_entry + j]
        for p in range(column[j], column[j + 1]):
            right[j] -= values[p] * right[row[p]]


@_compile(cache=True, error_model="numpy", fastmath={"contract", "nsz"})
def constant_drops(
    factored: Any,
    column: Any,
    row: Any,
    fixed: Any,
    weights: Any,
    plus: Any,
    ground: Any,
    codes: Any,
    first: int,
    count: int,
    drop: Any,
) -> None:
    """Fill ``drop`` (n, LANES) with the drops of frames whose pixels all regulate."""
    n, n_entry = len(column) - 1, len(row)
    quiescent, red, green, blue = weights[0], weights[1], weights[2], weights[3]
    for i in range(n):
        for f in range(LANES):
            drop[i, f] = fixed[i]
    for k in range(len(plus)):
        one = drop[plus[k]]
        for f in range(count):
            code = codes[first + f, k]
            one[f] += quiescent + red * code[0] + green * code[1] + blue * code[2]
        if ground[k] >= 0:
            other = drop[ground[k]]
            for f in range(count):
                code = codes[first + f, k]
                other[f] -= quiescent + red * code[0] + green * code[1] + blue * code[2]
    for j in range(n):
        here = drop[j]
        for p in range(column[j], column[j + 1]):
            there, share = drop[row[p]], factored[p]
            for f in range(LANES):
                there[f] -= share * here[f]
    for j in range(n - 1, -1, -1):
        here = drop[j]
        scale = 1.0 / factored[n_entry + j]
        for f in range(LANES):
            here[f] *= scale
        for p in range(column[j], column[j + 1]):
            there, share = drop[row[p]], factored[p]
            for f in range(LANES):
                here[f] -= share * there[f]


@_compile(cache=True, error_model="numpy")
def ramp(share: float) -> tuple[float, float]:
    """Return the ramp of :func:`lampwright.power.pixel_model.ramp` and its slope."""
    scale = 1.0 - 2.0 * CORNER
    if share <= 0.0:
        return 0.0, 0.0
    if share >= 1.0:
        return 1.0, 0.0
    if share < 2.0 * CORNER:
        return share * share / (4.0 * CORNER * scale), share / (2.0 * CORNER * scale)
    if share > 1.0 - 2.0 * CORNER:
        rest = 1.0 - share
        return 1.0 - rest * rest / (4.0 * CORNER * scale), rest / (2.0 * CORNER * scale)
    return (share - CORNER) / scale, 1.0 / scale


@_compile(cache=True, error_model="numpy")
def pixel(voltage: float, code: Any, figures: Any) -> tuple[float, float]:
    """Return a pixel's current and how it changes with its voltage; ``figures`` as :func:`solve.figures_of`."""
    awake, awake_slope = ramp((voltage - figures[1]) / FLOOR_WIDTH + 1.0)
    current, slope = figures[0], 0.0
    for c in range(3):
        width = figures[8 + c] - figures[5 + c]
        share, share_slope = ramp((voltage - figures[5 + c]) / width)
        level = figures[2 + c] * code[c] / 255.0
        current += level * share
        slope += level * share_slope / width
    return awake * current, awake * slope + current * awake_slope / FLOOR_WIDTH


@_compile(cache=True, error_model="numpy")
def residual(
    drop: Any,
    edge_one: Any,
    edge_other: Any,
    conductance: Any,
    fixed: Any,
    plus: Any,
    ground: Any,
    code: Any,
    figures: Any,
    emf: float,
    out: Any,
    slopes: Any,
) -> None:
    """Fill ``out`` (n,) with what Kirchhoff's current law misses at each unknown, and the pixels' slopes. [A]"""
    for i in range(len(out)):
        out[i] = -fixed[i]
    for e in range(len(edge_one)):
        one, other = edge_one[e], edge_other[e]
        if other < 0:
            out[one] += conductance[e] * drop[one]
        else:
            flow = conductance[e] * (drop[one] - drop[other])
            out[one] += flow
            out[other] -= flow
    for k in range(len(plus)):
        voltage = emf - drop[plus[k]]
        if ground[k] >= 0:
            voltage += drop[ground[k]]
        current, slopes[k] = pixel(voltage, code[k], figures)
        out[plus[k]] -= current
        if ground[k] >= 0:
            out[ground[k]] += current


@_compile(cache=True, error_model="numpy")
def newton(
    drop: Any,
    base: Any,
    column: Any,
    row: Any,
    target: Any,
    first_target: Any,
    edge_one: Any,
    edge_other: Any,
    conductance: Any,
    fixed: Any,
    plus: Any,
    ground: Any,
    between: Any,
    code: Any,
    figures: Any,
    emf: float,
    most_steps: int,
) -> tuple[int, float]:
    """Improve ``drop`` until Kirchhoff's current law holds; return the steps taken and the largest miss. [A]"""
    n, n_entry, n_pixel = len(drop), len(row), len(plus)
    miss, next_miss = np.empty(n), np.empty(n)
    slopes, next_slopes = np.empty(n_pixel), np.empty(n_pixel)
    step, tried, values = np.empty(n), np.empty(n), np.empty(len(base))
    residual(drop, edge_one, edge_other, conductance, fixed, plus, ground, code, figures, emf, miss, slopes)
    for count in range(most_steps):
        for i in range(len(base)):
            values[i] = base[i]
        for k in range(n_pixel):
            values[n_entry + plus[k]] += slopes[k]
            if ground[k] >= 0:
                values[n_entry + ground[k]] += slopes[k]
                values[between[k]] -= slopes[k]
        factor(values, column, row, target, first_target)
        for i in range(n):
            step[i] = -miss[i]
        substitute(values, column, row, step)
        descent, longest = 0.0, 0.0
        for i in range(n):
            descent += miss[i] * step[i]
            longest = max(longest, abs(step[i]))
        scale = 1.0
        for _ in range(40):  # the potential is convex: stop where its slope along the step has all but vanished
            for i in range(n):
                tried[i] = drop[i] + scale * step[i]
            residual(
                tried,
                edge_one,
                edge_other,
                conductance,
                fixed,
                plus,
                ground,
                code,
                figures,
                emf,
                next_miss,
                next_slopes,
            )
            slope = 0.0
            for i in range(n):
                slope += next_miss[i] * step[i]
            if slope <= 0.5 * abs(descent) or longest < 1e-12:
                break
            scale *= 0.5
        for i in range(n):
            drop[i], miss[i] = tried[i], next_miss[i]
        for k in range(n_pixel):
            slopes[k] = next_slopes[k]
        if scale * longest < 1e-13 or (scale == 1.0 and longest < 1e-9):
            return count + 1, np.abs(miss).max()
    return most_steps, np.abs(miss).max()


@_compile(cache=True, error_model="numpy")
def lowest_of(drop: Any, plus: Any, ground: Any, emf: float, count: int, lowest: Any, where: Any, first: int) -> None:
    """Fill in the lowest supply of each frame of a block, and at which pixel."""
    for f in range(count):
        lowest[first + f] = np.inf
    for k in range(len(plus)):
        one = drop[plus[k]]
        for f in range(count):
            voltage = emf - one[f]
            if ground[k] >= 0:
                voltage += drop[ground[k], f]
            if voltage < lowest[first + f]:
                lowest[first + f] = voltage
                where[first + f] = k


@_compile(cache=True, error_model="numpy")
def flows_of(drop: Any, one: Any, other: Any, conductance: Any, count: int, flows: Any, first: int) -> None:
    """Fill in the current of each watched conductor in the frames of a block. [A]"""
    for e in range(len(one)):
        here = drop[one[e]]
        for f in range(count):
            flow = here[f] if other[e] < 0 else here[f] - drop[other[e], f]
            flows[first + f, e] = flow * conductance[e]


@_compile(cache=True, error_model="numpy")
def voltages_of(drop: Any, plus: Any, ground: Any, watched: Any, emf: float, count: int, out: Any, first: int) -> None:
    """Fill in the supply of each watched pixel in the frames of a block. [V]"""
    for w in range(len(watched)):
        k = watched[w]
        for f in range(count):
            out[first + f, w] = emf - drop[plus[k], f]
            if ground[k] >= 0:
                out[first + f, w] += drop[ground[k], f]


@_compile(cache=True, error_model="numpy")
def solve_frames(
    factored: Any,
    base: Any,
    column: Any,
    row: Any,
    target: Any,
    first_target: Any,
    edge_one: Any,
    edge_other: Any,
    conductance: Any,
    fixed: Any,
    plus: Any,
    ground: Any,
    between: Any,
    codes: Any,
    figures: Any,
    weights: Any,
    emf: float,
    safe: float,
    watched_edges: Any,
    watched_pixels: Any,
    lowest: Any,
    where: Any,
    flows: Any,
    volts: Any,
) -> tuple[int, float]:
    """Solve frames; return how many needed the pixels' curves, and the worst miss of Kirchhoff's law. [A]"""
    n = len(column) - 1
    drop = np.zeros((n, LANES))
    one_frame = np.empty(n)
    n_curved, worst = 0, 0.0
    watched_one, watched_other = edge_one[watched_edges], edge_other[watched_edges]
    watched_conductance = conductance[watched_edges]
    for first in range(0, len(codes), LANES):
        count = min(LANES, len(codes) - first)
        constant_drops(factored, column, row, fixed, weights, plus, ground, codes, first, count, drop)
        lowest_of(drop, plus, ground, emf, count, lowest, where, first)
        is_curved = False
        for f in range(count):
            if lowest[first + f] < safe:
                for i in range(n):
                    one_frame[i] = min(max(drop[i, f], -emf), emf)
                _, miss = newton(
                    one_frame,
                    base,
                    column,
                    row,
                    target,
                    first_target,
                    edge_one,
                    edge_other,
                    conductance,
                    fixed,
                    plus,
                    ground,
                    between,
                    codes[first + f],
                    figures,
                    emf,
                    200,
                )
                for i in range(n):
                    drop[i, f] = one_frame[i]
                worst = max(worst, miss)
                n_curved += 1
                is_curved = True
        if is_curved:
            lowest_of(drop, plus, ground, emf, count, lowest, where, first)
        flows_of(drop, watched_one, watched_other, watched_conductance, count, flows, first)
        voltages_of(drop, plus, ground, watched_pixels, emf, count, volts, first)
    return n_curved, worst

"""Whether the loop where a member becomes a span gives as much as the span's end moves in the wind."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from lampwright.findings.model import Finding, Severity
from lampwright.layout import Layout
from lampwright.rigging.limits import Loading
from lampwright.rigging.spans import RIGGED_AT, span_pulls
from lampwright.units import format_quantity

Reals = NDArray[np.float64]

LOOP_EXCESS = 1.5
"""A loop is this many times as long as the way it must give (common practice, no source). [1]"""


def end_ways(loading: Loading, reach: float) -> Reals:
    """Return how far a point of each carrier moves from its place in still air, at this distance from either end [m].

    Returns
    -------
    (n_span, 2) float64
        At the start and at the end, the farthest of all winds: the carrier leaves its member in another direction, and
        is stretched. [m]
    """
    still = span_pulls(loading.spans, 0.0, 0.0, RIGGED_AT)
    ways = []
    for blown, calm in (
        (loading.pulls.at_start, still.at_start),
        (loading.pulls.at_end, still.at_end),
    ):
        turned = np.linalg.norm(_ahead(blown) - _ahead(calm), axis=-1)
        stretched = np.abs(loading.pulls.strain - still.strain)
        ways.append(reach * (turned + stretched).max(axis=0))
    return np.stack(ways, axis=1)


def relief_findings(layout: Layout, loading: Loading) -> tuple[Finding, ...]:
    """Return RIGGING-011 for each circuit with spans, of the end that moves most."""
    allowances = layout.piece.allowances
    if not loading.spans:
        return ()
    ways = end_ways(loading, allowances.relief).max(axis=1)
    findings = []
    for circuit in layout.circuits:
        own = [index for index, span in enumerate(loading.spans) if span.circuit == circuit.circuit.name]
        if own:
            worst = max(own, key=lambda index: ways[index])
            section = loading.spans[worst].section.name
            findings.append(_relief(circuit.circuit.name, section, allowances.loop, float(ways[worst]), loading.gust))
    return tuple(findings)


def _relief(circuit: str, section: str, loop: float, way: float, gust: float) -> Finding:
    needed = LOOP_EXCESS * way
    is_short = loop < needed
    return Finding(
        "RIGGING-011",
        Severity.WARN if is_short else Severity.PASS,
        circuit,
        f"the loop of cable where a member becomes {section}, which moves there by {format_quantity(way, 'length')} in "
        f"gusts of {format_quantity(gust, 'speed')}",
        format_quantity(loop, "length"),
        f"at least {format_quantity(needed, 'length')}",
        1 - needed / loop if loop > 0 else -math.inf,
        f'write loop = "{math.ceil(100 * needed)} cm" in [allowances] and make it so long, tied back on either side'
        if is_short
        else "",
        f"how far the carrier's first tie, one relief from its end, moves from its place in still air; the loop is "
        f"{LOOP_EXCESS:g} × that (common practice, no source)",
    )


def _ahead(force: Reals) -> Reals:
    return np.asarray(force / np.linalg.norm(force, axis=-1, keepdims=True))

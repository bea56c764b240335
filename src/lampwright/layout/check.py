"""Judge how the strip lies: whether any corner is tighter than it can follow."""

from __future__ import annotations

from lampwright.findings.model import Finding, Severity
from lampwright.layout.model import Layout
from lampwright.layout.spiral import bend_radius
from lampwright.piece.model import FixedSection
from lampwright.units import format_quantity

LEAST_BEND = 0.05
"""Radius to which a sleeved strip may be bent, over its flat side, never edgewise; bare strip 30 mm
(common practice, no source). [m]"""


def check_layout(layout: Layout) -> tuple[Finding, ...]:
    """Return the tightest bend of each circuit whose strip is bent at all: LAYOUT-006."""
    findings = []
    for circuit in layout.circuits:
        bends = {
            section.section.name: bend_radius(section.section)
            for run in circuit.runs
            for section in run.sections
            if isinstance(section.section, FixedSection)
        }
        tightest = min(bends, key=lambda name: bends[name], default="")
        if tightest and bends[tightest] < float("inf"):
            findings.append(_bend(circuit.circuit.name, tightest, bends[tightest]))
    return tuple(findings)


def _bend(circuit: str, section: str, radius: float) -> Finding:
    is_tight = radius < LEAST_BEND
    return Finding(
        "LAYOUT-006",
        Severity.WARN if is_tight else Severity.PASS,
        circuit,
        f"tightest bend of the strip, on {section}",
        format_quantity(radius, "length"),
        f"at least {format_quantity(LEAST_BEND, 'length')} for sleeved strip",
        1 - LEAST_BEND / radius,
        "wind it at a longer pitch, take a thicker tube, or lay it straight; bare strip takes 30 mm"
        if is_tight
        else "",
        "radius of curvature of circle or helix; least radius: common practice, no source",
    )

"""Judge how the strip lies: whether any corner is tighter than it can follow, along a member or between two."""

from __future__ import annotations

import math
from collections.abc import Sequence

from lampwright.findings.model import Finding, Severity
from lampwright.layout.model import CircuitLayout, Layout
from lampwright.layout.spiral import bend_radius
from lampwright.layout.transitions import LEAST_BEND, Transition, transitions
from lampwright.parts import Wire, find
from lampwright.piece.model import Allowances, FixedSection
from lampwright.units import format_quantity

JUMPER = "awg-20"
"""What joins strip to strip unless the maker takes another (common practice, no source)."""

SOLDERED = 0.001
"""Resistance of one soldered joint (from memory). [ohm]"""

MOST_TOLD = 4
"""Joints written out in full in what to do; of more, these and how many."""


def check_layout(layout: Layout) -> tuple[Finding, ...]:
    """Return the tightest bend of each circuit whose strip is bent at all, LAYOUT-006, and its cuts, LAYOUT-007."""
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
        cuts = [each for each in transitions(circuit) if each.is_cut]
        if cuts:
            findings.append(_cuts(circuit, cuts, layout.piece.allowances))
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
        1 - LEAST_BEND / radius if radius > 0 else None,
        "bend it wider, wind it at a longer pitch around thicker tube, or leave the corner bare; bare strip takes 30 mm"
        if is_tight
        else "",
        "radius of curvature of circle or helix; least radius: common practice, no source",
    )


def _cuts(circuit: CircuitLayout, cuts: Sequence[Transition], allowances: Allowances) -> Finding:
    """LAYOUT-007: where strip can't go on from one section to the next, and whether the file knows of the joint."""
    unknown = [each for each in cuts if not each.is_joined]
    worst = max(unknown or cuts, key=lambda each: each.gap)
    where = f"{format_quantity(worst.gap, 'length')} apart"
    if worst.radius > 0:
        where = f"a turn of {format_quantity(worst.radius, 'length')} radius"
    cable = format_quantity(allowances.cable(worst.gap), "length")
    return Finding(
        "LAYOUT-007",
        Severity.WARN if unknown else Severity.PASS,
        circuit.circuit.name,
        f"strip is cut between sections, such as from {worst.before} to {worst.after}, {where}",
        f"{len(cuts) - len(unknown)} of {len(cuts)} stated as joints",
        "a joint at each",
        None,
        _joints_to_state(unknown, allowances) if unknown else "",
        f"strip lies on only to the next pixel and bends to {format_quantity(LEAST_BEND, 'length')}; "
        f"the longest jumper is cut {cable} long, with its loop and relief; common practice, no source",
    )


def _joints_to_state(unknown: Sequence[Transition], allowances: Allowances) -> str:
    """Return the joints as the piece file takes them, run by run."""
    texts = []
    for run in dict.fromkeys(each.run for each in unknown):
        own = [each for each in unknown if each.run == run]
        told = ", ".join(
            f'{{ at = "{100 * each.share:.6g} %", resistance = "{_milliohms(each, allowances)} mohm" }}'
            for each in own[:MOST_TOLD]
        )
        more = f" and {len(own) - MOST_TOLD} more" if len(own) > MOST_TOLD else ""
        texts.append(f"in run {run} write joint = [{told}]{more}")
    return "join it there by a short cable with a loop: " + "; ".join(texts)


def _milliohms(each: Transition, allowances: Allowances) -> int:
    """Return the resistance of one conductor of a jumper, and of its two solder joints, rounded up. [mohm]"""
    wire = find(Wire, JUMPER)
    return math.ceil(1000 * (allowances.cable(each.gap) * wire.resistance.value + 2 * SOLDERED))

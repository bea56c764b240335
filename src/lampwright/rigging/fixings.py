"""Whether the cable ties that hold a carrier's ends hold longer than what should let go before them."""

from __future__ import annotations

import math

from lampwright.findings.model import Finding, Severity
from lampwright.layout import Layout
from lampwright.parts import CableTie, load_catalogue
from lampwright.rigging.limits import SCREENING, TUG_SAFETY, Loading
from lampwright.rigging.spans import RiggedSpan, tugged_tension
from lampwright.units import format_quantity

LINK_EXCESS = 1.5
"""A fixing holds this many times the weak link's rating, for links break above it (common practice, no source). [1]"""


def tie_strength(tie: CableTie) -> float:
    """Return what one cable tie holds after heat, cold and damp. [N]"""
    return tie.strength.value * tie.kept.value


def fixing_load(span: RiggedSpan, tension: float, tug: float) -> float:
    """Return what must hold each end of a span.

    More than the weak link where there is one; else twice the greater of the tension in gusts [N] and under a person's
    tug [N].
    """
    link = span.section.hold.weak_link
    if link is not None:
        return LINK_EXCESS * link
    return TUG_SAFETY * max(tension, tugged_tension(span, tug))


def fixing_findings(layout: Layout, loading: Loading) -> tuple[Finding, ...]:
    """Return RIGGING-010 for each circuit with spans, of the span whose ends lack most."""
    tug = layout.piece.brief.tug
    findings = []
    for circuit in layout.circuits:
        loads = {
            index: fixing_load(span, float(loading.pulls.tension[:, index].max()), tug)
            for index, span in enumerate(loading.spans)
            if span.circuit == circuit.circuit.name
        }
        if loads:
            worst = max(loads, key=lambda index: loads[index] - _held(loading.spans[index]))
            findings.append(_fixing(loading.spans[worst], loads[worst]))
    return tuple(findings)


def _held(span: RiggedSpan) -> float:
    fixing = span.section.hold.fixing
    return 0.0 if fixing is None else fixing.count * tie_strength(fixing.tie)


def _fixing(span: RiggedSpan, load: float) -> Finding:
    fixing, held = span.section.hold.fixing, _held(span)
    severity, value, margin, do = Severity.PASS, "none stated", None, ""
    if fixing is None:
        severity, do = (
            Severity.NOTE,
            f"fix each end with {_ways(load)}, on wrapped tape so that they can't slide",
        )
    else:
        value, margin = f"{_newtons(held)}, {fixing.count} × {fixing.tie.title}", 1 - load / held
        if held < load:
            severity, do = Severity.FAIL, f"take {_ways(load)}, or tie the cord itself around the member"
    link = span.section.hold.weak_link
    why = f"{LINK_EXCESS:g} × the weak link" if link is not None else f"{TUG_SAFETY:g} × gusts or a person's tug"
    return Finding(
        "RIGGING-010",
        severity,
        span.circuit,
        f"what holds each end of the carrier of {span.section.name}",
        value,
        f"at least {_newtons(load)}: {why}",
        margin,
        do,
        "cable ties by the class of their loop, what type 1 keeps conditioned (IEC 62275 / UL 62275, secondary); "
        f"all of them pull alike only if drawn tight alike; safety: common practice, no source; {SCREENING}",
    )


def _ways(load: float) -> str:
    ties = load_catalogue().cable_ties.values()
    return " or ".join(f"{math.ceil(load / tie_strength(tie) - 1e-9)} × {tie.name}" for tie in ties)


def _newtons(force: float) -> str:
    return format_quantity(force, "force", 3)

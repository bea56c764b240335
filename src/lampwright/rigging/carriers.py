"""Findings on spans: the carrier's load, the strip's slack, the weak link."""

from __future__ import annotations

import math
from collections.abc import Sequence

from lampwright.findings.model import Finding, Severity
from lampwright.layout import Layout
from lampwright.layout.member import feet_of
from lampwright.piece.model import Member
from lampwright.rigging.limits import (
    CARRIER_SAFETY,
    CIRCUIT_STRAIN,
    SCREENING,
    TUG_SAFETY,
    Loading,
    allowed_stress,
    knotted_strength,
    sleeve_strain,
)
from lampwright.rigging.posts import n_leg, tube_section
from lampwright.rigging.sliding import moving_pull
from lampwright.rigging.spans import RIGGED_AT, RiggedSpan, span_pulls, tugged_tension
from lampwright.units import format_quantity

LEAST_SLACK = 0.01
"""Share by which strip is longer than the stretched carrier, at least (common practice, no source). [1]"""

LINK_SAFETY = 2.0
"""A weak link breaks at no less than this many times the normal tension (common practice, no source). [1]"""


def carrier_findings(layout: Layout, loading: Loading) -> tuple[Finding, ...]:
    """Return what each circuit's worst span says."""
    findings = []
    brief = layout.piece.brief
    for circuit in layout.circuits:
        name = circuit.circuit.name
        own = [index for index, span in enumerate(loading.spans) if span.circuit == name]
        if own:
            tensions = {index: float(loading.pulls.tension[:, index].max()) for index in own}
            strains = {index: float(loading.pulls.strain[:, index].max()) for index in own}
            findings += [
                _carrier_overloaded(loading.spans, tensions, loading.gust, brief.tug),
                _strip_takes_load(loading.spans, tensions, strains, brief.tug),
                _weak_link(loading.spans, span_tensions(loading.spans, own, brief.wind), brief.tug),
            ]
    return tuple(findings)


def span_tensions(spans: Sequence[RiggedSpan], own: Sequence[int], wind: float) -> dict[int, float]:
    """Return the normal tension of these spans: dry, at this mean wind [m/s]. [N]"""
    pulls = span_pulls([spans[index] for index in own], wind, 0.0, RIGGED_AT)
    return {index: float(pulls.tension[:, place].max()) for place, index in enumerate(own)}


def _carrier_overloaded(spans: Sequence[RiggedSpan], tensions: dict[int, float], gust: float, tug: float) -> Finding:
    """RIGGING-001: the carrier in wind and under a person's tug."""
    uses = {}
    for index, tension in tensions.items():
        strength = knotted_strength(spans[index].cord)
        uses[index, "wind"] = (CARRIER_SAFETY * tension / strength, tension, strength / CARRIER_SAFETY)
        tugged = tugged_tension(spans[index], tug)
        uses[index, "tug"] = (TUG_SAFETY * tugged / strength, tugged, strength / TUG_SAFETY)
    worst = max(uses, key=lambda key: uses[key][0])
    use, tension, limit = uses[worst]
    span = spans[worst[0]]
    is_named = span.section.hold.carrier is not None
    severity, do = Severity.PASS, ""
    if use > 1:
        severity, do = Severity.FAIL, "give it more sag or a stronger carrier; the strip must never hold"
    elif not is_named:
        severity, do = Severity.WARN, f'tie the strip to a cord and name it, such as carrier = "{span.cord.name}"'
    cause = f"gusts of {format_quantity(gust, 'speed')}" if worst[1] == "wind" else f"a tug of {_newtons(tug)}"
    return Finding(
        "RIGGING-001",
        severity,
        span.circuit,
        f"the carrier of {span.section.name} in {cause}"
        + ("" if is_named else ", as none is named")
        + f"; {_load_path(span, gust, tensions[worst[0]], tug)}",
        _newtons(tension),
        f"{_newtons(limit)}, {span.cord.title} with a knot",
        1 - use,
        do,
        f"elastic catenary swung by wind; safety {CARRIER_SAFETY:g} in wind, {TUG_SAFETY:g} in a tug; strength "
        f"{span.cord.strength.text} ({span.cord.strength.status.value}); {SCREENING}",
    )


def _load_path(span: RiggedSpan, gust: float, tension: float, tug: float) -> str:
    """Return what the carrier bears by weight alone, in gusts, with ice or rain and cold too, and under a tug."""
    still, blown = (float(span_pulls([span], speed, 0.0, RIGGED_AT).tension.max()) for speed in (0.0, gust))
    tugged = tugged_tension(span, tug)
    return (
        f"by weight {_newtons(still)}, in gusts {_newtons(blown)}, iced or wet and shrunk by cold too "
        f"{_newtons(tension)}, in the tug {_newtons(tugged)}"
    )


def slack_needed(span: RiggedSpan, strain: float, tug: float) -> float:
    """Return by which share strip is to be longer than a carrier that is strained so, or tugged so hard [N]. [1]"""
    return LEAST_SLACK + max(strain, tugged_tension(span, tug) / span.stiffness)


def _strip_takes_load(
    spans: Sequence[RiggedSpan], tensions: dict[int, float], strains: dict[int, float], tug: float
) -> Finding:
    """RIGGING-002: the carrier stretches until the strip on it is taut."""
    needs = {}
    for index, strain in strains.items():
        needs[index] = slack_needed(spans[index], strain, tug)
    worst = max(needs, key=lambda index: needs[index] - (spans[index].section.hold.slack or 0.0))
    span, need = spans[worst], needs[worst]
    slack = span.section.hold.slack
    shorter = need * span.length
    pull = max(tensions[worst], tugged_tension(span, tug))
    do = f"tie the strip on so that each metre of carrier takes {1000 * (1 + need):.0f} mm of strip"
    if slack is None:
        severity = Severity.NOTE
    elif slack < need:
        severity = Severity.FAIL
    else:
        severity, do = Severity.PASS, ""
    return Finding(
        "RIGGING-002",
        severity,
        span.circuit,
        f"strip on {span.section.name}: the carrier is to be {format_quantity(shorter, 'length')} shorter than it, for "
        f"it stretches by {_percent(need - LEAST_SLACK)}; a sleeve in its place would by "
        f"{_percent(sleeve_strain(pull))}, and the circuit in it parts at {_percent(CIRCUIT_STRAIN)}",
        "slack not stated" if slack is None else _percent(slack),
        f"at least {_percent(need)} of slack",
        None if slack is None else 1 - need / slack if slack > 0 else -math.inf,
        do,
        f"stretch in gusts or under a tug of {_newtons(tug)}, straight line from nothing to break, plus "
        f"{_percent(LEAST_SLACK)} (common practice); sleeve of silicone at {_newtons(pull)}, circuit: from memory",
    )


def _weak_link(spans: Sequence[RiggedSpan], tensions: dict[int, float], tug: float) -> Finding:
    """RIGGING-003: what lets go before a post does."""
    ranges = {}
    for index, tension in tensions.items():
        section = spans[index].section
        tops = [
            post_pull(anchor.member, float(place[2]))
            for anchor, place in ((section.start, spans[index].start), (section.end, spans[index].end))
        ]
        ranges[index] = (LINK_SAFETY * tension, min(*tops, knotted_strength(spans[index].cord)))
    worst = min(ranges, key=lambda index: ranges[index][1] / ranges[index][0])
    span, (least, most) = spans[worst], ranges[worst]
    link = span.section.hold.weak_link
    severity, do, margin = Severity.PASS, "", None
    if least > most:
        severity = Severity.WARN
        do = "no link can both hold and spare the posts: more sag, stouter posts or stays, or a shorter span"
    elif link is None:
        severity = Severity.WARN if tugged_tension(span, tug) > most else Severity.NOTE
        do = "let one end of the carrier hang on a link that breaks between these, and test some: ratings are minimums"
    else:
        margin = min(link / least - 1, 1 - link / most)
        if margin < 0:
            severity = Severity.FAIL if link < least else Severity.WARN
            do = "take a link that breaks between these, and test some: ratings are minimums"
    return Finding(
        "RIGGING-003",
        severity,
        span.circuit,
        f"a weak link in {span.section.name} that lets go before a post gives way or the carrier breaks",
        "none stated" if link is None else _newtons(link),
        f"{_newtons(least)} to {_newtons(most)}",
        margin,
        do,
        f"{LINK_SAFETY:g} × tension at the brief's wind (common practice); a post bends, tips or slides "
        "at the pull told; a second carrier beside it, kept for safety, holds on when the link lets go: up to "
        f"{_newtons(span.cord.strength.value)}, "
        f"{span.cord.strength.value / most:.2g} × what the post or its cord bears, unless it has a link of its own",
    )


def post_pull(member: Member, height: float) -> float:
    """Return the level pull at this height over the ground that bends, tips or slides a member. [N]"""
    tube = member.support.tube
    arm = height - member.position[2] - float(feet_of(member.shape)[0, 2])
    if arm <= 0:
        return math.inf
    bending = math.inf if tube is None else allowed_stress(tube) * tube_section(tube).modulus * n_leg(member) / arm
    return min(bending, moving_pull(member, arm))


def _newtons(force: float) -> str:
    return format_quantity(force, "force", 3)


def _percent(share: float) -> str:
    return format_quantity(share, "share", 2)

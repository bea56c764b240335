"""Findings on members: bending at the foot, sway at the top, base and socket."""

from __future__ import annotations

import math
from collections.abc import Sequence

from lampwright.findings.model import Finding, Severity
from lampwright.layout.member import top_of
from lampwright.piece.model import Base, Straight
from lampwright.piece.path import path_length
from lampwright.rigging.limits import SCREENING, Loading, Standing, allowed_stress, by_kind, yield_safety
from lampwright.rigging.posts import TIPPING_SAFETY, ballast
from lampwright.units import format_quantity

MOST_SWAY = 1 / 20  # of its length; beyond it a post looks as if it fell (common practice, no source) [1]
SOCKET_DIAMETERS = 6.0  # least depth of a socket in diameters (common practice, no source) [1]
SOCKET_SHARE = 1 / 8  # and in lengths of the member's height (common practice, no source) [1]
EXAMPLE_BASE = Base(1.0, 0.4, 4)  # for the mass that is told where no base is stated


def standing_findings(loading: Loading) -> tuple[Finding, ...]:
    """Return what the worst member of each kind says: those of like tube, shape and foot are one kind."""
    findings: list[Finding] = []
    for alike in by_kind(loading):
        worst = max(alike, key=lambda standing: standing.burden.stress)
        findings.append(_post_bends(worst, loading.gust))
        if not math.isnan(worst.burden.sway):
            findings.append(_post_sways(alike))
        findings.append(_foot(worst))
    return tuple(findings)


def _post_bends(standing: Standing, gust: float) -> Finding:
    """RIGGING-004: bending stress at the foot."""
    burden, tube = standing.burden, standing.tube
    allowed = allowed_stress(tube)
    gone = f" once {burden.gone} is gone" if burden.gone else ""
    is_over = burden.stress > allowed
    return Finding(
        "RIGGING-004",
        Severity.FAIL if is_over else Severity.PASS,
        standing.member.name,
        f"bending of {tube.title} at the foot in gusts of {format_quantity(gust, 'speed')}{gone}",
        _stress(burden.stress),
        f"{_stress(allowed)}, yield over {yield_safety(tube):g}",
        1 - burden.stress / allowed,
        "stouter tube, stays, more sag, or less wind in the brief" if is_over else "",
        f"cantilever, {burden.moment:.3g} N m a foot; yield {tube.yield_stress.text} "
        f"({tube.yield_stress.status.value}); the worst of 16 winds and of any one span gone; {SCREENING}",
    )


def _post_sways(alike: Sequence[Standing]) -> Finding:
    """RIGGING-005: how far the top moves."""
    standing = max(alike, key=lambda each: each.burden.sway)
    length = path_length(standing.member.shape)
    most = MOST_SWAY * length
    is_over = standing.burden.sway > most
    is_straight = isinstance(standing.member.shape, Straight)
    theory = (
        "cantilever, AISC table 3-23" if is_straight else "bending and twist of a cantilever in space, by unit load"
    )
    return Finding(
        "RIGGING-005",
        Severity.WARN if is_over else Severity.PASS,
        standing.member.name,
        "sway of the top" if is_straight else "sway of its end",
        format_quantity(standing.burden.sway, "length"),
        f"{format_quantity(most, 'length')}, a twentieth of its length",
        1 - standing.burden.sway / most,
        "stouter tube or stays; the spans sag more when posts give" if is_over else "",
        f"{theory}; a rigid foot is assumed; the limit is common practice, no source",
    )


def _foot(standing: Standing) -> Finding:
    """RIGGING-006: base or socket."""
    member, tube, moment = standing.member, standing.tube, standing.burden.moment
    support = member.support
    height = member.shape.length if isinstance(member.shape, Straight) else top_of(member.shape)
    depth = max(SOCKET_DIAMETERS * tube.outside.value, SOCKET_SHARE * height)
    base = support.base or EXAMPLE_BASE
    mass = ballast(member, tube, moment, base)
    kilograms = format_quantity(math.ceil(10 * mass) / 10, "mass")
    wanted = f"{kilograms} at each foot on {base.legs} legs of {format_quantity(base.reach, 'length')}"
    severity, do, margin = Severity.PASS, "", None
    if support.base is not None:
        value, limit, margin = format_quantity(base.mass, "mass"), f"at least {wanted}", 1 - mass / base.mass
        if mass > base.mass:
            severity, do = Severity.FAIL, "a heavier base, longer legs, or stays"
    elif support.socket is not None:
        value, margin = format_quantity(support.socket, "length"), 1 - depth / support.socket
        limit = f"at least {format_quantity(depth, 'length')} deep"
        if support.socket < depth:
            severity, do = Severity.WARN, "a deeper socket; whether the ground holds it was not looked at"
    else:
        value, severity = "neither base nor socket stated", Severity.NOTE
        limit = f"{wanted}, or a socket {format_quantity(depth, 'length')} deep in something firm"
        do = "state base or socket of the [[member]]; weigh the base, and try it with a spring balance"
    return Finding(
        "RIGGING-006",
        severity,
        member.name,
        f"what keeps it from tipping: {moment:.3g} N m at each foot",
        value,
        limit,
        margin,
        do,
        f"standing moment {TIPPING_SAFETY:g} × tipping moment about the edge between two legs (from memory); socket: "
        f"common practice, no source; {SCREENING}",
    )


def _stress(stress: float) -> str:
    return format_quantity(stress, "pressure", 3)

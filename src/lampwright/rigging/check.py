"""Judge how a piece hangs and stands, at the brief's wind with its gusts."""

from __future__ import annotations

from collections.abc import Iterable

from lampwright.findings.model import Finding, Severity
from lampwright.layout import Layout
from lampwright.layout.member import feet_of
from lampwright.piece.model import GUST_FACTOR, Brief, Member, Staff
from lampwright.piece.path import path_length
from lampwright.rigging.carried import carried_findings
from lampwright.rigging.carriers import carrier_findings
from lampwright.rigging.fixings import fixing_findings
from lampwright.rigging.hoops import hoop_findings
from lampwright.rigging.laced import laced_ties, leg_ends_of
from lampwright.rigging.limits import SCREENING, Loading, Standing, allowed_stress, use_of
from lampwright.rigging.posts import burden_of, ties_of
from lampwright.rigging.relief import relief_findings
from lampwright.rigging.sliding import holds_its_ground, sliding_findings
from lampwright.rigging.spans import RiggedSpan, film_mass, rig_spans, span_pulls
from lampwright.rigging.standing import standing_findings
from lampwright.rigging.wind import STRIKE_GUST, beaufort
from lampwright.units import format_quantity

IN_THE_AIR = 0.05  # height of a foot above the ground from which on a member is taken to hang [m]
_FASTEST = 60.0  # gusts looked at, as the piece file's own bound [m/s]


def check_rigging(layout: Layout) -> tuple[Finding, ...]:
    """Return the findings on carriers, members and the wind at which the piece comes down."""
    loading = load_piece(layout, layout.piece.brief.gust)
    return (
        *carrier_findings(layout, loading),
        *fixing_findings(layout, loading),
        *relief_findings(layout, loading),
        *standing_findings(loading),
        *hoop_findings(loading),
        *sliding_findings(loading),
        *_unknown_tubes(layout.piece.brief, _standing_members(layout)),
        *_hung(layout.piece.brief, layout.piece.members),
        *carried_findings(layout, loading.spans, loading.pulls, loading.gust),
        _take_down(layout),
    )


def load_piece(layout: Layout, gust: float) -> Loading:
    """Return what all spans and members bear in gusts of this speed [m/s], iced or wet and cold."""
    return _load(layout, rig_spans(layout), gust)


def _load(layout: Layout, spans: tuple[RiggedSpan, ...], gust: float) -> Loading:
    brief = layout.piece.brief
    film = film_mass(brief.coldest)
    pulls = span_pulls(spans, gust, film, brief.coldest)
    ends = leg_ends_of(layout)
    standing = []
    for member in _standing_members(layout):
        tube = member.support.tube
        if tube is not None:
            ties = (*ties_of(member, spans, pulls), *laced_ties(member, ends, gust, film))
            standing.append(Standing(member, tube, ties, burden_of(member, tube, ties, gust)))
    return Loading(gust, spans, pulls, tuple(standing))


def _standing_members(layout: Layout) -> tuple[Member, ...]:
    """Return the members that stand on their own, without those that people carry or that hang."""
    members = layout.piece.members
    return tuple(member for member in members if not isinstance(member.shape, Staff) and not _hangs(member))


def _hangs(member: Member) -> bool:
    """Return whether a member's foot is in the air, with neither base nor socket stated for it there."""
    support = member.support
    foot = member.position[2] + float(feet_of(member.shape)[0, 2])
    return foot > IN_THE_AIR and support.base is None and support.socket is None and not isinstance(member.shape, Staff)


def _hung(brief: Brief, members: Iterable[Member]) -> tuple[Finding, ...]:
    """RIGGING-022: nothing is known of what holds up members that don't stand."""
    hung = [member for member in members if _hangs(member)]
    if not hung:
        return ()
    masses = [member.support.tube.mass.value * path_length(member.shape) for member in hung if member.support.tube]
    heaviest = f"the heaviest weighs {format_quantity(max(masses), 'mass')} without its strip" if masses else ""
    finding = Finding(
        "RIGGING-022",
        Severity.NOTE,
        brief.name,
        f"what holds up {_several([member.name for member in hung])} was not looked at",
        heaviest or "no tube stated",
        "two fixings for each, either of which holds it alone",
        None,
        "have it hung by someone who knows, with a second fixing that holds when the first lets go; where it stands on "
        "something, state its base or socket",
        SCREENING,
    )
    return (finding,)


def _several(names: list[str]) -> str:
    return f"{names[0]} to {names[-1]}" if len(names) > 2 else " and ".join(names)


def _unknown_tubes(brief: Brief, members: Iterable[Member]) -> tuple[Finding, ...]:
    """RIGGING-007: nothing can be said of members whose tube isn't stated."""
    unknown = [member.name for member in members if member.support.tube is None]
    if not unknown:
        return ()
    finding = Finding(
        "RIGGING-007",
        Severity.NOTE,
        brief.name,
        f"whether {_several(unknown)} can stand was not looked at",
        "no tube stated",
        "a tube for each member",
        None,
        'add tube = "..." to the [[member]], or have it judged by someone who knows',
        SCREENING,
    )
    return (finding,)


def _take_down(layout: Layout) -> Finding:
    """RIGGING-008: the gust at which something named reaches its limit, or at which everything comes down anyway."""
    brief = layout.piece.brief
    promised = brief.gust
    low = _first_limit(layout)
    gust = min(low, STRIKE_GUST)
    mean = brief.mean_of(gust)
    severity, do = Severity.PASS, ""
    if gust < promised:
        severity = Severity.FAIL if low < promised else Severity.WARN
        least = int(10 * gust / brief.gust_factor) / 10
        do = (
            f'promise less, such as wind = "{least:g} m/s", or make what fails above stronger; name who '
            "watches a wind meter and who takes it down"
        )
    return Finding(
        "RIGGING-008",
        severity,
        brief.name,
        f"take it down before gusts of {_speed(gust)}: that is a mean of {_speed(mean)}, Beaufort {beaufort(mean)}",
        _speed(gust),
        f"above {_speed(promised)}, {_promise(brief)}",
        gust / promised - 1 if promised > 0 else None,
        do,
        f"first limit of carriers, links, posts and stated bases, {_speed(STRIKE_GUST)} at most (common practice); "
        f"gusts {_gusts(brief)}; {SCREENING}",
    )


def _promise(brief: Brief) -> str:
    """Return what the brief has promised, as it was put."""
    said = f" ({brief.wind_said})" if brief.wind_said else ""
    return f"the gusts {'stated' if brief.gust_factor == 1 else f'of {_speed(brief.wind)}'}{said}"


def _gusts(brief: Brief) -> str:
    """Return how gusts follow from the brief's wind, and who says so."""
    if brief.gust_factor == 1:
        return f"as stated; mean by {GUST_FACTOR:g} (from memory)"
    return f"{brief.gust_factor:g} × mean ({'from memory' if brief.gust_factor == GUST_FACTOR else 'as stated'})"


def take_down_gust(layout: Layout) -> float:
    """Return the gust before which the piece comes down, as RIGGING-008 tells it: never above 13 m/s. [m/s]"""
    return min(_first_limit(layout), STRIKE_GUST)


def _first_limit(layout: Layout) -> float:
    """Return the gust at which the first thing that is known reaches its limit, found by halving. [m/s]"""
    spans = rig_spans(layout)
    low, high = 0.0, _FASTEST
    if not _holds(layout, spans, low):
        high = 0.0
    elif _holds(layout, spans, high):
        low = high
    for _ in range(20):
        if high - low < 0.05:
            break
        middle = (low + high) / 2
        if _holds(layout, spans, middle):
            low = middle
        else:
            high = middle
    return low


def _holds(layout: Layout, spans: tuple[RiggedSpan, ...], gust: float) -> bool:
    """Return whether nothing that is known is beyond its limit in gusts of this speed."""
    loading = _load(layout, spans, gust)
    return (
        use_of(loading) <= 1
        and holds_its_ground(loading)
        and all(standing.burden.stress <= allowed_stress(standing.tube) for standing in loading.standing)
    )


def _speed(speed: float) -> str:
    return format_quantity(speed, "speed", 2 if speed < 10 else 3)

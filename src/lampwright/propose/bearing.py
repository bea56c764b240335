"""What spans and wind do to members of a given tube on a given base: the checks of ``rigging``, asked entry by entry.

Everything here is for one carrier cord, or for none; members are weighed entry by entry, for they bear nothing of one
another but what the spans pull.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from lampwright.findings.model import Finding, Severity
from lampwright.layout import Layout
from lampwright.layout.member import feet_of
from lampwright.parts import Tube
from lampwright.piece.model import Base, Member, Staff
from lampwright.rigging.carried import carried_findings
from lampwright.rigging.carriers import LINK_SAFETY, carrier_findings, post_pull, slack_needed, span_tensions
from lampwright.rigging.hoops import hoop_findings
from lampwright.rigging.laced import LegEnd, laced_ties, leg_ends_of
from lampwright.rigging.limits import Loading, Standing, allowed_stress, knotted_strength
from lampwright.rigging.posts import ballast, burden_of, ties_of
from lampwright.rigging.relief import relief_findings
from lampwright.rigging.sliding import grip_mass, sliding_findings
from lampwright.rigging.spans import Pulls, RiggedSpan, film_mass, rig_spans, span_pulls
from lampwright.rigging.standing import standing_findings

RESERVE = 0.06
"""What bases and links are chosen for above the brief's gusts: a take-down gust is found to 0.05 m/s. [m/s]"""

HEAVIEST_BASE = 100.0
"""Beyond it at a foot nothing is proposed: that is no job for hands and sandbags (our choice). [kg]"""

IN_THE_AIR, MOST_LEAN = 0.05, math.radians(60)
"""Members whose foot is higher [m], or which lean more, are hung or laid; the checks of posts say nothing of them."""


@dataclass(frozen=True)
class Held:
    """An entry's members of one tube on one base: whether they hold, and whether nothing warns."""

    tube: Tube | None
    base: Base | None
    is_clean: bool


@dataclass(frozen=True)
class Bearing:
    """A piece with one carrier cord, in one wind."""

    layout: Layout
    wind: float  # mean of ten minutes [m/s]

    @property
    def gust(self) -> float:
        """The gusts that are counted with. [m/s]"""
        return self.layout.piece.brief.gust_factor * self.wind + RESERVE

    @cached_property
    def spans(self) -> tuple[RiggedSpan, ...]:
        """Every span with its carrier."""
        return rig_spans(self.layout)

    @cached_property
    def pulls(self) -> Pulls:
        """What the spans pull in gusts, iced or wet and cold."""
        return span_pulls(self.spans, self.gust, self._film, self.layout.piece.brief.coldest)

    @cached_property
    def least_link(self) -> float:
        """The pull that a weak link must hold: twice the normal tension, and that of the gusts. [N]"""
        normal = span_tensions(self.spans, range(len(self.spans)), self.wind)
        return max(
            max(LINK_SAFETY * normal[index], float(self.pulls.tension[:, index].max()))
            for index in range(len(self.spans))
        )

    @cached_property
    def most_link(self) -> float:
        """The pull at which the weakest cord's knot gives way. [N]"""
        return min(knotted_strength(span.cord) for span in self.spans)

    @cached_property
    def slack(self) -> float:
        """By which share the strip on any span is to be longer than its carrier. [1]"""
        tug = self.layout.piece.brief.tug
        strains = self.pulls.strain.max(axis=0)
        return max(slack_needed(span, float(strains[index]), tug) for index, span in enumerate(self.spans))

    @cached_property
    def cord_findings(self) -> tuple[Finding, ...]:
        """What the checks say of the cord itself, whatever it hangs from; links are judged with the members."""
        loading = Loading(self.gust, self.spans, self.pulls, ())
        found = (*carrier_findings(self.layout, loading), *relief_findings(self.layout, loading))
        return tuple(each for each in found if each.code != "RIGGING-003")

    def holds(self, members: Sequence[Member], tube: Tube | None, base: Base | None, link: float) -> Held | None:
        """Return one entry's members with this tube on this base; ``None``: they give way, or the tube isn't known.

        Parameters
        ----------
        link
            The weak link's rating, which the members are to outlast. [N]
        """
        if isinstance(members[0].shape, Staff):
            return self._carried(members, tube)
        if tube is None:
            return Held(None, None, True)  # nothing is known, so nothing is judged: a note of the check says so
        standing = self._standing(members, tube, base)
        loading = Loading(self.gust, self.spans, self.pulls, standing)
        found = [*standing_findings(loading), *sliding_findings(loading)]
        if any(each.severity is Severity.FAIL for each in found):
            return None
        if base is not None and any(ballast(s.member, tube, s.burden.moment, base) > base.mass for s in standing):
            return None
        found += hoop_findings(loading)
        is_clean = all(each.severity is not Severity.WARN for each in found)
        return Held(tube, base, is_clean and self._outlasts(standing, link))

    def least_base(self, members: Sequence[Member], tube: Tube, like: Base, step: float, link: float) -> Base | None:
        """Return the lightest base, in whole steps [kg], on which members neither tip nor slide, in gusts or by a link.

        ``like`` has its legs. ``None``: none up to :data:`HEAVIEST_BASE` does. Where no base lets the link go first,
        because the tube bends before, the link is not counted.
        """
        standing = self._standing(members, tube, like)
        if any(each.burden.stress > allowed_stress(tube) for each in standing):
            return None
        needed = max(
            max(ballast(each.member, tube, each.burden.moment, like), grip_mass(each, self.gust)) for each in standing
        )
        n_least = max(1, math.ceil(needed / step - 1e-9))
        n_most = math.floor(HEAVIEST_BASE / step + 1e-9)
        if n_least > n_most:
            return None
        for count in range(n_least, n_most + 1):
            base = dataclasses.replace(like, mass=count * step)
            if self._outlasts([_on(each, base) for each in standing], link):
                return base
        return dataclasses.replace(like, mass=n_least * step)

    def _standing(self, members: Sequence[Member], tube: Tube, base: Base | None) -> tuple[Standing, ...]:
        found = []
        for member in members:
            ties = (
                *ties_of(member, self.spans, self.pulls),
                *laced_ties(member, self._ends, self.gust, self._film),
            )
            made = _made(member, tube, base)
            found.append(Standing(made, tube, ties, burden_of(made, tube, ties, self.gust)))
        return tuple(found)

    def _outlasts(self, standing: Sequence[Standing], link: float) -> bool:
        """Return whether a link lets go before any of these members bends, tips or slides."""
        places: dict[str, list[float]] = {}
        for span in self.spans:
            for anchor, place in ((span.section.start, span.start), (span.section.end, span.end)):
                places.setdefault(anchor.member.name, []).append(float(place[2]))
        return all(
            post_pull(each.member, height) >= link for each in standing for height in places.get(each.member.name, ())
        )

    def _carried(self, members: Sequence[Member], tube: Tube | None) -> Held:
        """Return staffs of this tube: none gives way, but weight and wind in the hand may warn."""
        own = {each.name: _made(each, tube, None) for each in members}
        piece = dataclasses.replace(self.layout.piece, members=tuple(own.values()))
        layout = dataclasses.replace(self.layout, piece=piece)
        found = carried_findings(layout, [_between(span, own) for span in self.spans], self.pulls, self.gust)
        return Held(tube, None, all(each.severity is not Severity.WARN for each in found))

    @cached_property
    def _ends(self) -> tuple[LegEnd, ...]:
        return leg_ends_of(self.layout)

    @property
    def _film(self) -> float:
        return film_mass(self.layout.piece.brief.coldest)


def is_judged(member: Member) -> bool:
    """Return whether the checks of posts, hoops and staffs say something of a member; not of what hangs or lies."""
    if isinstance(member.shape, Staff):
        return True
    support = member.support
    foot = member.position[2] + float(feet_of(member.shape)[0, 2])
    lean = getattr(member.shape, "lean", 0.0)
    is_hung = foot > IN_THE_AIR and support.base is None and support.socket is None
    return not is_hung and abs(math.remainder(lean, 2 * math.pi)) <= MOST_LEAN


def _made(member: Member, tube: Tube | None, base: Base | None) -> Member:
    support = member.support
    tube, base = tube or support.tube, base or support.base
    return dataclasses.replace(member, support=dataclasses.replace(support, tube=tube, base=base))


def _between(span: RiggedSpan, own: Mapping[str, Member]) -> RiggedSpan:
    """Return a span whose ends know these members, by their names, in place of those it was read with."""
    section = span.section
    start, end = (
        dataclasses.replace(each, member=own.get(each.member.name, each.member))
        for each in (section.start, section.end)
    )
    return dataclasses.replace(span, section=dataclasses.replace(section, start=start, end=end))


def _on(standing: Standing, base: Base) -> Standing:
    return dataclasses.replace(standing, member=_made(standing.member, standing.tube, base))

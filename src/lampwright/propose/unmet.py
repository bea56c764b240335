"""A brief that can't be met: which demand is in the way, and the smallest change that would do."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from lampwright.findings.model import Finding, Severity
from lampwright.propose.demands import Demand
from lampwright.propose.finalist import Candidate
from lampwright.propose.weigh import Option

BASIS = "every option of catalogue and shelf; a change is the least that lets one through, and that one was signed off"

EXCUSED = {
    "run_time": ("POWER-003",),
    "survive": ("FAULT-001",),
    "wind": tuple(f"RIGGING-{number:03}" for number in (1, 2, 3, 4, 6, 8, 9, 10)),
}
"""Codes that fail a design because of a demand which is looked past."""

MOST_TRY = 3
"""Designs that are signed off for a change before it is held for none (our choice)."""


@dataclass(frozen=True)
class Edit:
    """A value of the brief file, as it would stand there."""

    key: str
    path: tuple[str, ...]
    value: str


@dataclass(frozen=True)
class Unmet:
    """Why nothing meets a brief, and what of it could be changed."""

    finding: Finding
    ways_out: tuple[tuple[Edit, ...], ...] = ()
    """Edits of the brief after each of which something meets it, the smallest change first."""


Prove = Callable[[Sequence[tuple[Option, frozenset[str]]]], Sequence[Candidate | None]]
"""Signs options off, each with codes that may fail."""


@dataclass(frozen=True)
class Change:
    """One demand, and what it would have to be for something to meet all others."""

    demand: Demand
    to: float
    nearest: tuple[Option, ...]
    """Some that then meet the brief, the nearest first."""

    @property
    def told(self) -> str:
        """The change as the maker would write it."""
        return f"{self.demand.key}: {self.demand.tell(self.to)} instead of {self.demand.tell(self.demand.limit)}"

    @property
    def edit(self) -> Edit:
        """The change as it would stand in the brief file."""
        return Edit(self.demand.key, self.demand.path, self.demand.write(self.to))

    @property
    def size(self) -> float:
        """By which share it changes. [1]"""
        return abs(self.to / self.demand.limit - 1) if self.demand.limit else 1.0


def smallest_changes(options: Sequence[Option], demands: Sequence[Demand]) -> tuple[Change, ...]:
    """Return, for each demand that alone is in the way, the least change of it that lets some option through.

    ``options`` are all that can be built; exact over them.
    """
    changes = []
    for demand in demands:
        others = [each for each in demands if each is not demand]
        left = [option for option in options if all(each.is_met(option.figures) for each in others)]
        if not left or any(demand.is_met(option.figures) for option in left):
            continue
        sign = 1 if demand.is_most else -1
        left.sort(key=lambda o: (sign * getattr(o.figures, demand.figure), o.figures.cost))
        to = demand.eased_to(float(getattr(left[0].figures, demand.figure)))
        changes.append(Change(demand, to, _differing(left)))
    return tuple(sorted(changes, key=lambda change: change.size))


def _differing(options: Sequence[Option]) -> tuple[Option, ...]:
    """Return the first few options that differ in more than parts that do the same."""
    found: dict[object, Option] = {}
    for option in options:
        found.setdefault((option.decisions, option.level), option)
        if len(found) == MOST_TRY:
            break
    return tuple(found.values())


def judge_unmet(name: str, options: Sequence[Option], demands: Sequence[Demand], date: Demand, prove: Prove) -> Unmet:
    """Return the finding on a brief that no option meets; what it names was signed off, so that it is enough."""
    if not options:
        summary, value = "no board and pack can drive this much strip", "no option can be built"
        do = "put less strip on a member, split members, or ask for fewer pixels a metre"
        return _unmet(name, summary, value, "one that can", do)
    changes = _proven(smallest_changes(options, demands), (*demands, date), prove)
    if changes:
        return _one_in_the_way(name, changes)
    return _together(name, options, demands, date, prove)


def judge_unheld(name: str) -> Unmet:
    """Return the finding on a piece that nothing of the catalogue holds up even when no wind blows."""
    do = (
        "more sag, shorter spans, lower or lighter members, or wider bases in [wish]; or state tube, base and carrier "
        "yourself and read what lampwright check says of them"
    )
    return _unmet(name, "nothing holds it up, even in still air", "every tube, base and cord gives way", "one", do)


def judge_candidates(name: str, candidates: Sequence[Candidate], demands: Sequence[Demand]) -> Unmet:
    """Return the finding on designs that passed their checks and still miss a demand, now that they are finished."""
    alone = []
    for demand in demands:
        others = [each for each in demands if each is not demand]
        left = [each for each in candidates if all(other.is_met(each) for other in others)]
        if left:
            sign = 1 if demand.is_most else -1
            best = min(sign * getattr(each, figure_of(demand)) for each in left)
            alone.append(Change(demand, demand.eased_to(sign * best), ()))
    if alone:
        return _one_in_the_way(name, sorted(alone, key=lambda change: change.size))
    best = min(candidates, key=lambda each: (sum(not d.is_met(each) for d in demands), each.cost))
    return _several_in_the_way(name, [_as_far_as(each, best) for each in demands if not each.is_met(best)])


def figure_of(demand: Demand) -> str:
    """Return the name of a demand's figure in a candidate, or nothing where only the search knows it."""
    return demand.figure if demand.figure in Candidate.JUDGED else ""


def _proven(changes: Sequence[Change], demands: Sequence[Demand], prove: Prove) -> list[Change]:
    """Return the changes that let a design through its sign-off, each as large as that design needs it to be."""
    proven: dict[str, Change] = {}
    for turn in range(MOST_TRY):
        asked = [each for each in changes if each.demand.key not in proven and turn < len(each.nearest)]
        excused = [frozenset(EXCUSED.get(each.demand.key, ())) for each in asked]
        works = [(each.nearest[turn], codes) for each, codes in zip(asked, excused, strict=True)]
        for change, candidate in zip(asked, prove(works) if works else (), strict=True):
            others = [each for each in demands if each.key != change.demand.key]
            if candidate is not None and all(each.is_met(candidate) for each in others):
                option = change.nearest[turn]
                proven[change.demand.key] = Change(change.demand, _needed(change.demand, option, candidate), (option,))
    return sorted(proven.values(), key=lambda change: change.size)


def _needed(demand: Demand, option: Option, candidate: Candidate) -> float:
    """Return the limit that both an option as searched and its finished design meet."""
    values = [float(getattr(option.figures, demand.figure))]
    if name := figure_of(demand):
        values.append(float(getattr(candidate, name)))
    return demand.eased_to(max(values) if demand.is_most else min(values))


def _together(name: str, options: Sequence[Option], demands: Sequence[Demand], date: Demand, prove: Prove) -> Unmet:
    best = min(options, key=lambda o: (sum(not d.is_met(o.figures) for d in demands), o.figures.cost))
    broken = [each for each in demands if not each.is_met(best.figures)]
    codes = frozenset(code for each in broken for code in EXCUSED.get(each.key, ()))
    candidate = prove([(best, codes)])[0]
    if candidate is None:
        changes = [Change(each, each.eased_to(float(getattr(best.figures, each.figure))), (best,)) for each in broken]
        return _several_in_the_way(name, changes)
    changes = [Change(each, _needed(each, best, candidate), (best,)) for each in broken]
    also = [each for each in (*demands, date) if each not in broken and not each.is_met(candidate)]
    return _several_in_the_way(name, [*changes, *(_as_far_as(each, candidate) for each in also)])


def _as_far_as(demand: Demand, candidate: Candidate) -> Change:
    return Change(demand, demand.eased_to(float(getattr(candidate, figure_of(demand)))), ())


def _one_in_the_way(name: str, changes: Sequence[Change]) -> Unmet:
    first = changes[0]
    demand = first.demand
    limit = f"{'at most' if demand.is_most else 'at least'} {demand.tell(demand.limit)}"
    if len(changes) == 1:
        do = f"change {first.told}"
    else:
        do = "change one of these, the smallest change first: " + "; ".join(each.told for each in changes)
    return _unmet(
        name,
        f'nothing meets the brief: "{demand.key}" is in the way',
        f"{demand.tell(first.to)} at best",
        limit,
        do,
        [[each] for each in changes],
    )


def _several_in_the_way(name: str, changes: Sequence[Change]) -> Unmet:
    if len(changes) == 1:
        return _one_in_the_way(name, changes)
    names = " and ".join(f'"{each.demand.key}"' for each in changes)
    return _unmet(
        name,
        f"nothing meets the brief: {names} are in the way together",
        f"{len(changes)} demands unmet at best",
        "all of them met",
        "change all of these: " + "; ".join(each.told for each in changes),
        [changes],
    )


def _unmet(name: str, summary: str, value: str, limit: str, do: str, ways: Sequence[Sequence[Change]] = ()) -> Unmet:
    finding = Finding("PROPOSE-002", Severity.FAIL, name, summary, value, limit, None, do, BASIS)
    return Unmet(finding, tuple(tuple(each.edit for each in way) for way in ways))

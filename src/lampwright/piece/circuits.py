"""Turn circuit entries into circuits: one for each member of a pattern, runs and sections resolved."""

from __future__ import annotations

from dataclasses import dataclass

from lampwright.parts import Pack, Supply
from lampwright.piece.model import (
    Anchor,
    Bank,
    Circuit,
    FixedSection,
    Fixing,
    Hold,
    Member,
    Run,
    Section,
    SpanSection,
    limit_of,
)
from lampwright.piece.names import NamesTaken
from lampwright.piece.packs import read_bank
from lampwright.piece.points import Copy, Stand, find_anchor
from lampwright.piece.report import Report, did_you_mean, quoted_list
from lampwright.piece.schema import CircuitEntry, RunEntry, SectionEntry
from lampwright.piece.source import Path
from lampwright.piece.sources import check_not_carried, check_source, outlet_of, source_of
from lampwright.piece.validate import Draft
from lampwright.piece.wires import (
    check_origins,
    check_readings,
    read_feeds,
    read_head,
    read_joints,
    read_readings,
    read_wiring,
)
from lampwright.piece.zigzag import legs_of, unclear
from lampwright.units import Problem

DEFAULT_CAP = 0.8
"""Share of what one pack, or a supply, may give that a circuit may draw unless the maker says otherwise (common
practice, no source; for a load that lasts three hours wiring codes ask 125 % of it of what feeds it: NEC, from memory).
"""


@dataclass(frozen=True)
class _Setting:
    """What the sections of one circuit are read against."""

    own: Copy | None
    entry: tuple[Copy, ...]
    each: str | None
    stand: Stand


def expand_circuits(draft: Draft, stand: Stand, report: Report) -> tuple[Circuit, ...]:
    """Return the circuits in file order; report what can't be wired as written."""
    circuits: list[Circuit] = []
    taken = NamesTaken("circuit", report)
    for listed in draft.circuits:
        entry = listed.entry
        if entry is None:
            continue
        _check_entry(entry, listed.path, report)
        source = source_of(entry)
        settings = _settings(entry, listed.path, stand, report)
        names = [_circuit_name(entry, setting) for setting in settings]
        taken.take([entry.name, *names], (*listed.path, "name"))
        reported: set[Path] = set()
        for number, (name, setting) in enumerate(zip(names, settings, strict=True)):
            runs = _runs(entry, setting, listed.path, report, reported)
            if not runs and not reported:
                report.at_value(listed.path, _circuit_empty(name))
            if source is None:
                continue
            bank = read_bank(entry)
            wiring, readings = read_wiring(entry, report.locations.value(listed.path)), read_readings(entry)
            circuit = Circuit(
                name,
                len(circuits),
                source,
                entry.board,
                _cap(entry, source, bank),
                runs,
                wiring,
                readings,
                bank,
                outlet_of(entry, number),
            )
            if number == 0:  # its copies differ in place alone
                check_not_carried(circuit, listed.path, report)
            circuits.append(circuit)
    return tuple(circuits)


def _cap(entry: CircuitEntry, source: Pack | Supply, bank: Bank) -> float:
    """Return what the limiter holds a circuit to. [A]"""
    if entry.current_cap is not None:
        return entry.current_cap
    return DEFAULT_CAP * (source.current_limit.value if isinstance(source, Supply) else limit_of(source, bank))


def _circuit_name(entry: CircuitEntry, setting: _Setting) -> str:
    """Give the circuit its member's number: "arch 2"."""
    if setting.own is None or setting.own.member.name == setting.each:
        return entry.name
    return entry.name + setting.own.member.name.removeprefix(setting.each or "")


def _settings(entry: CircuitEntry, path: Path, stand: Stand, report: Report) -> list[_Setting]:
    """Return one setting for each circuit that the entry stands for."""
    if entry.each is None:
        return [_Setting(None, (), None, stand)]
    if entry.each in stand.entries:
        copies = stand.entries[entry.each]
        return [_Setting(copy, copies, entry.each, stand) for copy in copies]
    if not stand.may_exist(entry.each):
        report.at_value((*path, "each"), _unknown_member(entry.each, tuple(stand.entries)))
    return []


def _unknown_member(name: str, names: tuple[str, ...]) -> Problem:
    return Problem(
        code="PIECE-011",
        summary=f'there is no member named "{name}"',
        found=f'"{name}"',
        allowed=quoted_list(names) or "no member could be read",
        do=did_you_mean(name, names, "name one of the members allowed, or add it as a [[member]]"),
    )


def _circuit_empty(name: str) -> Problem:
    return Problem(
        code="PIECE-023",
        summary=f'circuit "{name}" has no run left',
        found="every run is skipped",
        allowed="at least one run in each circuit",
        do="take skip out of one of its runs",
    )


def _check_entry(entry: CircuitEntry, path: Path, report: Report) -> None:
    """Check what holds for an entry whatever its members are."""
    runs = list(enumerate(entry.run))
    check_source(entry, path, report)
    check_readings(entry, path, report)
    taken = NamesTaken("run", report)
    pins: dict[str, str] = {}
    for index, run in runs:
        at = (*path, "run", index)
        taken.take([run.name], (*at, "name"))
        if run.pin not in entry.board.pins:
            report.at_value((*at, "pin"), _unknown_pin(run.pin, entry.board.title, entry.board.pins))
        elif run.pin in pins:
            report.at_value((*at, "pin"), _shared_pin(run.pin, pins[run.pin]))
        pins.setdefault(run.pin, run.name)
        if run.strip != entry.run[0].strip:
            report.at_value((*at, "strip"), _mixed_strips(run, entry.run[0]))
        if run.skip is not None and entry.each is None:
            report.at_key((*at, "skip"), _skip_without_each(run.skip))
        check_origins(run, [each.name for each in entry.run], at, report)
        for number, section in enumerate(run.section):
            _check_section(section, (*at, "section", number), report)


def _unknown_pin(pin: str, board: str, pins: tuple[str, ...]) -> Problem:
    return Problem(
        code="PIECE-014",
        summary=f'the board has no pin "{pin}" for a data line',
        found=f'"{pin}" on {board}',
        allowed=", ".join(pins),
        do=did_you_mean(pin.upper(), pins, "choose one of the pins allowed"),
    )


def _shared_pin(pin: str, other: str) -> Problem:
    return Problem(
        code="PIECE-015",
        summary=f'pin "{pin}" already drives the run "{other}"',
        found=f'"{pin}" twice in one circuit',
        allowed="a pin of its own for each run",
        do="choose another pin for one of the two runs",
    )


def _mixed_strips(run: RunEntry, first: RunEntry) -> Problem:
    same_name = run.strip.name == first.strip.name
    return Problem(
        code="PIECE-016",
        summary="the runs of one circuit must carry the same strip",
        found=f'"{run.strip.name}"' + (" with other figures" if same_name else ""),
        allowed=f'"{first.strip.name}" as in run "{first.name}"' + (", all figures alike" if same_name else ""),
        do="use one strip for both runs, or give the other strip a circuit of its own",
    )


def _skip_without_each(skip: str) -> Problem:
    return Problem(
        code="PIECE-022",
        summary='"skip" needs a circuit that has "each"',
        found=f'skip = "{skip}" in a single circuit',
        allowed='skip only where the circuit has each = "..."',
        do='delete skip, or give the circuit each = "..."',
    )


def _check_section(section: SectionEntry, path: Path, report: Report) -> None:
    """Check that a section is either fixed or a span, with the keys of its own sort."""
    if (section.on is None) == (section.span is None):
        found = 'neither "on" nor "span"' if section.on is None else 'both "on" and "span"'
        allowed = 'either on = "member" or span = { from = "...", to = "..." }'
        do = "give one of the two" if section.on is None else "delete one of the two; a second section can take it"
        report.at_value(path, Problem("PIECE-017", "it is unclear where this section goes", found, allowed, do))
        return
    if section.span is None:
        for key in ("sag", "carrier", "slack", "weak_link", "fixing"):
            if getattr(section, key) is not None:
                report.at_key((*path, key), _misplaced(key, "span", "only a span hangs"))
    if section.zigzag is not None:
        for key in ("direction", "spiral"):
            if getattr(section, key) is not None:
                report.at_key((*path, key), _misplaced(key, "section without zigzag", "a zigzag goes back and forth"))
        if (problem := unclear(section.zigzag)) is not None:
            report.at_value((*path, "zigzag"), problem)
    if section.span is not None:
        for key in ("bare_start", "bare_end", "direction", "spiral", "zigzag"):
            if getattr(section, key) is not None:
                report.at_key(
                    (*path, key), _misplaced(key, "section fixed with on", "a span hangs free and is lit all along")
                )
        if section.sag is None:
            summary, allowed = '"sag" is missing from this span', 'a length, such as "0.25 m"'
            problem = Problem("PIECE-003", summary, 'no "sag"', allowed, 'add sag = "0.25 m"')
            report.at_value(path, problem)


def _misplaced(key: str, sort: str, reason: str) -> Problem:
    return Problem(
        "PIECE-017", f'"{key}" has no meaning here: {reason}', f'"{key}"', f'"{key}" in a {sort}', f"delete {key}"
    )


def _runs(entry: CircuitEntry, setting: _Setting, path: Path, report: Report, reported: set[Path]) -> tuple[Run, ...]:
    """Return the runs of one circuit; a section at fault is reported once for all circuits of the entry."""
    runs = []
    for index, run in enumerate(entry.run):
        own = setting.own
        if own is not None and ((run.skip == "first" and own.is_first) or (run.skip == "last" and own.is_last)):
            continue
        sections: list[Section] = []
        for number, section in enumerate(run.section):
            at = (*path, "run", index, "section", number)
            sections += _sections(section, setting, at, report, reported)
        feeds, joints, head = read_feeds(run), read_joints(run), read_head(run)
        runs.append(Run(run.name, run.pin, run.strip, tuple(sections), feeds, joints, head))
    return tuple(runs)


def _sections(
    section: SectionEntry, setting: _Setting, path: Path, report: Report, reported: set[Path]
) -> list[Section]:
    """Return what an entry stands for: one section, the legs of a zigzag, or nothing after reporting why."""
    if (section.on is None) == (section.span is None):
        return []
    if section.span is not None:
        span = _span(section, setting, path, report, reported)
        return [] if span is None else [span]
    assert section.on is not None
    member = _member(section.on, setting, (*path, "on"), report, reported)
    if member is None:
        return []
    if section.zigzag is not None:
        return _zigzag(section, member, setting, path, report, reported)
    if section.spiral is not None and member.support.tube is None and path not in reported:
        reported.add(path)
        report.at_value((*path, "spiral"), _spiral_around_nothing(member.name))
    fixed = FixedSection(
        member.name,
        member,
        section.bare_start or 0.0,
        section.bare_end or 0.0,
        section.direction == "back",
        section.spiral,
        place=report.locations.value(path),
    )
    return [fixed]


def _zigzag(
    section: SectionEntry, member: Member, setting: _Setting, path: Path, report: Report, reported: set[Path]
) -> list[Section]:
    zigzag = section.zigzag
    assert zigzag is not None
    other = None
    if zigzag.to is not None:
        other = _member(zigzag.to, setting, (*path, "zigzag", "to"), report, reported)
        if other is None:
            return []
    legs = legs_of(section, member, other, report.locations.value(path))
    if isinstance(legs, Problem):
        if path not in reported:
            reported.add(path)
            report.at_value((*path, "zigzag"), legs)
        return []
    return list(legs)


def _spiral_around_nothing(member: str) -> Problem:
    return Problem(
        code="PIECE-017",
        summary=f'"spiral" needs to know how thick "{member}" is',
        found=f'no tube stated for "{member}"',
        allowed="spiral on a member that has a tube",
        do='add tube = "conduit-1", or what it is made of, to the [[member]]',
    )


def _member(name: str, setting: _Setting, path: Path, report: Report, reported: set[Path]) -> Member | None:
    if setting.own is not None and name == setting.each:
        return setting.own.member
    stand = setting.stand
    if name in stand.members:
        return stand.members[name]
    if setting.own is not None and len(stand.entries.get(name, ())) == len(setting.entry):
        # Two patterns of as many members go side by side: the one with the same number is meant.
        return stand.entries[name][setting.entry.index(setting.own)].member
    if not stand.may_exist(name) and path not in reported:
        reported.add(path)
        report.at_value(path, _not_one_member(name, setting))
    return None


def _not_one_member(name: str, setting: _Setting) -> Problem:
    stand = setting.stand
    if name in stand.entries:
        names = [copy.member.name for copy in stand.entries[name]]
        return Problem(
            code="PIECE-011",
            summary=f'"{name}" stands for {len(names)} members',
            found=f'"{name}"',
            allowed=quoted_list(names),
            do=f'say which, such as "{names[0]}", or give the circuit each = "{name}"',
        )
    own = (setting.each,) if setting.each is not None else ()
    return _unknown_member(name, (*own, *stand.members))


def _span(section: SectionEntry, setting: _Setting, path: Path, report: Report, reported: set[Path]) -> Section | None:
    span, sag = section.span, section.sag
    assert span is not None
    ends: list[Anchor] = []
    for key, text in (("from", span.start), ("to", span.to)):
        at = (*path, "span", key)
        found = find_anchor(text, setting.own, setting.entry, setting.stand)
        if isinstance(found, Problem):
            if at not in reported:
                reported.add(at)
                report.at_value(at, found)
        elif found is not None:
            ends.append(found)
    if len(ends) < 2 or sag is None:
        return None
    start, end = ends
    if start == end:
        if path not in reported:
            reported.add(path)
            report.at_value((*path, "span", "to"), _to_itself(span.to))
        return None
    name = f"{start.member.name} {start.point} to {end.member.name} {end.point}"
    fixing = None if section.fixing is None else Fixing(section.fixing.tie, section.fixing.count)
    hold = Hold(section.carrier, section.slack, section.weak_link, fixing)
    return SpanSection(name, start, end, sag, hold, report.locations.value(path))


def _to_itself(text: str) -> Problem:
    return Problem(
        code="PIECE-021",
        summary="the span ends where it begins",
        found=f'"{text}"',
        allowed="two different points",
        do='let "to" name another point, such as one of the next member',
    )

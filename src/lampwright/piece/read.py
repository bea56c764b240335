"""Read a piece file: text, schema, patterns, and every problem of all of them at once."""

from __future__ import annotations

from pathlib import Path as FilePath

from lampwright.piece.circuits import expand_circuits
from lampwright.piece.expand import expand_members
from lampwright.piece.model import Allowances, Brief, Cue, Ending, Piece, PowerLoss, ShowSheet, Standby, Survive, Work
from lampwright.piece.report import Report
from lampwright.piece.schema import AllowancesEntry, BriefEntry, CueEntry, ShowEntry, StandbyEntry
from lampwright.piece.source import Path, locate
from lampwright.piece.toml import parse_toml, read_text
from lampwright.piece.validate import Draft, validate
from lampwright.units import MakerError, Problem, format_quantity

_PERIOD_SLACK_MS = 0.002  # lets a rate be written with five digits: "30.303 /s" is 33 ms [ms]


def read_piece(path: FilePath) -> Piece:
    """Return the piece that a file describes, its patterns written out as members and circuits.

    Raises
    ------
    MakerError
        With every problem of the file in file order, each at its line and column. A file that isn't
        TOML gives only its first fault.
    """
    return piece_from_text(read_text(path), path)


def piece_from_text(text: str, path: FilePath) -> Piece:
    """Return the piece that ``text`` describes; ``path`` is the file that messages name."""
    raw = parse_toml(text, str(path))
    locations = locate(text, str(path))
    report = Report(locations)
    draft = validate(raw, report)
    stand = expand_members(draft, report)
    circuits = expand_circuits(draft, stand, report)
    show = _show(draft, report)
    problems = report.in_file_order()
    if problems:
        raise MakerError(problems)
    assert draft.brief is not None
    assert draft.standby is not None
    assert draft.allowances is not None
    assert draft.work is not None
    assert show is not None
    return Piece(
        file=path,
        brief=_brief(draft.brief),
        members=tuple(stand.members.values()),
        circuits=circuits,
        standby=_standby(draft.standby),
        show=show,
        source=locations.source_map(),
        allowances=_allowances(draft.allowances),
        work=Work(draft.work.begin, draft.work.from_hour * 3600, draft.work.hours, draft.work.helpers),
    )


def _brief(entry: BriefEntry) -> Brief:
    return Brief(
        name=entry.name,
        place=entry.place,
        date=entry.date,
        standby=entry.standby,
        run_time=entry.run_time,
        coldest=entry.coldest,
        wind=entry.wind.speed,
        survive=Survive(entry.survive.failures, entry.survive.lit),
        gust_factor=entry.gust_factor,
        wind_said=entry.wind.said,
        recharge=entry.recharge,
        is_flown=entry.travel == "by air",
        tug=entry.tug,
        budget=entry.budget,
        currency=entry.currency,
        is_outdoors=None if entry.where is None else entry.where == "outdoors",
    )


def _allowances(entry: AllowancesEntry) -> Allowances:
    return Allowances(entry.solder, entry.loop, entry.relief, entry.knots)


def _standby(entry: StandbyEntry) -> Standby:
    power_loss = PowerLoss(entry.after_power_loss)
    return Standby(entry.colour, entry.level, entry.first, entry.every, power_loss, entry.switch_on_spread)


def _show(draft: Draft, report: Report) -> ShowSheet | None:
    """Return the cue sheet, or ``None`` after reporting why it can't be kept."""
    cues = []
    for listed in draft.cues:
        if listed.entry is not None:
            _check_fade(listed.entry, listed.path, report)
            cues.append(_cue(listed.entry))
    if draft.show is None:
        return None
    period_ms = _period_ms(draft.show, report)
    sheet = draft.show
    return ShowSheet(
        period_ms / 1000,
        sheet.brightness,
        Ending(sheet.ending),
        tuple(cues),
        is_dithered=sheet.steps == "dithered",
        is_balanced=sheet.white == "balanced",
    )


def _cue(entry: CueEntry) -> Cue:
    return Cue(entry.look, entry.length, entry.fade, entry.set, entry.stagger)


def _check_fade(entry: CueEntry, path: Path, report: Report) -> None:
    if entry.fade <= entry.length:
        return
    length = format_quantity(entry.length, "time", 6)
    problem = Problem(
        code="PIECE-018",
        summary="the fade is longer than its cue",
        found=f"a fade of {format_quantity(entry.fade, 'time', 6)} in a cue of {length}",
        allowed=f"a fade up to {length}",
        do="shorten the fade or lengthen the cue",
    )
    report.at_value((*path, "fade"), problem)


def _period_ms(entry: ShowEntry, report: Report) -> int:
    """Return the frame period in whole milliseconds."""
    period_ms = 1000.0 / entry.rate
    whole = round(period_ms)
    if abs(period_ms - whole) > _PERIOD_SLACK_MS:
        shorter, longer = int(period_ms), int(period_ms) + 1
        near = [f'"{_rate(period)} /s" ({period} ms)' for period in (longer, shorter) if period >= 5]
        problem = Problem(
            code="PIECE-019",
            summary="the frame period is not a whole number of milliseconds",
            found=f"{_rate_text(entry.rate)}, which is {period_ms:.3f} ms a frame",
            allowed="1000 divided by a whole number, in frames a second",
            do="write rate = " + " or ".join(near),
        )
        report.at_value(("show", "rate"), problem)
    return whole


def _rate(period_ms: int) -> str:
    return f"{1000 / period_ms:.6g}"


def _rate_text(rate: float) -> str:
    return format_quantity(rate, "rate", 6)

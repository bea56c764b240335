"""From a report to proven firmware: written, built, and watched running."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from lampwright.findings.model import Finding, Severity
from lampwright.firmware import Compiler, FirmwareBuild, build, find_compiler, variables_end, write_firmware
from lampwright.rehearsal import (
    Earlier,
    FaultPlan,
    FaultReport,
    Part,
    Plan,
    Rehearsal,
    inject_faults,
    judge_timekeeping,
    kept_clock,
    rehearse,
)
from lampwright.signoff.check import Report, has_passed
from lampwright.signoff.progress import Progress


@dataclass(frozen=True)
class Firmware:
    """A report, and one built firmware for each of its shows."""

    report: Report
    builds: tuple[FirmwareBuild, ...]


@dataclass(frozen=True)
class Proof:
    """Firmware and its rehearsal; ``findings`` are the report's, then the rehearsal's."""

    firmware: Firmware
    rehearsal: Rehearsal
    findings: tuple[Finding, ...]
    faults: tuple[FaultReport, ...] = ()
    """Of each circuit that was broken on purpose."""

    @property
    def has_passed(self) -> bool:
        """Whether no check and no rehearsal failed."""
        return has_passed(self.findings)


def make_firmware(report: Report, folder: Path, progress: Progress) -> Firmware:
    """Write and build each circuit's firmware in a folder of its own.

    Raises
    ------
    MakerError
        FIRMWARE codes: the board can't do it, or the folder can't be written.
    """
    compiler = _ready_compiler(progress)
    progress.begin("firmware", len(report.shows))
    builds = []
    names = folder_names([show.layout.circuit.name for show in report.shows])
    for done, (show, name) in enumerate(zip(report.shows, names, strict=True), start=1):
        builds.append(build(write_firmware(show, folder / name), compiler))
        progress.reach(done)
    return Firmware(report, tuple(builds))


def _ready_compiler(progress: Progress) -> Compiler:
    """Return the compiler, told as a stage of its own where it must be got ready first."""
    compiler = find_compiler()
    if not compiler.is_ready:
        progress.begin("getting the compiler ready, once", 1)
        compiler.prepare()
        progress.reach(1)
    return compiler


def prove(
    firmware: Firmware,
    plan: Plan,
    progress: Progress,
    faults: FaultPlan | None = None,
    earlier: Earlier | None = None,
) -> Proof:
    """Run each built binary on an emulated chip and hold what it sends against its show.

    With ``faults``, each circuit whose rehearsal passed is broken that often as well. What ``earlier`` has
    is not run again.
    """
    parts = [
        Part(show, built.image, built.source.pacing.startup, kept_clock(built.ram_map), variables_end(built.ram_map))
        for show, built in zip(firmware.report.shows, firmware.builds, strict=True)
    ]
    begun = False

    def follow(done: int, total: int) -> None:
        nonlocal begun
        if not begun:
            progress.begin("rehearsal on emulated chips", total)
            begun = True
        progress.reach(done)

    rehearsal = rehearse(parts, plan, follow, earlier)
    report = firmware.report
    in_step = judge_timekeeping(report.piece, report.shows, rehearsal.circuits)
    findings = report.findings + rehearsal.findings + ((in_step,) if in_step else ())
    reports: tuple[FaultReport, ...] = ()
    if faults is not None:
        failed = {finding.subject for finding in rehearsal.findings if finding.severity is Severity.FAIL}
        sound = [part for part in parts if part.show.layout.circuit.name not in failed]
        reports = _broken_on_purpose(sound, faults, progress, earlier or Earlier(None))
        findings += tuple(finding for report in reports for finding in report.findings)
    return Proof(firmware, rehearsal, findings, reports)


def _broken_on_purpose(
    parts: Sequence[Part], faults: FaultPlan, progress: Progress, earlier: Earlier
) -> tuple[FaultReport, ...]:
    progress.begin("faults at random moments", faults.count * len(parts))
    reports: list[FaultReport] = []
    for number, part in enumerate(parts):
        before = number * faults.count

        def follow(done: int, _all: int, before: int = before) -> None:
            progress.reach(before + done)

        report = earlier.find(part, faults, FaultReport)
        if report is None:
            report = inject_faults(part, faults, follow)
            earlier.keep(part, faults, report)
        reports.append(report)
    progress.reach(faults.count * len(parts))
    return tuple(reports)


def folder_names(names: Sequence[str]) -> tuple[str, ...]:
    """Return a folder name for each circuit: small letters, digits and hyphens, no two alike."""
    taken: list[str] = []
    for name in names:
        plain = re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-") or "circuit"
        number, folder = 1, plain
        while folder in taken:
            number += 1
            folder = f"{plain}-{number}"
        taken.append(folder)
    return tuple(taken)

"""What came of faults put into the firmware, as a table on the terminal and as JSON."""

from __future__ import annotations

import math
from collections.abc import Sequence

from rich.console import Console
from rich.table import Table

from lampwright.rehearsal import FaultReport, FaultSummary

HEADINGS = ("tried", "at its\nplace", "last\nminute", "anew", "no new\nframe", "off", "cut", "wrong")


def print_faults(reports: Sequence[FaultReport]) -> None:
    """Print a row for each kind of fault, all circuits together, and the worst case in a sentence."""
    console = Console(highlight=False)
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
    table.add_column("fault", min_width=24)
    for heading in HEADINGS:
        table.add_column(heading, justify="right")
    faults = dict.fromkeys(summary.fault for report in reports for summary in report.summaries)
    for fault in faults:
        table.add_row(fault.value, *_cells([s for report in reports for s in report.summaries if s.fault is fault]))
    console.print("\nfaults put in on purpose:", style="bold")
    console.print(table)
    console.print(
        "no new frame: longest time until the strip gets its next whole frame; meanwhile it keeps its colours, or is "
        "dark where power was lost. off: frames from its place. cut: frames broken off, which show parts of two. "
        "wrong: frames that are not the show's."
    )
    console.print(_worst(reports))
    console.print()


def _cells(summaries: Sequence[FaultSummary]) -> list[str]:
    silence = max(one.longest_silence for one in summaries)
    return [
        str(sum(one.count for one in summaries)),
        str(sum(one.resumed for one in summaries)),
        str(sum(one.last_minute for one in summaries)),
        str(sum(one.started_anew for one in summaries)),
        f"{silence * 1e3:.0f} ms" if math.isfinite(silence) else "for good",
        str(max((one.largest_lag for one in summaries), key=abs)),
        str(sum(one.cut for one in summaries)),
        str(sum(one.n_wrong for one in summaries)),
    ]


def _worst(reports: Sequence[FaultReport]) -> str:
    name, darkest = max(
        ((report.name, summary) for report in reports for summary in report.summaries),
        key=lambda pair: pair[1].longest_silence,
    )
    one = darkest.darkest
    length = f"{one.silence * 1e3:.0f} ms" if one.silence is not None else "for good"
    return f'longest without a new frame: {length}, circuit "{name}", {one.moment.value}, when {one.fault.value}'


def faults_json(reports: Sequence[FaultReport]) -> list[dict[str, object]]:
    """Return the same as plain data; a time without end is null."""
    return [
        {
            "circuit": report.name,
            "fault": summary.fault.value,
            "tried": summary.count,
            "failures": summary.failures,
            "at_its_place": summary.resumed,
            "last_minute": summary.last_minute,
            "anew": summary.started_anew,
            "no_new_frame_s": summary.longest_silence if math.isfinite(summary.longest_silence) else None,
            "frames_off": summary.largest_lag,
            "frames_cut": summary.cut,
            "frames_wrong": summary.n_wrong,
        }
        for report in reports
        for summary in report.summaries
    ]

"""What the commands print after their work."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from rich.console import Console
from rich.table import Table

from lampwright.cli.table import FindingsTable
from lampwright.findings.model import Finding
from lampwright.firmware import FirmwareBuild
from lampwright.signoff import Report
from lampwright.units import format_quantity


def heading(report: Report) -> str:
    """Return one line that says which piece this is."""
    circuits = report.layout.circuits
    n_pixel = sum(circuit.n_pixel for circuit in circuits)
    brief = report.piece.brief
    count = "1 circuit" if len(circuits) == 1 else f"{len(circuits)} circuits"
    return (
        f"{brief.name}: {count}, {n_pixel} pixels, {format_quantity(brief.standby, 'time')} standby, "
        f"{format_quantity(brief.run_time, 'time')} show, coldest {format_quantity(brief.coldest, 'temperature')}"
    )


def print_findings(report: Report, findings: Sequence[Finding]) -> None:
    """Print the piece's heading and its findings."""
    console = Console(highlight=False)
    console.print(heading(report), style="bold")
    console.print()
    circuits = [circuit.circuit.name for circuit in report.layout.circuits]
    console.print(FindingsTable(findings, circuits))


def print_builds(builds: Sequence[FirmwareBuild], folder: Path) -> None:
    """Print what was built, how large it is, and where flashing is explained."""
    console = Console(highlight=False)
    if not builds:
        console.print("\nno firmware was made: no circuit has room for its pixels\n", style="bold")
        return
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
    for column in ("circuit", "folder", "flash", "RAM", "SHA-256 of the .hex"):
        table.add_column(column, no_wrap=True)
    for built in builds:
        table.add_row(
            built.source.circuit,
            built.source.folder.name,
            f"{built.flash_used} of {built.flash_there}",
            f"{built.ram_used} of {built.ram_there}",
            built.sha256[:16],
        )
    console.print()
    console.print(f"firmware in {folder}, in bytes:", soft_wrap=True)
    console.print(table)
    console.print("Each folder's FLASHING.md says how to flash it; disconnect the pack first.")
    console.print("build/firmware.txt says what was built and where the RAM goes.")
    console.print()


def builds_json(builds: Sequence[FirmwareBuild]) -> list[dict[str, object]]:
    """Return the builds as plain data."""
    return [
        {
            "circuit": built.source.circuit,
            "folder": str(built.source.folder),
            "hex": str(built.hex_file),
            "sha256": built.sha256,
            "flash_used": built.flash_used,
            "flash_there": built.flash_there,
            "ram_used": built.ram_used,
            "ram_there": built.ram_there,
            "commands": dict(built.commands),
        }
        for built in builds
    ]

"""How fast a large stock book answers: 10,000 lots and 1,000 inspections, each command as a maker types it."""

from __future__ import annotations

import datetime
import resource
import subprocess
import sys
import tempfile
from pathlib import Path

from lampwright.faults.kinds import FaultKind
from lampwright.stock import Failure, Inspection, NewLot, add_inspection, open_stock
from lampwright.stock.lots import write_lot

N_LOT, N_INSPECTION = 10_000, 1_000
PIECE = Path(__file__).parent.parent / "examples" / "frost-gate" / "frost-gate.toml"


def fill(path: Path) -> None:
    """Write a large book."""
    parts = ["ws2812b-60", "awg-18 red", "conduit-1", "pack-20ah-3a", "m328p-16mhz-crystal", "fuse-3a"]
    with open_stock(path, create=True) as book:
        with book.change() as connection:
            for number in range(N_LOT):
                part = parts[number % len(parts)]
                length = 0.5 + number % 40 / 10 if number % len(parts) < 3 else None
                write_lot(connection, NewLot(part, 1 + number % 5, length, f"box {number % 30}"), "added")
        watched = {(kind.value, ""): 40.0 for kind in FaultKind}
        failures = tuple(Failure(kind.value, "arch 1", "hoop", 1.0, "parted") for kind in list(FaultKind)[:5])
        for number in range(N_INSPECTION):
            day = datetime.date(2024, 1, 1) + datetime.timedelta(days=number)
            add_inspection(book, Inspection(f"piece {number % 50}", day, 2, 6.0, watched, failures))


def main() -> None:
    """Print how long each command takes, its start included; the best of three."""
    program = [str(Path(sys.executable).with_name("lampwright"))]
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "stock.db"
        fill(path)
        commands = {
            "list one part": ["shelf", "list", "pack-20ah-3a"],
            "list everything, as JSON": ["shelf", "list", "--json"],
            "add": ["shelf", "add", "fuse-3a"],
            "take": ["shelf", "take", "5"],
            "count": ["shelf", "count", "2", "7"],
            "measure": ["shelf", "measure", "4", "--capacity", "18 Ah"],
            "history": ["shelf", "history", "2"],
            "export": ["shelf", "export", str(Path(folder) / "out")],
            "backup": ["shelf", "backup", str(Path(folder) / "saved.db")],
        }
        for name, words in commands.items():
            print(f"{name:28} {min(_timed([*program, *words, '--stock', str(path)]) for _ in range(3)):.2f} s")
        bought = [*program, "shopping", str(PIECE), "--shelf", str(path), "--out", folder]
        print(f"{'shopping that draws on it':28} {_timed(bought):.2f} s")


def _timed(command: list[str]) -> float:
    """Return the processor's time that a command takes, whatever else the machine does. [s]"""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run(command, check=True, capture_output=True)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


if __name__ == "__main__":
    main()

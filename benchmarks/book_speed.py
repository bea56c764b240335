"""How long the build book takes beyond the check: cuts, harness, firmware, pages."""

from __future__ import annotations

import hashlib
import tempfile
import time
from pathlib import Path

from lampwright.book.bound import Contents, Money, bind_book, identities
from lampwright.making import cut_all, harnesses_of, shopping_list
from lampwright.piece import read_piece
from lampwright.signoff import Silent, sign_off

EXAMPLES = Path(__file__).parents[1] / "examples"


def main() -> None:
    """Print the times of two examples, the second time around."""
    for name in ("frost-gate", "reed-curtain"):
        file = EXAMPLES / name / f"{name}.toml"
        began = time.perf_counter()
        report = sign_off(read_piece(file), Silent())
        checked = time.perf_counter() - began
        for _ in range(2):
            with tempfile.TemporaryDirectory() as folder:
                began = time.perf_counter()
                firmware = identities(report, Path(folder), Silent())
                built = time.perf_counter()
                cuts = cut_all(report.layout)
                contents = Contents(
                    report.layout,
                    hashlib.sha256(file.read_bytes()).hexdigest(),
                    "benchmark",
                    cuts,
                    harnesses_of(report.layout, cuts),
                    shopping_list(report.layout, cuts),
                    Money("EUR", None),
                    report.findings,
                    firmware,
                )
                planned = time.perf_counter()
                pdf = bind_book(contents)
                bound = time.perf_counter()
        print(f"{name}: check {checked:.1f} s, then the book {bound - began:.1f} s, {len(pdf) / 1e6:.1f} MB:")
        parts = (("firmware", built - began), ("cuts and lists", planned - built), ("pages", bound - planned))
        print("  " + ", ".join(f"{what} {took:.2f} s" for what, took in parts))


if __name__ == "__main__":
    main()

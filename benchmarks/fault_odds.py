"""How fast exact odds are: forty unlike circuits with every kind of fault; and arrangements of the examples."""

from __future__ import annotations

import time
from dataclasses import replace
from pathlib import Path

from lampwright.faults import compare_arrangements, survey
from lampwright.faults.anatomy import Link
from lampwright.faults.every import embody
from lampwright.faults.kinds import FaultKind
from lampwright.faults.odds import lit_circuit_odds
from lampwright.layout import lay_out
from lampwright.piece import piece_from_text, read_piece

EXAMPLES = Path(__file__).parent.parent / "examples"
N_CIRCUIT = 40


def main() -> None:
    """Print times. [s]"""
    text = (EXAMPLES / "frost-gate" / "frost-gate.toml").read_text(encoding="utf-8")
    body = embody(lay_out(piece_from_text(text.replace("count = 4", f"count = {N_CIRCUIT}"), Path("wide.toml"))))
    # no two alike, so that nothing is worked out once for all
    anatomies = tuple(
        replace(one, links=(*one.links, *(Link("feed", 0, 1, True),) * number), has_backup=number % 2 == 0)
        for number, one in enumerate(body.anatomies)
    )
    began = time.perf_counter()
    lit_circuit_odds(replace(body, anatomies=anatomies), dict.fromkeys(FaultKind, 0.01))
    print(f"{N_CIRCUIT} circuits, {body.n_pixel} pixels, {len(FaultKind)} kinds: {time.perf_counter() - began:.2f} s")
    for path in sorted(EXAMPLES.glob("*/*.toml")):
        body = survey(lay_out(read_piece(path))).body
        began = time.perf_counter()
        compared = compare_arrangements(body)
        print(f"{path.stem}: {len(compared)} arrangements in {time.perf_counter() - began:.2f} s")


if __name__ == "__main__":
    main()

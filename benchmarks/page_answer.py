"""How long findings take on Frost Gate after a change on the page: by an estimate, and by every frame, in one run."""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

from lampwright.page.form import form_of
from lampwright.page.picks import Picks
from lampwright.page.scene import scene_of
from lampwright.piece import piece_from_text
from lampwright.piece.toml import read_text
from lampwright.signoff import Silent, estimate, get_ready, sign_off_ready

EXAMPLE = Path(__file__).parents[1] / "examples" / "frost-gate" / "frost-gate.toml"

Result = TypeVar("Result")


def main() -> None:
    text = read_text(EXAMPLE)
    ready = _timed("read, laid out, compiled", 5, lambda: get_ready(piece_from_text(text, EXAMPLE)))
    _timed("scene for the page", 5, lambda: scene_of(ready.piece, ready.shows))
    _timed("form for the page", 5, lambda: form_of(text, ready.shows, Picks(ready.piece)))
    _timed("estimate after a change of place", 5, lambda: estimate(ready, None))
    _timed("estimate after a change of show", 5, lambda: estimate(ready, ()))
    _timed("every frame", 1, lambda: sign_off_ready(ready, Silent()))


def _timed(what: str, times: int, act: Callable[[], Result]) -> Result:
    """Print the least of several times, in milliseconds."""
    seconds = []
    for _ in range(times):
        start = time.perf_counter()
        result = act()
        seconds.append(time.perf_counter() - start)
    print(f"{what:36}{1000 * min(seconds):10.1f} ms")
    return result


if __name__ == "__main__":
    main()

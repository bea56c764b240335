"""Whether circuits out of step show: a maker would buy crystals for nothing, or trust a wave to come in order."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from lampwright.layout import lay_out
from lampwright.piece import piece_from_text
from lampwright.show import compile_show, unison
from lampwright.show.unison import lagged

EXAMPLES = Path(__file__).parents[2] / "examples"


def test_a_swell_that_travels_shows_and_slow_ice_doesnt() -> None:
    path = EXAMPLES / "frost-gate" / "frost-gate.toml"
    layout = lay_out(piece_from_text(path.read_text(encoding="utf-8"), path))
    found = {layout.piece.show.cues[each.cue].look: each.apart for each in unison(compile_show(layout))}
    assert found["slow-ice"] is None
    apart = found["rime-road"]
    assert apart is not None
    assert 0.4 < apart < 5.0


def test_the_lag_is_that_of_a_series_moved_by_hand() -> None:
    dice = np.random.default_rng(2)
    series = np.convolve(dice.normal(size=400), np.ones(8) / 8, mode="valid")
    found = lagged(series[:-5], series[5:], 20)
    assert int(found.argmax()) - 20 == -5
    assert found.max() == pytest.approx(1.0)
    # against numpy's own coefficient
    assert found[20 + 3] == pytest.approx(np.corrcoef(series[:-8], series[8:])[0, 1])

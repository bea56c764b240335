"""The picture of what a chip sent: readable, whole, or not there."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from lampwright.rehearsal.picture import WIDTH, draw_rehearsal
from tests.rehearsal.conftest import Outcome

Rehearse = Callable[..., Outcome]


def test_the_picture_shows_light_in_countdown_and_show(rehearse_small: Rehearse, tmp_path: Path) -> None:
    outcome = rehearse_small()
    path = tmp_path / "rehearsal.png"
    draw_rehearsal([outcome.show], [outcome.seen], "Small Post", path)
    with Image.open(path) as image:
        assert image.width == WIDTH
        light = np.asarray(image.convert("L"), dtype=int)
    assert light[110:250, 110:400].max() > 100
    assert light[110:250, 440:1560].mean() > 20
    assert [file.name for file in tmp_path.iterdir()] == ["rehearsal.png"]


def test_a_picture_that_can_not_be_written_leaves_nothing_and_is_named(
    rehearse_small: Rehearse, tmp_path: Path
) -> None:
    outcome = rehearse_small()
    path = tmp_path / "rehearsal.png"
    path.mkdir()
    with pytest.raises(OSError, match="Is a directory") as caught:
        draw_rehearsal([outcome.show], [outcome.seen], "Small Post", path)
    assert caught.value.filename == str(path)
    assert [file.name for file in tmp_path.iterdir()] == ["rehearsal.png"]


def test_figures_carry_the_units_that_other_findings_use(rehearse_small: Rehearse) -> None:
    findings = {finding.code: finding for finding in rehearse_small().findings}
    assert findings["REHEARSAL-004"].limit == "at least 300 us"
    assert findings["REHEARSAL-004"].value.endswith(" ms")
    assert findings["REHEARSAL-006"].limit.startswith("at most ")
    assert findings["REHEARSAL-009"].limit == "at most 2 frames off"

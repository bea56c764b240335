"""A cue sheet that can't be played is refused where it is written."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from lampwright.show import CircuitShow
from lampwright.units import MakerError

ShowMaker = Callable[..., CircuitShow]


def _message(make: ShowMaker, tmp_path: Path, **changes: str) -> str:
    with pytest.raises(MakerError) as caught:
        make(**changes)
    return str(caught.value).replace(f"{tmp_path}/", "")


def test_a_look_that_is_not_there_is_named_with_the_nearest(small_show: ShowMaker, tmp_path: Path) -> None:
    cues = '[[cue]]\nlook = "slow-ise"\nlength = "4 s"\n'
    message = _message(small_show, tmp_path, cues=cues)
    assert message.splitlines()[0].endswith('error SHOW-001: there is no look "slow-ise"')
    assert message.splitlines()[1:] == [
        '   37 | look = "slow-ise"',
        "      |        ^^^^^^^^^^",
        'found:   "slow-ise"',
        'allowed: "drifting-glints", "path-breath", "slow-ice"',
        'do:      did you mean "slow-ice"?   (lampwright explain SHOW-001)',
    ]


def test_the_makers_own_look_comes_before_the_library(small_show: ShowMaker, tmp_path: Path) -> None:
    (tmp_path / "looks").mkdir()
    (tmp_path / "looks" / "slow-ice.look").write_text('colour = "#ff0000" * 1\n')
    show = small_show(cues='[[cue]]\nlook = "slow-ice"\nlength = "4 s"\nfade = "0 s"\n')
    codes = show.cues[0].program.frames(FIRST_FRAME)
    assert set(map(tuple, codes[0].tolist())) == {(102, 0, 0)}


FIRST_FRAME = np.array([0])


def test_a_wrong_setting_is_named_in_the_piece_file(small_show: ShowMaker, tmp_path: Path) -> None:
    cues = '[[cue]]\nlook = "slow-ice"\nlength = "4 s"\nset = { pace = "5 m" }\n'
    message = _message(small_show, tmp_path, cues=cues)
    assert 'error LOOK-008: setting "pace" can\'t take this value' in message
    assert "small.toml:39:" in message


def test_a_cap_that_leaves_no_light_is_refused(small_show: ShowMaker, tmp_path: Path) -> None:
    message = _message(small_show, tmp_path, circuit='current_cap = "0.03 A"')
    assert 'error SHOW-002: circuit "post" has no current left for light' in message
    assert "found:   0.03 A allowed, 0.05 A drawn with every pixel dark" in message


def test_an_indicator_that_runs_off_the_strip_is_refused(small_show: ShowMaker, tmp_path: Path) -> None:
    message = _message(small_show, tmp_path, standby="10 min", every="5")
    assert 'error SHOW-003: the count indicator doesn\'t fit on run "strip" of circuit "post"' in message
    assert "found:   10 minutes up to pixel 45" in message


def test_equal_cues_share_one_program(small_show: ShowMaker) -> None:
    cue = '[[cue]]\nlook = "slow-ice"\nlength = "4 s"\n'
    show = small_show(cues=cue + cue + cue.replace("slow-ice", "path-breath"))
    assert show.cues[0].program is show.cues[1].program
    assert show.cues[0].program is not show.cues[2].program

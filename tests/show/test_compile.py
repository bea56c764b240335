"""A cue sheet that can't be played is refused where it is written."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from lampwright.layout import lay_out
from lampwright.piece import read_piece
from lampwright.show import CircuitShow, compile_show
from lampwright.show.compile import library_names
from lampwright.units import MakerError
from tests.small_piece import small_piece

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
        'allowed: "slow-ice", "shallow-brook", "sleeping-house", "lit-windows", "harbour-swell" and '
        f"{len(library_names()) - 5} more, all of them in docs/looks.md",
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
    assert "found:   30 mA allowed, 46 mA drawn with every pixel dark" in message


def test_an_indicator_that_runs_off_the_strip_is_refused(small_show: ShowMaker, tmp_path: Path) -> None:
    message = _message(small_show, tmp_path, standby="10 min", every="5")
    assert 'error SHOW-003: the count indicator doesn\'t fit on run "strip" of circuit "post"' in message
    assert "found:   10 minutes up to pixel 45" in message


def test_equal_cues_share_one_program(small_show: ShowMaker) -> None:
    cue = '[[cue]]\nlook = "slow-ice"\nlength = "4 s"\n'
    show = small_show(cues=cue + cue + cue.replace("slow-ice", "rime-road"))
    assert show.cues[0].program is show.cues[1].program
    assert show.cues[0].program is not show.cues[2].program


def _codes(show: CircuitShow, *seconds: float) -> list[list[int]]:
    """Return the first pixel's codes at times of the first cue."""
    frames = np.array([round(s * 40) for s in seconds])
    return show.cues[0].program.frames(frames)[:, 0].tolist()


def _own_look(tmp_path: Path, text: str) -> str:
    (tmp_path / "looks").mkdir(exist_ok=True)
    (tmp_path / "looks" / "own.look").write_text(text)
    return '[[cue]]\nlook = "own"\nlength = "10 s"\n'


LEVEL = 'level = setting(0.5, least=0, most=1, help="level")\ntint = setting("#ffffff", help="tint")\n'


def test_a_setting_goes_evenly_from_one_value_to_the_other_and_stays(small_show: ShowMaker, tmp_path: Path) -> None:
    cue = _own_look(tmp_path, LEVEL + "colour = light(level, level, level)\n")
    show = small_show(
        cues=cue + 'fade = "2 s"\nset = { level = { from = "20 %", to = "100 %" } }\n', brightness="100 %"
    )
    assert [c[0] for c in _codes(show, 0, 5, 10, 12)] == pytest.approx([51, 153, 255, 255], abs=1)


def test_a_colour_changes_in_linear_light(small_show: ShowMaker, tmp_path: Path) -> None:
    cue = _own_look(tmp_path, LEVEL + "colour = tint\n")
    change = 'set = { tint = { from = "#ff0000", to = "#0000ff" } }\n'
    show = small_show(cues=cue + change, brightness="100 %")
    assert np.abs(np.array(_codes(show, 0, 5, 10)) - [[255, 0, 0], [128, 0, 128], [0, 0, 255]]).max() <= 1


def test_a_quantity_of_the_wrong_kind_is_refused_even_if_its_number_would_do(
    small_show: ShowMaker, tmp_path: Path
) -> None:
    cue = _own_look(tmp_path, LEVEL + "colour = light(level, level, level)\n")
    message = _message(small_show, tmp_path, cues=cue + 'set = { level = "1 m" }\n')
    assert 'error LOOK-008: setting "level" can\'t take this value' in message


def test_circuits_follow_each_other_by_the_stagger(
    small_piece_of_two: Callable[[str], tuple[CircuitShow, ...]],
) -> None:
    first, second = small_piece_of_two('look = "rime-road"\nlength = "20 s"\nstagger = "500 ms"\n')
    frames = np.arange(100, 200)
    first_codes = first.cues[0].program.frames(frames)[:, :, 2].astype(int)
    second_codes = second.cues[0].program.frames(frames + 20)[:, :, 2].astype(int)
    unstaggered, _ = small_piece_of_two('look = "rime-road"\nlength = "20 s"\n')
    np.testing.assert_array_equal(first_codes, unstaggered.cues[0].program.frames(frames)[:, :, 2])
    assert np.abs(first_codes.mean(axis=1) - second_codes.mean(axis=1)).max() < 4


def test_dithering_keeps_what_lies_between_two_codes(small_show: ShowMaker, tmp_path: Path) -> None:
    cue = _own_look(tmp_path, LEVEL + "slow = level + 0.02 * swell(time / 1000)\ncolour = light(slow, level, 0)\n")
    plain = small_show(cues=cue + "set = { level = 0.0147 }\n", brightness="100 %")
    assert plain.cues[0].program.frames(np.arange(4))[:, :, 1].mean() == 4  # 3.75 as such
    (tmp_path / "small.toml").unlink()
    show = small_show(cues=cue + "set = { level = 0.0147 }\n", brightness='100 %"\nsteps = "dithered')
    codes = show.cues[0].program.frames(np.arange(4)).astype(int)
    assert codes[:, :, :2].mean(axis=(0, 1)) == pytest.approx([3.75, 3.75], abs=0.05)
    assert set(codes[:, :, 1].flat) == {3, 4}
    assert (codes[:, :, 1].mean(axis=0) == codes[:, 0, 1].mean()).all()


def test_a_balanced_white_keeps_the_strips_shares(small_show: ShowMaker, tmp_path: Path) -> None:
    cue = _own_look(tmp_path, LEVEL + 'colour = "#ffffff"\n')
    show = small_show(cues=cue, brightness='100 %"\nwhite = "balanced')
    assert _codes(show, 0)[0] == [130, 255, 94]


def test_a_look_that_is_no_text_is_named(small_show: ShowMaker, tmp_path: Path) -> None:
    cue = _own_look(tmp_path, "")
    (tmp_path / "looks" / "own.look").write_bytes(b"colour = \xff\xfe")
    message = _message(small_show, tmp_path, cues=cue)
    assert message.splitlines()[:2] == ["error LOOK-001: looks/own.look is not a text file", "found:   byte 10, 0xff"]


def test_a_folder_called_like_a_look_is_named(small_show: ShowMaker, tmp_path: Path) -> None:
    cue = _own_look(tmp_path, "")
    (tmp_path / "looks" / "own.look").unlink()
    (tmp_path / "looks" / "own.look").mkdir()
    assert _message(small_show, tmp_path, cues=cue).splitlines() == [
        "error LOOK-001: looks/own.look can't be read",
        "found:   a folder",
        "allowed: a look as plain text in UTF-8",
        "do:      give the folder another name   (lampwright explain LOOK-001)",
    ]


def test_more_current_than_the_limiter_counts_is_refused(tmp_path: Path) -> None:
    piece = read_piece(_small_file(tmp_path))
    circuit = replace(piece.circuits[0], current_cap=200.0)
    with pytest.raises(MakerError) as caught:
        compile_show(lay_out(replace(piece, circuits=(circuit,))))
    assert [(p.code, p.summary, p.allowed) for p in caught.value.problems] == [
        ("SHOW-005", 'circuit "post" draws more than the limiter can count', "at most 168 A")
    ]


def test_every_circuit_without_current_for_light_is_named(tmp_path: Path) -> None:
    piece = read_piece(_small_file(tmp_path))
    caps = (("near", 0.0004), ("far", 0.03))
    circuits = tuple(replace(piece.circuits[0], name=name, current_cap=cap) for name, cap in caps)
    with pytest.raises(MakerError) as caught:
        compile_show(lay_out(replace(piece, circuits=circuits)))
    found = [(p.summary, p.found.split(",")[0]) for p in caught.value.problems]
    assert found == [
        ('circuit "near" has no current left for light', "400 uA allowed"),
        ('circuit "far" has no current left for light', "30 mA allowed"),
    ]


def _small_file(folder: Path) -> Path:
    file = folder / "small.toml"
    file.write_text(small_piece())
    return file

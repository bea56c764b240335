"""An estimate says at once what every frame will say, or close to it."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import numpy as np
import pytest

from lampwright.piece import piece_from_text
from lampwright.power import n_frame_to_measure
from lampwright.show import render, sample
from lampwright.signoff import Ready, Report, Silent, estimate, get_ready, sign_off_ready

SMALL = Path(__file__).parent / "small.toml"
FADE = 10  # frames of the small piece's only fade


@pytest.fixture(scope="module")
def ready() -> Ready:
    return get_ready(piece_from_text(SMALL.read_text(encoding="utf-8"), SMALL))


@pytest.fixture(scope="module")
def exact(ready: Ready) -> Report:
    return sign_off_ready(ready, Silent())


def test_every_frame_of_the_countdown_is_the_very_one(ready: Ready) -> None:
    show = ready.shows[0]
    taken = sample(show, n_frame_to_measure(show))
    frames = render(show, 0, show.standby_frames).codes
    np.testing.assert_array_equal(taken.block.codes[taken.stands_for[: show.standby_frames]], frames)


def test_each_moment_drawn_is_a_frame_of_the_show(ready: Ready) -> None:
    show = ready.shows[0]
    taken = sample(show, n_frame_to_measure(show))
    shown = taken.stands_for[show.standby_frames : show.standby_frames + show.pass_frames]
    first_of = {int(index): frame for frame, index in reversed(list(enumerate(shown)))}
    for index, frame in first_of.items():
        if frame >= FADE:
            exact = render(show, show.standby_frames + frame, 1).codes[0]
            np.testing.assert_array_equal(taken.block.codes[index], exact)
    assert len(first_of) == 48
    assert taken.stands_for.shape == (n_frame_to_measure(show),)


def test_it_judges_all_that_every_frame_judges_but_flashes(ready: Ready, exact: Report) -> None:
    standing = tuple(finding for finding in exact.findings if finding.code.startswith(("FAULT", "RIGGING")))
    found = {(f.code, f.subject): f.severity for f in estimate(ready, standing).findings}
    expected = {(f.code, f.subject): f.severity for f in exact.findings if not f.code.startswith("FLASH")}
    assert found == expected


def test_its_figures_are_close(ready: Ready, exact: Report) -> None:
    quick = estimate(ready, None)
    assert quick.draws[0].peak == pytest.approx(exact.draws[0].peak, rel=0.05)
    assert quick.draws[0].mean_show == pytest.approx(exact.draws[0].mean_show, rel=0.05)
    assert quick.draws[0].mean_standby == pytest.approx(exact.draws[0].mean_standby, rel=1e-9)
    assert quick.rails[0].lowest.min() == pytest.approx(exact.rails[0].lowest.min(), abs=0.02)
    assert quick.rails[0].wire_rms == pytest.approx(exact.rails[0].wire_rms, rel=0.1)


def test_a_piece_held_at_its_end_or_dark_is_estimated_too(ready: Ready) -> None:
    text = SMALL.read_text(encoding="utf-8")
    for ending in ("hold", "dark"):
        other = get_ready(piece_from_text(text.replace('"repeat"', f'"{ending}"'), SMALL))
        assert len(estimate(other, None).findings) >= len(estimate(ready, None).findings) - 1


def test_a_piece_whose_board_has_no_room_is_estimated_without_its_frames(ready: Ready) -> None:
    none = dataclasses.replace(ready, shows=(), networks=())
    assert estimate(none, ()).draws == ()


def test_what_is_known_from_before_is_neither_lost_nor_doubled(ready: Ready, exact: Report) -> None:
    standing = tuple(finding for finding in exact.findings if finding.code.startswith(("FAULT", "RIGGING")))
    told: list[tuple[str, ...]] = []
    again = sign_off_ready(ready, Silent(), standing, lambda found: told.append(tuple(each.code for each in found)))
    assert again.findings == exact.findings
    assert told == [("FLASH-001", "FLASH-002")]

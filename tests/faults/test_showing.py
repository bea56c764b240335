"""Which pixels a fault takes: a maker would mend the wrong place otherwise."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from lampwright.faults.showing import Damage, what_shows
from tests.faults.pieces import chain


def lost(mask: np.ndarray) -> list[int]:
    return [int(each) for each in np.flatnonzero(mask)]


def test_everything_beyond_an_open_rail_is_dark_when_fed_from_one_end() -> None:
    shown = what_shows(chain(3, 4), Damage(links=frozenset({1})))
    assert lost(shown.dark) == [8, 9, 10, 11]
    assert not shown.frozen.any()
    assert not shown.wrong.any()


def test_an_open_rail_costs_nothing_when_fed_from_both_ends() -> None:
    assert not what_shows(chain(3, 4, both_ends=True), Damage(links=frozenset({1}))).lost.any()


def test_two_open_rails_cut_out_the_middle_and_the_data_behind_it() -> None:
    shown = what_shows(chain(3, 4, both_ends=True), Damage(links=frozenset({0, 1})))
    assert lost(shown.dark) == [4, 5, 6, 7]
    assert lost(shown.frozen) == [8, 9, 10, 11]


def test_a_dead_pixel_freezes_all_after_it() -> None:
    shown = what_shows(chain(1, 6), Damage(dead=frozenset({2})))
    assert lost(shown.dark) == [2]
    assert lost(shown.frozen) == [3, 4, 5]


def test_a_second_data_line_bridges_one_dead_pixel_but_not_two() -> None:
    anatomy = chain(1, 8, has_backup=True)
    assert lost(what_shows(anatomy, Damage(dead=frozenset({2, 5}))).lost) == [2, 5]
    shown = what_shows(anatomy, Damage(dead=frozenset({2, 3})))
    assert lost(shown.dark) == [2, 3]
    assert lost(shown.frozen) == [4, 5, 6, 7]


def test_a_cut_data_line_freezes_and_a_wet_one_spoils() -> None:
    assert lost(what_shows(chain(2, 3), Damage(breaks=frozenset({3}))).frozen) == [3, 4, 5]
    assert lost(what_shows(chain(2, 3), Damage(spoiled=frozenset({3}))).wrong) == [3, 4, 5]


def test_a_torn_span_takes_what_is_fed_through_it() -> None:
    shown = what_shows(chain(3, 2), Damage(torn=frozenset({1})))
    assert lost(shown.dark) == [2, 3, 4, 5]


def test_a_silent_board_freezes_and_an_empty_pack_darkens() -> None:
    assert what_shows(chain(2, 3), Damage(is_silent=True)).frozen.all()
    both = what_shows(chain(2, 3), Damage(is_silent=True) | Damage(is_unpowered=True))
    assert both.dark.all()
    assert not both.frozen.any()


def test_no_damage_loses_nothing() -> None:
    assert not what_shows(chain(3, 4), Damage()).lost.any()


def test_data_sent_to_both_ends_loses_only_up_to_the_middle() -> None:
    anatomy = replace(chain(1, 8), has_far_data=True)
    assert lost(what_shows(anatomy, Damage(breaks=frozenset({0}))).frozen) == [0, 1, 2, 3]
    assert lost(what_shows(anatomy, Damage(breaks=frozenset({8}))).frozen) == [4, 5, 6, 7]
    assert lost(what_shows(anatomy, Damage(breaks=frozenset({6}))).frozen) == [4, 5]
    assert lost(what_shows(anatomy, Damage(dead=frozenset({6}))).lost) == [4, 5, 6]
    assert lost(what_shows(anatomy, Damage(spoiled=frozenset({6}))).wrong) == [4, 5]
    # nothing passes between the two halves
    assert not what_shows(anatomy, Damage(breaks=frozenset({4}))).lost.any()

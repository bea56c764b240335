"""Fuses for a load that lasts.

Source: general fuse guides, in excerpts: at 25 °C a fuse carries 75 % of its rating on and on; worked example there:
7.5 A ask a 10 A fuse. The rule of 125 % of the load (NEC, from memory) is its kin: 80 % of the rating. Sizes of blade
fuses: ISO 8820-3, in excerpts.
"""

from __future__ import annotations

import pytest

from lampwright.parts import load_catalogue
from lampwright.piece.circuits import DEFAULT_CAP
from lampwright.power import smallest_fuse


# continuous load [A], size [A]; the first is the guide's own, the others by hand from 75 % and the sizes
@pytest.mark.parametrize(
    ("load", "size"), [(7.5, 10.0), (7.51, 15.0), (2.25, 3.0), (2.26, 4.0), (0.75, 1.0), (5.625, 7.5), (22.5, 30.0)]
)
def test_a_load_that_lasts_takes_three_quarters_of_a_fuse(load: float, size: float) -> None:
    fuse = smallest_fuse(load, load)
    assert fuse is not None
    assert fuse.rating.value == size
    assert load <= 0.8 * size  # so the 125 % rule holds as well


def test_no_blade_fuse_carries_more_than_the_largest_does() -> None:
    assert smallest_fuse(22.6, 22.6) is None


def test_a_supply_is_rated_for_125_percent_of_what_it_is_planned_with() -> None:
    for supply in load_catalogue().supplies.values():
        cap = DEFAULT_CAP * supply.current_limit.value
        assert 1.25 * cap == pytest.approx(supply.current_limit.value)
        assert supply.fault_current > supply.current_limit.value

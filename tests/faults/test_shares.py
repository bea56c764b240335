"""What each part keeps: circuit, member, span."""

from __future__ import annotations

import numpy as np
import pytest

from lampwright.faults.every import damage_of_member, embody, show_damage
from lampwright.faults.shares import shares_lit
from tests.faults.pieces import row


def test_a_post_down_takes_its_own_and_the_garlands_on_it() -> None:
    body = embody(row(3, garland=True))
    shares = shares_lit(body, show_damage(body, damage_of_member(body, "post 2")).lost)
    dark = {name for name, share in shares.items() if share == 0.0}
    assert dark == {"circuit post 2", "member post 2", "span post 1 top to post 2 top", "span post 2 top to post 3 top"}
    assert shares["member post 1"] == shares["circuit post 3"] == 1.0
    assert 0 < shares["circuit post 1"] < 1


def test_shares_weighed_by_their_pixels_are_the_pieces() -> None:
    body = embody(row(3, garland=True))
    lost = np.random.default_rng(1).random(body.n_pixel) < 0.3
    shares = shares_lit(body, lost)
    lit = sum(shares[f"circuit {one.name}"] * one.n_pixel for one in body.anatomies)
    assert lit == pytest.approx((~lost).sum())

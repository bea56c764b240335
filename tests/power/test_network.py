"""Networks: what was wired wrongly is named before anything is computed."""

from __future__ import annotations

import dataclasses
import math

import pytest

from lampwright.power.network import Leak, Network, RailWire, Source, check_network
from lampwright.units import MakerError
from tests.power.rail_networks import line_network

SOUND = line_network(3, 0.01)


def told(network: Network) -> str:
    with pytest.raises(MakerError) as caught:
        check_network(network)
    return caught.value.render()


def test_a_sound_network_is_taken() -> None:
    check_network(SOUND)


@pytest.mark.parametrize(
    ("limit", "found"), [(math.nan, "no current limit"), (math.inf, "no current limit"), (0, "0 A")]
)
def test_a_pack_without_a_limit_is_refused(limit: float, found: str) -> None:
    assert told(dataclasses.replace(SOUND, source=Source(5.0, 0.05, limit))) == (
        "error POWER-015: the pack has no limit stated\n"
        f"found:   {found}\n"
        "allowed: the continuous current of the output in use, more than 0 A\n"
        'do:      read the label and write pack = { part = "...", current_limit = "2.4 A" }'
        "   (lampwright explain POWER-015)"
    )


def test_a_feed_left_unconnected_is_named() -> None:
    loose = RailWire("feed 2", 0, 4, 0.02, 0.02)
    assert told(dataclasses.replace(SOUND, n_place=5, wires=(*SOUND.wires, loose))) == (
        'error POWER-016: "feed 2" is connected at one end only\n'
        "found:   nothing at its other end\n"
        "allowed: a run, a board or another wire at both ends\n"
        "do:      connect its free end, or take it out   (lampwright explain POWER-016)"
    )


def test_pixels_that_no_plus_reaches_are_an_island() -> None:
    assert told(dataclasses.replace(SOUND, wires=SOUND.wires[1:])) == (
        "error POWER-017: no plus wire leads from the pack to these pixels\n"
        "found:   pixels 0 to 2 without plus\n"
        "allowed: a feed with both conductors from the pack, or a run that has one\n"
        "do:      add a feed to this run, or connect the missing conductor   (lampwright explain POWER-017)\n\n"
        "error POWER-017: no ground wire leads from the pack to these pixels\n"
        "found:   pixels 0 to 2 without ground\n"
        "allowed: a feed with both conductors from the pack, or a run that has one\n"
        "do:      add a feed to this run, or connect the missing conductor   (lampwright explain POWER-017)"
    )


def test_a_ground_left_off_is_named() -> None:
    broken = dataclasses.replace(SOUND.wires[2], ground=math.inf)
    text = told(dataclasses.replace(SOUND, wires=(*SOUND.wires[:2], broken)))
    assert text.startswith("error POWER-017: no ground wire leads from the pack to these pixels\nfound:   pixel 2 ")


def test_a_short_is_an_error_and_damp_is_not() -> None:
    pack = Source(5.0, 0.05, 2.5)
    assert told(dataclasses.replace(SOUND, source=pack, leaks=(Leak(2, 0.3),))) == (
        "error POWER-018: plus and ground are shorted\n"
        "found:   0.3 ohm between them\n"
        "allowed: more than 2 ohm, what the pack's limit allows\n"
        "do:      unplug the pack, find the short with a meter, and mend it before anything is switched on"
        "   (lampwright explain POWER-018)"
    )
    check_network(dataclasses.replace(SOUND, source=pack, leaks=(Leak(2, 300.0),)))

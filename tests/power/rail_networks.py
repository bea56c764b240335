"""Networks made at random for the tests: lines, trees and loops, with and without a ground of its own."""

from __future__ import annotations

import math

import numpy as np

from lampwright.parts import Strip, find
from lampwright.power.network import Leak, Network, RailWire, Source
from lampwright.power.pixel_model import PixelModel, pixel_model

MODEL = pixel_model(find(Strip, "ws2812b-60"))


def line_network(
    n_pixel: int,
    loop_resistance: float,
    *,
    model: PixelModel = MODEL,
    source: Source | None = None,
    both_ends: bool = False,
) -> Network:
    """Return a strip fed at its head by nothing longer than a solder joint, or at both of its ends."""
    wires = [
        RailWire(f"strip {k}", k, k + 1, loop_resistance / 2, loop_resistance / 2, is_strip=True)
        for k in range(n_pixel)
    ]
    if both_ends:
        wires.append(RailWire("far feed", 0, n_pixel, 1e-5, 1e-5))
    pack = source or Source(5.0, 1e-5, 100.0)
    return Network(pack, n_pixel + 1, tuple(wires), tuple(range(1, n_pixel + 1)), model)


def random_network(seed: int, most_pixels: int) -> Network:
    """Return a line, tree or looped network; a third of them have rails that differ, some have a leak."""
    rng = np.random.default_rng(seed)
    sort = ("line", "tree", "loop")[seed % 3]
    n = int(rng.integers(max(2, most_pixels // 4), most_pixels + 1))
    n_place = n + 1 + int(rng.integers(0, 4))
    is_mirrored = bool(rng.random() < 0.5)
    ratio = float(rng.choice([1.0, 0.5])) if is_mirrored else math.nan
    wires: list[RailWire] = []
    # short networks get thinner strip, so that their far ends sag as those of long ones do
    thin = float(rng.uniform(0.3, 3.0)) * (200 / n) ** 2

    def wire(start: int, end: int, resistance: float, is_strip: bool) -> None:
        ground = resistance * (ratio if is_mirrored else float(rng.uniform(0.3, 2.0)))
        wires.append(RailWire(f"wire {len(wires)}", start, end, resistance, ground, is_strip))

    for place in range(1, n_place):
        parent = place - 1
        if sort != "line" and rng.random() < 0.05:
            parent = int(rng.integers(0, place))
        wire(parent, place, thin * float(rng.uniform(0.0005, 0.004)), is_strip=place > 1)
    for _ in range(int(rng.integers(1, 6)) if sort == "loop" else 0):
        one, other = (int(each) for each in rng.choice(n_place, 2, replace=False))
        wire(one, other, float(rng.uniform(0.01, 0.2)), is_strip=False)
    if sort == "loop" and not is_mirrored:
        # a wire that carries ground alone
        wires.append(RailWire("earth", 0, n_place - 1, math.inf, 0.05))
    # the first place has a pixel, so that the wire to it is never loose
    others = np.sort(rng.choice(np.arange(2, n_place), n - 1, replace=False))
    pixels = (1, *(int(each) for each in others))
    leaks = (Leak(int(rng.integers(0, n_place)), float(rng.uniform(50, 500))),) if rng.random() < 0.3 else ()
    source = Source(float(rng.uniform(4.8, 5.2)), float(rng.uniform(0.01, 0.1)), 50.0)
    return Network(source, n_place, tuple(wires), pixels, MODEL, ((0, 0.025),), leaks)


def random_codes(seed: int, network: Network) -> np.ndarray:
    """Return one frame, from dark to full white."""
    rng = np.random.default_rng(seed + 1_000_000)
    top = int(rng.choice([20, 80, 256]))
    return rng.integers(0, top, (len(network.pixels), 3)).astype(np.uint8)

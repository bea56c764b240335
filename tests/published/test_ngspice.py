"""Whether every rail of a circuit stands where a circuit simulator puts it.

Source: ngspice, the Debian package, run as ``ngspice -b -r out.raw``: an operating point with both rails, all wires
and every pixel's own curve as a behavioural current source.
"""

from __future__ import annotations

import math
import subprocess
from pathlib import Path

import numpy as np
import pytest

from lampwright.power.network import LEAST_RESISTANCE, Network
from lampwright.power.pixel_model import CORNER, FLOOR_WIDTH
from lampwright.power.solve import Rails
from tests.power.rail_networks import random_codes, random_network

SMALL = range(45)
LARGE = range(45, 50)


def netlist(network: Network, codes: np.ndarray) -> str:
    """Return the network as a simulator reads it: nodes p0, g0 and so on, the pack's ground is node 0."""
    scale = 1 - 2 * CORNER
    corner = 4 * CORNER * scale
    ramp = (
        f"(x <= 0) ? 0 : ((x >= 1) ? 1 : ((x < {2 * CORNER}) ? x*x/{corner} : "
        f"((x > {1 - 2 * CORNER}) ? 1 - (1-x)*(1-x)/{corner} : (x - {CORNER})/{scale})))"
    )
    model, source = network.model, network.source

    def ground(place: int) -> str:
        return "0" if place == 0 else f"g{place}"

    lines = ["rails", f".func ramp(x) {{{ramp}}}", f"Vpack open 0 {source.voltage!r}"]
    lines.append(f"Rpack open p0 {max(source.resistance, LEAST_RESISTANCE)!r}")
    for number, wire in enumerate(network.wires):
        if math.isfinite(wire.plus):
            lines.append(f"Rp{number} p{wire.start} p{wire.end} {max(wire.plus, LEAST_RESISTANCE)!r}")
        lines.append(f"Rg{number} {ground(wire.start)} {ground(wire.end)} {max(wire.ground, LEAST_RESISTANCE)!r}")
    for number, (place, current) in enumerate(network.loads):
        lines.append(f"Iboard{number} p{place} {ground(place)} {current!r}")
    for number, leak in enumerate(network.leaks):
        lines.append(f"Rleak{number} p{leak.place} {ground(leak.place)} {leak.resistance!r}")
    for number, (place, code) in enumerate(zip(network.pixels, codes, strict=True)):
        v = f"v(p{place})" if place == 0 else f"v(p{place},{ground(place)})"
        awake = f"ramp(({v} - {model.floor})/{FLOOR_WIDTH} + 1)"
        light = " + ".join(
            f"{full * int(level) / 255!r}*ramp(({v} - {start!r})/{knee - start!r})"
            for full, start, knee, level in zip(model.full, model.start, model.knee, code, strict=True)
        )
        lines.append(f"Bpixel{number} p{place} {ground(place)} I = {awake}*({model.quiescent!r} + {light})")
    lines += [".options reltol=1e-9 abstol=1e-12 vntol=1e-9 itl1=2000 gmin=1e-15", ".op", ".end"]
    return "\n".join(lines) + "\n"


def operating_point(text: str, folder: Path) -> dict[str, float]:
    """Return the voltage of every node by its name. [V]"""
    (folder / "net.cir").write_text(text)
    run = subprocess.run(
        ["ngspice", "-b", "-r", "out.raw", "net.cir"], cwd=folder, capture_output=True, text=True, check=False
    )
    assert (folder / "out.raw").exists(), run.stdout + run.stderr
    head, _, body = (folder / "out.raw").read_bytes().partition(b"Binary:\n")
    names = [line.split()[1] for line in head.decode().partition("Variables:\n")[2].splitlines() if line.strip()]
    values = np.frombuffer(body, dtype=np.float64)
    assert len(values) == len(names)
    return {name.removeprefix("v(").removesuffix(")"): float(value) for name, value in zip(names, values, strict=True)}


def farthest_apart(seed: int, most_pixels: int, folder: Path) -> float:
    """Return by how much any place of either rail differs. [V]"""
    network = random_network(seed, most_pixels)
    codes = random_codes(seed, network)
    theirs = operating_point(netlist(network, codes), folder)
    ours = Rails(network).frame(codes)
    wrong = [abs(ours.plus[place] - theirs[f"p{place}"]) for place in range(network.n_place)]
    wrong += [abs(ours.ground[place] - theirs[f"g{place}"]) for place in range(1, network.n_place)]
    return float(max(wrong))


@pytest.mark.parametrize("seed", SMALL)
def test_every_place_of_a_random_network_stands_within_a_tenth_of_a_millivolt(seed: int, tmp_path: Path) -> None:
    assert farthest_apart(seed, 40 if seed < 35 else 100, tmp_path) < 1e-4


def test_the_networks_compared_have_pixels_of_every_state() -> None:
    sagging = regulating = 0
    for seed in SMALL:
        network = random_network(seed, 40)
        voltage = Rails(network).frame(random_codes(seed, network)).pixel_voltage
        sagging += bool((voltage < network.model.safe).any())
        regulating += bool((voltage >= network.model.safe).all())
    assert sagging > 10
    assert regulating > 10


@pytest.mark.slow
@pytest.mark.parametrize("seed", LARGE)
def test_every_place_of_a_network_of_600_pixels_stands_within_a_tenth_of_a_millivolt(seed: int, tmp_path: Path) -> None:
    assert farthest_apart(seed, 600, tmp_path) < 1e-4

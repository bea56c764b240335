"""Judge a circuit's rails: the lowest supply, the drop and heat of each wire, the colours at the worst moment."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from lampwright.findings.model import Finding, Severity
from lampwright.layout.model import CircuitLayout
from lampwright.parts import catalogue_currency
from lampwright.parts.model import Figure, Wire
from lampwright.piece.model import Circuit, Piece
from lampwright.power.basis import basis
from lampwright.power.feed_search import Case, FeedPlan, search_feeds
from lampwright.power.pack import whole_percent_below
from lampwright.power.pixel_model import channel_shares
from lampwright.power.rail_draw import RailDraw, hard_frames
from lampwright.power.solve import Rails
from lampwright.power.wiring import droop_source, feed_name
from lampwright.show.model import CircuitShow
from lampwright.show.render import frames_at
from lampwright.units import format_quantity

WIRE_SHARE = 0.05
"""Share of the pack's voltage that a piece of wire may lose (common practice, no source)."""

COLOUR_SHARE = 0.95
"""Share of its light that a channel should keep; less is seen beside a full one (our choice)."""

LEAST_BRIGHTNESS = 2
"""Percent below which dimming is no way out: hardly a code is left to tell colours apart (our choice)."""

COLOURS = ("red", "green", "blue")


def check_rails(show: CircuitShow, piece: Piece, rails: Rails, draw: RailDraw) -> tuple[Finding, ...]:
    """Return the findings on one circuit's rails over its whole show."""
    worst = frames_at(show, [draw.worst_frame])[0]
    return (
        _far_end_low(show, piece, rails, draw, worst),
        _wire_lossy(show.layout.circuit, rails, draw),
        _wire_hot(show.layout.circuit, draw),
        _colours_shifted(show, rails, draw, worst),
    )


def light_that_holds(rails: Rails, codes: NDArray[np.uint8], least: float) -> float:
    """Return the highest share of a frame's light, to 1/1000, at which no pixel gets less than ``least`` [V]."""
    low, high = 0, 1000
    if rails.solve(codes[None]).lowest[0] >= least:
        return 1.0
    while high - low > 1:
        middle = (low + high) // 2
        dimmed = (codes.astype(np.int64) * middle // 1000).astype(np.uint8)
        low, high = (middle, high) if rails.solve(dimmed[None]).lowest[0] >= least else (low, middle)
    return low / 1000


def _far_end_low(show: CircuitShow, piece: Piece, rails: Rails, draw: RailDraw, worst: NDArray[np.uint8]) -> Finding:
    """POWER-010: the lowest supply of any pixel in any frame."""
    circuit = show.layout.circuit
    least, lowest = circuit.strip.supply_least.value, float(draw.lowest.min())
    share_low = float(np.mean(draw.lowest < least))
    severity, do = Severity.PASS, ""
    if lowest < least:
        severity = Severity.FAIL if lowest < rails.network.model.safe else Severity.WARN
        fits = whole_percent_below(piece.show.brightness * light_that_holds(rails, worst, least))
        dimmer = f', or write brightness = "{fits} %"' if fits >= LEAST_BRIGHTNESS else ""
        hub = rails.network.source.voltage
        hard = frames_at(show, hard_frames(draw))
        currency = piece.brief.currency or catalogue_currency()
        nearer = f"{_nearer_power(show.layout, int(draw.where[draw.worst_frame]), hard, least, currency)}{dimmer}"
        # where the pack itself is too low no feed helps
        do = (
            nearer if hub >= least else f"the {circuit.source_noun} gives {_volts(hub)} behind its diode: see POWER-005"
        )
    return Finding(
        "POWER-010",
        severity,
        circuit.name,
        f"lowest supply of a pixel, {_place(show.layout, int(draw.where[draw.worst_frame]))}, "
        f"{_time(draw.worst_frame * show.frame_ms / 1000)} after power-on; "
        f"{format_quantity(share_low, 'share', 2)} of the frames are below the limit",
        _volts(lowest),
        f"at least {_volts(least)}",
        lowest / least - 1,
        do,
        _rail_basis(circuit, supply_least=circuit.strip.supply_least),
        draw.worst_frame * show.frame_ms / 1000,
    )


def _nearer_power(layout: CircuitLayout, pixel: int, hard: NDArray[np.uint8], least: float, currency: str) -> str:
    """Return the cheapest feeds that would serve a pixel's run, else where another feed would help it most."""
    run = next(each for each in layout.runs if each.first <= pixel < each.first + each.n_pixel)
    plan = search_feeds([Case(layout, run, hard)], least)
    if plan is not None:
        return f'feed "{run.run.name}" {_told_plan(plan, currency)}'
    share = (pixel - run.first + 0.5) / run.n_pixel
    at = 1.0 if share > 0.9 else round(share, 1)
    if any(abs(feed.at - at) < 0.05 for feed in run.run.feeds):
        return f'use a thicker wire or a shorter one for the feeds of "{run.run.name}"'
    return f'feed "{run.run.name}" at {100 * at:.0f} % of its length as well ([[circuit.run.feed]])'


def _told_plan(plan: FeedPlan, currency: str) -> str:
    """Return a plan's places, wires and cost."""
    money = f"wire and work some {plan.cost:.0f} {currency} by judged prices"
    return f"{plan.told} along the run ({money})"


def _wire_lossy(circuit: Circuit, rails: Rails, draw: RailDraw) -> Finding:
    """POWER-011: the drop of each laid piece of wire at its own peak, there and back."""
    drops = {}
    for index, peak in zip(rails.laid, draw.wire_peak, strict=True):
        wire = rails.network.wires[index]
        drops[wire.name] = float(peak) * (wire.plus + wire.ground)
    name, most = max(drops.items(), key=lambda item: item[1])
    moments = dict(zip(draw.wires, draw.peak_time.tolist(), strict=True))
    limit = WIRE_SHARE * circuit.source.output_voltage.value
    is_lossy = most > limit
    told = ", ".join(f"{each} {_volts(drop)}" for each, drop in drops.items())
    return Finding(
        "POWER-011",
        Severity.WARN if is_lossy else Severity.PASS,
        circuit.name,
        f"drop of each wire at its highest current, both conductors: {told}",
        f"{_volts(most)} in the {name}",
        f"at most {_volts(limit)}",
        1 - most / limit,
        f"make the {name} shorter or thicker" if is_lossy else "",
        basis("current × resistance × 2 × length", output=circuit.source.output_voltage)
        + f", copper at {format_quantity(circuit.wiring.copper, 'temperature')}",
        moments[name],
    )


def _wire_hot(circuit: Circuit, draw: RailDraw) -> Finding:
    """POWER-012: what each laid wire carries, as it heats, against what the wire may."""
    wires = wires_by_name(circuit)
    loads = {
        name: (float(rms) / wires[name].ampacity.value, float(rms))
        for name, rms in zip(draw.wires, draw.wire_rms, strict=True)
    }
    name, (share, rms) = max(loads.items(), key=lambda item: item[1][0])
    wire = wires[name]
    heat = 2 * rms**2 * wire.resistance.value
    is_hot = share > 1
    return Finding(
        "POWER-012",
        Severity.FAIL if is_hot else Severity.PASS,
        circuit.name,
        f"current of the {name} ({wire.title}), root of the mean square where it lasts; "
        f"it heats the pair by {format_quantity(heat, 'power')} a metre",
        _amperes(rms),
        f"at most {_amperes(wire.ampacity.value)}",
        1 - share,
        f"take a thicker wire for the {name}, and fuse it at the {circuit.source_noun} for what the wire may carry"
        if is_hot
        else "",
        basis("highest root of the mean square over 3 min or one pass of the show", ampacity=wire.ampacity),
    )


def wires_by_name(circuit: Circuit) -> dict[str, Wire]:
    """Return the wire of the lead and of every feed, by the names that :class:`RailDraw` gives them."""
    wires = {"lead": circuit.wiring.lead.wire}
    for run in circuit.runs:
        wires.update({feed_name(run.name, feed.at): feed.cable.wire for feed in run.feeds})
    return wires


def _colours_shifted(show: CircuitShow, rails: Rails, draw: RailDraw, worst: NDArray[np.uint8]) -> Finding:
    """POWER-013: the share of its light that each colour keeps at the worst moment."""
    circuit, model = show.layout.circuit, rails.network.model
    shares = channel_shares(model, rails.frame(worst).pixel_voltage)
    pixel, channel = (int(each) for each in np.unravel_index(int(shares.argmin()), shares.shape))
    least = float(shares[pixel, channel])
    weak = int(np.sum(shares.min(axis=1) < COLOUR_SHARE))
    severity = Severity.WARN if least < COLOUR_SHARE else Severity.PASS
    where = (
        f"{COLOURS[channel]}, {_place(show.layout, pixel)}; {weak} pixels below the limit" if weak else "all colours"
    )
    strip = circuit.strip
    return Finding(
        "POWER-013",
        severity,
        circuit.name,
        f"light kept at the worst moment, {_time(draw.worst_frame * show.frame_ms / 1000)} after power-on: {where}",
        format_quantity(least, "share", 2),
        f"at least {format_quantity(COLOUR_SHARE, 'share', 2)}",
        least / COLOUR_SHARE - 1,
        "white turns yellow, then red, along the run: feed it at more points (lampwright feeds) or lower the brightness"
        if weak
        else "",
        basis(
            "share of full current at the pixel's own supply",
            red_forward=strip.red_forward,
            green_forward=strip.green_forward,
            blue_forward=strip.blue_forward,
            headroom=strip.headroom,
        ),
        draw.worst_frame * show.frame_ms / 1000 if weak else None,
    )


def _rail_basis(circuit: Circuit, **more: Figure) -> str:
    strip = circuit.strip
    return (
        basis(
            "both rails and every pixel's own current, every frame",
            rail=strip.rail_resistance,
            red=strip.red_current,
            green=strip.green_current,
            blue=strip.blue_current,
            **more,
        )
        + f", {circuit.source_noun} droop ({droop_source(circuit)})"
    )


def _place(layout: CircuitLayout, pixel: int) -> str:
    """Return where a pixel is, such as "pixel 12 of hoop, 0.21 m from its head"."""
    run = next(each for each in layout.runs if each.first <= pixel < each.first + each.n_pixel)
    return f"pixel {pixel - run.first + 1} of {run.run.name}, {layout.along[pixel]:.2f} m from its head"


def _volts(value: float) -> str:
    return format_quantity(value, "voltage")


def _amperes(value: float) -> str:
    return format_quantity(value, "current")


def _time(seconds: float) -> str:
    return format_quantity(float(int(seconds)), "time")

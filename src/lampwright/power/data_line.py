"""The data line: how its resistor and its lead change the times that the first pixel reads.

Pin, resistor and the lead's capacitance make a low pass. A pixel reads a one from some threshold on that lies between
0.3 and 0.7 of its supply (its data sheet's VIL and VIH), so an edge comes later by as much as the line takes to that
threshold, and a pulse comes out longer or shorter than it was sent by the difference of its two edges.

Source
------
Charging of a capacitor through a resistor, ``v = 1 - exp(-t / R C)``: any text on circuits. Rise time from 10 to 90 %
is ``ln 9 R C``, commonly rounded to 2.2 R C. Capacitance of a lead: 100 pF a metre, common practice, no source.

Valid for: a lead short against the edge's own length; reflections are what the least resistor is for, not reckoned.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

from lampwright.parts import Board, LineTiming, Pack, Resistor, Strip, Supply, load_catalogue

LEAD_CAPACITANCE = 100e-12
"""Of data wire beside its ground, each metre (common practice, no source). [F/m]"""

LEAD_IMPEDANCE = 100.0
"""What a pair of insulated wires is to an edge: 100 to 120 ohm (from memory). Less in series lets it ring. [ohm]"""

THRESHOLDS = (0.3, 0.7)
"""Shares of its supply between which a pixel's threshold lies (WS2812B datasheet, VIL and VIH, in copies)."""

PIN_CURRENT = 20e-3
"""What a pin may be asked for without end (ATmega328P datasheet: its test condition for a pin's levels). [A]"""

HIGHEST_SHARE = 1.05
"""Of a nominal supply, the highest: USB 2.0, 5.25 V at a port of 5 V; regulators keep closer (from memory)."""

CLOCK_ROOM = 0.5
"""Share of a time window that is left to the board's own timing, which the rehearsal holds (our choice)."""


@dataclass(frozen=True)
class ResistorRange:
    """Resistors that do for a lead; ``most`` may be below ``least``: then none does. [ohm]"""

    damping: float  # below this the lead rings
    least: float  # below this a dead strip may take more than the pin may give
    most: float  # above this edges take more than their share of the windows
    last: float  # above this a window is left


def time_constant(resistance: float, lead: float, input_capacitance: float) -> float:
    """Return R C of a line: all resistance in series [ohm], its lead [m], the pixel's input [F]. [s]"""
    return resistance * (LEAD_CAPACITANCE * lead + input_capacitance)


def rise_time(tau: float) -> float:
    """Return the time from 10 to 90 % of the level. [s]"""
    return math.log(9.0) * tau


def time_to(share: float, tau: float) -> float:
    """Return the time from the edge to a share of the level. [s]"""
    return -tau * math.log(1.0 - share)


def read_length(sent: float, tau: float, threshold: float) -> float:
    """Return how long a pulse is at the pixel that was sent so long, from rest to rest; 0: it isn't seen. [s]"""
    if tau <= 0:
        return sent
    top = 1.0 - math.exp(-sent / tau)
    if top <= threshold:
        return 0.0
    return sent + tau * (math.log(top / threshold) + math.log(1.0 - threshold))


def share_of_windows(timing: LineTiming, tau: float) -> float:
    """Return the largest share of its window that any pulse of a bit loses to the line's edges; above 1: it leaves it.

    Pulses are sent at their typical lengths. A low pulse is a high one upside down, thresholds included.
    """
    worst = 0.0
    for window in (timing.zero_high, timing.one_high, timing.zero_low, timing.one_low):
        for threshold in THRESHOLDS:
            change = read_length(window.typical, tau, threshold) - window.typical
            room = window.most - window.typical if change > 0 else window.typical - window.least
            worst = max(worst, abs(change) / room if room > 0 else math.inf)
    return worst


@lru_cache(maxsize=64)  # the circuits of a piece ask for the same few, some sixty halvings each time
def most_time_constant(timing: LineTiming, share: float) -> float:
    """Return the largest R C with which pulses lose no more than this share of their windows. [s]"""
    low, high = 0.0, timing.one_high.typical
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if share_of_windows(timing, middle) <= share else (low, middle)
    return low


def resistor_range(board: Board, source: Pack | Supply, strip: Strip, lead: float) -> ResistorRange:
    """Return which resistors do between this board and this strip with so long a data lead [m].

    The pin's own resistance counts where it slows edges and not where it would save the resistor.
    """
    capacitance = LEAD_CAPACITANCE * lead + strip.input_capacitance.value
    level = HIGHEST_SHARE * min(board.supply.value, source.output_voltage.value)
    own = board.drive_resistance.value
    return ResistorRange(
        damping=LEAD_IMPEDANCE,
        least=max(LEAD_IMPEDANCE, level / PIN_CURRENT),
        most=most_time_constant(strip.timing, CLOCK_ROOM) / capacitance - own,
        last=most_time_constant(strip.timing, 1.0) / capacitance - own,
    )


def choose_resistor(fits: ResistorRange) -> Resistor | None:
    """Return the smallest resistor of the catalogue that is no less than the least at its tolerance's low end.

    Where the lead is too long for that, the largest that still damps it and keeps the edges; ``None``: none does.
    """
    offered = sorted(load_catalogue().resistors.values(), key=lambda each: each.resistance.value)
    keeps = [each for each in offered if each.resistance.value * (1 + each.tolerance.value) <= fits.most]
    saves = [each for each in keeps if each.resistance.value * (1 - each.tolerance.value) >= fits.least]
    damps = [each for each in keeps if each.resistance.value >= fits.damping]
    return saves[0] if saves else damps[-1] if damps else None


def longest_lead(board: Board, strip: Strip, resistance: float) -> float:
    """Return the longest data lead with which this resistor [ohm] keeps the edges; below 0: none does. [m]"""
    tau = most_time_constant(strip.timing, CLOCK_ROOM)
    total = resistance + board.drive_resistance.value
    return (tau / total - strip.input_capacitance.value) / LEAD_CAPACITANCE if total > 0 else math.inf

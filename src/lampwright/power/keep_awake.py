"""What keeps a pack from switching itself off while little is drawn: a brighter standby, a resistor, and their cost."""

from __future__ import annotations

import dataclasses
import math

from lampwright.parts.preferred import previous_preferred
from lampwright.piece.model import Circuit, Piece
from lampwright.power.drain import drain, energy_left, load_of
from lampwright.power.draw import Draw, channel_currents, idle_current
from lampwright.show.model import CircuitShow
from lampwright.units import format_quantity

SHUTOFF_CARE = 1.5
"""Packs differ: 45 mA by one data sheet, 50 to 100 mA in practice. Below this many times the stated
figure, test the pack (common practice, no source)."""

RESISTOR_SIZES = (0.25, 0.5, 1.0, 2.0, 5.0, 10.0)
"""Powers that resistors are sold for (common practice, no source). [W]"""

RESISTOR_SHARE = 0.5
"""Share of its power that a resistor should take for hours (common practice, no source)."""


@dataclasses.dataclass(frozen=True)
class KeepAwake:
    """A resistor across a pack's output that makes up for a load too small."""

    resistance: float  # of the E12 series [ohm]
    current: float  # [A]
    power: float  # turned into heat [W]
    size: float  # to buy; the largest where none is large enough [W]


def resistor_for(missing: float, volts: float) -> KeepAwake:
    """Return the largest preferred resistor that draws at least this current [A] at the output's voltage [V].

    Source
    ------
    Ohm's and Joule's laws; IEC 60063 E12 series. Half of a resistor's power: common practice, no source.
    """
    resistance = previous_preferred(volts / missing)
    current = volts / resistance
    power = volts * current
    return KeepAwake(resistance, current, power, size_for(power))


def size_for(power: float) -> float:
    """Return the size of resistor to buy for so much heat; the largest where none is large enough. [W]"""
    return next((each for each in RESISTOR_SIZES if RESISTOR_SHARE * each >= power), RESISTOR_SIZES[-1])


def how_to_stay_awake(
    show: CircuitShow, piece: Piece, draw: Draw, lowest: float, in_standby: bool, lasts: float
) -> str:
    """Return what to do about a load of ``lowest`` [A] for a pack that would last until ``lasts`` [s].

    All of it aims at ``SHUTOFF_CARE`` times the pack's figure, so that nothing is left to warn of.
    """
    circuit = show.layout.circuit
    target = SHUTOFF_CARE * circuit.pack.shutoff_current.value
    missing = target - lowest
    ways = [f"{_amperes(target)} would be safe, {_amperes(missing, 2)} more"]
    volts = circuit.pack.output_voltage.value
    resistor = resistor_for(volts / circuit.bank.keep_awake + missing, volts)
    if resistor.current < circuit.source_limit / 2:
        ways.append(_told(circuit, piece, draw, resistor, lasts))
    level = _level_needed(show, piece, lowest, missing) if in_standby and not circuit.bank.is_shared else 2.0
    if level <= 1.0:
        ways.append(f'or write level = "{math.ceil(100 * level - 1e-9)} %" in [standby]')
    white = float(channel_currents(show.layout).sum())
    pixels = math.ceil(missing / (0.2 * white) - 1e-9)
    ways.append(f"or keep {pixels} more pixels white at 20 % in the quiet looks" if not in_standby else "")
    ways.append("or choose a pack that stays on; then leave the very pack in standby for its whole length")
    return "; ".join(way for way in ways if way)


def _told(circuit: Circuit, piece: Piece, draw: Draw, resistor: KeepAwake, lasts: float) -> str:
    """Return the resistor, that stands in place of any stated, as an entry of the piece file; its heat and cost."""
    with_it = dataclasses.replace(circuit, bank=dataclasses.replace(circuit.bank, keep_awake=resistor.resistance))
    standby = draw.standby_frames * draw.frame_period
    left = drain(load_of(draw), with_it, energy_left(circuit, piece.brief.coldest)).lasts
    cost = max(0.0, (lasts - left) / max(lasts - standby, draw.frame_period))
    return (
        f'write keep_awake = "{format_quantity(resistor.resistance, "resistance")}" and put a resistor of that value, '
        f"{format_quantity(resistor.size, 'power')} or more, across each pack's output "
        f"(it turns {format_quantity(resistor.power, 'power')} into heat "
        f"and costs {format_quantity(cost, 'share', 2)} of the run time)"
    )


def _level_needed(show: CircuitShow, piece: Piece, lowest: float, missing: float) -> float:
    """Return the share of full drive at which the flashing indicator alone would draw enough; infinite if it can't."""
    flashing = lowest - idle_current(show.layout)
    return math.inf if flashing <= 0 else piece.standby.level * (1.0 + missing / flashing)


def _amperes(current: float, digits: int = 3) -> str:
    return format_quantity(current, "current", digits)

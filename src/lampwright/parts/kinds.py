"""What each figure of a part measures: the one table behind reading the catalogue and overriding it."""

from __future__ import annotations

from lampwright.parts.model import Board, Capacitor, Fuse, Pack, Strip, Wire
from lampwright.units import Kind

Part = Strip | Pack | Board | Wire | Fuse | Capacitor

FIGURE_KINDS: dict[type[Part], dict[str, Kind]] = {
    Strip: {
        "density": "density",
        "red_current": "current",
        "green_current": "current",
        "blue_current": "current",
        "white_red": "share",
        "white_green": "share",
        "white_blue": "share",
        "quiescent_current": "current",
        "supply_least": "voltage",
        "supply_most": "voltage",
        "rail_resistance": "linear resistance",
        "mass": "linear mass",
    },
    Pack: {
        "charge": "charge",
        "cell_voltage": "voltage",
        "output_voltage": "voltage",
        "efficiency": "share",
        "current_limit": "current",
        "shutoff_current": "current",
        "shutoff_delay": "time",
        "mass": "mass",
    },
    Board: {
        "clock": "frequency",
        "clock_tolerance": "share",
        "supply": "voltage",
        "ram": "memory",
        "flash": "memory",
        "eeprom": "memory",
        "stack_reserve": "memory",
        "current": "current",
        "brown_out": "voltage",
    },
    Wire: {"area": "area", "resistance": "linear resistance", "ampacity": "current"},
    Fuse: {"rating": "current", "voltage": "voltage"},
    Capacitor: {"capacitance": "capacitance", "voltage": "voltage"},
}

NOUNS: dict[type[Part], str] = {
    Strip: "strip",
    Pack: "pack",
    Board: "board",
    Wire: "wire",
    Fuse: "fuse",
    Capacitor: "capacitor",
}
"""What a maker calls each kind of part."""

MAY_BE_ZERO = frozenset({"quiescent_current", "shutoff_current", "shutoff_delay", "clock_tolerance", "stack_reserve"})
"""Figures for which zero makes sense; every other one must be above it."""

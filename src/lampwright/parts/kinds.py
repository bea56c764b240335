"""What each figure of a part measures: the one table behind reading the catalogue and overriding it."""

from __future__ import annotations

from lampwright.parts.model import (
    Board,
    CableTie,
    Capacitor,
    Connector,
    Cord,
    Diode,
    Fuse,
    Pack,
    Port,
    Resistor,
    Strip,
    Supply,
    Tube,
    Wire,
)
from lampwright.units import Kind

Part = (
    Strip
    | Pack
    | Supply
    | Port
    | Board
    | Wire
    | Fuse
    | Capacitor
    | Resistor
    | Connector
    | Diode
    | Tube
    | Cord
    | CableTie
)

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
        "red_forward": "voltage",
        "green_forward": "voltage",
        "blue_forward": "voltage",
        "headroom": "voltage",
        "channel_resistance": "resistance",
        "input_capacitance": "capacitance",
        "supply_floor": "voltage",
        "rail_resistance": "linear resistance",
        "mass": "linear mass",
    },
    Pack: {
        "charge": "charge",
        "cell_voltage": "voltage",
        "output_voltage": "voltage",
        "efficiency": "share",
        "current_limit": "current",
        "total_limit": "current",
        "output_tolerance": "share",
        "shutoff_current": "current",
        "shutoff_delay": "time",
        "charge_power": "power",
        "charge_efficiency": "share",
        "mass": "mass",
    },
    Supply: {
        "output_voltage": "voltage",
        "output_tolerance": "share",
        "load_regulation": "share",
        "current_limit": "current",
        "overload": "share",
        "efficiency": "share",
        "full_up_to": "temperature",
        "works_from": "temperature",
        "mass": "mass",
    },
    Port: {"current_limit": "current", "voltage_least": "voltage", "voltage_most": "voltage"},
    Board: {
        "clock": "frequency",
        "clock_tolerance": "share",
        "supply": "voltage",
        "supply_tolerance": "share",
        "ram": "memory",
        "flash": "memory",
        "eeprom": "memory",
        "stack_reserve": "memory",
        "current": "current",
        "brown_out": "voltage",
        "drive_resistance": "resistance",
    },
    Wire: {"area": "area", "resistance": "linear resistance", "ampacity": "current"},
    Fuse: {"rating": "current", "voltage": "voltage"},
    Capacitor: {
        "capacitance": "capacitance",
        "tolerance": "share",
        "voltage": "voltage",
        "series_resistance": "resistance",
    },
    Resistor: {"resistance": "resistance", "tolerance": "share", "power": "power"},
    Connector: {"current": "current", "contact": "resistance", "mass": "mass"},
    Diode: {"forward": "voltage", "current": "current", "reverse": "voltage", "mass": "mass"},
    Tube: {
        "outside": "length",
        "wall": "length",
        "mass": "linear mass",
        "yield_stress": "pressure",
        "modulus": "pressure",
    },
    Cord: {
        "diameter": "length",
        "mass": "linear mass",
        "strength": "force",
        "stretch": "share",
        "knot_loss": "share",
    },
    CableTie: {"strength": "force", "kept": "share", "mass": "mass"},
}

NOUNS: dict[type[Part], str] = {
    Strip: "strip",
    Pack: "pack",
    Supply: "supply",
    Port: "port",
    Board: "board",
    Wire: "wire",
    Fuse: "fuse",
    Capacitor: "capacitor",
    Resistor: "resistor",
    Connector: "connector",
    Diode: "diode",
    Tube: "tube",
    Cord: "cord",
    CableTie: "cable tie",
}
"""What a maker calls each kind of part."""

MAY_BE_ZERO = frozenset(
    {
        "quiescent_current",
        "shutoff_current",
        "shutoff_delay",
        "output_tolerance",
        "load_regulation",
        "clock_tolerance",
        "supply_tolerance",
        "stack_reserve",
    }
)
"""Figures for which zero makes sense; every other one must be above it."""

MOST: dict[type[Part], dict[str, str]] = {
    Strip: {
        "density": "1000 /m",
        "red_current": "100 mA",
        "green_current": "100 mA",
        "blue_current": "100 mA",
        "white_red": "100 %",
        "white_green": "100 %",
        "white_blue": "100 %",
        "quiescent_current": "100 mA",
        "supply_least": "60 V",
        "supply_most": "60 V",
        "red_forward": "20 V",
        "green_forward": "20 V",
        "blue_forward": "20 V",
        "headroom": "20 V",
        "channel_resistance": "10 kohm",
        "input_capacitance": "1 nF",
        "supply_floor": "60 V",
        "rail_resistance": "100 ohm/m",
        "mass": "100 kg/m",
    },
    Pack: {
        "charge": "1000 Ah",
        "cell_voltage": "60 V",
        "output_voltage": "60 V",
        "efficiency": "100 %",
        "current_limit": "100 A",
        "total_limit": "100 A",
        "output_tolerance": "20 %",
        "shutoff_current": "100 A",
        "shutoff_delay": "1 d",
        "charge_power": "1 kW",
        "charge_efficiency": "100 %",
        "mass": "1000 kg",
    },
    Supply: {
        "output_voltage": "60 V",
        "output_tolerance": "20 %",
        "load_regulation": "20 %",
        "current_limit": "100 A",
        "overload": "300 %",
        "efficiency": "100 %",
        "full_up_to": "100 degC",
        "works_from": "50 degC",
        "mass": "100 kg",
    },
    Port: {"current_limit": "100 A", "voltage_least": "60 V", "voltage_most": "60 V"},
    Board: {
        "clock": "1000 MHz",
        "clock_tolerance": "50 %",
        "supply": "60 V",
        "supply_tolerance": "50 %",
        "ram": "64 KiB",
        "flash": "16384 KiB",
        "eeprom": "1024 KiB",
        "stack_reserve": "64 KiB",
        "current": "10 A",
        "brown_out": "60 V",
        "drive_resistance": "10 kohm",
    },
    Wire: {"area": "1000 mm2", "resistance": "100 ohm/m", "ampacity": "1000 A"},
    Fuse: {"rating": "1000 A", "voltage": "1 kV"},
    Capacitor: {"capacitance": "10 F", "tolerance": "90 %", "voltage": "1 kV", "series_resistance": "100 ohm"},
    Resistor: {"resistance": "10 Mohm", "tolerance": "90 %", "power": "1 kW"},
    Connector: {"current": "1000 A", "contact": "10 ohm", "mass": "100 kg"},
    Diode: {"forward": "10 V", "current": "1000 A", "reverse": "10 kV", "mass": "100 kg"},
    Tube: {
        "outside": "1 m",
        "wall": "100 mm",
        "mass": "1000 kg/m",
        "yield_stress": "3 GPa",
        "modulus": "1000 GPa",
    },
    Cord: {
        "diameter": "100 mm",
        "mass": "100 kg/m",
        "strength": "1000 kN",
        "stretch": "300 %",
        "knot_loss": "95 %",
    },
    CableTie: {"strength": "100 kN", "kept": "100 %", "mass": "1 kg"},
}
"""Above these a figure is a slip of the finger or of the unit (our choice; no judgement of the part)."""

LEAST: dict[str, str] = {
    "clock": "1 kHz",
    "ram": "64 byte",
    "flash": "1 KiB",
    "overload": "100 %",
    "full_up_to": "0 degC",
    "works_from": "-60 degC",
}
"""Below these no firmware can be thought of, no supply is rated, and margins would have no meaning (our choice)."""

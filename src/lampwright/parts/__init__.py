"""The parts catalogue: every figure in SI with its source and status.

``load_catalogue()`` gives all parts, ``find(Strip, "ws2812b-60")`` one of them, and ``override`` a
part with figures replaced by the maker's own.
"""

from lampwright.parts.catalogue import Catalogue, find, load_catalogue
from lampwright.parts.kinds import FIGURE_KINDS, NOUNS, Part
from lampwright.parts.model import (
    Board,
    CableTie,
    Capacitor,
    Connector,
    Cord,
    Diode,
    Figure,
    Fuse,
    LineTiming,
    Pack,
    Port,
    Resistor,
    Status,
    Strip,
    Supply,
    Tube,
    Window,
    Wire,
)
from lampwright.parts.offers import Offer, catalogue_currency, mass_of, near_name, offers_of, unit_price
from lampwright.parts.override import figure_names, override
from lampwright.parts.preferred import nearest_preferred, next_preferred, preferred_source, previous_preferred

__all__ = [
    "FIGURE_KINDS",
    "NOUNS",
    "Board",
    "CableTie",
    "Capacitor",
    "Catalogue",
    "Connector",
    "Cord",
    "Diode",
    "Figure",
    "Fuse",
    "LineTiming",
    "Offer",
    "Pack",
    "Part",
    "Port",
    "Resistor",
    "Status",
    "Strip",
    "Supply",
    "Tube",
    "Window",
    "Wire",
    "catalogue_currency",
    "figure_names",
    "find",
    "load_catalogue",
    "mass_of",
    "near_name",
    "nearest_preferred",
    "next_preferred",
    "offers_of",
    "override",
    "preferred_source",
    "previous_preferred",
    "unit_price",
]

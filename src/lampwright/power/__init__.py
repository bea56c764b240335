"""Judge power, rails and board: in come a circuit's layout, its show and its frames, out go findings.

:func:`with_readings` fits a circuit's figures to its meter readings and :func:`ready_rails` makes its wiring ready;
:func:`frame_currents` and :func:`rail_part` measure frames block by block, :func:`gather` and :func:`gather_rails` make
a :class:`Draw` and a :class:`RailDraw` of them; :func:`check_power`, :func:`check_packs`, :func:`check_supply`,
:func:`check_mains`, :func:`check_rails`, :func:`check_protection`, :func:`check_passives` and :func:`check_board` turn
figures into findings.
"""

from lampwright.power.board import check_board
from lampwright.power.bulk import Bulk, bulk_of, capacitors_for
from lampwright.power.check import check_power
from lampwright.power.draw import Draw, FrameCurrents, frame_currents, gather, n_frame_to_measure
from lampwright.power.feed_search import Case, FeedPlan, PricedWire, cost_as_written, fed_by, priced_wires, search_feeds
from lampwright.power.fuse import circuit_fuse, smallest_fuse
from lampwright.power.guard import (
    Conductor,
    FittedFuse,
    Guard,
    board_supply,
    circuit_guards,
    fuses_of,
    guards,
    is_guarded,
)
from lampwright.power.keep_awake import size_for
from lampwright.power.mains import Outlet, mains_power, outlets_of
from lampwright.power.pack_check import check_packs
from lampwright.power.passive_check import LineResistor, check_passives, line_resistors
from lampwright.power.protection_check import check_protection
from lampwright.power.rail_check import check_rails
from lampwright.power.rail_draw import RailDraw, RailPart, gather_rails, hard_frames, join_rails, rail_part, ready_rails
from lampwright.power.rail_picture import WorstMoment, draw_worst_moment, worst_moment
from lampwright.power.readings import with_readings
from lampwright.power.solve import Rails
from lampwright.power.strip_reading import as_measured, has_reading, worst_of
from lampwright.power.supply_check import check_mains, check_supply
from lampwright.power.wiring import feed_name

__all__ = [
    "Bulk",
    "Case",
    "Conductor",
    "Draw",
    "FeedPlan",
    "FittedFuse",
    "FrameCurrents",
    "Guard",
    "LineResistor",
    "Outlet",
    "PricedWire",
    "RailDraw",
    "RailPart",
    "Rails",
    "WorstMoment",
    "as_measured",
    "board_supply",
    "bulk_of",
    "capacitors_for",
    "check_board",
    "check_mains",
    "check_packs",
    "check_passives",
    "check_power",
    "check_protection",
    "check_rails",
    "check_supply",
    "circuit_fuse",
    "circuit_guards",
    "cost_as_written",
    "draw_worst_moment",
    "fed_by",
    "feed_name",
    "frame_currents",
    "fuses_of",
    "gather",
    "gather_rails",
    "guards",
    "hard_frames",
    "has_reading",
    "is_guarded",
    "join_rails",
    "line_resistors",
    "mains_power",
    "n_frame_to_measure",
    "outlets_of",
    "priced_wires",
    "rail_part",
    "ready_rails",
    "search_feeds",
    "size_for",
    "smallest_fuse",
    "with_readings",
    "worst_moment",
    "worst_of",
]

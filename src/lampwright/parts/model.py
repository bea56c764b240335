"""Parts as the rest of the program sees them: SI figures, each with its source."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum


class Status(Enum):
    """How far a figure can be trusted."""

    DATASHEET = "datasheet"
    STANDARD = "standard"
    COMPUTED = "computed"
    COMMON_PRACTICE = "common practice"
    FROM_MEMORY = "from memory"
    MAKER = "maker"
    """Stated or measured by the maker in the piece file."""
    JUDGEMENT = "judgement"
    """Our own guess, such as of a price: good for a first sum, to be replaced by the maker's own."""
    MEASURED = "measured"
    """Fitted to the maker's own meter readings."""


@dataclass(frozen=True)
class Figure:
    """A number in SI units, the text it was given as, and where it comes from."""

    value: float
    text: str
    status: Status
    source: str


@dataclass(frozen=True)
class Window:
    """Shortest, typical and longest allowed duration. [s]"""

    least: float
    typical: float
    most: float


@dataclass(frozen=True)
class LineTiming:
    """How a pixel reads its data line. [s]"""

    zero_high: Window
    zero_low: Window
    one_high: Window
    one_low: Window
    latch: float
    """Shortest low time that ends a frame; the catalogue takes the longest of the part's generations."""


@dataclass(frozen=True)
class Strip:
    """Pixel strip, by the metre."""

    name: str
    title: str
    pixel: str
    density: Figure  # [1/m]
    order: str
    """Colour order on the line, such as "GRB"."""
    has_second_data: bool
    """Whether a second data line bridges one dead pixel."""
    timing: LineTiming
    timing_source: str
    red_current: Figure  # full on [A]
    green_current: Figure  # full on [A]
    blue_current: Figure  # full on [A]
    white_red: Figure  # share of full drive at which the three together look white [1]
    white_green: Figure
    white_blue: Figure
    quiescent_current: Figure  # all channels dark, per pixel [A]
    supply_least: Figure  # lowest voltage at which colours hold [V]
    supply_most: Figure  # absolute maximum [V]
    red_forward: Figure  # voltage across the light itself at full current [V]
    green_forward: Figure
    blue_forward: Figure
    headroom: Figure  # what a channel's current sink needs besides the light [V]
    channel_resistance: Figure  # how a channel's current falls once it lacks headroom [ohm]
    input_capacitance: Figure  # of the data input, greatest [F]
    supply_floor: Figure  # below this the chip itself goes off [V]
    rail_resistance: Figure  # one rail [ohm/m]
    mass: Figure  # [kg/m]


@dataclass(frozen=True)
class Pack:
    """Battery pack with a regulated 5 V output."""

    name: str
    title: str
    charge: Figure  # rated, at cell voltage [C]
    cell_voltage: Figure  # [V]
    output_voltage: Figure  # [V]
    efficiency: Figure  # of the converter, at its best load [1]
    current_limit: Figure  # continuous, at the output in use [A]
    total_limit: Figure  # continuous, of all its outputs together [A]
    output_tolerance: Figure  # by how much the outputs of two alike may be off what is stated [1]
    shutoff_current: Figure  # below this the pack may switch itself off [A]
    shutoff_delay: Figure  # after this long [s]
    charge_power: Figure  # what it takes from its charger [W]
    charge_efficiency: Figure  # share of the charger's energy that the cells keep, the slow end of charging in it [1]
    load_efficiency: tuple[tuple[float, float], ...]
    """(share of the current limit, share of the best efficiency), rising in load [1]."""
    load_source: str
    cold_capacity: tuple[tuple[float, float], ...]
    """(temperature [K], share of rated capacity [1]), rising in temperature."""
    cold_source: str
    age_capacity: tuple[tuple[float, float], ...]
    """(full cycles, share of rated capacity [1]), rising in cycles."""
    age_source: str
    mass: Figure  # [kg]


@dataclass(frozen=True)
class Supply:
    """Closed unit, listed or certified, that makes 5 V of the mains."""

    name: str
    title: str
    ip: str
    """Its code by IEC 60529, such as "IP20"."""
    protection: str
    """Its class of protection against electric shock by IEC 61140: "class I" needs a protective earth."""
    output_voltage: Figure  # [V]
    output_tolerance: Figure  # by how much it may be off what is stated [1]
    load_regulation: Figure  # share of its voltage that is lost at its rating [1]
    current_limit: Figure  # rated, continuous [A]
    overload: Figure  # where it limits itself, most, as a share of its rating [1]
    efficiency: Figure  # from the mains to its output [1]
    full_up_to: Figure  # air around it up to which the rating holds [K]
    works_from: Figure  # air from which it starts [K]
    mass: Figure  # [kg]

    @property
    def fault_current(self) -> float:
        """What it gives into a short at most, on and on. [A]"""
        return self.current_limit.value * self.overload.value


@dataclass(frozen=True)
class Port:
    """What a standard lets an output give: by its socket and by what it advertises."""

    name: str
    title: str
    current_limit: Figure  # [A]
    voltage_least: Figure  # at the port, under load [V]
    voltage_most: Figure  # [V]


@dataclass(frozen=True)
class Board:
    """Controller board, described by its chip, supply and clock."""

    name: str
    title: str
    chip: str
    """Lower case, such as "atmega328p"."""
    clock: Figure  # [Hz]
    clock_tolerance: Figure  # worst relative error of the clock [1]
    supply: Figure  # [V]
    supply_tolerance: Figure  # worst relative error of the board's own regulator [1]
    ram: Figure  # [byte]
    flash: Figure  # [byte]
    eeprom: Figure  # [byte]
    stack_reserve: Figure  # RAM to leave free for the stack [byte]
    current: Figure  # whole board, running [A]
    brown_out: Figure  # level set by the fuses [V]
    drive_resistance: Figure  # of a pin that drives a data line, greatest [ohm]
    pins: tuple[str, ...]
    """Port pins that may drive a data line, such as "PD6"."""


@dataclass(frozen=True)
class Wire:
    """Copper wire by gauge (AWG) or cross-section (mm²)."""

    name: str
    title: str
    area: Figure  # [m²]
    resistance: Figure  # one conductor at 20 °C [ohm/m]
    ampacity: Figure  # [A]


@dataclass(frozen=True)
class Tube:
    """Round tube that members are made of."""

    name: str
    title: str
    outside: Figure  # diameter [m]
    wall: Figure  # [m]
    mass: Figure  # [kg/m]
    yield_stress: Figure  # least, of the alloy as sold [Pa]
    modulus: Figure  # of elasticity [Pa]


@dataclass(frozen=True)
class Cord:
    """Cord or wire rope that carries a span."""

    name: str
    title: str
    diameter: Figure  # [m]
    mass: Figure  # [kg/m]
    strength: Figure  # least breaking load, without knots [N]
    stretch: Figure  # share by which it is longer when it breaks [1]
    knot_loss: Figure  # share of its strength that a knot or a clamp costs [1]


@dataclass(frozen=True)
class CableTie:
    """Cable tie that holds cord or strip to tube."""

    name: str
    title: str
    strength: Figure  # least pull at which its loop opens, new [N]
    kept: Figure  # share of that left after heat, cold and damp, by its type [1]
    mass: Figure  # [kg]


@dataclass(frozen=True)
class Fuse:
    """Blade fuse."""

    name: str
    title: str
    rating: Figure  # [A]
    voltage: Figure  # [V]


@dataclass(frozen=True)
class Capacitor:
    """Bulk capacitor across the supply at the head of a run."""

    name: str
    title: str
    capacitance: Figure  # nominal [F]
    tolerance: Figure  # by which it may be less [1]
    voltage: Figure  # [V]
    series_resistance: Figure  # its own, in series, least [ohm]


@dataclass(frozen=True)
class Resistor:
    """Resistor between a board's pin and a data line."""

    name: str
    title: str
    resistance: Figure  # nominal [ohm]
    tolerance: Figure  # [1]
    power: Figure  # [W]


@dataclass(frozen=True)
class Connector:
    """Plug and socket, as a pair."""

    name: str
    title: str
    poles: int
    current: Figure  # of each contact [A]
    contact: Figure  # resistance of each contact [ohm]
    mass: Figure  # of the pair [kg]


@dataclass(frozen=True)
class Diode:
    """Diode between a pack and the rail that it shares."""

    name: str
    title: str
    forward: Figure  # voltage lost at full current [V]
    current: Figure  # mean [A]
    reverse: Figure  # voltage that it holds back [V]
    mass: Figure  # [kg]

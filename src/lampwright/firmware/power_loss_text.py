"""Values for the templates of what a loss of power does: minutes.h, minutes.cpp, and lines of other files."""

from __future__ import annotations

from lampwright.parts.model import Board
from lampwright.show.model import CircuitShow
from lampwright.units.write import format_quantity

ENTRY_BYTES = 8
"""Of one entry in EEPROM: sequence 2, minute 2, check word 4."""

EEPROM_WRITE = 3.4e-3
"""Erase and write of one byte (ATmega328P datasheet, EEPROM, from memory). [s]"""


def minute_entries(board: Board) -> int:
    """Return how many entries the ring has: the largest power of two that the EEPROM holds."""
    return 1 << (round(board.eeprom.value) // ENTRY_BYTES).bit_length() - 1


def over_minute(show: CircuitShow) -> int:
    """Return the full minute, counted from power-on, from which a loss of power begins a new countdown."""
    return -(-show.goes_on_until * show.frame_ms // 60_000)


def minutes_values(mark: int, show: CircuitShow, board: Board) -> dict[str, object]:
    """Return each ``@{value}`` of minutes.h and minutes.cpp."""
    return {
        "forget_ms": round(ENTRY_BYTES * EEPROM_WRITE * 1000),
        "n_entry": minute_entries(board),
        "show_mark": f"0x{mark:08x}",
        "over_minute": over_minute(show),
        "over_text": format_quantity(over_minute(show) * 60, "time"),
    }


_NEW_COUNTDOWN = """\
// Without a kept clock, as after a loss of power, a new countdown begins.
static uint32_t frame_without_kept_clock()
{
    return 0;
}"""

_LAST_MINUTE = """\
// Without a kept clock, as after a loss of power, the show goes on with its last full minute. The
// reset button alone begins a new countdown.
static uint32_t frame_without_kept_clock()
{
    if ((reset_cause & (1 << EXTRF | 1 << PORF)) == 1 << EXTRF) {
        forget_minutes();
        return 0;
    }
    return frame_of_kept_minute();
}"""


def clock_lines(show: CircuitShow) -> dict[str, object]:
    """Return the values of clock.cpp that depend on what a loss of power does."""
    if not show.goes_on_until:
        return {
            "include_minutes": "",
            "frame_without_kept_clock": _NEW_COUNTDOWN,
            "power_on_meaning": "    // Power-on and the reset button start a new countdown.",
            "is_new": "reset_cause & (1 << PORF | 1 << EXTRF)",
        }
    return {
        "include_minutes": '#include "minutes.h"\n\n',
        "frame_without_kept_clock": _LAST_MINUTE,
        "power_on_meaning": "    // The reset button starts a new countdown. A power-on goes on, with the kept clock\n"
        "    // where power was away so shortly that RAM held it.",
        "is_new": "(reset_cause & (1 << EXTRF | 1 << PORF)) == 1 << EXTRF",
    }


def main_lines(show: CircuitShow) -> dict[str, object]:
    """Return the values of main.cpp that depend on what a loss of power does."""
    is_kept = bool(show.goes_on_until)
    return {
        "minutes_listed": "//   minutes.h/cpp  the show's minute, kept through a loss of power\n" if is_kept else "",
        "include_minutes": '#include "minutes.h"\n' if is_kept else "",
        "read_minutes": "    read_minutes();\n" if is_kept else "",
        "count_minutes": "    count_minutes_from(number);\n" if is_kept else "",
        "keep_minute": "        keep_minute(number);\n" if is_kept else "",
    }


def resets_text(show: CircuitShow) -> str:
    """Return what FLASHING.md says of resets and of a loss of power."""
    if not show.goes_on_until:
        return """\
Switching on and the reset button start a new countdown; the watchdog and a dip of the supply resume the show where it
would be. A full loss of power starts a new countdown (`after_power_loss = "count down again"`)."""
    over = format_quantity(over_minute(show) * 60, "time")
    return f"""\
This firmware **goes on after a loss of power** (`after_power_loss = "go on"`). Tell the crew:

- **Press the reset button at the start of each evening, after switching on.** That begins a new countdown and forgets
  the evening before. Without it, switching on goes on with the last minute that was kept. The countdown's flashing
  pixels show that it took. A board in a closed box needs a button outside, between reset and ground.
- Power lost and back: the show goes on with its last full minute, up to a minute before where it was. The chip can't
  know how long the dark lasted: this circuit is then behind the others by the dark and up to a minute. If all shall
  run together again, press reset on all of them, and stand the countdown.
- Lost so shortly that its memory held: it goes on where it was.
- {over} after its countdown began the evening counts as over; switching on after that begins a new countdown.
- The watchdog and a dip of the supply resume the show where it would be, as always.
- Writing other firmware forgets everything. A boot loader left in place hides the button from the firmware: remove it,
  as step 2 does."""

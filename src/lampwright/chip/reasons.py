"""Why a run can't go on, in words."""

from __future__ import annotations

from lampwright.chip import state
from lampwright.chip.registers import ChipMap

_FIXED = {
    state.STOP_UNKNOWN: "the program reached something that is no defined instruction of this chip",
    state.STOP_ERASED: "the program ran into erased flash",
    state.STOP_BEYOND: "the program ran beyond the flash",
    state.STOP_BREAK: "the program reached BREAK, which hands over to a debugger",
    state.STOP_SELF_WRITE: "the program writes its own flash (SPM), which is not modelled",
}


def reason_text(chip: ChipMap, reason: int, address: int, value: int) -> str:
    """Return the sentence for a reason (``state.STOP_...``), the data address and the value written."""
    if reason in _FIXED:
        return _FIXED[reason]
    if reason == state.STOP_STACK:
        return f"the stack left RAM: its pointer was {address:#06x}"
    if reason == state.STOP_FLASH_READ:
        return f"the program reads flash byte {address:#06x}, beyond the flash"
    name = chip.name_of(address)
    if reason == state.STOP_READ:
        return f"the program reads {name}, which is not modelled"
    if reason == state.STOP_WRITE:
        return f"the program writes {value:#04x} to {name}, which is not modelled"
    if reason == state.STOP_FLOATING:
        pins = ", ".join(str(bit) for bit in range(8) if value >> bit & 1)
        return f"the program reads {name} while nothing drives its bits {pins}"
    if reason == state.STOP_SWITCHED_OFF:
        timer = next(letter for letter in name if letter.isdigit())
        return f"the program uses {name} while PRR switches Timer{timer} off"
    if reason == state.STOP_EEPROM_BUSY:
        return f"the program uses {name} while an EEPROM write is going on"
    return f"the program uses data address {name}"

"""The whole state of an emulated chip, in a few arrays, so that it can be copied and gone back to.

The core's byte arrays hold 0 to 255 in signed 64-bit elements: numba would turn a sum of an
unsigned byte and a signed word into floating point, and narrower signed elements made the
core compile for twice as long.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Longs = NDArray[np.int64]
Bytes = NDArray[np.int64]
Packed = NDArray[np.uint8]

RAM_START = 0x100
RAM_END = 0x8FF
"""Lowest and highest RAM address of the ATmega328P. [byte]"""

FLASH_WORDS = 0x4000

# fields of `scalar` -----------------------------------------------------------------------
CYCLE = 0  # since power-on [cycle]
PROGRAM_COUNTER = 1  # [flash word]
SLEEPING = 2  # AWAKE, IDLE or POWER_DOWN
SLEPT_FROM = 3  # [cycle]
HUNG = 4
HOLD = 5  # one more instruction runs before an interrupt may
RESET_WANTED = 6  # bits of MCUSR to set, 0 for no reset
START_UP = 7  # from a reset to the first instruction [cycle]
WAKE_UP = 8  # from a wake-up out of power-down to going on [cycle]

STOP = 9  # why the run can't go on; RUNNING while it can
STOP_ADDRESS = 10  # data-space address that was touched
STOP_VALUE = 11

DRAIN = 12  # finished frames must be taken out before going on
GROW = 13  # the buffers of frames still open must grow
N_FINISHED = 14
FINISHED_BYTES = 15

TIMER_SYNC = 16  # Timer1's fields hold at this cycle
TIMER_COUNT = 17
TIMER_DIVIDER = 18  # 0 while stopped
TIMER_IS_CTC = 19
TIMER_BLOCKED = 20  # a write to TCNT1 blocks a match in the next tick
TIMER_TEMP = 21
PRESCALER_ORIGIN = 22  # cycle at which the prescaler stood at 0

WATCHDOG_ORIGIN = 24  # cycle of the last WDR
WATCHDOG_UNLOCKED = 25  # last cycle of the timed sequence
CLOCK_UNLOCKED = 26

EEPROM_BUSY = 27  # a write ends at this cycle
EEPROM_UNLOCKED = 28
EEPROM_PAUSE = 29  # cycles for which the core stands still after this access
EEPROM_WRITE = 30  # time of an erase and write [cycle]
EEPROM_HALF = 31  # time of an erase only or a write only [cycle]

AWAKE_SINCE = 44  # [cycle]
LONGEST_AWAKE = 45  # from waking up, or a reset, to falling asleep [cycle]

WATCHED = 32  # 3 fields: watched bits of ports B, C, D
OUTPUT = 35  # 3 fields: levels driven
PIN_BEFORE = 38  # 3 fields: what the input synchroniser still shows
PIN_CHANGED = 41  # 3 fields: since when it shows something else [cycle]

WATCHDOG_PERIOD = 48  # 10 fields: time-out for each prescaler setting [cycle]
N_SCALAR = 64

AWAKE, IDLE, POWER_DOWN = range(3)

(
    RUNNING,
    STOP_UNKNOWN,
    STOP_ERASED,
    STOP_BEYOND,
    STOP_STACK,
    STOP_MEMORY,
    STOP_READ,
    STOP_WRITE,
    STOP_FLOATING,
    STOP_SWITCHED_OFF,
    STOP_BREAK,
    STOP_SELF_WRITE,
    STOP_EEPROM_BUSY,
    STOP_FLASH_READ,
) = range(14)

# fields of each row of `lines` ---------------------------------------------------------------
PORT = 0  # 0 for B, 1 for C, 2 for D
BIT = 1
IS_OPEN = 2  # a frame has begun and its latch hasn't passed
ROSE = 3  # [cycle]
FELL = 4  # [cycle]
BEGAN = 5  # [cycle]
N_BIT = 6
SHIFT = 7  # the last bits, up to 8
VALUE = 8  # the last bit
N_FRAME = 9  # finished
THRESHOLD = 10  # a longer high is a one [cycle]
LATCH = 11  # [cycle]
SHORTEST_LATCH = 12
TOTAL_BITS = 13
N_BREACH = 14
FIRST_HALF = 15
FIRST_CYCLES = 16
FIRST_FRAME = 17
FIRST_BIT = 18
LEAST = 20  # 4 fields each, in the order of HALVES [cycle]
MOST = 24
SHORTEST = 28
LONGEST = 32
N_LINE_FIELD = 36

HALVES = ("zero high", "zero low", "one high", "one low")
NEVER = 1 << 62
"""A cycle that doesn't come."""

# columns of `finished` -----------------------------------------------------------------------
FRAME_LINE, FRAME_BEGAN, FRAME_ENDED, FRAME_BITS, FRAME_OFFSET = range(5)


class ChipState(NamedTuple):
    """Everything that a run changes, and what it reads."""

    scalar: Longs  # (N_SCALAR,)
    memory: Bytes  # (0x900,) registers, I/O, RAM
    eeprom: Bytes  # (n_byte,)
    lines: Longs  # (n_line, N_LINE_FIELD)
    open_data: Packed  # (n_line, n_byte) of frames not yet finished
    finished: Longs  # (n_frame, 5)
    finished_data: Packed  # (n_byte,) of finished frames, one after the other
    code: Longs  # decoded program, see decode.py
    flash: Bytes  # (n_byte,)
    rules: Bytes  # (3, 0x100) how each register is modelled, see registers.py

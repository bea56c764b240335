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

N_PORT = 11
"""Ports A to L; there is no I."""

# fields of `scalar` -----------------------------------------------------------------------
CYCLE = 0  # since power-on [cycle]
PROGRAM_COUNTER = 1  # [flash word]
SLEEPING = 2  # AWAKE, IDLE, NOISE_REDUCTION, STANDBY or POWER_DOWN
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

TIMER1 = 16  # 5 fields, see TIMER_SYNC
TIMER_TEMP = 21  # of Timer1's 16-bit registers
PRESCALER_ORIGIN = 22  # cycle at which the prescaler of both timers stood at 0
LOWEST_STACK = 23  # lowest stack pointer so far

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

WATCHDOG_PERIOD = 48  # 10 fields: time-out for each prescaler setting [cycle]
TIMER0 = 60  # 5 fields, see TIMER_SYNC
N_WATCHDOG_RESET = 69  # resets by the watchdog so far
HELD = 70  # for which the coming reset holds the chip before it starts up [cycle]

# what a chip is, set once
FIRST_RAM = 65  # lowest RAM address
LAST_RAM = 66
IS_WIDE = 67  # 1 where the program counter takes three bytes on the stack, else 0
MATCH_C_FLAG = 68  # of TIFR1, 0 where there is none
VECTORS = 72  # 8 fields, in the order of SOURCES: number of each interrupt's vector
INPUT_OFF = 80  # 2 fields, DIDR0 and DIDR1: the port whose inputs it switches off, -1 for none
INPUT_OFF_SHIFT = 82  # 2 fields

# one field for each port
PORT_PINS = 96  # bits that have a pin
READS_LOW = PORT_PINS + N_PORT  # bits that always read as low
READS_HIGH = READS_LOW + N_PORT  # bits that are pulled high from inside
WATCHED = READS_HIGH + N_PORT  # bits that data lines are on
OUTPUT = WATCHED + N_PORT  # levels driven
PIN_BEFORE = OUTPUT + N_PORT  # what the input synchroniser still shows
PIN_CHANGED = PIN_BEFORE + N_PORT  # since when it shows something else [cycle]
N_SCALAR = PIN_CHANGED + N_PORT

SOURCES = (
    *("watchdog", "timer1_compare_a", "timer1_compare_b", "timer1_overflow"),
    *("timer0_compare_a", "timer0_compare_b", "timer0_overflow", "eeprom_ready"),
)
"""Interrupts by rising vector number, as all chips have them."""
(
    WATCHDOG_SOURCE,
    TIMER1_A_SOURCE,
    TIMER1_B_SOURCE,
    TIMER1_OVERFLOW_SOURCE,
    TIMER0_A_SOURCE,
    TIMER0_B_SOURCE,
    TIMER0_OVERFLOW_SOURCE,
    EEPROM_SOURCE,
) = range(8)

# counted from TIMER0 or TIMER1
TIMER_SYNC = 0  # the other fields hold at this cycle
TIMER_COUNT = 1
TIMER_DIVIDER = 2  # 0 while stopped
TIMER_IS_CTC = 3
TIMER_BLOCKED = 4  # a write to the count blocks a match in the next tick
N_TIMER_FIELD = 5

AWAKE, IDLE, NOISE_REDUCTION, STANDBY, POWER_DOWN = range(5)
"""Beyond IDLE, timers 0 and 1 stand still; from STANDBY on, only the watchdog wakes the chip."""

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
PORT = 0  # counted from A; there is no I
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
N_BREACH = 13  # without the halves of N_LIKE_LAST
HAS_BREACH = 14
FIRST_HALF = 15
FIRST_CYCLES = 16
FIRST_FRAME = 17
FIRST_BIT = 18
LEAST = 20  # 4 fields each, in the order of HALVES [cycle]
MOST = 24
SHORTEST = 28
LONGEST = 32
LAST = 36  # -1 before the first
N_LIKE_LAST = 40  # how many in a row took as long as the last
LENGTHS = 44  # 4 times N_LENGTH fields: how many took 0, 1, 2... cycles, without those of N_LIKE_LAST
N_LENGTH = 64
OFF_SCALE = N_LENGTH - 1  # counts all halves of this length or more [cycle]
N_LINE_FIELD = LENGTHS + 4 * N_LENGTH

HALVES = ("zero high", "zero low", "one high", "one low")
NEVER = 1 << 62
"""A cycle that doesn't come."""

# rows of `eeprom` ----------------------------------------------------------------------------
EEPROM_HELD = 0  # what each cell holds
EEPROM_WEAR = 1  # how often each was erased or written

# columns of `finished` -----------------------------------------------------------------------
FRAME_LINE, FRAME_BEGAN, FRAME_ENDED, FRAME_BITS, FRAME_OFFSET = range(5)


class ChipState(NamedTuple):
    """Everything that a run changes, and what it reads."""

    scalar: Longs  # (N_SCALAR,)
    memory: Bytes  # (LAST_RAM + 1,) registers, I/O, RAM
    eeprom: Longs  # (2, n_byte) EEPROM_HELD, EEPROM_WEAR
    lines: Longs  # (n_line, N_LINE_FIELD)
    open_data: Packed  # (n_line, n_byte) of frames not yet finished
    finished: Longs  # (n_frame, 5)
    finished_data: Packed  # (n_byte,) of finished frames, one after the other
    code: Longs  # decoded program, see decode.py
    flash: Bytes  # (n_byte,)
    rules: Bytes  # (3, 0x200) how each register is modelled, see registers.py

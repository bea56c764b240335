"""The data lines: bits and frames out of pin edges, each half bit held against its window."""

from __future__ import annotations

from lampwright.chip import state
from lampwright.chip.compiled import compiled, inlined
from lampwright.chip.state import ChipState, Longs

ZERO_HIGH, ZERO_LOW, ONE_HIGH, ONE_LOW = range(4)
FROM_ZERO_TO_ONE = ONE_HIGH - ZERO_HIGH


@compiled
def change_length(lines: Longs, k: int, half: int, cycles: int, bit: int) -> None:
    """Take in a half bit of line ``k`` that took another time than the last one of its kind."""
    last = lines[k, state.LAST + half]
    if last >= 0:
        lines[k, state.LENGTHS + half * state.N_LENGTH + min(last, state.OFF_SCALE)] += lines[
            k, state.N_LIKE_LAST + half
        ]
        if last < lines[k, state.LEAST + half] or last > lines[k, state.MOST + half]:
            lines[k, state.N_BREACH] += lines[k, state.N_LIKE_LAST + half]
    lines[k, state.LAST + half] = cycles
    lines[k, state.N_LIKE_LAST + half] = 1
    lines[k, state.SHORTEST + half] = min(lines[k, state.SHORTEST + half], cycles)
    lines[k, state.LONGEST + half] = max(lines[k, state.LONGEST + half], cycles)
    is_breach = cycles < lines[k, state.LEAST + half] or cycles > lines[k, state.MOST + half]
    if is_breach and lines[k, state.HAS_BREACH] == 0:
        lines[k, state.HAS_BREACH] = 1
        lines[k, state.FIRST_HALF] = half
        lines[k, state.FIRST_CYCLES] = cycles
        lines[k, state.FIRST_FRAME] = lines[k, state.N_FRAME]
        lines[k, state.FIRST_BIT] = bit


@inlined
def count_half(lines: Longs, k: int, half: int, cycles: int, bit: int) -> None:
    """Count a half bit of line ``k`` by its duration [cycle].

    Halves of a kind nearly always take the same time: only where that changes are they put into the
    table of lengths and held against their window. To do so for each one cost a sixth of the speed.
    """
    if cycles == lines[k, state.LAST + half]:
        lines[k, state.N_LIKE_LAST + half] += 1
    else:
        change_length(lines, k, half, cycles, bit)


@compiled
def finish_frame(chip: ChipState, k: int) -> None:
    """Move line ``k``'s open frame to the finished ones; ask to be drained while there is still room."""
    scalar, lines, finished = chip.scalar, chip.lines, chip.finished
    n_bit = lines[k, state.N_BIT]
    n_byte = (n_bit + 7) >> 3
    offset = scalar[state.FINISHED_BYTES]
    at = scalar[state.N_FINISHED]
    if n_bit & 7:
        chip.open_data[k, n_byte - 1] = lines[k, state.SHIFT] << (8 - (n_bit & 7)) & 0xFF
    for byte in range(n_byte):
        chip.finished_data[offset + byte] = chip.open_data[k, byte]
    finished[at, state.FRAME_LINE] = k
    finished[at, state.FRAME_BEGAN] = lines[k, state.BEGAN]
    finished[at, state.FRAME_ENDED] = lines[k, state.FELL]
    finished[at, state.FRAME_BITS] = n_bit
    finished[at, state.FRAME_OFFSET] = offset
    scalar[state.N_FINISHED] = at + 1
    scalar[state.FINISHED_BYTES] = offset + n_byte
    lines[k, state.N_FRAME] += 1
    lines[k, state.IS_OPEN] = 0
    n_line, capacity = chip.open_data.shape
    # every line may finish one more frame before the core looks up
    room = len(chip.finished_data) - (offset + n_byte)
    if at + 1 + n_line >= len(finished) or room < n_line * capacity:
        scalar[state.DRAIN] = 1


@inlined
def rise(chip: ChipState, k: int, now: int) -> None:
    """Take in a rising edge of line ``k``: it ends a bit's low, or the latch between two frames."""
    lines = chip.lines
    low = now - lines[k, state.FELL]
    is_latched = low >= lines[k, state.LATCH]
    if lines[k, state.IS_OPEN] == 1:
        if is_latched:
            finish_frame(chip, k)
        else:
            # no branch on what the bit is: which way it goes can't be foreseen
            count_half(lines, k, ZERO_LOW + FROM_ZERO_TO_ONE * lines[k, state.VALUE], low, lines[k, state.N_BIT] - 1)
    if lines[k, state.IS_OPEN] == 0:
        if lines[k, state.N_FRAME] > 0 and low < lines[k, state.SHORTEST_LATCH]:
            lines[k, state.SHORTEST_LATCH] = low
        lines[k, state.IS_OPEN] = 1
        lines[k, state.BEGAN] = now
        lines[k, state.N_BIT] = 0
        lines[k, state.SHIFT] = 0
    lines[k, state.ROSE] = now


@inlined
def fall(chip: ChipState, k: int, now: int) -> None:
    """Take in a falling edge of line ``k``: it ends a bit's high, which says what the bit is."""
    lines = chip.lines
    high = now - lines[k, state.ROSE]
    value = int(high > lines[k, state.THRESHOLD])
    n_bit = lines[k, state.N_BIT]
    count_half(lines, k, ZERO_HIGH + FROM_ZERO_TO_ONE * value, high, n_bit)
    shift = (lines[k, state.SHIFT] << 1 | value) & 0xFF
    n_bit += 1
    if n_bit & 7 == 0:
        chip.open_data[k, (n_bit >> 3) - 1] = shift
        if (n_bit >> 3) + 2 > chip.open_data.shape[1]:
            chip.scalar[state.GROW] = 1
    lines[k, state.SHIFT] = shift
    lines[k, state.N_BIT] = n_bit
    lines[k, state.VALUE] = value
    lines[k, state.FELL] = now


@inlined
def take_edges(chip: ChipState, port: int, level: int, now: int) -> bool:
    """Take in new levels of a port (counted from A), driven from cycle ``now`` on.

    Returns whether a buffer must be seen to before the core goes on.
    """
    scalar, lines = chip.scalar, chip.lines
    changed = (scalar[state.OUTPUT + port] ^ level) & scalar[state.WATCHED + port]
    scalar[state.OUTPUT + port] = level
    if changed == 0:
        return False
    for k in range(len(lines)):
        if lines[k, state.PORT] == port and changed >> lines[k, state.BIT] & 1:
            if level >> lines[k, state.BIT] & 1:
                rise(chip, k, now)
            else:
                fall(chip, k, now)
    return bool(scalar[state.DRAIN] | scalar[state.GROW] != 0)


@compiled
def drive_port(chip: ChipState, port: int, level: int, now: int) -> None:
    """Drive a port to new levels from cycle ``now`` on, where it is no matter how long that takes to run."""
    take_edges(chip, port, level, now)


@compiled
def finish_latched(chip: ChipState, now: int) -> None:
    """Finish the frames whose latch time has passed by cycle ``now``."""
    scalar, lines = chip.scalar, chip.lines
    for k in range(len(lines)):
        is_low = scalar[state.OUTPUT + lines[k, state.PORT]] >> lines[k, state.BIT] & 1 == 0
        is_latched = now - lines[k, state.FELL] >= lines[k, state.LATCH]
        if lines[k, state.IS_OPEN] == 1 and is_low and is_latched and lines[k, state.N_BIT] > 0:
            finish_frame(chip, k)

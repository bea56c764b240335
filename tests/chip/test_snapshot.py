"""Whether a run that was saved and gone back to is the run that it would have been."""

from __future__ import annotations

import dataclasses
import pickle

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lampwright.chip import EmulatedChip, ResetCause
from tests.chip.assembler import CLOCK_HZ, DATA_LINE, assemble
from tests.chip.test_lines import PIXELS, program

# sends pixels while a timer interrupt stretches some bits, a watchdog is running and the EEPROM is written
BUSY = """
    rjmp main
    .org 11 * 4
    subi r28, 0xfd
    sbci r29, 0xff
    wdr
    reti
main:
    put WDTCSR, (1 << WDCE) | (1 << WDE)
    put WDTCSR, (1 << WDE) | 3
    put EEARL, 5
    put EEARH, 1
    put EEDR, 0x77
    sbi IO(EECR), EEMPE
    sbi IO(EECR), EEPE
    put OCR1AH, 0x02
    put OCR1AL, 211
    put TCCR1B, (1 << WGM12) | 1
    put TIMSK1, 1 << OCIE1A
    sei
"""
IMAGE = assemble(BUSY + program(PIXELS, pause=1300))
LONGEST = 2_300_000  # [cycle] a little more than the watchdog's 128 ms


def busy_chip() -> EmulatedChip:
    """Return a chip at power-on with the busy program."""
    return EmulatedChip(IMAGE, CLOCK_HZ, [DATA_LINE])


def everything(chip: EmulatedChip) -> list[object]:
    """Return all that can be seen of a chip; takes its frames."""
    frames = chip.take_frames()
    seen = [getattr(frames, field.name).tolist() for field in dataclasses.fields(frames)]
    return [chip.cycle, chip.program_address, chip.memory, chip.eeprom, chip.report(0), chip.longest_awake, *seen]


@settings(max_examples=40, deadline=None)
@given(
    saved_at=st.integers(1, 150_000),
    astray=st.integers(0, 150_000),
    cause=st.sampled_from([*ResetCause, None]),
    onward=st.integers(1, 100_000),
)
def test_a_run_gone_back_to_equals_one_that_was_left_alone(
    saved_at: int, astray: int, cause: ResetCause | None, onward: int
) -> None:
    undisturbed, disturbed = busy_chip(), busy_chip()
    for chip in (undisturbed, disturbed):
        chip.run(saved_at)
    snapshot = disturbed.save()
    disturbed.run(disturbed.cycle + astray)
    if cause is not None:
        disturbed.reset(cause)
    disturbed.hang()
    disturbed.take_frames()
    disturbed.run(disturbed.cycle + LONGEST)
    disturbed.restore(snapshot)
    until = undisturbed.cycle + onward
    for chip in (undisturbed, disturbed):
        chip.run(until)
        chip.reset(ResetCause.POWER_ON)
    assert everything(disturbed) == everything(undisturbed)


def test_a_fork_and_its_origin_go_separate_ways() -> None:
    origin, alone = busy_chip(), busy_chip()
    origin.run(60_000)
    fork = origin.fork()
    fork.hang()
    fork.run(60_000 + LONGEST)
    assert fork.memory != origin.memory
    for chip in (origin, alone):
        chip.run(200_000)
    assert everything(origin) == everything(alone)


def test_a_fork_knows_the_frames_that_its_origin_had_not_yet_given_away() -> None:
    origin = busy_chip()
    origin.run(100_000)
    fork = origin.fork()
    assert len(origin.take_frames().line) > 2
    assert len(fork.take_frames().line) > 2
    assert len(fork.take_frames().line) == 0


def test_a_snapshot_can_be_sent_to_another_process() -> None:
    origin, other = busy_chip(), busy_chip()
    origin.run(100_000)
    snapshot = origin.save()
    other.restore(pickle.loads(pickle.dumps(snapshot)))
    assert snapshot.cycle == origin.cycle
    assert everything(other) == everything(origin)


def test_a_snapshot_is_small_and_cannot_be_changed() -> None:
    chip = busy_chip()
    chip.run(100_000)
    chip.take_frames()
    snapshot = chip.save()
    assert snapshot.n_byte < 50_000
    with pytest.raises(ValueError, match=r"^assignment destination is read-only$"):
        snapshot.memory[0] = 1


def test_a_frame_longer_than_the_buffer_survives_going_back() -> None:
    endless = EmulatedChip(assemble(program(bytes(250), pause=1)), CLOCK_HZ, [DATA_LINE])
    endless.run(10_000)
    early = endless.save()
    endless.run(60 * 8 * 250 * 24)
    late = endless.save()
    for snapshot in (early, late, early, late):
        endless.restore(snapshot)
        endless.reset(ResetCause.EXTERNAL)
        endless.hang()
        endless.run(endless.cycle + 10_000)
        frames = endless.take_frames()
        assert frames.n_bit.tolist() == [endless.report(0).n_bit]
    assert frames.n_bit[0] > 8 * 10_000


def test_noise_of_a_power_on_can_be_another_each_time() -> None:
    chip = busy_chip()
    chip.run(1000)
    snapshot = chip.save()
    memories = []
    for seed in (None, None, 1, 2):
        chip.restore(snapshot, noise_seed=seed)
        chip.reset(ResetCause.POWER_ON)
        memories.append(chip.memory)
    assert memories[0] == memories[1]
    assert len(set(memories)) == 3


def test_a_snapshot_of_another_program_is_refused() -> None:
    other = EmulatedChip(assemble("rjmp .-2"), CLOCK_HZ, [DATA_LINE])
    message = "the snapshot was taken with another program, clock or lines"
    with pytest.raises(ValueError, match=f"^{message}$"):
        busy_chip().restore(other.save())


def test_ram_can_be_spoiled_and_nothing_else() -> None:
    chip = busy_chip()
    chip.write_ram(0x8F0, bytes(range(16)))
    assert chip.read_ram(0x8F1, 3) == b"\x01\x02\x03"
    for address in (0xFF, 0x8F1):
        with pytest.raises(ValueError, match=f"^16 bytes at {address:#06x} are not all RAM$"):
            chip.write_ram(address, bytes(16))

"""Whether what the strip would receive is what the bench says it received."""

from __future__ import annotations

import numpy as np
import pytest

from lampwright.chip import BitWindows, Line, ResetCause, TimingBreach
from tests.chip.assembler import DATA_LINE, SENDER, WINDOWS, chip_with

# sends `length` bytes from flash table `pixels`, over and over, with a pause in between
PROGRAM = """
    ldi r16, 0x40
    out IO(DDRD), r16
again:
    ldi r30, lo8(pixels)
    ldi r31, hi8(pixels)
    ldi r26, 0x00
    ldi r27, 0x02
    ldi r18, {length}
fill:
    lpm r0, Z+
    st X+, r0
    dec r18
    brne fill
    ldi r26, 0x00
    ldi r27, 0x02
    ldi r18, {length}
    rcall send
    ldi r24, lo8({pause})
    ldi r25, hi8({pause})
wait:
    sbiw r24, 1
    brne wait
    rjmp again
"""


def program(data: bytes, pause: int = 2000) -> str:
    """Return a program that sends ``data`` and waits for 4 * ``pause`` cycles."""
    table = "pixels: .byte " + ", ".join(str(byte) for byte in data) + "\n.balign 2\n"
    return PROGRAM.format(length=len(data), pause=pause) + SENDER + table


PIXELS = bytes(range(0, 250, 7))


def test_every_byte_sent_is_the_byte_received() -> None:
    chip = chip_with(program(PIXELS), DATA_LINE)
    chip.run(200_000)
    frames = chip.take_frames()
    assert len(frames.line) > 5
    assert (frames.n_bit == 8 * len(PIXELS)).all()
    assert all(frame.tobytes() == PIXELS for frame in frames.data)


def test_halves_are_measured_to_the_cycle() -> None:
    chip = chip_with(program(PIXELS), DATA_LINE)
    chip.run(100_000)
    report = chip.report(0)
    # counted by hand in the sender, whose 6 cycles between two bytes (dec, breq, rjmp, ld) are those of a rest
    assert report.shortest == {"zero high": 6, "zero low": 14, "one high": 13, "one low": 7}
    assert report.longest == report.shortest
    assert (report.n_breach, report.first_breach) == (0, None)


def test_every_half_is_counted_by_its_length() -> None:
    chip = chip_with(program(PIXELS), DATA_LINE)
    chip.run(100_000)
    chip.run(chip.take_frames().end_cycle[-1] + 40_000)
    while chip.report(0).n_bit % (8 * len(PIXELS)):
        chip.run(chip.cycle + 100)
    chip.run(chip.cycle + 6_000)  # beyond the latch, before the next frame
    report = chip.report(0)
    n_frame = report.n_bit // (8 * len(PIXELS))
    bits = np.tile(np.unpackbits(np.frombuffer(PIXELS, np.uint8)), (n_frame, 1))
    n_one, n_zero = int(bits.sum()), int((1 - bits).sum())
    last = bits[:, -1]  # its low is the latch, no half of a bit
    assert report.lengths == {
        "zero high": {6: n_zero},
        "zero low": {14: n_zero - int((1 - last).sum())},
        "one high": {13: n_one},
        "one low": {7: n_one - int(last.sum())},
    }


def test_halves_of_changing_length_are_all_counted() -> None:
    # the interrupt stretches whatever half it falls into
    jitter = """
        rjmp main
        .org 11 * 4
        reti
    main:
        put OCR1AL, 211
        put TCCR1B, (1 << WGM12) | 1
        put TIMSK1, 1 << OCIE1A
        sei
    """
    chip = chip_with(jitter + program(PIXELS, pause=1300), DATA_LINE)
    chip.run(100_000)
    report = chip.report(0)
    counted = {half: sum(found.values()) for half, found in report.lengths.items()}
    assert counted["zero high"] + counted["one high"] == report.n_bit
    assert report.shortest == {half: min(found) for half, found in report.lengths.items()}
    assert report.longest == {half: max(found) for half, found in report.lengths.items()}
    allowed = {"zero high": (4, 8), "zero low": (12, 16), "one high": (11, 15), "one low": (5, 9)}  # 250 to 550 ns...
    outside = sum(
        count
        for half, (least, most) in allowed.items()
        for length, count in report.lengths[half].items()
        if not least <= length <= most
    )
    assert report.n_breach == outside > 10


def test_halves_beyond_the_scale_are_counted_under_its_end() -> None:
    chip = chip_with(program(b"\xff", pause=400), DATA_LINE)
    chip.run(14 * 1700)
    report = chip.report(0)
    n_byte = report.n_bit // 8
    assert report.lengths["one low"] in ({7: 7 * n_byte, 63: n_byte}, {7: 7 * n_byte, 63: n_byte - 1})
    assert report.longest["one low"] > 1600
    assert report.n_breach == report.lengths["one low"][63]


def test_frames_start_and_end_at_their_edges() -> None:
    chip = chip_with(program(b"\x80\x01"), DATA_LINE)
    chip.run(20_000)
    frames = chip.take_frames()
    # 15 bits of 20 cycles and the last high of 13
    assert set(frames.end_cycle - frames.start_cycle) == {15 * 20 + 13}
    gaps = frames.start_cycle[1:] - frames.end_cycle[:-1]
    assert chip.report(0).shortest_latch == gaps.min()


def test_a_frame_is_complete_once_its_latch_has_passed_and_not_before() -> None:
    chip = chip_with(program(b"\x55", pause=60_000), DATA_LINE)
    chip.run(100)
    while chip.report(0).n_bit < 8:
        chip.run(chip.cycle + 1)
    latch = round(280e-6 * 16e6)
    chip.run(chip.cycle + latch - 20)
    assert len(chip.take_frames().line) == 0
    chip.run(chip.cycle + 40)
    frames = chip.take_frames()
    assert frames.data.tolist() == [[0x55]]
    assert len(chip.take_frames().line) == 0


def test_a_breach_is_named_with_its_half_frame_and_bit() -> None:
    # 0.375 us is too long for a zero here, and every byte's third bit is its first zero
    strict = BitWindows((0.1e-6, 0.3e-6), WINDOWS.zero_low, WINDOWS.one_high, WINDOWS.one_low, WINDOWS.latch)
    chip = chip_with(program(b"\xc0"), Line("D", 6, strict))
    chip.run(20_000)
    report = chip.report(0)
    assert report.first_breach == TimingBreach("zero high", 6, frame=0, bit=2)
    assert report.n_breach == 6 * (report.n_bit // 8)


def test_a_stretched_low_is_a_breach_but_not_a_new_frame() -> None:
    # a low of 100 us, longer than any bit's and shorter than the latch
    chip = chip_with(program(b"\xff", pause=400), DATA_LINE)
    chip.run(14 * 1700)
    report = chip.report(0)
    assert report.first_breach is not None
    assert (report.first_breach.half, report.first_breach.frame, report.first_breach.bit) == ("one low", 0, 7)
    assert len(chip.take_frames().line) == 0
    assert report.n_bit >= 80


def test_a_reset_cuts_a_frame_short() -> None:
    chip = chip_with(program(PIXELS), DATA_LINE)
    chip.run(100)
    while chip.report(0).n_bit < 13:
        chip.run(chip.cycle + 1)
    chip.reset(ResetCause.EXTERNAL)
    chip.run(chip.cycle + 20_000)
    frames = chip.take_frames()
    # start-up follows within the latch time, so the strip takes 13 bits and then the new frame's for one frame
    assert frames.n_bit[0] == 13 + 8 * len(PIXELS)


def test_a_reset_long_before_the_next_frame_leaves_a_truncated_one() -> None:
    chip = chip_with(program(PIXELS), DATA_LINE, start_up=0.065)
    chip.run(100)
    while chip.report(0).n_bit < 13:
        chip.run(chip.cycle + 1)
    chip.reset(ResetCause.BROWN_OUT)
    chip.run(chip.cycle + 20_000)
    frames = chip.take_frames()
    assert frames.n_bit[0] == 13
    bits = np.unpackbits(np.frombuffer(PIXELS, np.uint8))[:13]
    assert np.unpackbits(frames.data[0])[:16].tolist() == [*bits.tolist(), 0, 0, 0]
    assert frames.n_bit[1] == 8 * len(PIXELS)


def test_two_lines_are_heard_apart() -> None:
    chip = chip_with(program(b"\xa5"), Line("B", 0, WINDOWS), DATA_LINE)
    chip.run(30_000)
    assert chip.report(0).n_bit == 0
    assert chip.report(0).shortest == {}
    frames = chip.take_frames()
    assert set(frames.line) == {1}
    assert set(frames.data[:, 0]) == {0xA5}


def test_a_long_run_without_taking_frames_loses_none() -> None:
    chip = chip_with(program(bytes(200), pause=1200), DATA_LINE)
    period = 200 * 8 * 20 + 4800  # and the filling, a little more
    chip.run(9_000 * period)
    frames = chip.take_frames()
    assert len(frames.line) > 7_000
    assert len(set(np.diff(frames.start_cycle).tolist())) == 1  # a lost one would leave a gap
    assert chip.report(0).n_bit // 1600 - len(frames.line) in (0, 1)  # the last may not have latched


def test_a_frame_longer_than_the_buffer_is_kept_whole() -> None:
    endless = PROGRAM.format(length=250, pause=1) + SENDER + "pixels: .fill 250, 1, 0x3c\n"
    chip = chip_with(endless, DATA_LINE)
    chip.run(60 * 8 * 250 * 24)
    chip.reset(ResetCause.EXTERNAL)
    chip.hang()
    chip.run(chip.cycle + 10_000)
    frames = chip.take_frames()
    assert frames.n_bit.tolist() == [chip.report(0).n_bit]
    assert frames.n_bit[0] > 8 * 10_000
    assert set(frames.data[0, : frames.n_bit[0] // 8].tolist()) == {0x3C}


@pytest.mark.parametrize(("port", "bit"), [("A", 0), ("C", 6), ("D", 8), ("", 1), ("BC", 1)])
def test_a_line_that_is_no_pin_is_refused(port: str, bit: int) -> None:
    with pytest.raises(ValueError, match=f'^the chip has no data pin "P{port}{bit}"$'):
        chip_with("rjmp .-2", Line(port, bit, WINDOWS))


def test_running_in_small_steps_changes_nothing() -> None:
    busy = """
        rjmp main
        .org 11 * 4
        subi r28, 0xfd
        sbci r29, 0xff
        reti
    main:
        put OCR1AL, 211
        put TCCR1B, (1 << WGM12) | 1
        put TIMSK1, 1 << OCIE1A
        sei
    """
    text = busy + program(PIXELS, pause=1300)
    at_once, stepped = (chip_with(text, DATA_LINE) for _ in range(2))
    while stepped.cycle < 150_000:
        stepped.run(stepped.cycle + 7)
    at_once.run(stepped.cycle)
    assert (at_once.cycle, at_once.memory) == (stepped.cycle, stepped.memory)
    assert at_once.report(0) == stepped.report(0)
    assert at_once.report(0).n_breach > 0  # the interrupts stretch some bits, the same ones in both
    assert at_once.take_frames().data.tolist() == stepped.take_frames().data.tolist()

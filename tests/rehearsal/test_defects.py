"""A firmware that would ruin the evening fails its rehearsal, and the rehearsal says why."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

from tests.rehearsal.conftest import Outcome, replace

Rehearse = Callable[..., Outcome]


def test_untouched_firmware_passes_every_check(rehearse_small: Rehearse) -> None:
    outcome = rehearse_small()
    assert outcome.failed == {}
    assert outcome.seen.n_frame == 2400 + 480
    assert outcome.seen.resume is not None
    assert outcome.seen.resume.n_compared >= 120


def test_a_constant_changed_by_hand_in_a_look_is_named_with_frame_and_pixel(rehearse_small: Rehearse) -> None:
    def edit(folder: Path) -> None:
        file = folder / "looks.h"
        text = file.read_text()
        found = re.search(r"const uint16_t level = .*? \+ (\d+)u?;", text)
        assert found is not None, "the look's level isn't where this test expects it"
        changed = found.group(0).replace(f"+ {found.group(1)}", f"+ {int(found.group(1)) + 600}")
        file.write_text(text.replace(found.group(0), changed))

    finding = rehearse_small(edit).failed["REHEARSAL-002"]
    # The first cue fades in from darkness: the change shows as soon as the fade lets it.
    found = re.fullmatch(
        r'frame (\d+) \((6\d.* s) after power-on\), run "strip", pixel (\d+): '
        r"sent red, green, blue (\d+), (\d+), (\d+); meant (\d+), (\d+), (\d+)",
        finding.value,
    )
    assert found is not None, finding.value
    assert 2400 < int(found.group(1)) < 2440
    assert found.groups()[3:6] != found.groups()[6:9]


def test_a_bit_made_too_short_is_named_with_its_window(rehearse_small: Rehearse) -> None:
    def edit(folder: Path) -> None:
        file = folder / "sender.h"
        changed, count = re.subn(r"(%\[high\] .*\n\s*)PAUSE_2 PAUSE_2", r"\1", file.read_text())
        assert count == 1, "the pause before a zero falls isn't where this test expects it"
        file.write_text(changed)

    failed = rehearse_small(edit).failed
    assert failed["REHEARSAL-003"].value.startswith("zero high 125 ns in frame 0, bit ")
    assert failed["REHEARSAL-003"].limit == "250 to 550 ns"


def test_a_watchdog_that_nobody_feeds_is_caught(rehearse_small: Rehearse) -> None:
    finding = rehearse_small(replace("main.cpp", "wdt_reset();", "")).failed["REHEARSAL-012"]
    assert re.fullmatch(r"\d+ times in \d+\.\d s", finding.value), finding.value


def test_interrupts_left_off_are_caught(rehearse_small: Rehearse) -> None:
    failed = rehearse_small(replace("main.cpp", '"sei \\n\\t sleep"', '"sleep"')).failed
    assert failed["REHEARSAL-001"].value.startswith("the data line stays silent")
    assert "interrupts on" in failed["REHEARSAL-012"].do


def test_a_bit_made_too_long_is_named_with_its_window(rehearse_small: Rehearse) -> None:
    def edit(folder: Path) -> None:
        file = folder / "sender.h"
        changed, count = re.subn(r"(%\[high\] .*\n\s*)PAUSE_2", r"\1PAUSE_2 PAUSE_2 PAUSE_2", file.read_text())
        assert count == 1, "the pause before a zero falls isn't where this test expects it"
        file.write_text(changed)

    failed = rehearse_small(edit).failed
    # a zero so long is read as a one, which is too short
    assert failed["REHEARSAL-003"].value.startswith("one high 625 ns in frame 0, bit 0; ")
    assert failed["REHEARSAL-003"].limit == "650 to 950 ns"


def test_an_eeprom_cell_written_every_second_is_caught(rehearse_small: Rehearse) -> None:
    edit = replace(
        "main.cpp",
        "keep_clock(number);",
        "keep_clock(number); if (number % 40 == 7) { EEAR = 3; EEDR = number / 40; EECR = 4; EECR |= 2; }",
    )
    failed = rehearse_small(edit).failed
    assert set(failed) == {"REHEARSAL-013"}
    assert failed["REHEARSAL-013"].value == "at most 3.6e+03 writes an hour to one cell"


def test_a_countdown_that_is_too_slow_is_caught_by_frames_and_start(rehearse_small: Rehearse) -> None:
    outcome = rehearse_small(replace("main.cpp", "timer_counts = 50000", "timer_counts = 51000"))
    assert {"REHEARSAL-005", "REHEARSAL-008"} <= set(outcome.failed)


def test_a_show_that_starts_over_after_a_hang_is_caught(rehearse_small: Rehearse) -> None:
    outcome = rehearse_small(replace("main.cpp", "uint32_t number = resume_clock();", "uint32_t number = 0;"))
    assert set(outcome.failed) == {"REHEARSAL-009"}
    assert "not one of the show near that time" in outcome.failed["REHEARSAL-009"].value


def test_an_indicator_one_pixel_off_is_caught(rehearse_small: Rehearse) -> None:
    outcome = rehearse_small(replace("show.cpp", "i < minutes_left", "i <= minutes_left"), standby="2 min")
    assert "frame 2400" in outcome.failed["REHEARSAL-002"].value
    assert outcome.failed["REHEARSAL-007"].value == "2 pixels with 1 minutes left"


def test_a_limiter_taken_out_is_caught(rehearse_small: Rehearse) -> None:
    changes = {"circuit": 'current_cap = "0.12 A"', "brightness": "100 %"}
    assert rehearse_small(**changes).failed == {}
    outcome = rehearse_small(replace("show.cpp", "    limit();\n}", "}"), **changes)
    assert "REHEARSAL-002" in outcome.failed


def test_a_chip_that_touches_what_it_should_not_is_stopped_with_the_reason(rehearse_small: Rehearse) -> None:
    outcome = rehearse_small(replace("main.cpp", "start_frame_timer();\n    for", "ADCSRA = 0xC7;\n    for"))
    assert "ADCSRA" in outcome.failed["REHEARSAL-001"].value


def test_frames_written_faster_than_the_line_allows_are_caught(rehearse_small: Rehearse) -> None:
    outcome = rehearse_small(replace("main.cpp", "timer_counts = 50000", "timer_counts = 49000"))
    assert {"REHEARSAL-005", "REHEARSAL-008"} <= set(outcome.failed)


def test_a_firmware_that_keeps_its_minutes_sends_the_same_show(rehearse_small: Rehearse) -> None:
    outcome = rehearse_small(power_loss='after_power_loss = "go on"\n', standby="2 min")
    assert outcome.failed == {}
    assert outcome.seen.n_frame == 4800 + 480


def test_a_clock_that_is_wrong_is_tried_both_ways(rehearse_small: Rehearse) -> None:
    outcome = rehearse_small()
    assert [trial.error for trial in outcome.seen.clock_trials] == [-80e-6, 80e-6, -0.1, 0.1]
    # a frame of 25 ms lasts 27.8 ms by a clock that is a tenth slow, 22.7 ms by one a tenth fast
    assert [round(trial.period * 1e3, 1) for trial in outcome.seen.clock_trials] == [25.0, 25.0, 27.8, 22.7]
    finding = next(finding for finding in outcome.findings if finding.code == "REHEARSAL-014")
    assert finding.value == "right up to 10 % fast or slow"


def test_a_bit_at_the_edge_of_its_window_does_not_bear_a_clock_that_is_wrong(rehearse_small: Rehearse) -> None:
    def edit(folder: Path) -> None:
        file = folder / "sender.h"
        changed, count = re.subn(r"(%\[high\] .*\n\s*)PAUSE_2", r"\1PAUSE_2 PAUSE_2", file.read_text())
        assert count == 1, "the pause before a zero falls isn't where this test expects it"
        file.write_text(changed)

    outcome = rehearse_small(edit)
    assert outcome.failed == {}
    finding = next(finding for finding in outcome.findings if finding.code == "REHEARSAL-014")
    # 8 cycles of 62.5 ns are 500 ns, of 550 allowed; a tenth slower they are 556
    assert re.fullmatch(r"right at 0\.008 %; 10 % slow: \d+ bits outside their windows", finding.value), finding.value


def test_a_stack_that_comes_down_to_the_variables_is_caught(rehearse_small: Rehearse) -> None:
    dig = """
        extern char __heap_start;
        static __attribute__((noinline)) uint8_t dig()
        {
            return SP < (uint16_t)&__heap_start + 30 ? 0 : (uint8_t)(dig() + PINB);
        }
        int main()
        {
            reset_cause = reset_cause + (dig() & 0);
    """
    outcome = rehearse_small(replace("main.cpp", "int main()\n{", dig))
    finding = outcome.failed["REHEARSAL-016"]
    untouched = int(re.fullmatch(r"(\d+) bytes of RAM never reached", finding.value).group(1))  # type: ignore[union-attr]
    assert 20 < untouched < 30


def test_how_much_ram_the_stack_never_reached_is_told(rehearse_small: Rehearse) -> None:
    outcome = rehearse_small()
    told = next(finding for finding in outcome.findings if finding.code == "REHEARSAL-016")
    free = outcome.built.ram_there - outcome.built.ram_used
    untouched = int(told.value.partition(" ")[0])
    assert 0 < free - untouched < 120

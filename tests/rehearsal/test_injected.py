"""Whatever goes wrong at whatever moment, the show comes back at its place; a firmware that loses it is named."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable
from pathlib import Path

import pytest

from lampwright.chip import BenchStoppedError
from lampwright.findings.model import Finding, Severity
from lampwright.firmware import build, write_firmware
from lampwright.layout import lay_out
from lampwright.piece import read_piece
from lampwright.rehearsal import Part
from lampwright.rehearsal.faults import Fault, FaultPlan, FaultReport, Moment, Outcome, kept_clock
from lampwright.rehearsal.injected import inject_faults
from lampwright.show import compile_show
from tests.rehearsal.conftest import Edit, replace
from tests.small_piece import small_piece

FROST_GATE = Path(__file__).parents[2] / "examples" / "frost-gate" / "frost-gate.toml"
GO_ON = 'after_power_loss = "go on"\n'
RESUMED = {Fault.BROWN_OUT, Fault.ONE_SLOT, Fault.HANG}
MakePart = Callable[..., Part]


def part_of(file: Path, folder: Path, edit: Edit | None = None) -> Part:
    """Build the first circuit of a piece, its sources edited before if asked."""
    show = compile_show(lay_out(read_piece(file)))[0]
    source = write_firmware(show, folder)
    if edit is not None:
        edit(folder)
    built = build(source)
    return Part(show, built.image, source.pacing.startup, kept_clock(built.ram_map))


@pytest.fixture(scope="module")
def small(tmp_path_factory: pytest.TempPathFactory) -> MakePart:
    """Build the small piece."""

    def make(edit: Edit | None = None, **changes: str) -> Part:
        folder = tmp_path_factory.mktemp("injected")
        file = folder / "small.toml"
        file.write_text(small_piece(**changes))
        return part_of(file, folder / "firmware", edit)

    return make


@pytest.fixture(scope="module")
def thousand(small: MakePart) -> FaultReport:
    """Put some thousand faults into the untouched firmware."""
    return inject_faults(small(), FaultPlan(count=960))


def failed(report: FaultReport) -> dict[Fault, Finding]:
    """Return the findings that failed, by the fault they name."""
    return {
        next(fault for fault in Fault if f": {fault.value};" in finding.summary): finding
        for finding in report.findings
        if finding.severity is Severity.FAIL
    }


def test_a_thousand_faults_lose_no_show(thousand: FaultReport) -> None:
    assert [one for one in thousand.injected if not one.is_as_wanted] == []
    (finding,) = thousand.findings
    assert (finding.code, finding.severity, finding.subject) == ("REHEARSAL-011", Severity.PASS, "post")
    assert finding.summary == "the show survives 960 faults at random cycles, of 12 kinds"
    assert re.fullmatch(
        r"\d{3} ms without a new frame at most, (1 frame|2 frames) off, [0-8] after a sagging supply, "
        r"\d{3} frames cut short",
        finding.value,
    ), finding.value


def test_every_kind_meets_every_moment(thousand: FaultReport) -> None:
    met = Counter((one.fault, one.moment) for one in thousand.injected)
    n_moment = len(Moment) - 1  # no minute is written where a loss of power counts down again
    assert set(met.values()) == {960 // (len(Fault) * n_moment)}
    assert len(met) == len(Fault) * n_moment


def test_a_show_that_should_go_on_is_no_new_countdown(thousand: FaultReport) -> None:
    for one in thousand.injected:
        if one.fault in RESUMED and one.moment is not Moment.CLOCK_WRITE:
            assert one.outcome is Outcome.RESUMED
        elif one.fault in (Fault.RESET_BUTTON, Fault.POWER_LOSS, Fault.POWER_BLINK, Fault.BOTH_SLOTS):
            assert one.outcome is Outcome.STARTED_ANEW


def test_the_longest_wait_for_a_frame_is_the_watchdogs(thousand: FaultReport) -> None:
    silence = {summary.fault: summary.longest_silence for summary in thousand.summaries}
    # the watchdog's 256 ms since it was last fed, 1 ms of start-up, a frame of 25 ms and its 0.9 ms on the line
    assert 0.256 < silence.pop(Fault.HANG) < 0.2835
    # between two resets of a sagging supply up to 200 ms go by, with whole frames in them
    assert silence.pop(Fault.SAG) < 0.3
    assert max(silence.values()) < 0.0275


def test_a_line_write_is_cut_by_each_fault_within_it_and_by_few_others(thousand: FaultReport) -> None:
    cut = Counter(one.moment for one in thousand.injected if one.is_cut)
    n_each = 960 // (len(Moment) - 1)
    assert cut[Moment.LINE_WRITE] >= 0.99 * n_each  # before the first edge and after the last nothing is cut
    assert cut[Moment.CLOCK_WRITE] == 0  # which comes after the write
    # 30 pixels take 0.9 of 25 ms
    assert sum(cut[moment] for moment in (Moment.STANDBY, Moment.FADE, Moment.SHOW)) < 0.1 * 3 * n_each


def test_the_same_seed_gives_the_same_faults_and_another_seed_others(small: MakePart) -> None:
    part = small()
    first, same, other = (inject_faults(part, FaultPlan(count=80, seed=seed)).injected for seed in (7, 7, 8))
    assert first == same
    assert {one.cycle for one in first}.isdisjoint(one.cycle for one in other)


def test_progress_is_told(small: MakePart) -> None:
    told: list[tuple[int, int]] = []
    inject_faults(small(), FaultPlan(count=25), lambda done, total: told.append((done, total)))
    assert told == [(10, 25), (20, 25), (25, 25)]


def test_a_watchdog_ten_percent_late_moves_the_show_by_two_frames_at_most(small: MakePart) -> None:
    report = inject_faults(small(), FaultPlan(count=80, watchdog_error=0.1))
    assert failed(report) == {}
    hang = next(summary for summary in report.summaries if summary.fault is Fault.HANG)
    assert 1 <= abs(hang.largest_lag) <= 2


def test_a_show_that_goes_on_after_a_loss_of_power_survives_all_that_happens_to_its_minutes(small: MakePart) -> None:
    report = inject_faults(small(power_loss=GO_ON), FaultPlan(count=720))
    assert [one for one in report.injected if not one.is_as_wanted] == []
    assert report.left_out == ()
    came_of = {fault: Counter(one.outcome for one in report.injected if one.fault is fault) for fault in Fault}
    in_the_show = [one for one in report.injected if (one.fault, one.moment) == (Fault.POWER_LOSS, Moment.SHOW)]
    assert {one.outcome for one in in_the_show} == {Outcome.LAST_MINUTE}
    assert came_of[Fault.POWER_LOSS].keys() == {Outcome.LAST_MINUTE, Outcome.STARTED_ANEW}
    assert came_of[Fault.POWER_BLINK].keys() == {Outcome.LAST_MINUTE, Outcome.RESUMED, Outcome.STARTED_ANEW}
    for fault in (Fault.RESET_BUTTON, Fault.EEPROM_ONES, Fault.EEPROM_ZEROS, Fault.EEPROM_NOISE):
        assert came_of[fault].keys() == {Outcome.STARTED_ANEW}


def test_a_minute_without_a_check_word_is_named(small: MakePart) -> None:
    edit = replace("minutes.cpp", "entry.check == check_of(entry.sequence, entry.minute) && ", "")
    report = inject_faults(small(edit, power_loss=GO_ON), FaultPlan(count=216))
    assert Fault.EEPROM_NOISE in failed(report)


def test_a_dip_always_counted_as_a_frame_is_named_where_the_supply_sags(small: MakePart) -> None:
    edit = replace("clock.cpp", "return check_of(number) & 1;", "return (void)check_of(number), 1;")
    assert failed(inject_faults(small(edit), FaultPlan(count=1200))).keys() == {Fault.SAG}


@pytest.mark.parametrize(
    ("edit", "fault", "what"),
    [
        (
            replace("clock.cpp", "return slot.check == check_of(slot.number);", "return true;"),
            Fault.BOTH_SLOTS,
            r"frames that are not the show's near that time, \d+ of them|the show goes on at another place, .*",
        ),
        (
            replace("main.cpp", "wdt_enable(WDTO_250MS);", "wdt_disable();"),
            Fault.HANG,
            r"no frame any more",
        ),
        (
            replace(
                "clock.cpp", "constexpr uint32_t lost_to_watchdog = ", "constexpr uint32_t lost_to_watchdog = 0 * "
            ),
            Fault.HANG,
            r"the show goes on at another place, 1[0-2] frames late",
        ),
        (
            replace("clock.cpp", "1 << PORF | 1 << EXTRF", "1 << PORF"),
            Fault.RESET_BUTTON,
            r"the show goes on at its place|the show goes on at another place, \d+ frames early",
        ),
        (
            replace("clock.cpp", "1 << PORF | 1 << EXTRF", "1 << EXTRF"),
            Fault.POWER_BLINK,
            r"the show goes on at its place|the show goes on at another place, \d+ frames early",
        ),
        (
            replace("main.cpp", "compose(number);", "if (number % 64) { compose(number); }"),
            Fault.POWER_LOSS,
            r"frames that are not the show's near that time, \d+ of them",
        ),
    ],
    ids=["no check word", "no watchdog", "hang forgotten", "button resumes", "power-on resumes", "not composed"],
)
def test_a_firmware_that_does_not_survive_is_named(small: MakePart, edit: Edit, fault: Fault, what: str) -> None:
    findings = failed(inject_faults(small(edit), FaultPlan(count=180)))
    assert fault in findings
    finding = findings[fault]
    assert re.fullmatch(rf"a fault is not survived: {re.escape(fault.value)}; \d+ of 15 times", finding.summary), (
        finding.summary
    )
    assert re.fullmatch(rf"[a-z ,]+, \d+\.\d{{6}} s after power-on: ({what})", finding.value), finding.value
    assert finding.limit == (
        "back within 2 frames of its place, half a frame more for each reset of a sagging supply; "
        "a new countdown or the last full minute where one is due"
    )


def test_a_clock_kept_in_one_slot_only_is_caught_by_a_dip_in_the_middle_of_keeping_it(small: MakePart) -> None:
    report = inject_faults(small(replace("clock.cpp", "next_slot ^= 1;", "")), FaultPlan(count=400))
    lost = [one for one in report.injected if one.fault is Fault.BROWN_OUT and not one.is_as_wanted]
    assert lost
    assert {one.moment for one in lost} == {Moment.CLOCK_WRITE}
    assert Fault.BROWN_OUT in failed(report)


def test_what_cannot_be_tried_is_said(small: MakePart) -> None:
    whole = small()
    report = inject_faults(Part(whole.show, whole.image, whole.start_up), FaultPlan(count=40))
    assert {one.fault for one in report.injected} == set(Fault) - {Fault.ONE_SLOT, Fault.BOTH_SLOTS, Fault.SOME_BYTES}
    (finding,) = report.findings
    assert finding.severity is Severity.WARN
    assert finding.summary == (
        "the show survives 40 faults at random cycles, of 9 kinds; not tried: faults while the clock is kept, "
        "the supply dips and one slot of the kept clock is spoiled (its place in RAM is unknown), "
        "the supply dips and both slots of the kept clock are spoiled (its place in RAM is unknown), "
        "the supply dips and a few bytes of the kept clock are spoiled (its place in RAM is unknown)"
    )


def test_a_firmware_that_sends_nothing_cannot_be_tried(small: MakePart) -> None:
    part = small(replace("main.cpp", "start_frame_timer();\n    for", "for"))
    with pytest.raises(
        BenchStoppedError, match=r"^a data line stays silent \(at flash byte 0x[0-9a-f]{4}, cycle \d+\)$"
    ):
        inject_faults(part, FaultPlan(count=1))


@pytest.mark.slow
def test_ten_thousand_faults_lose_no_show(small: MakePart) -> None:
    # With this seed a slot's number and check word are spoiled alike once, which a plain complement lets pass.
    report = inject_faults(small(), FaultPlan(count=10_000, seed=2))
    assert [one for one in report.injected if not one.is_as_wanted] == []
    assert failed(report) == {}
    assert max(summary.longest_silence for summary in report.summaries) < 0.2835


@pytest.mark.slow
def test_frost_gates_first_arch_survives(tmp_path: Path) -> None:
    report = inject_faults(part_of(FROST_GATE, tmp_path), FaultPlan(count=960))
    assert [one for one in report.injected if not one.is_as_wanted] == []
    assert len(report.summaries) == len(Fault)


@pytest.mark.parametrize("board", ["m2560-16mhz-crystal", "m32u4-16mhz-resonator", "m328p-8mhz-3v3-crystal"])
def test_every_board_survives_and_goes_on_after_a_loss_of_power(
    board: str, tmp_path_factory: pytest.TempPathFactory
) -> None:
    folder = tmp_path_factory.mktemp("board")
    text = small_piece(power_loss=GO_ON, board=board)
    if "2560" in board:
        text = text.replace('pin = "PD6"', 'pin = "PB6"')
    (folder / "small.toml").write_text(text)
    report = inject_faults(part_of(folder / "small.toml", folder / "firmware"), FaultPlan(count=144))
    assert [one for one in report.injected if not one.is_as_wanted] == []
    assert any(one.outcome is Outcome.LAST_MINUTE for one in report.injected)

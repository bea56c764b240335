"""From a brief to first designs: what is searched, what is found, and what is said when nothing is."""

from __future__ import annotations

import dataclasses
import datetime
import functools
import math
import multiprocessing
import tomllib
from collections.abc import Sequence
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from lampwright.cli.run import run
from lampwright.parts import Board, Pack, Strip, find
from lampwright.piece.model import Piece
from lampwright.piece.read import piece_from_text
from lampwright.propose.build import Setting, lay_plain, make_build
from lampwright.propose.demands import Demand, date_demand, demands_of
from lampwright.propose.finalist import Candidate, make_candidate, work_on
from lampwright.propose.grouping import groupings, whole_members
from lampwright.propose.picture import draw_candidates
from lampwright.propose.search import COUNTS, search, unbeaten, weigh_all
from lampwright.propose.seen import ARC_MINUTE, as_seen, surroundings_luminance
from lampwright.propose.space import Space, rigs_in
from lampwright.propose.stage import propose
from lampwright.propose.unmet import judge_unmet, smallest_changes
from lampwright.propose.weigh import Option
from lampwright.propose.wish import brief_from_text, read_brief
from lampwright.signoff import Silent, sign_off
from lampwright.units import MakerError

BRIEFS = sorted((Path(__file__).parents[2] / "examples" / "briefs").glob("*/brief.toml"))

TWO_POSTS = """\
[brief]
name = "Two Posts"
place = "yard"
date = 2026-12-12
standby = "3 min"
run_time = "1 h"
coldest = "2 degC"
wind = "9 m/s"
survive = { failures = 1, lit = "50 %" }

[[member]]
name = "post"
shape = "straight"
length = "1.2 m"
repeat = { pattern = "row", count = 2, step = ["1 m", "0 m", "0 m"] }

[wish]
on = "post"
bare_start = "0.2 m"   # dark below
seen_from = "10 m"
surroundings = "dark park"
base = { step = "2 kg" }
"""


def make_space(text: str) -> tuple[Space, Piece]:
    """A space of one strip, two ways to share it out, three boards and three packs."""
    setting = Setting(brief_from_text(text, Path("posts.toml")))
    strip = find(Strip, "ws2812b-30")
    probe = lay_plain(setting, strip, whole_members(setting.asked, 2)).piece
    ways = groupings(setting.asked, probe)[:2]
    builds = [make_build(setting, strip, way, lay_plain(setting, strip, way)) for way in ways]
    boards = [find(Board, name) for name in ("m328p-16mhz-crystal", "m2560-16mhz-crystal", "m328p-8mhz-3v3-crystal")]
    packs = [find(Pack, name) for name in ("pack-5ah-2a", "pack-10ah-2a", "pack-20ah-3a")]
    rigs = rigs_in(probe.brief.wind, setting, builds, lay_plain(setting, strip, ways[0]), Silent())
    return Space(builds, rigs, boards, packs, (1, 2), (5, 20, 60, 100)), probe


@pytest.fixture(scope="module")
def small() -> tuple[Space, Piece]:
    return make_space(TWO_POSTS)


def sign_off_here(begin: datetime.date, works: Sequence[tuple[Option, frozenset[str]]]) -> list[Candidate | None]:
    return [make_candidate(work_on(option, begin, codes)) for option, codes in works]


def limits(space: Space, probe: Piece, tight: dict[str, float]) -> list[Demand]:
    wish = space.builds[0].setting.asked.wish
    brief = dataclasses.replace(probe.brief, budget=tight["cost"])
    demands = demands_of(wish.model_copy(update={"pitch": 0.1}), brief)
    demands = (*demands, Demand("mass", "mass", tight["mass"], True, str))
    return [dataclasses.replace(each, limit=tight.get(each.figure, each.limit)) for each in demands]


TIGHT = st.fixed_dictionaries(
    {
        "cost": st.floats(50, 400),
        "mass": st.floats(2, 40),
        "wind": st.sampled_from([5.0, 9.0, 12.0]),
        "run_time": st.floats(600, 200_000),
        "level": st.sampled_from([0.01, 0.05, 0.2, 0.6, 1.0]),
        "odds": st.floats(0.9, 1.0),
        "kept": st.sampled_from([0.0, 0.5, 0.75]),
        "packs": st.sampled_from([1, 2]),
    }
)

TIGHT_KEYS = ("cost", "mass", "wind", "run_time", "level", "odds", "kept", "packs")

SAME_SPACE = settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])


@given(tight=TIGHT)
@SAME_SPACE
def test_no_option_is_lost_by_a_bound(small: tuple[Space, Piece], tight: dict[str, float]) -> None:
    space, probe = small
    demands = limits(space, probe, tight)
    plain = [each for each in weigh_all(space) if all(demand.is_met(each.figures) for demand in demands)]
    found = search(space, demands)
    mine, all_of_them = ({(o.figures, o.board.name, o.rig) for o in each} for each in (found.options, unbeaten(plain)))
    assert mine == all_of_them
    assert found.n_weighed <= space.n_option


@given(tight=TIGHT, key=st.sampled_from([*TIGHT_KEYS]), by=st.floats(0.3, 1.0))
@SAME_SPACE
def test_asking_for_more_never_makes_it_cheaper(
    small: tuple[Space, Piece], tight: dict[str, float], key: str, by: float
) -> None:
    space, probe = small
    before = search(space, limits(space, probe, tight)).options
    tighter = tight | {key: tight[key] * by if key in ("cost", "mass", "packs") else tight[key] / by}
    after = search(space, limits(space, probe, tighter)).options
    assert not after or (before and after[0].figures.cost >= before[0].figures.cost)


def test_what_is_shown_is_beaten_by_nothing(small: tuple[Space, Piece]) -> None:
    options = weigh_all(small[0])
    kept = unbeaten(options)

    def counts(option: Option) -> list[float]:
        return [sign * getattr(option.figures, name) for name, sign in COUNTS]

    best = [counts(each) for each in kept]
    for each in map(counts, options):
        rivals = [other for other in map(counts, options) if other != each]
        is_beaten = any(all(a <= b for a, b in zip(other, each, strict=True)) for other in rivals)
        assert is_beaten != (each in best)


def test_a_brief_beyond_all_packs_names_the_demand_and_the_change() -> None:
    # twelve hours at full white from one pack each
    text = (
        TWO_POSTS.replace('"1 h"', '"12 h"')
        + 'look = "bench-level"\nset = { level = 1 }\nbrightness = "100 %"\npacks = 1\n'
    )
    space, probe = make_space(text)
    demands = demands_of(space.builds[0].setting.asked.wish, probe.brief)
    options = weigh_all(space)
    assert search(space, demands).options == ()
    change = next(each for each in smallest_changes(options, demands) if each.demand.key == "run_time")
    prove = functools.partial(sign_off_here, datetime.date(2026, 11, 20))
    unmet = judge_unmet("Two Posts", options, demands, date_demand(probe.brief), prove)
    finding = unmet.finding
    assert finding.code == "PROPOSE-002"
    assert '"run_time"' in finding.summary or "run_time:" in finding.do
    # the change that is told is enough, and nothing less is
    for limit, is_enough in ((change.to, True), (change.to + 60.0, False)):
        eased = [dataclasses.replace(d, limit=limit) if d.key == "run_time" else d for d in demands]
        assert bool(search(space, eased).options) is is_enough
    # so is what the brief is edited to
    edit = next(each for way in unmet.ways_out for each in way if each.key == "run_time")
    assert (edit.path, '"12 h"' in text) == (("brief", "run_time"), True)
    space, probe = make_space(text.replace('"12 h"', f'"{edit.value}"'))
    assert search(space, demands_of(space.builds[0].setting.asked.wish, probe.brief)).options


class Impatient:
    """Progress that gives up in the middle of a stage."""

    def __init__(self, stage: str) -> None:
        self.stage, self.is_in_it = stage, False

    def begin(self, stage: str, total: int) -> None:
        self.is_in_it = stage == self.stage
        assert total > 0

    def reach(self, done: int) -> None:
        if self.is_in_it:
            raise InterruptedError(done)


@pytest.mark.parametrize("stage", ["strip shared out among circuits", "options weighed", "candidates signed off"])
def test_a_search_that_is_given_up_ends_with_its_workers(stage: str) -> None:
    setting = Setting(brief_from_text(TWO_POSTS, Path("posts.toml")))
    with pytest.raises(InterruptedError):
        propose(setting, Impatient(stage), datetime.date(2026, 11, 20))
    assert multiprocessing.active_children() == []


def test_the_file_that_is_written_is_the_brief_and_passes_its_check(small: tuple[Space, Piece]) -> None:
    space, probe = small
    options = search(space, demands_of(space.builds[0].setting.asked.wish, probe.brief)).options
    candidate = make_candidate(work_on(options[0], datetime.date(2026, 11, 20)))
    assert candidate is not None
    lines = candidate.text.split("\n")
    lines = [line for line in lines if "# proposed:" not in line]
    for number, line in enumerate(TWO_POSTS.rstrip("\n").split("\n")):
        assert lines[number].removeprefix("# ") == line
    assert "[wish]" not in tomllib.loads(candidate.text)
    piece = piece_from_text(candidate.text, Path("posts.toml"))
    assert sign_off(piece, Silent()).has_passed
    assert candidate.cost == pytest.approx(options[0].figures.cost, rel=0.2)
    assert candidate.run_time >= piece.brief.run_time
    picture = draw_candidates("Two <Posts>", [candidate, candidate], "EUR")
    assert "Two &lt;Posts&gt;" in picture


@pytest.mark.parametrize(
    ("old", "new", "code", "line"),
    [
        ('on = "post"', 'on = "pots"', "PROPOSE-001", 18),
        ('seen_from = "10 m"', 'seen_from = "10"', "UNIT-001", 20),
        ("[wish]", "[[circuit]]\n[wish]", "PROPOSE-001", 17),
        ('surroundings = "dark park"', 'surroundings = "forest"', "PIECE-006", 21),
    ],
)
def test_what_is_wrong_is_told_at_its_place(old: str, new: str, code: str, line: int) -> None:
    with pytest.raises(MakerError) as caught:
        brief_from_text(TWO_POSTS.replace(old, new), Path("posts.toml"))
    problem = caught.value.problems[0]
    assert problem.place is not None
    assert (problem.code, problem.place.line) == (code, line)


def test_a_fault_of_the_head_is_told_at_its_own_line() -> None:
    with pytest.raises(MakerError) as caught:
        brief_from_text(TWO_POSTS.replace('"9 m/s"', '"0 kg"'), Path("posts.toml"))
    assert [problem.place.line for problem in caught.value.problems if problem.place] == [8]


def test_all_that_is_wrong_with_a_brief_is_told_at_once_in_file_order() -> None:
    text = TWO_POSTS.replace('"9 m/s"', '"0 kg"').replace('"1.2 m"', '"1.2"').replace('"10 m"', '"10"')
    with pytest.raises(MakerError) as caught:
        brief_from_text(text.replace('on = "post"', 'on = "pots"'), Path("posts.toml"))
    found = [(problem.code, problem.place.line) for problem in caught.value.problems if problem.place]
    assert found == [("UNIT-003", 8), ("UNIT-001", 14), ("PROPOSE-001", 18), ("UNIT-001", 20)]


def test_pixels_merge_beyond_one_minute_of_arc() -> None:
    # From memory: one minute of arc is 1/3438 of the distance; normal acuity (6/6) tells it apart.
    assert math.isclose(1 / ARC_MINUTE, 3437.75, rel_tol=1e-5)
    seen = as_seen(find(Strip, "ws2812b-60"), (1.0, 1.0, 1.0), 60.0, "dark park")
    assert seen.is_line
    assert math.isclose(seen.merges_from, 57.3, rel_tol=1e-3)
    # WS2812B datasheet, in copies: 405 + 690 + 190 mcd, the middle of each range; 60 of them in a metre
    assert math.isclose(seen.per_metre, 60 * 1.285, rel_tol=1e-9)
    # Lambert's law (any text on photometry): E = 2 lx on a ground of reflectance 0.1
    assert math.isclose(surroundings_luminance("dark park"), 0.2 / math.pi, rel_tol=1e-9)


def test_a_small_first_design_runs_on_its_chip(tmp_path: Path) -> None:
    text = (
        TWO_POSTS.replace('"3 min"', '"1 min"')
        .replace('"9 m/s"', '"8 m/s"')
        .replace("count = 2", "count = 1")
        .replace("failures = 1", "failures = 0")
    )
    space, probe = make_space(text)
    option = search(space, demands_of(space.builds[0].setting.asked.wish, probe.brief)).options[0]
    candidate = make_candidate(work_on(option, datetime.date(2026, 11, 20)))
    assert candidate is not None
    assert candidate.warnings == ()
    written = tmp_path / "posts.toml"
    written.write_text(candidate.text, encoding="utf-8")
    assert run(["rehearse", str(written), "--show-time", "2 s", "--out", str(tmp_path / "built")]) == 0


@pytest.mark.slow
@pytest.mark.parametrize("brief", BRIEFS, ids=lambda path: path.parent.name)
def test_each_brief_of_the_examples_has_candidates_that_pass_and_run(brief: Path, tmp_path: Path) -> None:
    found = propose(Setting(read_brief(brief)), Silent(), datetime.date(2026, 11, 20))
    assert found.candidates
    for candidate in found.candidates:
        piece = piece_from_text(candidate.text, brief)
        assert sign_off(piece, Silent()).has_passed
        # a promised wind in which everything comes down anyway is the brief's own; no other warning is left
        assert set(candidate.warnings) <= {"RIGGING-008"}
        assert len(candidate.advice) == len(candidate.warnings)
    written = tmp_path / "first.toml"
    written.write_text(found.candidates[0].text, encoding="utf-8")
    assert run(["rehearse", str(written), "--show-time", "30 s", "--out", str(tmp_path / "built")]) == 0

"""What a maker types, sees, and can rely on in a script."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from lampwright.cli.demo import example_file
from lampwright.piece import read_piece

Command = Callable[..., Any]


def change(folder: Path, old: str, new: str) -> None:
    """Change the small piece."""
    path = folder / "small.toml"
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new), encoding="utf-8")


@pytest.mark.usefixtures("folder")
def test_a_piece_that_passes_says_so_by_table_and_exit_code(lampwright: Command) -> None:
    done = lampwright("check", "small.toml")
    assert done.code == 0
    lines = done.out.splitlines()
    assert lines[0] == "Small Post: 1 circuit, 240 pixels, 1 min standby, 1 h show, coldest 5 degC"
    assert lines[2].split() == ["code", "about", "result", "value", "limit", "margin"]
    assert re.fullmatch(r"\d+ checks: 1 with a note, \d+ passed\. lampwright explain CODE tells more\.", lines[-1])
    assert max(len(line) for line in lines) <= 80
    assert done.err == ""


def test_a_piece_that_fails_says_what_to_do_and_leaves_with_one(lampwright: Command, folder: Path) -> None:
    change(folder, '"pack-10ah-2a"', '{ part = "pack-10ah-2a", shutoff_current = "500 mA" }')
    done = lampwright("check", "small.toml")
    assert done.code == 1
    text = " ".join(done.out.split())
    assert "fail POWER-004 post: lowest mean draw over 10 s" in text
    assert "or choose a pack that stays on; then leave the very pack in standby" in text
    assert re.search(r"\d+ checks: 1 failed, 1 with a note, \d+ passed\.", text)


@pytest.mark.usefixtures("folder")
def test_findings_come_as_json_for_other_programs(lampwright: Command) -> None:
    done = lampwright("check", "small.toml", "--json")
    data = json.loads(done.out)
    assert (done.code, data["piece"], data["passed"]) == (0, "Small Post", True)
    first = data["findings"][0]
    assert set(first) == {"code", "result", "about", "checked", "value", "limit", "margin", "do", "basis", "moment_s"}
    assert (first["code"], first["result"], first["about"]) == ("BOARD-001", "pass", "post")


def test_check_draws_each_circuit_at_its_lowest_supply(lampwright: Command, folder: Path) -> None:
    done = lampwright("check", str(folder / "small.toml"), "--pictures", str(folder / "seen"))
    assert "worst moment: " in done.out
    assert (folder / "seen" / "worst-moment-post.png").read_bytes().startswith(b"\x89PNG")
    told = json.loads(lampwright("check", str(folder / "small.toml"), "--pictures", str(folder / "seen"), "--json").out)
    assert told["pictures"] == [str(folder / "seen" / "worst-moment-post.png")]


def test_feeds_are_told_with_their_cost_and_as_json(lampwright: Command, folder: Path) -> None:
    path = str(folder / "small.toml")
    done = lampwright("feeds", path)
    assert done.code == 0
    assert "cheapest feeds that hold" in done.out
    assert "% of its length by" in " ".join(done.out.split())
    (circuit,) = json.loads(lampwright("feeds", path, "--json").out)
    assert circuit["lowest"] >= 4.5
    assert circuit["runs"][0]["cost"] <= circuit["runs"][0]["cost_as_written"]


def test_a_wrong_word_in_the_file_is_shown_at_its_place_and_leaves_with_two(lampwright: Command, folder: Path) -> None:
    change(folder, 'rate = "10 /s"', 'raet = "10 /s"')
    done = lampwright("check", "small.toml")
    assert (done.code, done.out) == (2, "")
    assert done.err.startswith('small.toml:35:1: error PIECE-004: "raet" is not a key of [show]\n')


def test_problems_come_as_json_too(lampwright: Command, folder: Path) -> None:
    change(folder, 'rate = "10 /s"', 'raet = "10 /s"')
    done = lampwright("check", "small.toml", "--json")
    data = json.loads(done.out)
    assert (done.code, data["passed"]) == (2, False)
    assert data["problems"][0]["line"] == 35


MISREAD = [
    (("check",), 'command "check" parameter PIECE requires an argument', "check --help"),
    (
        ("chekc",),
        'unknown command "chekc". Did you mean "check"?',
        "--help",
    ),
    (
        ("open", "small.toml", "--port", "65536"),
        'invalid value "65536" for --port. Must be <= 65535',
        "open --help",
    ),
    (("check", "small.toml", "--jsn"), "unknown option: --jsn. Did you mean --json?", "check --help"),
    (("check", "winter", "garden.toml"), "there are words too many: garden.toml", "check --help"),
]


@pytest.mark.parametrize(("arguments", "summary", "help_for"), MISREAD)
def test_a_mistyped_command_is_told_and_leaves_with_two(
    lampwright: Command, arguments: tuple[str, ...], summary: str, help_for: str
) -> None:
    done = lampwright(*arguments)
    assert (done.code, done.out) == (2, "")
    assert done.err == (
        f"error COMMAND-001: {summary}\n"
        f"found:   lampwright {' '.join(arguments)}\n"
        "allowed: a command and its options, as the help lists them; a path with spaces in quotes\n"
        f"do:      type lampwright {help_for}   (lampwright explain COMMAND-001)\n"
    )


def test_a_program_that_asks_for_json_gets_json_for_a_mistyped_command_too(lampwright: Command) -> None:
    done = lampwright("check", "--json")
    assert json.loads(done.out)["problems"][0]["code"] == "COMMAND-001"


@pytest.mark.usefixtures("folder")
def test_the_next_command_can_be_pasted_whatever_the_path(lampwright: Command) -> None:
    done = lampwright("new", "Mein schöner Garten/größe.toml")
    assert done.out == (
        "wrote Mein schöner Garten/größe.toml\nnext: lampwright check 'Mein schöner Garten/größe.toml'\n"
    )
    assert read_piece(Path("Mein schöner Garten/größe.toml")).brief.name == "Größe"


@pytest.mark.usefixtures("folder")
@pytest.mark.parametrize("path", [".", ""])
def test_a_folder_is_not_taken_for_a_new_piece(lampwright: Command, path: str) -> None:
    done = lampwright("new", path)
    assert done.code == 2
    assert done.err == (
        "error PIECE-024: this is a folder\n"
        "found:   .\n"
        "allowed: a file that is not there yet\n"
        "do:      name the file to write, such as garden.toml   (lampwright explain PIECE-024)\n"
    )


@pytest.mark.parametrize("command", ["firmware", "rehearse"])
def test_a_piece_without_room_for_its_pixels_gets_findings_and_no_firmware(
    lampwright: Command, folder: Path, command: str
) -> None:
    """5 m at 144 per metre are 720 pixels: 2160 bytes of frame, 32 of variables, 400 of stack."""
    change(folder, 'length = "4 m"', 'length = "5 m"')
    change(folder, "ws2812b-60", "ws2812b-144")
    done = lampwright(command, "small.toml")
    assert (done.code, done.err) == (1, "")
    assert "no firmware was made: no circuit has room for its pixels" in done.out
    assert "2592 bytes" in done.out
    assert "at most 2048 bytes" in done.out
    assert "picture" not in done.out
    assert not (folder / "out").exists()
    data = json.loads(lampwright(command, "small.toml", "--json").out)
    assert (data["passed"], data["firmware"]) == (False, [])


def test_new_writes_a_piece_that_can_be_read_and_never_overwrites(lampwright: Command, folder: Path) -> None:
    done = lampwright("new", "winter-garden.toml")
    assert (done.code, done.out) == (
        0,
        "wrote winter-garden.toml\nnext: lampwright check winter-garden.toml\n",
    )
    assert read_piece(folder / "winter-garden.toml").brief.name == "Winter Garden"
    again = lampwright("new", "winter-garden.toml")
    assert again.code == 2
    assert "nothing was written" in again.err


def test_explain_prints_the_page_of_a_code_or_a_fault(lampwright: Command) -> None:
    by_code, by_fault = lampwright("explain", "POWER-001"), lampwright("explain", "pack-overdrawn")
    assert by_code.code == 0
    assert by_code.out.startswith("# POWER-001 pack-overdrawn\n")
    assert by_code.out == by_fault.out
    assert lampwright("explain", "POWER-999").code == 2


def test_firmware_is_built_into_the_folder_that_was_named(lampwright: Command, folder: Path) -> None:
    done = lampwright("firmware", "small.toml", "--out", "made", "--json")
    assert done.code == 0
    (built,) = json.loads(done.out)["firmware"]
    assert (folder / "made" / "post" / "build" / "firmware.hex").is_file()
    assert built["circuit"] == "post"
    assert len(built["sha256"]) == 64
    assert set(built["commands"]) >= {"read", "fuse", "flash", "verify"}


def test_a_show_time_without_a_unit_is_refused_before_any_work(lampwright: Command, folder: Path) -> None:
    done = lampwright("rehearse", "small.toml", "--show-time", "5")
    assert done.code == 2
    assert "Traceback" not in done.err
    assert not (folder / "out").exists()


@pytest.mark.parametrize("text", ["-5 min", "9000 d"])
def test_a_show_time_that_nobody_would_wait_for_is_refused(lampwright: Command, folder: Path, text: str) -> None:
    done = lampwright("rehearse", "small.toml", f"--show-time={text}")
    assert done.code == 2
    assert done.err == (
        "error COMMAND-003: this stretch of the show can't be rehearsed\n"
        f'found:   --show-time "{text}"\n'
        "allowed: a time from 0 s to 1 d\n"
        'do:      take the length of one pass of the show, such as "90 min": later passes are the same   '
        "(lampwright explain COMMAND-003)\n"
    )
    assert not (folder / "out").exists()


def test_the_demo_finds_its_piece() -> None:
    assert read_piece(example_file()).brief.name == "Frost Gate"


def test_help_comes_without_loading_the_heavy_packages() -> None:
    script = (
        "import sys; from lampwright.cli.run import run; run(['--help']); "
        "print(sorted({'numpy', 'pydantic', 'numba', 'PIL', 'rich.markdown'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "[]"
    for command in ("new", "check", "firmware", "rehearse", "demo", "explain"):
        assert command in done.stdout


@pytest.mark.usefixtures("folder")
def test_a_senseless_number_of_faults_is_refused_before_anything_runs(lampwright: Command) -> None:
    done = lampwright("rehearse", "small.toml", "--faults=-5")
    assert done.code == 2
    assert "error COMMAND-003: so many faults can't be tried" in done.err


@pytest.mark.usefixtures("folder")
def test_a_look_tells_its_settings_draw_and_precision(lampwright: Command, folder: Path) -> None:
    (folder / "mine.look").write_text(
        '"""Mine: a wave."""\npace = setting(0.5, least=0.1, most=2, unit="/s", help="how fast")\n'
        'level = swell(time * pace)\ncolour = "#ffffff" * level\n',
        encoding="utf-8",
    )
    done = lampwright("look", "mine.look", "--out", "mine.png")
    lines = [line.split() for line in done.out.splitlines()]
    assert (done.code, lines[0]) == (0, ["Mine:", "a", "wave."])
    assert ["pace", "0.5", "/s", "0.1", "to", "2", "/s", "how", "fast"] in lines
    assert next(line for line in lines if line[:1] == ["level"])[1:5] == ["0", "to", "1", "16"]
    assert (folder / "mine.png").read_bytes().startswith(b"\x89PNG")


@pytest.mark.usefixtures("folder")
def test_a_look_that_is_not_there_is_told_with_the_nearest(lampwright: Command) -> None:
    done = lampwright("look", "slow-icy")
    assert done.code == 2
    assert 'do:      did you mean "slow-ice"?' in done.err
    done = lampwright("look", "nowhere.look")
    assert done.err.splitlines()[:2] == [
        "error LOOK-001: nowhere.look can't be read",
        "found:   No such file or directory",
    ]


@pytest.mark.parametrize(("command", "ending"), [("places", ".csv"), ("preview", ".html")])
def test_a_slip_of_the_hand_never_writes_over_the_piece_file(
    lampwright: Command, folder: Path, command: str, ending: str
) -> None:
    before = (folder / "small.toml").read_bytes()
    done = lampwright(command, "small.toml", "--out", "small.toml")
    assert done.code == 2
    assert done.err.startswith("error COMMAND-004: this is not the place for what is made\nfound:   small.toml\n")
    assert f"do:      write --out small{ending}   (" in done.err
    assert (folder / "small.toml").read_bytes() == before
    (folder / "made").mkdir()
    done = lampwright(command, "small.toml", "--out", "made")
    assert done.code == 2
    assert "found:   made, a folder\n" in done.err


@pytest.mark.parametrize("command", ["shopping", "drawing"])
def test_a_file_where_a_folder_is_meant_is_told_as_such(lampwright: Command, folder: Path, command: str) -> None:
    before = (folder / "small.toml").read_bytes()
    done = lampwright(command, "small.toml", "--out", "small.toml")
    assert done.code == 2
    assert done.err.startswith("error COMMAND-002: there is a file where a folder is meant\nfound:   small.toml")
    assert "do:      name another folder, or move that file away; it was left as it is" in done.err
    assert (folder / "small.toml").read_bytes() == before

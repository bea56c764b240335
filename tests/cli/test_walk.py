"""``strike --inspect``: whoever stands in the cold with a lamp in one hand answers fast, wrongly, and stops midway."""

from __future__ import annotations

import csv
import io
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from lampwright.page.errands import START
from tests.cli.conftest import Command, Outcome

INSPECT = ("strike", "small.toml", "--inspect", "form.csv")


@pytest.fixture
def answer(folder: Path, lampwright: Command, monkeypatch: pytest.MonkeyPatch) -> Command:
    """Answer line by line, beside the small piece."""

    def given(*lines: str) -> Outcome:
        assert (folder / "small.toml").is_file()
        monkeypatch.setattr(sys, "stdin", io.StringIO("".join(line + "\n" for line in lines)))
        return lampwright(*INSPECT)

    return given


def told(folder: Path) -> dict[str, list[tuple[str, ...]]]:
    """Return what the form says, by thing; nothing where nobody has said anything."""
    with (folder / "form.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.reader(file))[1:]
    things: dict[str, list[tuple[str, ...]]] = {}
    for row in rows:
        things.setdefault(row[1], []).append(tuple(cell for cell in row[3:] if cell))
    return things


def test_a_sound_piece_takes_one_key_a_circuit(answer: Command, folder: Path) -> None:
    done = answer("all", "all")
    assert done.code == 0
    assert set(map(tuple, told(folder).values())) == {(("sound",),)}
    assert "10 of 10 told, 0 failed" in done.out
    assert "next: lampwright strike small.toml --form form.csv" in done.out


def test_a_failure_is_told_with_its_place_its_time_and_a_note(answer: Command, folder: Path) -> None:
    done = answer("1", "95", "cold", "", "", "all", "back", "back", "back", "dead", "20", "", "", "we", "", "", "", "")
    found = told(folder)
    assert found["pack"] == [("flat", "95", "cold")]
    assert found["plugs"] == [("sound",)]
    assert found["light, post, pixels 0 to 239"] == [("dead pixel", "20"), ("wet",)]
    assert "8 of 10 told, 3 failed:" in done.out
    assert "  post, light, post, pixels 0 to 239: dead pixel at pixel 20\n" in done.out
    assert "go on: lampwright strike small.toml --inspect form.csv" in done.out


def test_wrong_answers_are_told_in_one_line_and_asked_again(answer: Command, folder: Path) -> None:
    done = answer("fla", "flatt", "7", "zzz", "flat", "late", "95", "", "", "", "stop")
    assert done.out.count("1 flat, 2 flat from cold, 3 switched itself off: ") == 5
    for line in (
        '"fla" may be flat or flat from cold: write more of it, or its number',
        '"flatt" is no way in which a pack fails; did you mean "flat"?',
        "there is no 7: 1 flat, 2 flat from cold, 3 switched itself off",
        '"zzz" is no way in which a pack fails; write all, back, sound, stop, Enter, or one of '
        "1 flat, 2 flat from cold, 3 switched itself off",
        'these are no minutes: such as "95"; write whole minutes after switching on',
    ):
        assert f"\n     {line}\n" in done.out
    assert told(folder)["pack"] == [("flat", "95")]


def test_the_next_walk_begins_where_this_one_stopped(answer: Command, folder: Path) -> None:
    answer("", "", "stop")
    done = answer("short", "stop")
    assert "  3  lead and wires\n" in done.out
    assert "plugs" not in done.out
    found = told(folder)
    assert (found["pack"], found["plugs"]) == ([("sound",)], [("sound",)])
    assert found["lead and wires"] == [("short",)]  # kept, though the questions after it were left
    assert found["board"] == [()]


def test_going_back_shows_what_was_told_and_enter_keeps_it(answer: Command, folder: Path) -> None:
    done = answer("2", "back", "back", "", "stop")
    assert "  1  pack; flat from cold\n" in done.out
    assert told(folder)["pack"] == [("flat from cold",)]
    answer("back", "sound", "stop")
    assert told(folder)["pack"] == [("sound",)]


def test_a_note_made_on_paper_is_not_lost(answer: Command, folder: Path) -> None:
    answer("stop")
    form = folder / "form.csv"
    form.write_text(form.read_text(encoding="utf-8").replace("post,pack,pack,,,,,", "post,pack,pack,,,,,hot"), "utf-8")
    answer("", "stop")
    assert told(folder)["pack"] == [("sound", "hot")]


def test_a_form_changed_meanwhile_is_left_as_it_is(
    folder: Path, lampwright: Command, monkeypatch: pytest.MonkeyPatch
) -> None:
    answers = iter(["", ""])

    def meanwhile(_question: str = "") -> str:
        text = next(answers)
        form = folder / "form.csv"
        if "sound" in form.read_text(encoding="utf-8"):
            form.write_text(form.read_text(encoding="utf-8") + "post,pack,pack,,,,,hot\n", encoding="utf-8")
        return text

    monkeypatch.setattr("builtins.input", meanwhile)
    done = lampwright(*INSPECT)
    assert done.code == 2
    assert done.err.startswith("error STRIKE-003: the form was changed by somebody else")
    assert told(folder)["plugs"] == [()]


def test_what_is_no_form_is_not_written_over(folder: Path, lampwright: Command) -> None:
    piece = (folder / "small.toml").read_bytes()
    assert lampwright("strike", "small.toml", "--inspect", "small.toml").code == 2
    assert (folder / "small.toml").read_bytes() == piece
    (folder / "list.csv").write_text("what,ever\n1,2\n", encoding="utf-8")
    done = lampwright("strike", "small.toml", "--inspect", "list.csv")
    assert (done.code, done.err.splitlines()[0]) == (2, "list.csv:1:1: error STRIKE-001: there is no such column")
    assert (folder / "list.csv").read_text(encoding="utf-8") == "what,ever\n1,2\n"


def test_a_form_is_filled_in_or_read_and_not_both(folder: Path, lampwright: Command) -> None:
    done = lampwright(*INSPECT, "--form", "form.csv", "--open")
    assert (done.code, done.err.splitlines()[0]) == (2, "error COMMAND-001: these don't go together")
    assert "found:   --form and --inspect and --open" in done.err
    assert not (folder / "form.csv").exists()


@pytest.mark.parametrize("ending", [signal.SIGINT, signal.SIGKILL], ids=["ctrl-c", "killed"])
def test_whatever_ends_the_walk_what_was_told_is_there(folder: Path, ending: signal.Signals) -> None:
    process = subprocess.Popen(
        [sys.executable, "-c", START, *INSPECT],
        cwd=folder,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    assert process.stdin is not None
    assert process.stdout is not None
    process.stdin.write("\n1\n")  # the pack is sound, a plug was out
    process.stdin.flush()
    seen = ""
    while "how many minutes" not in seen:  # the failure is kept before what is asked about it
        seen += process.stdout.read(1)
    process.send_signal(ending)
    _, err = process.communicate(timeout=30)
    found = told(folder)
    assert (found["pack"], found["plugs"]) == ([("sound",)], [("out",)])
    if ending == signal.SIGINT:
        assert (process.returncode, err) == (130, "stopped\n")

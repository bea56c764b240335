"""A message is read at midnight on a bad terminal: it must stay short, and obey nobody's control characters."""

from __future__ import annotations

from lampwright.units import Place, Problem


def message(text: str, column: int, length: int, found: str = "this") -> list[str]:
    """Return the lines of a message about a stretch of ``text``."""
    place = Place("gate.toml", 3, column, length, text)
    return Problem("PIECE-004", "wrong", found, "that", "mend it", place).render().split("\n")


def test_the_caret_stands_below_what_is_wrong() -> None:
    assert message("raet = 3", 1, 4) == [
        "gate.toml:3:1: error PIECE-004: wrong",
        "    3 | raet = 3",
        "      | ^^^^",
        "found:   this",
        "allowed: that",
        "do:      mend it   (lampwright explain PIECE-004)",
    ]


def test_a_file_from_a_stranger_can_not_colour_the_terminal_or_hide_a_line() -> None:
    lines = message('"\x1b[31m" = 3', 1, 7, found='"\x1b[2J\r\n\x7f\u00a0"')
    assert lines[1:4] == [
        '    3 | "␛[31m" = 3',
        "      | ^^^^^^^",
        'found:   "␛[2J␍␊\ufffd␣"',
    ]


def test_of_a_very_long_line_the_wrong_part_is_shown() -> None:
    lines = message("a" * 5000 + "raet" + "b" * 5000, 5001, 4)
    assert lines[1] == "    3 | …" + "a" * 80 + "raet" + "b" * 76 + "…"
    assert lines[2] == "      | " + " " * 81 + "^^^^"


def test_a_fault_as_long_as_its_line_is_marked_to_the_edge() -> None:
    lines = message("a" * 5000, 1, 5000)
    assert lines[1:3] == ["    3 | " + "a" * 160 + "…", "      | " + "^" * 160]


def test_a_very_long_text_is_cut_and_says_so() -> None:
    assert message("x", 1, 1, found="9" * 5000)[3] == "found:   " + "9" * 240 + "… and 4760 characters more"

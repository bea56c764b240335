"""A look can be written on the page: wrong ones are told at their place, right ones glow at once, none runs here."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest
from playwright.sync_api import Page, expect

from lampwright.firmware import find_compiler
from lampwright.page.look_editing import own_file, told_cost, tried, write_look
from lampwright.page.workspace import Workspace
from lampwright.rehearsal.look_cost import frame_cycles
from lampwright.show.compile import library_text
from lampwright.show.render import frames
from lampwright.units.errors import MakerError
from tests.page.served import SMALL, Served

RED = """\"\"\"Red: nothing but red.\"\"\"
tint = setting("#ff0000", help="the red")
level = setting(0.5, least=0, most=1, help="how bright")
colour = tint * level
"""


def attempt(served: Served, text: str, name: str = "my-look") -> tuple[int, dict[str, object]]:
    return served.told("/look-try", {"number": 1, "name": name, "text": text, "digest": ""})


@pytest.fixture
def editor(opened: Page) -> Page:
    opened.locator("summary", has_text="Write a look").click()
    expect(opened.get_by_label("Begin with the look")).to_be_visible()
    return opened


def test_a_look_without_an_error_glows_on_the_piece_as_the_chip_would_send_it(editor: Page) -> None:
    editor.get_by_label("Text of the look").fill(RED)
    expect(editor.locator("#look-editor .word")).to_contain_text("on the piece now")
    draft = Workspace(SMALL).draft
    _, (show,) = tried(draft, "my-look", RED)
    expected = frames(show, 650, 1).reshape(-1)
    np.testing.assert_array_equal(np.array(editor.evaluate("lampwright.frame(0, 650)"), np.uint8), expected)
    assert expected.reshape(-1, 3)[:, 0].min() > 0
    expect(editor.get_by_role("button", name="Play", exact=True)).to_be_visible()
    editor.get_by_role("button", name="Back to the show").click()
    sent = frames(draft.shows[0], 650, 1).reshape(-1).tolist()
    for _ in range(100):
        if editor.evaluate("lampwright.frame(0, 650)") == sent:
            break
        editor.wait_for_timeout(100)
    assert editor.evaluate("lampwright.frame(0, 650)") == sent


def test_an_error_is_told_at_its_line_and_column_and_leads_there(editor: Page) -> None:
    text = editor.get_by_label("Text of the look")
    text.fill(RED.replace("tint * level", "tint * levle"))
    problem = editor.locator("#look-editor .problem")
    expect(problem).to_contain_text("line 4, column 17:")
    problem.click()
    assert text.evaluate("box => box.value.slice(box.selectionStart, box.selectionStart + 5)") == "levle"
    text.fill(RED)
    expect(problem).to_have_count(0)


def test_a_copy_of_the_library_is_changed_and_written_beside_the_piece(editor: Page, served: Served) -> None:
    editor.get_by_label("Begin with the look").select_option("slow-ice")
    editor.get_by_role("button", name="Take a copy").click()
    text = editor.get_by_label("Text of the look")
    expect(text).to_have_value(library_text("slow-ice"))
    text.fill(library_text("slow-ice").replace("#bfe0ff", "#ffffff"))
    expect(editor.locator("#look-editor .cost")).to_contain_text("cycles a pixel", timeout=120_000)
    editor.get_by_role("button", name="Write the look").click()
    expect(editor.locator("#look-editor .word")).to_contain_text("looks/my-slow-ice.look is written")
    written = served.file.parent / "looks" / "my-slow-ice.look"
    assert written.read_text(encoding="utf-8") == library_text("slow-ice").replace("#bfe0ff", "#ffffff")


def test_the_cost_is_what_the_emulated_chip_takes() -> None:
    """Checked against the benchmark's table, which the gallery shows: slow-ice takes 343 cycles a pixel."""
    _, (show,) = tried(Workspace(SMALL).draft, "slow-ice", library_text("slow-ice"))
    fewest, most = frame_cycles(show.cues[0].program, find_compiler(), n_frame=8)
    assert fewest / show.layout.n_pixel == pytest.approx(343, rel=0.1)
    assert fewest <= most
    told = re.match(r"(\d+)(?: to (\d+))? cycles a pixel", told_cost(show))
    assert told is not None
    assert int(told[1]) == fewest // show.layout.n_pixel


@pytest.mark.parametrize(
    "text",
    [
        '"""X."""\nimport os\ncolour = "#ffffff"\n',
        '"""X."""\ncolour = __import__("os").system("touch ran")\n',
        '"""X."""\ncolour = (lambda: 1)()\n',
        "",
        '"""X."""\ncolour = 9e999\n',
        "\x00",
    ],
)
def test_what_is_no_look_is_told_and_never_run(served: Served, text: str) -> None:
    status, answer = attempt(served, text)
    assert status == 422
    assert answer["problems"]
    assert not (served.file.parent / "ran").exists()
    assert not Path("ran").exists()


@pytest.mark.parametrize("name", ["../small", "Upper", "", "a/b", "a" * 41, "x.look", "/etc/x"])
def test_no_name_leads_out_of_the_folder(served: Served, name: str) -> None:
    given = {"number": 1, "name": name, "text": RED, "digest": ""}
    status, answer = served.told("/look-write", given)
    assert (status, answer["problems"][0]["code"]) == (422, "PAGE-009")
    assert sorted(path.name for path in served.file.parent.iterdir()) == ["small.toml"]


def test_a_folder_of_looks_that_leads_elsewhere_is_not_followed(tmp_path: Path) -> None:
    piece, elsewhere = tmp_path / "piece" / "small.toml", tmp_path / "elsewhere"
    elsewhere.mkdir()
    piece.parent.mkdir()
    (piece.parent / "looks").symlink_to(elsewhere)
    with pytest.raises(MakerError, match="PAGE-009"):
        own_file(piece, "my-look")


def test_a_look_that_an_editor_has_changed_is_not_written_over(served: Served) -> None:
    given = {"number": 1, "name": "my-look", "text": RED, "digest": ""}
    status, answer = served.told("/look-write", given)
    assert status == 200
    file = served.file.parent / "looks" / "my-look.look"
    file.write_text(RED + "# theirs\n", encoding="utf-8")
    with pytest.raises(MakerError, match="PAGE-010"):
        write_look(served.file, "my-look", RED, answer["digest"])
    assert file.read_text(encoding="utf-8").endswith("# theirs\n")


def test_a_look_longer_than_any_is_refused(served: Served) -> None:
    assert served.told("/look-try", {"number": 1, "name": "x", "text": "#" * 20_001})[0] == 413

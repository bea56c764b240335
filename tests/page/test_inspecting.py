"""The inspection on the page: the form beside the piece is filled by taps, and nobody else's answers are lost."""

from __future__ import annotations

import io
import json
import threading
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

import pytest
from PIL import Image
from playwright.sync_api import Page, expect

from lampwright.faults.every import embody
from lampwright.layout import lay_out
from lampwright.page.guard import LARGEST_BODY, LARGEST_PHOTO
from lampwright.piece import read_piece
from lampwright.strike import Form, FormFailure, begin_filling, form_csv, form_of, read_form
from tests.page.served import Served
from tests.page.test_accessible import WIDTHS, serious

STRIP = "light, post, pixels 0 to 239"
FLAT = {"failed": "flat", "at": "", "minute": "95", "photo": "", "note": "cold all night"}


def form_file(served: Served) -> Path:
    return served.file.with_name("small-inspection.csv")


def form_for(served: Served) -> Form:
    layout = lay_out(read_piece(served.file))
    return form_of(layout, embody(layout))


def failures(served: Served) -> tuple[FormFailure, ...]:
    """Return what the command line reads in the form that the page has written."""
    return read_form(form_file(served), form_for(served))


def tell(served: Served, digest: str, thing: str, *entries: dict[str, str], circuit: str = "post") -> tuple[int, Any]:
    given = {"digest": digest, "circuit": circuit, "thing": thing, "entries": entries}
    return served.told("/inspection/tell", given)


def picture(name: str = "JPEG") -> bytes:
    text = io.BytesIO()
    Image.new("RGB", (900, 600), (200, 120, 40)).save(text, name)
    return text.getvalue()


def keep(served: Served, content: bytes, thing: str = "pack", **headers: str) -> tuple[int, Any]:
    of = urlencode({"circuit": "post", "thing": thing})
    status, answer = served.ask("POST", f"/inspection/photo?{of}", content, **headers)
    return status, json.loads(answer) if status in (200, 422) else answer


@pytest.fixture
def form(tab: Page, served: Served) -> Page:
    """The page with its inspection unfolded, whatever else goes on."""
    tab.goto(served.address)
    tab.locator("summary", has_text="After the show").click()
    expect(tab.locator("#inspection .word").first).to_contain_text("0 of 10 told")
    return tab


def test_taps_fill_the_very_form_that_the_command_reads(form: Page, served: Served) -> None:
    assert not form_file(served).exists()
    form.get_by_role("button", name="Sound: plugs, post").click()
    expect(form.get_by_role("button", name="Sound: plugs, post")).to_have_attribute("aria-pressed", "true")
    form.get_by_role("button", name="Failed: pack, post").click()
    form.get_by_label("flat", exact=True).check()
    form.get_by_label("When? Minutes after switching on").fill("95")
    form.get_by_label("Note").fill("cold all night")
    form.get_by_role("button", name="Write it down").click()
    expect(form.locator("#inspection .entry")).to_contain_text("flat, minute 95: cold all night")
    form.get_by_role("button", name="The rest of post is sound").click()
    form.get_by_role("button", name="The rest of them is sound").click()
    expect(form.locator("#inspection .word").first).to_have_text(
        "10 of 10 told, 1 failed; kept in small-inspection.csv"
    )
    expect(form.locator("#inspection .word").last).to_contain_text(
        "lampwright strike small.toml --form small-inspection.csv"
    )
    filling = begin_filling(form_file(served), form_for(served))
    assert filling.untold() == ()
    assert [each.told() for each in filling.failures()] == ["post, pack: flat, minute 95"]
    assert form_file(served).read_text(encoding="utf-8") == form_csv(filling.form.rows, filling.entries)


def test_a_tapped_pixel_is_the_place(form: Page, served: Served) -> None:
    x, y = form.evaluate("lampwright.place(37)")
    box = form.locator("#canvas").bounding_box()
    assert box is not None
    form.mouse.click(box["x"] + x, box["y"] + y)
    where = form.get_by_label("Where?")
    pixel = int(where.input_value())
    assert abs(pixel - 37) <= 2  # pixels are closer together than a mouse is exact
    form.get_by_label("dead pixel").check()
    form.get_by_role("button", name="Write it down").click()
    expect(form.locator("#inspection .entry")).to_contain_text(f"dead pixel at pixel {pixel}")
    assert [(each.row.thing, each.pixel) for each in failures(served)] == [(STRIP, pixel)]
    codes = form.evaluate("lampwright.shown(0)")
    assert codes[3 * pixel : 3 * pixel + 3] == [0, 0, 0], "what failed is crossed out on the piece"
    picture = form.locator("#inspection .map")
    expect(picture).to_have_attribute("alt", f"Map of what failed: post {STRIP}: dead pixel at pixel {pixel}")
    assert picture.evaluate("each => each.decode().then(() => each.naturalWidth)") == 1000


def test_what_cant_be_read_is_told_at_its_field(form: Page, served: Served) -> None:
    form.get_by_role("button", name=f"Failed: {STRIP}, post").click()
    form.get_by_role("button", name="Write it down").click()
    expect(form.locator(".failure .wrong").first).to_have_text("Choose one of these.")
    form.get_by_label("dead pixel").check()
    form.get_by_label("Where?").fill("240")
    form.get_by_label("Photo, by its place").fill("photos/none.jpg")
    form.get_by_role("button", name="Write it down").click()
    where = form.get_by_label("Where?")
    expect(where).to_have_attribute("aria-invalid", "")
    expect(where).to_be_focused()
    told = form.locator("#" + (where.get_attribute("aria-describedby") or ""))
    expect(told).to_contain_text('this isn\'t on that strip; found "240"; allowed: pixels 0 to 239, 0 m to 4 m')
    expect(form.locator(".failure .wrong").last).to_contain_text("there is no such picture")
    assert not form_file(served).exists(), "nothing is written that the command can't read"
    where.fill("2.3 m")
    form.get_by_label("Photo, by its place").fill("")
    form.get_by_role("button", name="Write it down").click()
    expect(form.locator("#inspection .entry")).to_contain_text("dead pixel at 2.3 m")
    assert [each.pixel for each in failures(served)] == [138]


def test_what_was_told_can_be_changed_and_taken_out(form: Page, served: Served) -> None:
    for way in ("wet", "parted"):
        form.get_by_role("button", name=f"{STRIP}, post").last.click()
        form.get_by_label(way).check()
        form.get_by_role("button", name="Write it down").click()
        expect(form.locator("#inspection .entry", has_text=way)).to_be_visible()
    form.get_by_role("button", name="Change: wet").click()
    form.get_by_label("Where?").fill("20")
    form.get_by_role("button", name="Write it down").click()
    expect(form.locator("#inspection .entry").first).to_contain_text("wet at pixel 20")
    assert [(each.failure.how, each.pixel) for each in failures(served)] == [("wet", 20), ("parted", None)]
    form.get_by_role("button", name="Take out: wet").click()
    form.get_by_role("button", name="Take out: parted").click()
    expect(form.locator("#inspection .word").first).to_contain_text("0 of 10 told, 0 failed")
    assert failures(served) == ()


def test_of_two_tabs_the_second_is_refused_and_can_go_on(form: Page, served: Served) -> None:
    other = form.context.new_page()
    other.goto(served.address + "#inspect")
    other.get_by_role("button", name="Sound: plugs, post").click()
    expect(other.locator("#inspection .word").first).to_contain_text("1 of 10 told")
    form.get_by_role("button", name="Failed: pack, post").click()
    form.get_by_label("flat", exact=True).check()
    form.get_by_role("button", name="Write it down").click()
    expect(form.locator("#inspection > .wrong")).to_contain_text("the form was changed by somebody else")
    assert [each.failure.how for each in failures(served)] == []
    form.get_by_role("button", name="Take the form as it is now").click()
    expect(form.locator("#inspection .word").first).to_contain_text("1 of 10 told")
    form.get_by_role("button", name="Write it down").click()  # what was being said is still there
    expect(form.locator("#inspection .word").first).to_contain_text("2 of 10 told, 1 failed")
    assert [each.failure.how for each in failures(served)] == ["flat"]


def test_a_photo_is_kept_beside_the_piece_and_shown(form: Page, served: Served) -> None:
    form.get_by_role("button", name="Failed: pack, post").click()
    form.get_by_label("flat", exact=True).check()
    choose = form.get_by_label("Take or choose a photo")
    choose.set_input_files({"name": "../../evil.jpg", "mimeType": "image/jpeg", "buffer": b"MZ no picture"})
    expect(form.locator(".failure .wrong").last).to_contain_text("this is no JPEG or PNG")
    choose.set_input_files({"name": "../../IMG 1.png", "mimeType": "text/html", "buffer": picture("PNG")})
    name = form.get_by_label("Photo, by its place")
    expect(name).not_to_have_value("")
    kept = name.input_value()
    form.get_by_role("button", name="Write it down").click()
    shown = form.get_by_role("img", name=f"Photo of pack, post: {kept}")
    expect(shown).to_be_visible()
    assert shown.evaluate("each => each.decode().then(() => each.naturalWidth)") == 480
    assert (served.file.parent / kept).read_bytes() == picture("PNG")
    assert sorted(path.name for path in served.file.parent.iterdir()) == [
        "photos",
        "small-inspection.csv",
        "small.toml",
    ]
    assert [each.failure.photo for each in failures(served)] == [kept]


def test_the_next_inspection_begins_anew_and_keeps_this_one(form: Page, served: Served) -> None:
    form.get_by_role("button", name="The rest of post is sound").click()
    form.get_by_role("button", name="Begin a new form").click()
    form.get_by_role("button", name="Keep this one under another name").click()
    expect(form.locator("#inspection .word").first).to_contain_text("0 of 10 told")
    assert not form_file(served).exists()
    assert "sound" in form_file(served).with_name("small-inspection-1.csv").read_text(encoding="utf-8")


def test_a_form_is_of_the_piece_as_its_file_has_it(form: Page) -> None:
    field = form.get_by_label("brightness", exact=True)
    field.fill("35 %")
    field.press("Enter")
    expect(form.locator("#inspection > .wrong")).to_contain_text("write the file first")
    form.get_by_role("button", name="Write the file").click()
    form.get_by_role("button", name="Take the form as it is now").click()
    form.get_by_role("button", name="Sound: plugs, post").click()
    expect(form.locator("#inspection .word").first).to_contain_text("1 of 10 told")


def test_the_keyboard_alone_fills_it(form: Page, served: Served) -> None:
    form.get_by_role("button", name="Failed: pack, post").focus()
    form.keyboard.press("Enter")
    form.keyboard.press("Space")  # the first way to fail is in focus
    form.get_by_label("Note").press("Enter")
    expect(form.locator("#inspection .entry")).to_contain_text("flat")
    expect(form.get_by_role("button", name="Something else failed: pack, post")).to_be_focused()
    assert [each.failure.how for each in failures(served)] == ["flat"]


@pytest.mark.parametrize(("width", "height"), WIDTHS)
def test_the_form_has_no_serious_problem(form: Page, width: int, height: int) -> None:
    form.set_viewport_size({"width": width, "height": height})
    form.get_by_role("button", name="Failed: pack, post").click()
    form.get_by_label("flat", exact=True).check()
    form.get_by_label("When?").fill("soon")
    form.get_by_role("button", name="Write it down").click()
    expect(form.get_by_label("When?")).to_have_attribute("aria-invalid", "")
    form.get_by_role("button", name=f"Failed: {STRIP}, post").click()
    form.locator(".failure").last.get_by_label("wet").check()
    form.locator(".failure").last.get_by_role("button", name="Write it down").click()
    expect(form.locator("#inspection .map")).to_be_visible()
    assert serious(form) == []
    # a finger's width: 44 points, WCAG 2.5.5 (the enhanced target size)
    low = "each => each.filter(e => e.offsetParent && e.getBoundingClientRect().height < 44).map(e => e.outerHTML)"
    assert form.locator("#inspection :is(button, .way, .circuit > summary, .asked input)").evaluate_all(low) == []


# --- the server alone ---


def test_a_form_damaged_in_a_spreadsheet_is_told_and_left(served: Served) -> None:
    text = "circuit,thing,sort,failed,at,minute,photo,note\npost,pack,pack,flatt,,,,\n"
    form_file(served).write_text(text, encoding="utf-8")
    status, answer = served.told("/inspection")
    assert (status, answer["problems"][0]["code"]) == (422, "STRIKE-001")
    assert (answer["problems"][0]["line"], answer["problems"][0]["column"]) == (2, 16)
    assert tell(served, "", "pack", FLAT)[0] == 422
    assert form_file(served).read_text(encoding="utf-8") == text


def test_of_many_at_once_each_is_kept_or_refused(served: Served) -> None:
    """Eight tabs answer at the same moment, each of another thing, from the same state of the form."""
    things = [row.thing for row in form_for(served).rows if row.circuit == "post"]
    _, empty = served.told("/inspection")
    answers: dict[str, int] = {}

    def one(thing: str) -> None:
        sound = {**FLAT, "failed": "sound", "minute": ""}
        answers[thing] = tell(served, empty["digest"], thing, sound)[0]

    threads = [threading.Thread(target=one, args=(thing,)) for thing in things]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    filling = begin_filling(form_file(served), form_for(served))
    kept = {thing for circuit, thing in filling.entries if filling.is_told((circuit, thing))}
    assert kept == {thing for thing, status in answers.items() if status == 200}
    assert len(kept) == 1
    assert set(answers.values()) == {200, 422}


@pytest.mark.parametrize(
    "given",
    [
        {},
        {"digest": "", "circuit": "post", "thing": "pack"},
        {"digest": "", "circuit": "post", "thing": "pack", "entries": [{}]},
        {"digest": "", "circuit": "post", "thing": "pack", "entries": ["flat"]},
        {"digest": "", "circuit": "post", "thing": "no such", "entries": []},
        {"digest": "", "circuit": 7, "thing": ["pack"], "entries": [FLAT]},
    ],
)
def test_what_says_nothing_changes_nothing(served: Served, given: object) -> None:
    assert served.told("/inspection/tell", given)[0] == 400
    assert not form_file(served).exists()


@pytest.mark.parametrize(
    ("path", "method"),
    [("/inspection", "GET"), ("/inspection/tell", "POST"), ("/inspection/photo?circuit=post&thing=pack", "POST")],
)
def test_nobody_else_sees_or_fills_it(served: Served, path: str, method: str) -> None:
    body = picture() if "photo" in path else b"{}"
    assert served.ask(method, path, body, X_Lampwright_Key="")[0] == 403
    assert served.ask(method, path, body, Origin="http://elsewhere.example")[0] == 403
    assert served.ask(method, path, body, Host="elsewhere.example")[0] == 421
    assert [path.name for path in served.file.parent.iterdir()] == ["small.toml"]


def test_only_a_photo_may_be_long(served: Served) -> None:
    status, answer = keep(served, picture() + b"\0" * LARGEST_BODY)
    assert status == 200, "what a camera writes after the picture is let stand"
    assert (served.file.parent / answer["name"]).stat().st_size > LARGEST_BODY
    assert keep(served, b"", Content_Length=str(LARGEST_PHOTO + 1))[0] == 413
    assert served.ask("POST", "/inspection/tell", b"", Content_Length=str(LARGEST_BODY + 1))[0] == 413
    status, answer = keep(served, b"\xff\xd8" + b"\0" * 17_000_000)
    assert (status, answer["problems"][0]["summary"]) == (422, "this photo is too large")
    assert keep(served, picture(), thing="../../etc")[0] == 400


@pytest.mark.parametrize("name", ["small.toml", "../small.toml", "/etc/passwd", "photos/none.jpg", ""])
def test_nothing_but_photos_of_the_piece_is_handed_out(served: Served, name: str) -> None:
    assert served.ask("GET", f"/inspection/photo?{urlencode({'name': name})}")[0] == 404


def test_a_folder_that_may_not_be_written_is_told(served: Served, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(_path: Path, _content: object) -> None:
        raise OSError(28, "No space left on device", "small-inspection.csv")

    monkeypatch.setattr("lampwright.strike.filling.write_whole", refuse)
    status, answer = tell(served, "", "pack", FLAT)
    assert (status, answer["problems"][0]["code"]) == (422, "STRIKE-003")
    assert answer["problems"][0]["found"] == "No space left on device: small-inspection.csv"
    assert not form_file(served).exists()

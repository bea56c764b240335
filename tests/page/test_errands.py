"""Plans, papers and the rehearsal are one click away from the piece, and are the program's own."""

from __future__ import annotations

import csv
import io
import os
import re
import subprocess
import sys
import time
import zipfile
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pypdfium2
import pytest
from PIL import Image
from playwright.sync_api import Page, expect

from lampwright.page.errands import COLUMNS, COMMANDS, START
from tests.page.served import Served

PATIENCE = 240.0
"""On a machine that has much else to do. [s]"""


def made(served: Served, kind: str, is_begun: bool = False) -> dict[str, Any]:
    """Ask for something, unless it is begun already, and wait until it is there."""
    status, answer = served.told(f"/errand/{kind}", None if is_begun else {})
    assert status == 200
    end = time.monotonic() + PATIENCE
    while answer["state"] == "running" and time.monotonic() < end:
        time.sleep(0.2)
        _, answer = served.told(f"/errand/{kind}")
    return dict(answer)


def test_the_cut_plan_is_the_one_that_the_command_gives(served: Served, tmp_path: Path) -> None:
    answer = made(served, "cuts")
    assert answer["state"] == "done"
    own = subprocess.run(
        [sys.executable, "-c", START, "cuts", str(served.file), "--out", "cuts"],
        cwd=tmp_path,
        env={**os.environ, "COLUMNS": COLUMNS, "NO_COLOR": "1", "PYTHONIOENCODING": "utf-8"},
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=True,
    )
    assert answer["text"] == own.stdout
    for number, name in enumerate(answer["files"]):
        assert served.ask("GET", f"/errand/cuts/{number}")[1] == (tmp_path / name).read_bytes()


def handed_over(served: Served, answer: dict[str, Any], name: str) -> tuple[str, bytes]:
    """Return the type and the bytes of one of the files that were made."""
    number = answer["files"].index(name)
    given = served.answer("GET", f"/errand/{name.partition('/')[0]}/{number}")
    assert given.status == 200
    return str(given.headers.get_content_type()), given.read()


def rows_of(table: bytes) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(table.decode("utf-8-sig"))))


def test_the_shopping_list_is_handed_over_as_tables(served: Served) -> None:
    answer = made(served, "shopping")
    assert answer["state"] == "done"
    kind, table = handed_over(served, answer, "shopping/shopping.csv")
    assert kind == "text/csv"
    assert any("ws2812b-60" in row.values() for row in rows_of(table))
    _, book = handed_over(served, answer, "shopping/shopping.xlsx")
    assert "xl/workbook.xml" in zipfile.ZipFile(io.BytesIO(book)).namelist()
    assert "ws2812b-60" in answer["text"]


def test_the_week_is_told_task_by_task(served: Served) -> None:
    answer = made(served, "week")
    assert (answer["state"], answer["files"]) == ("done", [])
    heading, *tasks = answer["text"].splitlines()
    assert heading.split() == ["from", "to", "task", "who", "slack"]
    assert any("strip arrives" in task for task in tasks)


def test_the_wiring_is_handed_over_as_sheets_and_tables(served: Served) -> None:
    answer = made(served, "wiring")
    assert answer["state"] == "done"
    kind, sheet = handed_over(served, answer, "wiring/wiring/post-1.svg")
    assert kind == "image/svg+xml"
    assert ElementTree.fromstring(sheet).tag == "{http://www.w3.org/2000/svg}svg"
    kind, joints = handed_over(served, answer, "wiring/wiring/joints.csv")
    assert kind == "text/csv"
    told = re.search(r"(\d+) solder joints", answer["text"])
    assert told is not None
    assert sum(int(row["solder joints"]) for row in rows_of(joints)) == int(told[1])


def test_the_drawing_is_handed_over_as_pdf_and_sheets(served: Served) -> None:
    answer = made(served, "drawing")
    assert answer["state"] == "done"
    kind, whole = handed_over(served, answer, "drawing/drawing/drawing.pdf")
    assert (kind, whole[:5]) == ("application/pdf", b"%PDF-")
    sheets = [name for name in answer["files"] if name.endswith(".svg")]
    assert answer["text"].startswith(f"{len(sheets)} sheets of ")
    assert len(pypdfium2.PdfDocument(whole)) == len(sheets)


def test_the_book_is_handed_over_with_its_firmware(served: Served) -> None:
    answer = made(served, "book")
    assert answer["state"] == "done"
    kind, whole = handed_over(served, answer, "book/book.pdf")
    assert (kind, whole[:5]) == ("application/pdf", b"%PDF-")
    assert "Small Post" in pypdfium2.PdfDocument(whole)[0].get_textpage().get_text_range()
    _, firmware = handed_over(served, answer, "book/post/build/firmware.hex")
    assert firmware.startswith(b":10")
    assert firmware.split()[-1] == b":00000001FF", "the end record of an Intel hex file"


def test_a_piece_with_an_error_is_answered_by_its_place_and_no_traceback(served: Served) -> None:
    text = served.file.read_text(encoding="utf-8")
    served.file.write_text(text.replace('wind = "3 m/s"', 'wind = "3 furlongs"'), encoding="utf-8")
    for kind in COMMANDS:
        served.told(f"/errand/{kind}", {})  # all at once, so that none waits for another's start
    for kind in COMMANDS:
        answer = made(served, kind, is_begun=True)
        assert (answer["state"], answer["files"]) == ("failed", []), kind
        assert f'{served.file.name}:9:11: error UNIT-002: "furlongs" is not a known unit' in answer["text"], kind
        assert "allowed: " in answer["text"], kind
        assert "Traceback" not in answer["text"], kind


def test_papers_are_handed_over_on_the_page(opened: Page) -> None:
    opened.locator("summary", has_text="Plans, papers, rehearsal").click()
    opened.get_by_role("button", name="Papers", exact=True).click()
    link = opened.get_by_role("link", name="labels.pdf")
    expect(link).to_be_visible(timeout=PATIENCE * 1000)
    with opened.expect_download() as download:
        link.click()
    assert Path(download.value.path()).read_bytes().startswith(b"%PDF")


def test_the_rehearsal_shows_how_far_it_is_and_then_its_picture(opened: Page, served: Served) -> None:
    expect(opened.locator(".counts")).to_contain_text("passed", timeout=PATIENCE * 1000)
    opened.locator("summary", has_text="Plans, papers, rehearsal").click()
    opened.get_by_role("button", name="Rehearse", exact=True).click()
    expect(opened.locator(".errand img").first).to_be_visible(timeout=PATIENCE * 1000)
    expect(opened.locator(".errand .finding").first).to_contain_text("passed")
    assert opened.locator(".errand img").first.evaluate("picture => picture.naturalWidth") > 100
    _, answer = served.told("/errand/rehearsal")
    picture = served.ask("GET", f"/errand/rehearsal/{answer['files'].index('rehearsal.png')}")[1]
    assert Image.open(io.BytesIO(picture)).width > 100
    assert answer["share"] == 1.0


def test_what_is_not_written_yet_is_not_made_from_an_older_file(opened: Page) -> None:
    field = opened.get_by_label("brightness", exact=True)
    field.fill("35 %")
    field.press("Enter")
    expect(opened.locator("#word")).to_have_text("changed, not yet written")
    opened.locator("summary", has_text="Plans, papers, rehearsal").click()
    opened.get_by_role("button", name="What to cut").click()
    expect(opened.locator(".errand")).to_contain_text("write the file first")


@pytest.mark.parametrize("path", ["/errand/shell", "/errand/../cuts", "/errand/cuts;ls"])
def test_nothing_else_can_be_started(served: Served, path: str) -> None:
    assert served.ask("POST", path, b"{}")[0] == 404


@pytest.mark.parametrize("number", ["0", "99", "-1", "..%2f..%2fsmall.toml"])
def test_a_file_that_was_not_made_is_not_there(served: Served, number: str) -> None:
    assert served.ask("GET", f"/errand/cuts/{number}")[0] == 404

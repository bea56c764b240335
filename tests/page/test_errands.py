"""Plans, papers and the rehearsal are one click away from the piece, and are the program's own."""

from __future__ import annotations

import io
import os
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import pytest
from PIL import Image
from playwright.sync_api import Page, expect

from lampwright.page.errands import COLUMNS, START
from tests.page.served import Served

PATIENCE = 240.0
"""On a machine that has much else to do. [s]"""


def made(served: Served, kind: str) -> dict[str, Any]:
    """Ask for something, and wait until it is there."""
    status, answer = served.told(f"/errand/{kind}", {})
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

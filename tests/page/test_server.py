"""The page changes the piece for its maker, and for nobody else."""

from __future__ import annotations

import http.client
import json
import threading
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from lampwright.page.guard import LARGEST_BODY
from lampwright.page.workspace import Workspace
from tests.page.conftest import EXAMPLE
from tests.page.served import Served

EXACT = ".findings:not(.estimate) .counts"
"""What was found, once every frame is weighed."""


def test_a_changed_value_is_written_back_and_nothing_else(opened: Page, served: Served) -> None:
    before = served.file.read_text(encoding="utf-8")
    field = opened.get_by_label("brightness", exact=True)
    field.fill("35 %")
    field.press("Enter")
    expect(opened.locator("#word")).to_have_text("changed, not yet written")
    assert served.file.read_text(encoding="utf-8") == before
    opened.get_by_role("button", name="Write the file").click()
    expect(opened.locator("#word")).to_have_text("as in the file")
    assert served.file.read_text(encoding="utf-8") == before.replace('brightness = "20 %"', 'brightness = "35 %"')
    assert before.startswith("#"), "a comment is there to be kept"


def test_findings_follow_a_change_and_its_undoing(opened: Page) -> None:
    expect(opened.locator(EXACT)).to_contain_text("passed", timeout=60_000)
    assert opened.locator(".finding.fail").count() == 0
    field = opened.get_by_label("rate", exact=True)
    field.fill("200 /s")
    field.press("Enter")
    expect(opened.locator(".finding.fail").first).to_contain_text("BOARD-002", timeout=60_000)
    opened.get_by_role("button", name="Undo").click()
    expect(opened.locator(EXACT)).to_contain_text("passed", timeout=60_000)
    expect(opened.locator(".finding.fail")).to_have_count(0)


def test_a_change_is_answered_by_an_estimate_before_every_frame_is_weighed(served: Served) -> None:
    shown = json.loads(served.ask("GET", "/shown")[1])
    rate = next(field for field in shown["fields"] if field["key"] == "rate")
    change = {"number": shown["number"], "path": rate["path"], "value": "200 /s"}
    answer = json.loads(served.ask("POST", "/change", json.dumps(change).encode())[1])
    assert answer["number"] > shown["number"]
    end = time.monotonic() + 120

    def asked_again(answer: dict[str, Any], while_true: Callable[[dict[str, Any]], bool]) -> dict[str, Any]:
        while while_true(answer) and time.monotonic() < end:
            time.sleep(0.2)
            answer = json.loads(served.ask("GET", "/shown")[1])
        return answer

    answer = asked_again(answer, lambda shown: shown["findings"] is None)
    assert "BOARD-002" in {each["code"] for each in answer["findings"] if each["severity"] == "fail"}
    answer = asked_again(answer, lambda shown: bool(shown["isEstimate"]))
    assert "FLASH-001" in {each["code"] for each in answer["findings"]}


def test_a_value_that_can_not_be_read_changes_nothing_and_says_why(opened: Page) -> None:
    field = opened.get_by_label("brightness", exact=True)
    field.fill("35 pct")
    field.press("Enter")
    expect(opened.locator(".wrong:not(:empty)")).to_contain_text('"pct" is not a known unit')
    expect(opened.locator("#word")).to_have_text("as in the file")


def test_a_file_that_an_editor_has_changed_is_not_written_over(opened: Page, served: Served) -> None:
    field = opened.get_by_label("brightness", exact=True)
    field.fill("35 %")
    field.press("Enter")
    expect(opened.locator("#word")).to_have_text("changed, not yet written")
    theirs = served.file.read_text(encoding="utf-8").replace('rate = "10 /s"', 'rate = "20 /s"')
    served.file.write_text(theirs, encoding="utf-8")
    opened.get_by_role("button", name="Write the file").click()
    expect(opened.locator("#word")).to_contain_text("the file was changed by somebody else")
    assert served.file.read_text(encoding="utf-8") == theirs
    opened.get_by_role("button", name="Take the file").click()
    expect(opened.get_by_label("rate", exact=True)).to_have_value("20 /s")


def test_the_preview_can_be_taken_from_the_page(opened: Page) -> None:
    expect(opened.locator(EXACT)).to_contain_text("passed", timeout=60_000)
    opened.locator("#errands > summary").click()
    with opened.expect_download() as download:
        opened.get_by_role("button", name="Preview to send").click()
    assert 'id="given"' in Path(download.value.path()).read_text(encoding="utf-8")


def test_a_check_is_explained_where_it_stands(opened: Page) -> None:
    expect(opened.locator(EXACT)).to_contain_text("passed", timeout=60_000)
    opened.locator("details > summary", has_text="passed").click()
    opened.get_by_role("button", name="what POWER-001 checks").click()
    expect(opened.locator(".page:visible")).to_contain_text("pack-overdrawn")


def test_ending_the_program_gives_up_the_weighing() -> None:
    workspace = Workspace(EXAMPLE)
    weighing = [thread for thread in threading.enumerate() if thread.name == "weighing"]
    workspace.close()
    for thread in weighing:
        thread.join(timeout=60)
    assert workspace.findings() is None


def test_a_request_under_another_name_is_refused(served: Served) -> None:
    status, _ = served.ask("GET", "/shown", Host="rebound.example")
    assert status == 421


def test_a_request_from_another_page_is_refused(served: Served) -> None:
    status, _ = served.ask("POST", "/save", b"{}", Origin="http://other.example")
    assert status == 403


@pytest.mark.parametrize("path", ["/shown", "/news", "/explain/POWER-001", "/change", "/save"])
def test_a_request_without_the_key_is_refused(served: Served, path: str) -> None:
    assert served.ask("GET", path, X_Lampwright_Key="")[0] == 403
    assert served.ask("GET", path, X_Lampwright_Key="x" * len(served.key))[0] == 403


def test_the_page_itself_needs_its_address(served: Served) -> None:
    assert served.ask("GET", "/")[0] == 403
    assert served.ask("GET", f"/?key={served.key}")[0] == 200


@pytest.mark.parametrize("path", ["/../small.toml", "/%2e%2e/small.toml", "/explain/..%2fsmall.toml", "/small.toml"])
def test_no_path_leads_to_a_file(served: Served, path: str) -> None:
    status, body = served.ask("GET", path)
    assert status in {404, 422}
    assert b"Small Post" not in body


def test_a_huge_body_is_refused_before_it_is_read(served: Served) -> None:
    line = http.client.HTTPConnection("127.0.0.1", served.port, timeout=20)
    line.putrequest("POST", "/change")
    line.putheader("X-Lampwright-Key", served.key)
    line.putheader("Content-Length", str(1 << 30))
    line.endheaders()
    assert line.getresponse().status == 413


def test_a_body_of_unknown_length_is_cut_off(served: Served) -> None:
    body = iter([b"x" * (LARGEST_BODY // 2)] * 3)
    line = http.client.HTTPConnection("127.0.0.1", served.port, timeout=20)
    headers = {"X-Lampwright-Key": served.key, "Host": f"127.0.0.1:{served.port}"}
    line.request("POST", "/change", body, headers, encode_chunked=True)
    assert line.getresponse().status == 413


@pytest.mark.parametrize("body", [b"", b"[]", b"{}", b'{"number": 1, "path": 3, "value": 1}', b"\xff"])
@pytest.mark.parametrize("what", ["change", "take-out", "copy"])
def test_what_is_no_change_is_refused(served: Served, what: str, body: bytes) -> None:
    assert served.ask("POST", f"/{what}", body)[0] == 400


@pytest.mark.parametrize("what", ["take-out", "copy"])
@pytest.mark.parametrize("path", [["show", "__class__"], ["cue", 9], [], ["show", ["rate"]]])
def test_what_is_not_there_is_neither_copied_nor_taken_out(served: Served, what: str, path: list[Any]) -> None:
    status, _ = served.ask("POST", f"/{what}", json.dumps({"number": 1, "path": path}).encode())
    assert status in {400, 422}


def test_a_change_to_what_is_not_there_is_refused(served: Served) -> None:
    change = {"number": 1, "path": ["show", "__class__"], "value": "x"}
    status, body = served.ask("POST", "/change", json.dumps(change).encode())
    assert status == 422
    assert json.loads(body)["problems"][0]["code"] == "PAGE-002"


def test_the_page_may_run_no_other_script_than_its_own(served: Served) -> None:
    line = http.client.HTTPConnection("127.0.0.1", served.port, timeout=20)
    line.request("GET", f"/?key={served.key}")
    policy = line.getresponse().headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy

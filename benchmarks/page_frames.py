"""What the page takes in a real Chromium: JavaScript time per frame, and how soon the piece is seen.

Run: python benchmarks/page_frames.py (needs the Debian package chromium)

Pieces of 1,200 and of 20,000 pixels, drawn by software. Each frame is one of another moment, evenly over standby, show
and fades, and is timed by the page's own clock in its parts: the looks' codes, their way into the scene, the call that
draws it, and what moves beside it. "shown" is how often a second a new picture came about, the drawing by software
included; a page with a graphics card waits for none of that.

First paint is timed from the start of the navigation: to the browser's first-contentful-paint, and to when the first
picture with pixels in it is drawn to its last dot (read back from it).
"""

from __future__ import annotations

import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, Page, Route, sync_playwright

from lampwright.layout import lay_out
from lampwright.page.errands import START
from lampwright.page.preview import preview_page
from lampwright.page.scene import scene_of
from lampwright.piece import piece_from_text
from lampwright.show import compile_show

SIZES = (3, 50)
"""Posts of 400 pixels each."""

N_FRAME = 200
N_WARM = 60
"""Frames before those that are timed: the engine translates a look after some calls."""

N_PAINT = 5

FLAGS = (
    "--no-sandbox --no-first-run --disable-background-networking --disable-component-update --disable-sync "
    "--use-angle=swiftshader --enable-unsafe-swiftshader"
).split()

PIECE = """
[brief]
name = "{count} Posts"
place = "bench"
date = 2026-12-19
standby = "1 min"
run_time = "30 min"
coldest = "0 degC"
wind = "0 m/s"
survive = {{ failures = 0, lit = "0 %" }}

[[member]]
name = "post"
shape = "straight"
length = "6.67 m"
repeat = {{ pattern = "grid", count = {grid}, step = ["1 m", "1 m"] }}

[[circuit]]
name = "post"
each = "post"
pack = "pack-20ah-3a"
board = "m328p-16mhz-crystal"
[[circuit.run]]
name = "strip"
strip = "ws2812b-60"
pin = "PD6"
feed = [
  {{ at = "0 %", wire = "awg-16", length = "0.3 m" }},
  {{ at = "100 %", wire = "awg-16", length = "7 m" }},
]
[[circuit.run.section]]
on = "post"

[show]
rate = "25 /s"
brightness = "15 %"

[[cue]]
look = "slow-ice"
length = "1 min"
fade = "10 s"
[[cue]]
look = "drifting-glints"
length = "1 min"
fade = "10 s"
[[cue]]
look = "white-hush"
length = "1 min"
fade = "10 s"
[[cue]]
look = "rime-road"
length = "1 min"
fade = "10 s"
"""

GRIDS = {3: "[3, 1]", 50: "[10, 5]"}

TIMED = """([warm, count]) => new Promise((done) => {
    const { clock, watch } = window.lampwright;
    const whole = 300, rows = [];
    let n = 0, began = 0;
    clock.play(false);
    watch((spent) => {
        if (n >= warm) rows.push([spent.looks, spent.copy, spent.draw, spent.beside]);
        if (n === warm) began = performance.now();
        if (++n === warm + count) {
            watch(undefined);
            return done({ rows, seconds: (performance.now() - began) / 1000 });
        }
        clock.seek((whole * ((n * 0.618034) % 1)));
    });
    clock.seek(0);
})"""

# Notes when the first picture that has pixels in it is there, drawing included: reading a dot back waits for it.
WATCHED = """(() => {
    const draw = WebGL2RenderingContext.prototype.drawArrays;
    WebGL2RenderingContext.prototype.drawArrays = function (mode, ...rest) {
        draw.call(this, mode, ...rest);
        if (mode !== this.POINTS) return;
        WebGL2RenderingContext.prototype.drawArrays = draw;
        this.readPixels(0, 0, 1, 1, this.RGBA, this.UNSIGNED_BYTE, new Uint8Array(4));
        window.pixelsAt = performance.now();
    };
})()"""

PAINTED = """() => [
    performance.getEntriesByName("first-contentful-paint")[0]?.startTime ?? 0, window.pixelsAt ?? 0,
]"""


def main() -> None:
    """Print the tables of README.md."""
    with sync_playwright() as player, tempfile.TemporaryDirectory() as scratch:
        chromium = shutil.which("chromium")
        if chromium is None:
            sys.exit('no Chromium: type "make references"')
        browser = player.chromium.launch(executable_path=chromium, args=FLAGS)
        pieces = {}
        for count in SIZES:
            file = Path(scratch) / f"posts-{count}.toml"
            file.write_text(PIECE.format(count=count, grid=GRIDS[count]), encoding="utf-8")
            pieces[count] = file
        _frames(browser, pieces)
        _paints(browser, pieces)
        browser.close()


def _frames(browser: Browser, pieces: dict[int, Path]) -> None:
    print("milliseconds a frame, median / 95th percentile")
    print(f"{'pixels':>6}{'looks':>15}{'copy':>15}{'draw call':>15}{'beside':>15}{'all':>15}{'shown /s':>10}")
    for count, file in pieces.items():
        text, _ = _preview(file)
        page = browser.new_page(viewport={"width": 1440, "height": 900})
        timed = _timed(page, text)
        rows = timed["rows"]
        parts = [[row[part] for row in rows] for part in range(4)]
        told = "".join(f"{_spread(part):>15}" for part in [*parts, [sum(row) for row in rows]])
        print(f"{400 * count:6}{told}{len(rows) / timed['seconds']:10.1f}", flush=True)
        page.close()


def _timed(page: Page, text: str) -> dict[str, Any]:
    """Return the parts' times of many frames; headers that isolate the page give its clock 5 µs."""
    headers = {"cross-origin-opener-policy": "same-origin", "cross-origin-embedder-policy": "require-corp"}

    def answer(route: Route) -> None:
        route.fulfill(body=text, content_type="text/html; charset=utf-8", headers=headers)

    page.route("**/*", answer)
    page.goto("http://127.0.0.1:9/")
    page.wait_for_function("window.lampwright")
    assert page.evaluate("crossOriginIsolated")
    timed: dict[str, Any] = page.evaluate(TIMED, [N_WARM, N_FRAME])
    return timed


def _spread(times: Sequence[float]) -> str:
    return f"{statistics.median(times):.2f} / {statistics.quantiles(times, n=20)[-1]:.2f}"


def _paints(browser: Browser, pieces: dict[int, Path]) -> None:
    print(f"\nmilliseconds from the start of the navigation, median of {N_PAINT}")
    print(f"{'pixels':>6}{'':10}{'first-contentful-paint':>24}{'first pixels':>14}{'MB':>7}{'made in':>10}")
    for count, file in pieces.items():
        text, took = _preview(file)
        preview = file.with_suffix(".html")
        preview.write_text(text, encoding="utf-8")
        _paint_row(browser, count, "preview", preview.as_uri(), len(text), took)
        with _opened(file) as (address, took):
            _paint_row(browser, count, "open", address, 0, took)


def _paint_row(browser: Browser, count: int, what: str, address: str, size: int, took: float) -> None:
    found = [_painted(browser, address) for _ in range(N_PAINT)]
    first, pixels = (statistics.median(each[part] for each in found) for part in (0, 1))
    told = f"{size / 1e6:7.2f}" if size else f"{'':7}"
    print(f"{400 * count:6}  {what:8}{first:24.0f}{pixels:14.0f}{told}{took:8.1f} s", flush=True)


def _painted(browser: Browser, address: str) -> list[float]:
    page = browser.new_page(viewport={"width": 1440, "height": 900})
    page.add_init_script(WATCHED)
    page.goto(address)
    while min(found := list[float](page.evaluate(PAINTED))) <= 0:
        page.wait_for_timeout(50)
    page.close()
    return found


def _preview(file: Path) -> tuple[str, float]:
    """Return the preview of a piece, and how long it took to make. [s]"""
    began = time.perf_counter()
    piece = piece_from_text(file.read_text(encoding="utf-8"), file)
    text = preview_page(scene_of(piece, compile_show(lay_out(piece))), may_flash=False)
    return text, time.perf_counter() - began


@contextmanager
def _opened(file: Path) -> Iterator[tuple[str, float]]:
    """Serve a piece as ``lampwright open`` does; yield its address, and how long that took from the command on. [s]"""
    began = time.perf_counter()
    command = [sys.executable, "-c", START, "open", str(file), "--no-browser"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as serving:
        assert serving.stdout is not None
        line = serving.stdout.readline()
        try:
            yield line.split()[-1], time.perf_counter() - began
        finally:
            serving.terminate()


if __name__ == "__main__":
    main()

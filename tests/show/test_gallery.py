"""The gallery: what its page and pictures say of a look is so."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from lampwright.look import read_look
from lampwright.show.compile import library_names, library_text
from lampwright.show.gallery import (
    BEGIN,
    END,
    StaleCostError,
    drawn,
    exhibits,
    gallery_text,
    read_cycles,
    with_gallery,
)
from lampwright.show.strip_chart import Drawn, draw

DOCS = Path(__file__).parents[2] / "docs"
PICTURES = DOCS / "pictures" / "looks"
FIGURE = re.compile(r"\d+\.\d\d(?= A/m| \|)")
"""A draw on the page. It may move a little with the last bit of a look's arithmetic; the rest may not."""


@pytest.fixture(scope="module")
def page_part() -> str:
    """What the page holds between the gallery's marks."""
    page = (DOCS / "looks.md").read_text(encoding="utf-8")
    return page.partition(BEGIN)[2].partition(END)[0].strip()


def test_the_page_says_what_the_looks_are_now(page_part: str) -> None:
    fresh = gallery_text(read_cycles(PICTURES / "cycles.csv"), "pictures/looks")
    assert FIGURE.sub("N", page_part) == FIGURE.sub("N", fresh)
    said, real = ([float(n) for n in FIGURE.findall(text)] for text in (page_part, fresh))
    assert said == pytest.approx(real, rel=0.05, abs=0.02)


def test_every_look_leaves_time_for_the_limiter() -> None:
    assert max(read_cycles(PICTURES / "cycles.csv").values()) < 600


def test_a_look_that_was_changed_since_is_measured_again(tmp_path: Path) -> None:
    table = (PICTURES / "cycles.csv").read_text(encoding="utf-8")
    (tmp_path / "cycles.csv").write_text(re.sub(r"(slow-ice,\d+,\d+,).*", r"\g<1>0", table), encoding="utf-8")
    with pytest.raises(StaleCostError) as caught:
        read_cycles(tmp_path / "cycles.csv")
    assert str(caught.value) == (
        f"not measured: slow-ice; run python benchmarks/look_cycles.py --csv {tmp_path / 'cycles.csv'}"
    )


def test_there_is_one_picture_for_each_look() -> None:
    assert {path.stem for path in PICTURES.glob("*.png")} == set(library_names())
    assert sum(path.stat().st_size for path in PICTURES.glob("*.png")) < 2_000_000


@pytest.mark.parametrize("name", library_names())
def test_a_picture_shows_its_look_as_it_is(name: str) -> None:
    exhibit = next(e for e in exhibits() if e.look.name == name)
    with Image.open(PICTURES / f"{name}.png") as kept:
        seen = np.asarray(kept.convert("RGB"), dtype=np.int64)
    fresh = np.asarray(draw(drawn(exhibit)).convert("RGB"), dtype=np.int64)
    assert seen.shape == fresh.shape
    assert np.abs(seen - fresh).mean() < 2


def test_a_pixel_is_drawn_where_and_when_it_shone() -> None:
    light = np.zeros((800, 150, 3))
    light[400, 75] = 1.0
    image = draw(Drawn("one", "", light, 0.025)).convert("RGB")
    bright = [(x, y) for x in range(76, 876) for y in range(76, 226) if min(image.getpixel((x, y))) > 200]
    assert bright == [(76 + 400, 76 + 75)]


def test_titles_stand_on_the_page_in_full(page_part: str) -> None:
    for name in library_names():
        title = read_look(library_text(name), name, name).title
        assert title.split(": ", 1)[1].lower() in page_part.lower()


def test_the_rest_of_the_page_is_left_alone() -> None:
    page = f"before\n{BEGIN}\nold\n{END}\nafter\n"
    assert with_gallery(page, "new") == f"before\n{BEGIN}\n\nnew\n\n{END}\nafter\n"

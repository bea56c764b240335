"""The form while it is filled: nothing that was said is lost, and nobody writes over what somebody else has said."""

from __future__ import annotations

import datetime
import io
import signal
import subprocess
import sys
from collections.abc import Sequence
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import pypdfium2
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from lampwright.book import after_show_page
from lampwright.faults.every import embody
from lampwright.layout import Layout
from lampwright.stock import book_in, find_lots, history, open_stock
from lampwright.strike import (
    SOUND,
    Entry,
    Form,
    begin_filling,
    damage_photos,
    damage_picture,
    form_csv,
    form_of,
    hows,
    inspect,
    judge,
    read_form,
    reclaim,
    report_on,
    save_photo,
    set_aside,
    small_photo,
    sound_rest,
    tell,
    write_empty,
)
from lampwright.strike.photos import MOST_BYTES, photo_file
from lampwright.strike.reading import read_entries, tidied
from lampwright.units import MakerError
from lampwright.written.picture import png_bytes
from tests.faults.pieces import row

DAY = datetime.date(2026, 12, 20)


@pytest.fixture(scope="module")
def layout() -> Layout:
    return row(3, length="2 m", garland=True)


@pytest.fixture
def form(layout: Layout, tmp_path: Path) -> Form:
    whole = form_of(layout, embody(layout))
    return Form(whole.rows, whole.pitches, tmp_path)


def picture(name: str = "JPEG", size: tuple[int, int] = (40, 30)) -> bytes:
    text = io.BytesIO()
    Image.new("RGB", size, (200, 120, 40)).save(text, name)
    return text.getvalue()


def problems(form: Form, path: Path, *lines: str) -> list[str]:
    """Return what reading a form of these lines says, as "line:column summary"."""
    path.write_text("circuit,thing,sort,failed,at,minute,photo,note\n" + "\n".join(lines) + "\n", encoding="utf-8")
    with pytest.raises(MakerError) as caught:
        read_form(path, form)
    places = [(each, each.place) for each in caught.value.problems]
    return [f"{place.line}:{place.column} {each.summary}" for each, place in places if place is not None]


ENTRY = st.builds(
    Entry,
    st.sampled_from(["", SOUND, *(way for ways in hows().values() for way in ways)]),
    note=st.text("a ,\"'\n;é=\t\x00", max_size=9),
)


@given(st.lists(st.tuples(st.integers(0, 10_000), st.lists(ENTRY, max_size=3)), max_size=6))
def test_what_is_written_is_what_is_read_again(
    layout: Layout, tmp_path_factory: pytest.TempPathFactory, said: list[tuple[int, list[Entry]]]
) -> None:
    form, path = form_of(layout, embody(layout)), tmp_path_factory.mktemp("form") / "form.csv"
    filling = begin_filling(path, form)
    for number, entries in said:
        thing = form.rows[number % len(form.rows)]
        fit = [each for each in entries if not judge(thing, each, form)[1]]
        filling = tell(filling, {thing.key: fit})
        assert filling.entries[thing.key] == tidied(fit)
        assert begin_filling(path, form) == filling
    assert list(filling.entries) == [each.key for each in form.rows]


def test_sound_is_told_apart_from_what_nobody_has_looked_at(form: Form, tmp_path: Path) -> None:
    path = tmp_path / "form.csv"
    write_empty(path, form)
    filling = begin_filling(path, form)
    assert len(filling.untold()) == len(form.rows)
    first = [thing for thing in filling.entries if thing[0] == "post 1"]
    filling = tell(filling, {first[0]: [Entry("flat", minute="95")], first[1]: [Entry(note="looks odd")]})
    filling = tell(filling, sound_rest(filling, first))
    assert [thing for thing in filling.untold() if thing[0] == "post 1"] == []
    assert filling.entries[first[0]] == (Entry("flat", minute="95"),)
    assert filling.entries[first[1]] == (Entry(SOUND, note="looks odd"),)
    assert [each.failure.how for each in read_form(path, form)] == ["flat"]


def test_two_dead_pixels_on_one_strip_are_two_failures(form: Form, tmp_path: Path) -> None:
    strip = next(each for each in form.rows if each.sort == "strip")
    filling = begin_filling(tmp_path / "form.csv", form)
    tell(filling, {strip.key: [Entry("dead pixel", "pixel 3"), Entry("dead pixel", "1 m")]})
    assert [each.pixel for each in read_form(tmp_path / "form.csv", form)] == [3, 30]


def test_a_form_that_somebody_else_has_changed_is_not_written_over(form: Form, tmp_path: Path) -> None:
    path = tmp_path / "form.csv"
    pack = form.rows[0].key
    mine = begin_filling(path, form)
    tell(mine, {pack: [Entry("flat")]})
    theirs = path.read_bytes()
    for act in (lambda: tell(mine, {pack: [Entry(SOUND)]}), lambda: set_aside(mine)):
        with pytest.raises(MakerError, match="STRIKE-003: the form was changed by somebody else"):
            act()
    assert path.read_bytes() == theirs


def test_an_empty_form_never_replaces_a_filled_one(form: Form, tmp_path: Path) -> None:
    path = tmp_path / "form.csv"
    for stands_there in ("", form_csv(form.rows), form_csv(form.rows[:3])):
        path.write_text(stands_there, encoding="utf-8")
        write_empty(path, form)
        assert path.read_text(encoding="utf-8") == form_csv(form.rows)
    for stands_there in (form_csv(form.rows, {form.rows[0].key: [Entry(note="wet")]}), "a shopping list\n"):
        path.write_text(stands_there, encoding="utf-8")
        with pytest.raises(MakerError, match="STRIKE-003"):
            write_empty(path, form)
        assert path.read_text(encoding="utf-8") == stands_there


def test_the_next_inspection_keeps_the_last_one(form: Form, tmp_path: Path) -> None:
    path = tmp_path / "form.csv"
    for number in (1, 2):
        filling = tell(begin_filling(path, form), {form.rows[0].key: [Entry("flat", note=str(number))]})
        assert set_aside(filling) == tmp_path / f"form-{number}.csv"
    assert [path.name for path in sorted(tmp_path.iterdir())] == ["form-1.csv", "form-2.csv"]


def test_what_is_wrong_is_told_at_its_own_cell(form: Form, tmp_path: Path) -> None:
    strip = 'post 1,"line, post 1, pixels 0 to 59",strip'
    (tmp_path / "photos").mkdir()
    (tmp_path / "photos" / "arch.jpg").write_bytes(picture())
    (tmp_path / "words.jpg").write_text("no picture", encoding="utf-8")
    assert problems(
        form,
        tmp_path / "form.csv",
        f"{strip},dead pixel,1 pieces,,,",  # "1" stands in the name of the circuit too
        f"{strip},,12,,,",
        f"{strip},dead pixel,60,,photos/ach.jpg,",
        f"{strip},wet,,,words.jpg,",
        f"{strip},wet,,,../words.jpg,",
        "post 1,pack,pack,flat,3,,,",
        "post 9,pack,pack,,,,,seen",
    ) == [
        '2:56 "pieces" is not a known unit',
        "3:45 where or when, but not how",
        "4:56 this isn't on that strip",
        "4:60 there is no such picture",
        "5:51 this is no JPEG or PNG, or a damaged one",
        "6:51 this is outside of the piece's folder",
        "7:23 a pack has no place of its own",
        "8:8 this piece has no such thing",
    ]


def test_a_place_along_a_span_or_a_post_is_kept(form: Form, tmp_path: Path) -> None:
    filling = begin_filling(tmp_path / "form.csv", form)
    for sort, way in (("span", "torn off"), ("fixing", "slipped tie"), ("member", "bent")):
        thing = next(each for each in form.rows if each.sort == sort)
        filling = tell(filling, {thing.key: [Entry(way, "40 cm")]})
    assert [(each.failure.at, each.place()) for each in filling.failures()] == [(0.4, " at 40 cm")] * 3


# --- photos ---


@pytest.mark.parametrize(("name", "ending"), [("JPEG", ".jpg"), ("PNG", ".png")])
def test_a_photo_is_kept_under_a_name_of_the_thing(form: Form, name: str, ending: str) -> None:
    strip = next(each for each in form.rows if each.sort == "strip")
    content = picture(name)
    kept = save_photo(form.folder, strip, content)
    assert kept.startswith("photos/post-1-line-post-1-pixels-0-to-59-")
    assert kept.endswith(ending)
    assert (form.folder / kept).read_bytes() == content
    assert save_photo(form.folder, strip, content) == kept
    assert judge(strip, Entry("wet", photo=kept), form)[1] == ()
    assert judge(strip, Entry("wet", photo=kept.replace("/", "\\")), form)[1] == ()  # as typed on another system


@pytest.mark.parametrize(
    "content",
    [b"", b"<svg/>", b"GIF89a" + b"\0" * 40, picture("GIF"), picture("BMP"), picture()[:-200], picture("PNG")[:60]],
    ids=["nothing", "svg", "gif-like", "gif", "bmp", "half a jpeg", "half a png"],
)
def test_what_is_no_photo_is_not_kept(form: Form, content: bytes) -> None:
    with pytest.raises(MakerError, match="STRIKE-004: this is no JPEG or PNG, or a damaged one"):
        save_photo(form.folder, form.rows[0], content)
    assert list(form.folder.iterdir()) == []


def test_a_photo_too_large_is_not_kept(form: Form) -> None:
    with pytest.raises(MakerError, match="this photo is too large"):
        save_photo(form.folder, form.rows[0], b"\0" * (MOST_BYTES + 1))
    with pytest.raises(MakerError, match="this photo has too many pixels"):
        save_photo(form.folder, form.rows[0], picture("PNG", (64_001, 1000)))


def test_a_folder_of_photos_that_leads_elsewhere_is_not_followed(
    form: Form, tmp_path_factory: pytest.TempPathFactory
) -> None:
    elsewhere = tmp_path_factory.mktemp("elsewhere")
    (form.folder / "photos").symlink_to(elsewhere)
    with pytest.raises(MakerError, match="STRIKE-004: its place is outside"):
        save_photo(form.folder, form.rows[0], picture())
    assert list(elsewhere.iterdir()) == []


@pytest.mark.parametrize("name", ["/etc/passwd", "../x.jpg", "photos/../../x.jpg", "a\0b.jpg", "a" * 299])
def test_no_name_of_a_photo_leads_out_of_the_folder(form: Form, name: str) -> None:
    assert photo_file(form.folder, name) is None or len(name) == 299
    assert judge(form.rows[0], Entry("flat", photo=name), form)[1] != ()


def test_a_small_photo_stands_upright_and_tells_nothing_of_who_took_it(tmp_path: Path) -> None:
    marks = Image.Exif()
    marks[0x0112] = 6  # orientation: turned by a quarter (Exif 2.3, 4.6.4, tag 274; from memory)
    marks[0x010F] = "a maker of cameras"
    Image.new("RGB", (400, 200)).save(tmp_path / "wide.jpg", exif=marks)
    small = small_photo(tmp_path / "wide.jpg", 100)
    with Image.open(io.BytesIO(small)) as read:
        assert read.size == (50, 100)
        assert dict(read.getexif()) == {}


def kept_photo(form: Form, sort: str, *ways: Entry) -> str:
    """Keep a photo of the first thing of a sort, and say that it failed in these ways, the first with that photo."""
    thing = next(each for each in form.rows if each.sort == sort)
    kept = save_photo(form.folder, thing, picture())
    path = form.folder / "form.csv"
    tell(begin_filling(path, form), {thing.key: [replace(ways[0], photo=kept), *ways[1:]]})
    return kept


def test_a_length_keeps_the_photo_of_what_failed_beside_it(layout: Layout, form: Form, tmp_path: Path) -> None:
    kept = kept_photo(form, "strip", Entry("dead pixel", "20"), Entry("crushed", "40"))
    kept_tube = kept_photo(form, "member", Entry("leaned or fell"))
    found = read_form(tmp_path / "form.csv", form)
    reclaimed = reclaim(layout, found, nights=1)
    notes = [lot.note for lot in reclaimed.lots if lot.part == "ws2812b-30" and lot.note.startswith("post 1 line")]
    assert notes == [
        f"post 1 line, pixels 0 to 19; photo {kept}",
        f"post 1 line, pixels 21 to 39; photo {kept}",
        "post 1 line, pixels 41 to 59",
    ]
    with open_stock(tmp_path / "stock.db", create=True) as book:
        book_in(book, inspect(embody(layout), [each.failure for each in found], DAY, 1, 2.0), reclaimed.lots)
        told = {
            lot.what.part: history(book, lot.number)[-1].note for lot in find_lots(book) if kept_tube in lot.what.note
        }
    assert told == {"tube": f"photo {kept_tube}"}


def test_the_page_after_the_show_has_the_photos_beside_the_map(layout: Layout, form: Form, tmp_path: Path) -> None:
    kept_photo(form, "pack", Entry("flat"))
    kept_photo(form, "strip", Entry("parted", "30"), Entry("dead pixel", "40"))
    found = read_form(tmp_path / "form.csv", form)
    photos = damage_photos(form.folder, found)
    assert [(each.number, each.told) for each in photos] == [(1, "flat"), (2, "parted at pixel 30")]
    body = embody(layout)
    inspection = inspect(body, [each.failure for each in found], DAY, nights=1, hours=2.0)
    report = report_on(body, inspection, found, reclaim(layout, found, nights=1), [])
    page = after_show_page(report, png_bytes(damage_picture(layout, found)), photos)
    with closing(pypdfium2.PdfDocument(page)) as read:
        assert len(read) == 1
        text = read[0].get_textpage().get_text_range()
        pictures = [each for each in read[0].get_objects() if isinstance(each, pypdfium2.PdfImage)]
        assert "1: flat" in text
        assert "2: parted at pixel 30" in text
        assert len(pictures) == 3
        map_right, page_right = pictures[0].get_bounds()[2], read[0].get_width()
        for photo in pictures[1:]:
            left, _, right, _ = photo.get_bounds()
            assert map_right <= left < right < page_right
            assert right - left < 0.4 * page_right


def test_no_more_photos_than_the_page_has_room_for(form: Form, tmp_path: Path) -> None:
    (tmp_path / "one.jpg").write_bytes(picture())
    strip = next(each for each in form.rows if each.sort == "strip")
    filling = begin_filling(tmp_path / "form.csv", form)
    filling = tell(filling, {strip.key: [Entry("dead pixel", str(n), photo="one.jpg") for n in range(9)]})
    assert [each.number for each in damage_photos(form.folder, filling.failures())] == [1, 2, 3, 4, 5, 6]


WRITER = """
import sys
from pathlib import Path
from lampwright.faults.every import embody
from lampwright.strike import Entry, begin_filling, form_of, tell
from tests.faults.pieces import row
layout = row(3, length="2 m", garland=True)
form = form_of(layout, embody(layout))
filling = begin_filling(Path(sys.argv[1]), form)
for number in range(100_000):
    filling = tell(filling, {form.rows[number % len(form.rows)].key: [Entry("sound", note=f"{number} " * 20)]})
    print(number, flush=True)
"""


def killed_after(lines: int, path: Path) -> int:
    """Let a process fill the form, end it hard after so many answers, and return the last one that it confirmed."""
    process = subprocess.Popen([sys.executable, "-c", WRITER, str(path)], stdout=subprocess.PIPE, text=True)
    assert process.stdout is not None
    for _ in range(lines):
        process.stdout.readline()
    process.send_signal(signal.SIGKILL if hasattr(signal, "SIGKILL") else signal.SIGTERM)
    said: Sequence[str] = process.stdout.read().split()
    process.wait()
    return int(said[-1]) if said else lines - 1


def test_a_kill_in_the_middle_loses_nothing_that_was_confirmed(layout: Layout, tmp_path: Path) -> None:
    form = form_of(layout, embody(layout))
    for lines in (3, 40):
        path = tmp_path / f"{lines}.csv"
        last = killed_after(lines, path)
        notes = [int(each.note.split()[0]) for entries in read_entries(path, form).values() for each in entries]
        # whole, and with the last confirmed answer; the one being written may have come in as well
        assert max(notes) in (last, last + 1)
        assert len(notes) == min(max(notes) + 1, len(form.rows))

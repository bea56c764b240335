"""The stock book: what was booked is there, whatever happens to the program or the machine."""

from __future__ import annotations

import os
import random
import signal
import sqlite3
import subprocess
import sys
import time
from contextlib import closing
from pathlib import Path

import pytest

from lampwright.stock import NewLot, add_lot, find_lots, history, is_stock_book, open_stock
from lampwright.stock.lots import write_lot
from lampwright.stock.tables import FILE_MARK, STEPS
from lampwright.units import MakerError

needs_fork = pytest.mark.skipif(not hasattr(os, "fork"), reason="kills a child process as Unix does")


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "stock.db"


def write_until_killed(path: Path, confirmed: int) -> None:
    """Book lots in one after the other, telling each one's number once it is confirmed; never returns."""
    with open_stock(path, create=True) as book:
        while True:
            os.write(confirmed, add_lot(book, NewLot("wire", length=1.5)).to_bytes(4, "big"))


def kill_in_the_middle(path: Path, delay: float) -> list[int]:
    """Start a writer, kill it after a while; return the numbers that it told as confirmed."""
    out, into = os.pipe()
    child = os.fork()
    if child == 0:  # pragma: no cover
        try:
            os.close(out)
            write_until_killed(path, into)
        finally:
            os._exit(1)
    os.close(into)
    time.sleep(delay)
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    told = b""
    while part := os.read(out, 1 << 16):
        told += part
    os.close(out)
    return [int.from_bytes(told[i : i + 4], "big") for i in range(0, len(told) // 4 * 4, 4)]


def kill_again_and_again(path: Path, times: int, seed: int) -> None:
    dice, confirmed = random.Random(seed), set[int]()
    for _ in range(times):
        confirmed |= set(kill_in_the_middle(path, dice.uniform(0.0, 0.05)))
        if not is_stock_book(path):
            assert not confirmed  # killed before there was anything
            continue
        with open_stock(path, create=True) as book:
            there = {row["number"] for row in book.rows("SELECT number FROM lot")}
            with_history = {row["lot"] for row in book.rows("SELECT lot FROM entry")}
        assert confirmed <= there  # nothing lost that was confirmed
        assert there == with_history  # nothing half there
        confirmed = there
    with open_stock(path) as book:
        assert book.rows("PRAGMA integrity_check")[0][0] == "ok"
        assert not book.rows("PRAGMA foreign_key_check")
    assert len(confirmed) > times // 4  # they did write


@needs_fork
def test_nothing_confirmed_is_lost_when_the_program_is_killed(path: Path) -> None:
    kill_again_and_again(path, 40, seed=1)


@needs_fork
@pytest.mark.slow
def test_nothing_confirmed_is_lost_at_1000_kills(path: Path) -> None:
    kill_again_and_again(path, 1000, seed=2)


WRITER = """
import sys
from pathlib import Path
from lampwright.stock import open_stock, take_from
with open_stock(Path(sys.argv[1])) as book:
    for _ in range(40):
        take_from(book, 1, 1)
"""


def test_two_programs_at_once_lose_no_change(path: Path) -> None:
    with open_stock(path, create=True) as book:
        add_lot(book, NewLot("clip", 100))
    both = [subprocess.Popen([sys.executable, "-c", WRITER, str(path)]) for _ in range(2)]
    assert [each.wait(60) for each in both] == [0, 0]
    with open_stock(path) as book:
        assert find_lots(book)[0].what.count == 20
        assert len(history(book, 1)) == 81


FULL = """
import resource, signal, sys
from pathlib import Path
from lampwright.stock import NewLot, add_lot, open_stock
from lampwright.units import MakerError
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
with open_stock(Path(sys.argv[1])) as book:
    resource.setrlimit(resource.RLIMIT_FSIZE, (80_000, 80_000))
    try:
        for _ in range(2000):
            add_lot(book, NewLot("wire", note="x" * 500))
    except MakerError as error:
        print(error)
"""


@pytest.mark.skipif(sys.platform == "win32", reason="bounds a file's size as Unix does")
def test_a_full_disk_is_told_and_harms_nothing(path: Path) -> None:
    with open_stock(path, create=True) as book:
        add_lot(book, NewLot("fuse-3a", 7))
    done = subprocess.run([sys.executable, "-c", FULL, str(path)], capture_output=True, text=True, check=True)
    assert "STOCK-002" in done.stdout
    assert f"nothing was written into {path}" in done.stdout
    with open_stock(path) as book:
        assert book.rows("PRAGMA integrity_check")[0][0] == "ok"
        lots = find_lots(book, gone=True)
        assert lots[0].what.count == 7
        assert all(len(history(book, lot.number)) == 1 for lot in lots)
        add_lot(book, NewLot("fuse-3a"))  # with room again it goes on


@pytest.mark.skipif(not hasattr(os, "setuid"), reason="needs rights as Unix has them")
def test_a_folder_that_may_not_be_written_is_told(tmp_path: Path) -> None:
    folder = tmp_path / "locked"
    folder.mkdir()
    with open_stock(folder / "stock.db", create=True) as book:
        add_lot(book, NewLot("fuse-3a"))
    before = (folder / "stock.db").read_bytes()
    (folder / "stock.db").chmod(0o444)
    folder.chmod(0o555)
    for each in folder.parents[:2]:
        each.chmod(each.stat().st_mode | 0o055)
    out, into = os.pipe()
    child = os.fork()
    if child == 0:  # pragma: no cover
        try:
            os.chdir(folder)
            if os.getuid() == 0:
                os.setuid(65534)
            try:
                with open_stock(Path("stock.db")) as book:
                    add_lot(book, NewLot("fuse-5a"))
            except MakerError as error:
                os.write(into, str(error).encode())
        finally:
            os._exit(0)
    os.close(into)
    os.waitpid(child, 0)
    told = os.read(out, 1 << 16).decode()
    os.close(out)
    folder.chmod(0o755)
    assert "STOCK-002" in told
    assert (folder / "stock.db").read_bytes() == before


def read_all(path: Path) -> None:
    with open_stock(path) as book:
        find_lots(book)
        book.rows("SELECT * FROM entry")


@pytest.mark.parametrize("keep", [10, 100, 3000, 9000])
def test_a_damaged_book_is_told_and_left_as_it_is(path: Path, keep: int) -> None:
    with open_stock(path, create=True) as book, book.change() as connection:
        for number in range(200):
            write_lot(connection, NewLot("wire", length=1 + number), "added")
    whole = path.read_bytes()
    damaged = whole[:keep] + bytes(255 - each for each in whole[keep:-100])
    path.write_bytes(damaged)
    with pytest.raises(MakerError, match="STOCK-001"):
        read_all(path)
    assert path.read_bytes() == damaged


def test_a_list_in_the_place_of_a_book_is_led_to_import(tmp_path: Path) -> None:
    (tmp_path / "list.csv").write_text("part,count\nwire,2\n" * 200, encoding="utf-8")
    with pytest.raises(MakerError, match=r"list\.csv is no stock book\nfound:   a file of another kind\n") as caught:
        read_all(tmp_path / "list.csv")
    assert "lampwright shelf import books a CSV list into one" in caught.value.render()


def test_what_is_no_stock_book_is_never_touched(tmp_path: Path) -> None:
    text, other = tmp_path / "list.csv", tmp_path / "other.db"
    text.write_text("part,count\n", encoding="utf-8")
    with closing(sqlite3.connect(other)) as connection:
        connection.execute("CREATE TABLE mine (x)")
        connection.commit()
    for each in (text, other, tmp_path, tmp_path / "missing.db"):
        before = each.read_bytes() if each.is_file() else None
        with pytest.raises(MakerError, match="STOCK-001"):
            open_stock(each)
        assert not each.is_file() or each.read_bytes() == before
    assert not (tmp_path / "missing.db").exists()


def test_a_book_of_a_newer_program_is_refused(path: Path) -> None:
    open_stock(path, create=True).close()
    with closing(sqlite3.connect(path)) as connection:
        connection.execute(f"PRAGMA user_version = {len(STEPS) + 1}")
    with pytest.raises(MakerError, match="was written by a newer lampwright"):
        open_stock(path)


@pytest.mark.parametrize("version", range(1, len(STEPS)))
def test_a_book_of_an_older_program_opens_with_all_that_is_in_it(path: Path, version: int) -> None:
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        for step in STEPS[:version]:
            for statement in step:
                connection.execute(statement)
        connection.execute(f"PRAGMA application_id = {FILE_MARK}")
        connection.execute(f"PRAGMA user_version = {version}")
        connection.execute(
            "INSERT INTO lot (part, count, place, condition, note, origin, joints, sleeve, added) "
            "VALUES ('fuse-3a', 4, 'box', 'good', '', '', 0, '', '2026-01-05')"
        )
    with open_stock(path) as book:
        (lot,) = find_lots(book)
        assert (lot.what.part, lot.what.count, lot.added.year) == ("fuse-3a", 4, 2026)
        assert book.rows("PRAGMA user_version")[0][0] == len(STEPS)
        assert book.rows("SELECT count(*) FROM inspection")[0][0] == 0

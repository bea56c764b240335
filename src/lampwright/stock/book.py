"""Opening a stock book, and writing into it one whole change at a time."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from types import TracebackType
from typing import Any

from lampwright.stock.tables import FILE_MARK, STEPS
from lampwright.units import MakerError, Problem

WAIT = 10.0
"""For another program that is writing. [s]"""

_MAGIC = b"SQLite format 3\x00"


def is_stock_book(path: Path) -> bool:
    """Return whether a file is a database and not a list; an empty or missing file isn't."""
    with suppress(OSError), path.open("rb") as file:
        return file.read(len(_MAGIC)) == _MAGIC
    return False


class StockBook:
    """An open book. Use it in a ``with``; read with :meth:`rows`, write within :meth:`change`."""

    def __init__(self, path: Path, connection: sqlite3.Connection) -> None:
        self.path, self._connection = path, connection

    def __enter__(self) -> StockBook:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Close it; what was confirmed is on the disk already."""
        self._connection.close()

    def rows(self, query: str, values: Sequence[object] = ()) -> list[sqlite3.Row]:
        """Return what a query finds.

        Raises
        ------
        MakerError
            STOCK-001 where the file is damaged.
        """
        with told(self.path):
            return self._connection.execute(query, values).fetchall()

    @contextmanager
    def change(self) -> Iterator[sqlite3.Connection]:
        """Write all that is done within, or none of it. On leaving, it is on the disk.

        Raises
        ------
        MakerError
            STOCK-002 where it can't be written, STOCK-003 where more would be taken than there is.
        """
        with told(self.path):
            self._connection.execute("BEGIN IMMEDIATE")
            try:
                yield self._connection
                self._connection.execute("COMMIT")
            except BaseException:
                with suppress(sqlite3.Error):  # a full disk has rolled it back already
                    self._connection.execute("ROLLBACK")
                raise

    def copy_to(self, other: Path) -> None:
        """Copy the book, whole, as it is now, while others may write."""
        with told(other):
            target = sqlite3.connect(other)
            try:
                self._connection.backup(target)
            finally:
                target.close()


def open_stock(path: Path, *, create: bool = False) -> StockBook:
    """Return a book, brought to the newest version.

    Raises
    ------
    MakerError
        STOCK-001: there is none and ``create`` is false, it is no stock book, it is damaged, or a newer program
        wrote it. STOCK-002: it can't be written.
    """
    if path.is_dir() or (not create and not path.is_file()):
        found = "a folder" if path.is_dir() else "no such file"
        do = "write the path of a stock book"
        if not path.is_dir():
            do += f"; lampwright shelf add makes one at {path}"
        raise MakerError([Problem("STOCK-001", f"there is no stock book at {path}", found, "a stock book", do)])
    with told(path):
        connection = sqlite3.connect(path, timeout=WAIT, isolation_level=None)
        try:
            connection.row_factory = sqlite3.Row
            _prepare(connection, path)
        except BaseException:
            connection.close()
            raise
    return StockBook(path, connection)


def _prepare(connection: sqlite3.Connection, path: Path) -> None:
    if _one(connection, "PRAGMA user_version") != 0 and _one(connection, "PRAGMA application_id") != FILE_MARK:
        raise MakerError([_no_book(path, "a database of another program")])
    for pragma in ("foreign_keys = ON", "synchronous = FULL"):
        connection.execute(f"PRAGMA {pragma}")
    version = _one(connection, "PRAGMA user_version")
    if version > len(STEPS):
        summary = f"{path} was written by a newer lampwright"
        do = "install that version, or restore a backup made with this one; nothing was changed"
        found, allowed = f"version {version}", f"up to version {len(STEPS)}"
        raise MakerError([Problem("STOCK-001", summary, found, allowed, do)])
    if version < len(STEPS):
        if version == 0 and _one(connection, "SELECT count(*) FROM sqlite_schema"):
            raise MakerError([_no_book(path, "a database of another program")])
        connection.execute("PRAGMA journal_mode = WAL")
        _bring_up(connection)


def _bring_up(connection: sqlite3.Connection) -> None:
    """Take the missing steps, all or none; another program may have taken them meanwhile."""
    connection.execute("BEGIN IMMEDIATE")
    try:
        version = _one(connection, "PRAGMA user_version")
        for number in range(version, len(STEPS)):
            for statement in STEPS[number]:
                connection.execute(statement)
        connection.execute(f"PRAGMA application_id = {FILE_MARK}")
        connection.execute(f"PRAGMA user_version = {max(version, len(STEPS))}")
        connection.execute("COMMIT")
    except BaseException:
        with suppress(sqlite3.Error):
            connection.execute("ROLLBACK")
        raise


def _one(connection: sqlite3.Connection, query: str) -> int:
    value: Any = connection.execute(query).fetchone()[0]
    return int(value)


def _no_book(path: Path, found: str) -> Problem:
    do = "write the path of a stock book; nothing was changed"
    return Problem("STOCK-001", f"{path} is no stock book", found, "a stock book of this program", do)


@contextmanager
def told(path: Path) -> Iterator[None]:
    """Say for the maker what SQLite and the system say."""
    try:
        yield
    except sqlite3.IntegrityError as error:
        if "spoken for" not in str(error):
            raise
        summary = "more is spoken for than there is"
        do = "see lampwright shelf list, and release what a piece no longer needs"
        raise MakerError([Problem("STOCK-003", summary, str(error), "no more than what is there", do)]) from error
    except sqlite3.DatabaseError as error:
        raise MakerError([_problem(path, error)]) from error


def _problem(path: Path, error: sqlite3.DatabaseError) -> Problem:
    code = getattr(error, "sqlite_errorcode", 0) & 0xFF
    if code in (sqlite3.SQLITE_NOTADB, sqlite3.SQLITE_CORRUPT):
        if not is_stock_book(path):
            do = "name a stock book; lampwright shelf import books a CSV list into one; else restore your last backup"
            return Problem("STOCK-001", f"{path} is no stock book", "a file of another kind", "a stock book", do)
        summary = f"{path} is damaged, or no stock book"
        do = "restore your last backup: lampwright shelf restore; the file itself was left as it is"
        return Problem("STOCK-001", summary, str(error), "a stock book", do)
    causes = {
        sqlite3.SQLITE_FULL: ("the disk is full", "make room on the disk"),
        sqlite3.SQLITE_READONLY: ("it may not be written", "see to the rights of the file and its folder"),
        sqlite3.SQLITE_CANTOPEN: ("it can't be opened", "see to the folder and its rights"),
        sqlite3.SQLITE_BUSY: ("another program is writing into it", "wait until that is done"),
        sqlite3.SQLITE_IOERR: ("the disk doesn't do what it should", "see whether it is full or failing"),
    }
    found, do = causes.get(code, (str(error), "see what is said"))
    summary = f"nothing was written into {path}"
    return Problem("STOCK-002", summary, f"{found} ({error})", "a file that can be written", f"{do}, then try again")

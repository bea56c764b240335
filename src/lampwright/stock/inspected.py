"""Inspections: what was watched for how long, and what failed; from which rates are learned."""

from __future__ import annotations

import datetime
import sqlite3
from collections.abc import Mapping
from dataclasses import dataclass, fields

from lampwright.stock.book import StockBook


@dataclass(frozen=True)
class Failure:
    """One thing that had failed."""

    kind: str
    """The kind of fault, as ``lampwright faults`` names it."""
    circuit: str
    subject: str
    """Which thing it was, such as "hoop" or "arch 1 crown to arch 2 crown"."""
    at: float | None = None
    """Where along the run; ``None``: the whole of it. [m]"""
    how: str = ""
    minute: float | None = None
    """When, after switching on. [min]"""
    photo: str = ""
    note: str = ""
    place: str = ""
    """Such as "transition", as the rates are kept; empty where its kind has no places, or nobody told."""


@dataclass(frozen=True)
class Inspection:
    """One piece, looked through after its nights."""

    piece: str
    date: datetime.date
    nights: int
    hours: float
    """Of all nights together, standby included."""
    watched: Mapping[tuple[str, str], float]
    """By kind of fault and place: units times nights, or units times hours, as the kind's rate counts."""
    failures: tuple[Failure, ...]
    note: str = ""


@dataclass(frozen=True)
class Seen:
    """What all inspections together say of a kind of fault at a place."""

    failures: int
    watched: float
    n_piece: int
    """So many pieces were watched for it: three are not thirty."""


def add_inspection(book: StockBook, found: Inspection) -> int:
    """Write an inspection down; return its number."""
    with book.change() as connection:
        return write_inspection(connection, found)


def write_inspection(connection: sqlite3.Connection, found: Inspection) -> int:
    """Write an inspection within a change that goes on; return its number."""
    values = (found.piece, found.date.isoformat(), found.nights, found.hours, found.note)
    query = "INSERT INTO inspection (piece, date, nights, hours, note) VALUES (?, ?, ?, ?, ?)"
    number = connection.execute(query, values).lastrowid
    assert number is not None
    watched = [(number, kind, place, amount) for (kind, place), amount in found.watched.items()]
    connection.executemany("INSERT INTO watched (inspection, kind, place, amount) VALUES (?, ?, ?, ?)", watched)
    failures = [(number, *(getattr(each, column.name) for column in fields(Failure))) for each in found.failures]
    connection.executemany(
        "INSERT INTO failure (inspection, kind, circuit, subject, at, how, minute, photo, note, place) "
        "VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        failures,
    )
    return number


def inspections(book: StockBook, piece: str = "") -> tuple[Inspection, ...]:
    """Return the inspections of a piece, or all, oldest first."""
    where, values = ("WHERE piece = ?", (piece,)) if piece else ("", ())
    found = book.rows(f"SELECT id, piece, date, nights, hours, note FROM inspection {where} ORDER BY date, id", values)
    watched: dict[int, dict[tuple[str, str], float]] = {}
    for row in book.rows("SELECT inspection, kind, place, amount FROM watched"):
        watched.setdefault(row["inspection"], {})[row["kind"], row["place"]] = row["amount"]
    failures: dict[int, list[Failure]] = {}
    query = "SELECT inspection, kind, circuit, subject, at, how, minute, photo, note, place FROM failure ORDER BY id"
    for row in book.rows(query):
        failures.setdefault(row["inspection"], []).append(Failure(*tuple(row)[1:]))
    return tuple(
        Inspection(
            row["piece"],
            datetime.date.fromisoformat(row["date"]),
            row["nights"],
            row["hours"],
            watched.get(row["id"], {}),
            tuple(failures.get(row["id"], ())),
            row["note"],
        )
        for row in found
    )


def seen_so_far(book: StockBook) -> dict[tuple[str, str], Seen]:
    """Return by kind of fault and place how often it came in how much watching, over all inspections.

    A failure counts where its inspection watched for it: older versions wrote some down without.
    """
    query = """
        SELECT failure.kind AS kind, failure.place AS place, count(*) AS n FROM failure
        JOIN watched USING (inspection, kind, place) GROUP BY 1, 2
    """
    failed = {(row["kind"], row["place"]): row["n"] for row in book.rows(query)}
    query = """
        SELECT kind, place, sum(amount) AS amount, count(DISTINCT piece) AS pieces
        FROM watched JOIN inspection ON inspection.id = inspection GROUP BY kind, place
    """
    return {
        (row["kind"], row["place"]): Seen(failed.get((row["kind"], row["place"]), 0), row["amount"], row["pieces"])
        for row in book.rows(query)
    }

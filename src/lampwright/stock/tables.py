"""The book's tables. A change of them is a new step at the end of ``STEPS``; steps that were published never change."""

from __future__ import annotations

FILE_MARK = 0x4C575342
"""SQLite's ``application_id`` of a stock book."""

STEPS: tuple[tuple[str, ...], ...] = (
    (
        """
        CREATE TABLE lot (
            number INTEGER PRIMARY KEY AUTOINCREMENT,
            part TEXT NOT NULL CHECK (part <> ''),
            count INTEGER NOT NULL CHECK (count >= 0),
            length REAL CHECK (length > 0),
            place TEXT NOT NULL,
            cost INTEGER CHECK (cost >= 0),
            condition TEXT NOT NULL CHECK (condition IN ('new', 'good', 'untested', 'worn', 'broken')),
            note TEXT NOT NULL,
            origin TEXT NOT NULL,
            joints INTEGER NOT NULL CHECK (joints >= 0),
            sleeve TEXT NOT NULL,
            cycles REAL CHECK (cycles >= 0),
            capacity REAL CHECK (capacity > 0),
            clock_error REAL CHECK (abs(clock_error) < 1),
            added TEXT NOT NULL
        ) STRICT
        """,
        "CREATE INDEX lot_by_part ON lot (part)",
        """
        CREATE TABLE entry (
            id INTEGER PRIMARY KEY,
            lot INTEGER NOT NULL REFERENCES lot,
            at TEXT NOT NULL,
            what TEXT NOT NULL,
            count INTEGER NOT NULL,
            piece TEXT NOT NULL,
            note TEXT NOT NULL
        ) STRICT
        """,
        "CREATE INDEX entry_by_lot ON entry (lot)",
        """
        CREATE TABLE reservation (
            piece TEXT NOT NULL CHECK (piece <> ''),
            lot INTEGER NOT NULL REFERENCES lot,
            count INTEGER NOT NULL CHECK (count > 0),
            at TEXT NOT NULL,
            PRIMARY KEY (piece, lot)
        ) STRICT
        """,
        "CREATE INDEX reservation_by_lot ON reservation (lot)",
        # whatever a program does, no more can be spoken for than there is
        """
        CREATE TRIGGER never_twice_added AFTER INSERT ON reservation
        WHEN (SELECT sum(count) FROM reservation WHERE lot = NEW.lot) > (SELECT count FROM lot WHERE number = NEW.lot)
        BEGIN SELECT raise(ABORT, 'more spoken for than there is'); END
        """,
        """
        CREATE TRIGGER never_twice_changed AFTER UPDATE ON reservation
        WHEN (SELECT sum(count) FROM reservation WHERE lot = NEW.lot) > (SELECT count FROM lot WHERE number = NEW.lot)
        BEGIN SELECT raise(ABORT, 'more spoken for than there is'); END
        """,
        """
        CREATE TRIGGER never_below_reserved AFTER UPDATE OF count ON lot
        WHEN NEW.count < (SELECT coalesce(sum(count), 0) FROM reservation WHERE lot = NEW.number)
        BEGIN SELECT raise(ABORT, 'more spoken for than there is'); END
        """,
    ),
    (
        """
        CREATE TABLE inspection (
            id INTEGER PRIMARY KEY,
            piece TEXT NOT NULL,
            date TEXT NOT NULL,
            nights INTEGER NOT NULL CHECK (nights > 0),
            hours REAL NOT NULL CHECK (hours > 0),
            note TEXT NOT NULL
        ) STRICT
        """,
        """
        CREATE TABLE watched (
            inspection INTEGER NOT NULL REFERENCES inspection ON DELETE CASCADE,
            kind TEXT NOT NULL,
            amount REAL NOT NULL CHECK (amount >= 0),
            PRIMARY KEY (inspection, kind)
        ) STRICT
        """,
        """
        CREATE TABLE failure (
            id INTEGER PRIMARY KEY,
            inspection INTEGER NOT NULL REFERENCES inspection ON DELETE CASCADE,
            kind TEXT NOT NULL,
            circuit TEXT NOT NULL,
            subject TEXT NOT NULL,
            at REAL,
            how TEXT NOT NULL,
            minute REAL,
            photo TEXT NOT NULL,
            note TEXT NOT NULL
        ) STRICT
        """,
        "CREATE INDEX failure_by_kind ON failure (kind)",
        "CREATE INDEX failure_by_inspection ON failure (inspection)",
    ),
    # tube keeps the shape to which it was bent
    ("ALTER TABLE lot ADD COLUMN bent TEXT NOT NULL DEFAULT ''",),
    # what is left of reserved lengths once they are cut
    (
        """
        CREATE TABLE rest (
            piece TEXT NOT NULL CHECK (piece <> ''),
            lot INTEGER NOT NULL REFERENCES lot,
            length REAL NOT NULL CHECK (length > 0),
            bent TEXT NOT NULL,
            count INTEGER NOT NULL CHECK (count > 0),
            PRIMARY KEY (piece, lot, length, bent)
        ) STRICT
        """,
    ),
    # strip with a meter on it: so many pixels, volts at the head and at the far end, amperes white and dark
    (
        "ALTER TABLE lot ADD COLUMN pixels INTEGER CHECK (pixels > 0)",
        "ALTER TABLE lot ADD COLUMN volts REAL CHECK (volts > 0)",
        "ALTER TABLE lot ADD COLUMN far REAL CHECK (far > 0)",
        "ALTER TABLE lot ADD COLUMN white REAL CHECK (white > 0)",
        "ALTER TABLE lot ADD COLUMN dark REAL CHECK (dark > 0)",
    ),
    # failures and watching by the place on the run; of what was seen before, nobody told where
    (
        "ALTER TABLE failure ADD COLUMN place TEXT NOT NULL DEFAULT ''",
        """
        CREATE TABLE watched_by_place (
            inspection INTEGER NOT NULL REFERENCES inspection ON DELETE CASCADE,
            kind TEXT NOT NULL,
            place TEXT NOT NULL,
            amount REAL NOT NULL CHECK (amount >= 0),
            PRIMARY KEY (inspection, kind, place)
        ) STRICT
        """,
        "INSERT INTO watched_by_place SELECT inspection, kind, '', amount FROM watched",
        "DROP TABLE watched",
        "ALTER TABLE watched_by_place RENAME TO watched",
    ),
)
"""Step n brings a book of version n to version n + 1."""

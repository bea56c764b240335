"""The stock book: what lies on the shelf, what pieces have taken of it, what inspections found. An SQLite file.

A path goes in; records come out. Every change is one transaction: after the call returns it is on the disk, and a
program that is killed in the middle leaves the book as it was before.
"""

from lampwright.stock.bent import Bend, BentTube, bent_from_text
from lampwright.stock.book import StockBook, is_stock_book, open_stock
from lampwright.stock.inspected import Failure, Inspection, Seen, add_inspection, inspections, seen_so_far
from lampwright.stock.lots import add_lot, count_lot, find_lots, history, lot_of, measure_lot, take_from
from lampwright.stock.model import CONDITIONS, USABLE, Entry, Lot, NewLot
from lampwright.stock.plain import add_lots, back_up, export_book, read_lots, restore
from lampwright.stock.reserved import Reservation, Rest, free_lots, issue, left_over, release, reservations, reserve
from lampwright.stock.returned import book_in

__all__ = [
    "CONDITIONS",
    "USABLE",
    "Bend",
    "BentTube",
    "Entry",
    "Failure",
    "Inspection",
    "Lot",
    "NewLot",
    "Reservation",
    "Rest",
    "Seen",
    "StockBook",
    "add_inspection",
    "add_lot",
    "add_lots",
    "back_up",
    "bent_from_text",
    "book_in",
    "count_lot",
    "export_book",
    "find_lots",
    "free_lots",
    "history",
    "inspections",
    "is_stock_book",
    "issue",
    "left_over",
    "lot_of",
    "measure_lot",
    "open_stock",
    "read_lots",
    "release",
    "reservations",
    "reserve",
    "restore",
    "seen_so_far",
    "take_from",
]

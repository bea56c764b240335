"""The build book: a checked piece comes in, with its cuts, its harnesses and its firmware; one PDF goes out."""

from lampwright.book.bound.contents import NEEDS_CHECK, PARTS, Contents, FirmwareIdentity, Money, PartName
from lampwright.book.bound.identity import identities
from lampwright.book.bound.volume import bind_book

__all__ = ["NEEDS_CHECK", "PARTS", "Contents", "FirmwareIdentity", "Money", "PartName", "bind_book", "identities"]

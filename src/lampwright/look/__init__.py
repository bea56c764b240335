"""The look language: a text goes in, exact whole-number programs for every back-end come out."""

from __future__ import annotations

from lampwright.look.cpp import PRELUDE
from lampwright.look.program import Program, compile_look
from lampwright.look.read import read_look
from lampwright.look.source import Look, Setting, settle
from lampwright.look.steady import Places
from lampwright.look.writing import FlashTable, TablePool

__all__ = [
    "PRELUDE",
    "FlashTable",
    "Look",
    "Places",
    "Program",
    "Setting",
    "TablePool",
    "compile_look",
    "read_look",
    "settle",
]

"""The look language: a text goes in, exact whole-number programs for every back-end come out."""

from __future__ import annotations

from lampwright.look.build import CueTime
from lampwright.look.codes import Drive
from lampwright.look.cpp import PRELUDE
from lampwright.look.precision import Precision, measure_precision
from lampwright.look.program import Program, compile_look
from lampwright.look.read import read_look
from lampwright.look.source import Change, Look, Setting, Value, settle
from lampwright.look.steady import Places
from lampwright.look.writing import FlashTable, TablePool

__all__ = [
    "PRELUDE",
    "Change",
    "CueTime",
    "Drive",
    "FlashTable",
    "Look",
    "Places",
    "Precision",
    "Program",
    "Setting",
    "TablePool",
    "Value",
    "compile_look",
    "measure_precision",
    "read_look",
    "settle",
]

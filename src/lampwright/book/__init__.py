"""The papers that go with a piece: a :class:`~lampwright.piece.model.Piece` comes in, PDFs go out."""

from lampwright.book.after_show import after_show_page
from lampwright.book.bench_sheet import bench_sheets, expected_readings
from lampwright.book.handover import card_text, handover_card, languages
from lampwright.book.harness_lists import joint_rows, joints_csv, wire_rows, wires_csv
from lampwright.book.labels import label_sheets, label_texts

__all__ = [
    "after_show_page",
    "bench_sheets",
    "card_text",
    "expected_readings",
    "handover_card",
    "joint_rows",
    "joints_csv",
    "label_sheets",
    "label_texts",
    "languages",
    "wire_rows",
    "wires_csv",
]

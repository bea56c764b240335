"""``lampwright papers``: what is printed and goes with the piece."""

from __future__ import annotations

from pathlib import Path

from lampwright.book import bench_sheets, handover_card, label_sheets, languages
from lampwright.cli.options import OutFolder, PieceFile
from lampwright.layout import lay_out
from lampwright.piece import read_piece
from lampwright.written import write_whole


def papers(piece: PieceFile, /, *, out: OutFolder = Path("out")) -> int:
    """Write the card for the crew, in each language, labels, and the bench test sheets, as PDF."""
    read = read_piece(piece)
    layout = lay_out(read)
    folder = out / "papers"
    folder.mkdir(parents=True, exist_ok=True)
    for language in languages():
        write_whole(folder / f"handover-{language}.pdf", handover_card(layout, language))
    write_whole(folder / "labels.pdf", label_sheets(read))
    write_whole(folder / "bench-test.pdf", bench_sheets(layout))
    print(f"handover card ({', '.join(languages())}) labels and bench test sheets in {folder}: write in whom to ask")
    return 0

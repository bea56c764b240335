"""``lampwright papers``: what is printed and goes with the piece."""

from __future__ import annotations

from pathlib import Path

from lampwright.book import bench_sheets, handover_card, label_sheets, languages
from lampwright.cli.options import OutFolder, PieceFile
from lampwright.layout import Layout, lay_out
from lampwright.piece import read_piece
from lampwright.written import write_whole


def papers(piece: PieceFile, /, *, out: OutFolder = Path("out")) -> int:
    """Write the card for the crew, in each language, labels, and the bench test sheets, as PDF."""
    folder = out / "papers"
    write_papers(lay_out(read_piece(piece)), folder)
    print(f"handover card ({', '.join(languages())}), labels and bench test sheets in {folder}: write in whom to ask")
    return 0


def write_papers(layout: Layout, folder: Path) -> None:
    """Write all papers of a piece into a folder, which is made when it isn't there."""
    folder.mkdir(parents=True, exist_ok=True)
    for language in languages():
        write_whole(folder / f"handover-{language}.pdf", handover_card(layout, language))
    write_whole(folder / "labels.pdf", label_sheets(layout.piece))
    write_whole(folder / "bench-test.pdf", bench_sheets(layout))

"""Beginning a piece: the file is valid, named, and never written over another."""

from __future__ import annotations

from pathlib import Path

import pytest

from lampwright.piece import read_piece, write_new
from lampwright.units import MakerError


@pytest.mark.parametrize("name", ["Frost Gate", 'The "Glow"', "back\\slash", "Lys i snø ❄"])
def test_a_new_file_is_a_valid_piece_of_that_name(name: str, tmp_path: Path) -> None:
    file = tmp_path / "new" / "piece.toml"
    write_new(file, name)
    piece = read_piece(file)
    assert piece.brief.name == name
    assert len(piece.circuits) == 2
    assert [path.name for path in file.parent.iterdir()] == ["piece.toml"]


def test_a_file_that_is_there_is_left_alone(tmp_path: Path) -> None:
    file = tmp_path / "piece.toml"
    file.write_text("mine", encoding="utf-8")
    with pytest.raises(MakerError) as caught:
        write_new(file, "Other")
    assert file.read_text(encoding="utf-8") == "mine"
    assert caught.value.render() == (
        f"error PIECE-024: there is already such a file\nfound:   {file}\n"
        "allowed: a file that is not there yet\n"
        "do:      choose another name; nothing was written   (lampwright explain PIECE-024)"
    )


def test_a_folder_that_cannot_be_made_gives_a_message(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("", encoding="utf-8")
    with pytest.raises(MakerError, match="error PIECE-024: the file can't be written"):
        write_new(tmp_path / "file" / "piece.toml", "Name")


@pytest.mark.parametrize("name", ["", "  ", "two\nlines", "x" * 121])
def test_a_name_that_cannot_be_printed_is_refused(name: str, tmp_path: Path) -> None:
    with pytest.raises(MakerError, match="error PIECE-007: this text is empty, too long, or holds characters"):
        write_new(tmp_path / "piece.toml", name)
    assert not list(tmp_path.iterdir())

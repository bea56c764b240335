"""What the program writes is there whole or not at all."""

from __future__ import annotations

from pathlib import Path

import pytest

from lampwright.written import write_whole


def test_a_text_keeps_its_line_ends(tmp_path: Path) -> None:
    write_whole(tmp_path / "piece.toml", "a\r\nµ\n")
    assert (tmp_path / "piece.toml").read_bytes() == "a\r\nµ\n".encode()


def test_what_was_there_stays_when_writing_fails(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    file = tmp_path / "picture.png"
    file.write_bytes(b"old")

    def refuse(self: Path, content: bytes) -> int:
        with self.open("wb") as half:
            half.write(content[:1])
        raise OSError(28, "No space left on device", str(self))

    monkeypatch.setattr(Path, "write_bytes", refuse)
    with pytest.raises(OSError, match="No space left") as caught:
        write_whole(file, b"new")
    assert caught.value.filename == str(file)
    assert file.read_bytes() == b"old"
    assert list(tmp_path.iterdir()) == [file]

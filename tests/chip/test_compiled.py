"""Whether the compiled core is kept where it can be, and never used after its source has changed."""

from __future__ import annotations

from pathlib import Path

import pytest

from lampwright.chip import compiled


def test_the_compiled_core_is_kept_in_the_users_cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(compiled, "_user_cache", lambda: tmp_path)
    assert compiled.cache_folder().is_relative_to(tmp_path)


def test_a_cache_folder_that_cannot_be_made_is_replaced(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    blocked = tmp_path / "file"
    blocked.write_text("not a folder")
    monkeypatch.setattr(compiled, "_user_cache", lambda: blocked)
    monkeypatch.setattr(compiled.tempfile, "gettempdir", lambda: str(tmp_path))
    folder = compiled.cache_folder()
    assert folder.is_dir()
    assert folder.is_relative_to(tmp_path)


def test_the_cache_folder_changes_with_any_source_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("compiled.py", "core.py", "table.toml"):
        (tmp_path / name).write_text("one")
    monkeypatch.setattr(compiled, "__file__", str(tmp_path / "compiled.py"))
    names = {compiled._fingerprint()}
    for name in ("core.py", "table.toml"):
        (tmp_path / name).write_text("two")
        names.add(compiled._fingerprint())
    assert len(names) == 3

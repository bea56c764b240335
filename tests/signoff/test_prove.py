"""Firmware of one circuit must never land in the folder of another."""

from __future__ import annotations

from collections.abc import Callable
from importlib import import_module
from pathlib import Path
from typing import Any

import pytest

from lampwright.firmware import WasiCompiler
from lampwright.piece import Piece
from lampwright.rehearsal import FaultPlan, Plan
from lampwright.signoff import make_firmware, prove, sign_off
from lampwright.signoff.prove import folder_names


def test_each_circuit_gets_a_folder_of_its_own_even_when_names_are_nearly_alike() -> None:
    names = ["arch 1", "Arch-1", "arch  1!", "arch 1-2", "Straße", "!!"]
    folders = folder_names(names)
    assert folders == ("arch-1", "arch-1-2", "arch-1-3", "arch-1-2-2", "stra-e", "circuit")
    assert len(set(folders)) == len(names)


def test_firmware_lands_in_the_circuits_folder(small: Callable[..., Piece], told: Any, tmp_path: Path) -> None:
    made = make_firmware(sign_off(small(), told), tmp_path, told)
    (built,) = made.builds
    assert built.hex_file == tmp_path / "post" / "build" / "firmware.hex"
    assert built.hex_file.is_file()
    assert told.stages["firmware"] == (1, 1)


def test_the_maker_is_told_why_the_first_build_takes_long(
    small: Callable[..., Piece], told: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    prepared = []
    monkeypatch.setattr(import_module("lampwright.signoff.prove"), "find_compiler", WasiCompiler)
    monkeypatch.setattr(WasiCompiler, "is_ready", property(lambda _compiler: bool(prepared)))
    monkeypatch.setattr(WasiCompiler, "prepare", lambda _compiler: prepared.append(True))
    report = sign_off(small(), told)
    make_firmware(report, tmp_path, told)
    assert told.stages.pop("getting the compiler ready, once") == (1, 1)
    make_firmware(report, tmp_path, told)
    assert "getting the compiler ready, once" not in told.stages
    assert prepared == [True]


def test_a_piece_is_broken_on_purpose_as_often_as_asked(small: Callable[..., Piece], told: Any, tmp_path: Path) -> None:
    made = make_firmware(sign_off(small(), told), tmp_path, told)
    proof = prove(made, Plan(show_seconds=5.0), told, FaultPlan(count=24, show_seconds=5.0))
    assert proof.has_passed
    assert [f.code for f in proof.findings][-1] == "REHEARSAL-011"
    assert "24 faults" in proof.findings[-1].summary
    assert told.stages["faults at random moments"] == (24, 24)

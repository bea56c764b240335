"""The comparison of back-ends would see a slip: one wrong bit in one operation of one back-end is caught."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from lampwright.look import Places, Program, TablePool, compile_look, cpp, js, read_look, settle
from lampwright.look.run import in_order, run
from lampwright.look.whole import MEANINGS
from lampwright.look.writing import FunctionPlan
from lampwright.show.compile import library_names, library_text
from tests.look.conftest import FRAME_SECONDS, LAST_FRAME
from tests.look.native_run import run_text
from tests.look.node_run import run_module
from tests.look.random_wholes import EDGE_TIMES, probe

WRITTEN = sorted(js.PRINT)
"""Operations that a back-end which writes text has to write."""


Codes = NDArray[np.uint8]
Meaning = Callable[..., NDArray[np.int64]]


def _meant(plan: FunctionPlan) -> Codes:
    return run(plan.codes, EDGE_TIMES, plan.n_pixel)


@pytest.fixture(scope="module")
def probes() -> Mapping[str, tuple[FunctionPlan, ...]]:
    """Functions that lay one operation's values open, each operation."""
    return {operation: probe(operation, 12) for operation in WRITTEN}


def _named(probes: Mapping[str, tuple[FunctionPlan, ...]]) -> list[tuple[str, FunctionPlan]]:
    """Return every probe and its operation, the plans named look_0, look_1 and so on."""
    every = [(operation, plan) for operation, plans in probes.items() for plan in plans]
    return [(operation, replace(plan, name=f"look_{k}")) for k, (operation, plan) in enumerate(every)]


def _caught(probes: Mapping[str, tuple[FunctionPlan, ...]], sent: list[Codes]) -> set[str]:
    """Return the operations whose codes aren't those that numpy works out."""
    rows = zip(_named(probes), sent, strict=True)
    return {operation for (operation, plan), codes in rows if (codes != _meant(plan)).any()}


@pytest.fixture(scope="module")
def caught_in_cpp(probes: Mapping[str, tuple[FunctionPlan, ...]], tmp_path_factory: pytest.TempPathFactory) -> set[str]:
    """Operations whose wrong C++ is seen: each probe is written with its own operation's lowest bit wrong."""
    pool, functions = TablePool(), []
    for operation, plan in _named(probes):
        with pytest.MonkeyPatch.context() as patch:
            right = cpp.PRINT[operation]
            patch.setitem(cpp.PRINT, operation, lambda writer, node, right=right: _flipped(right(writer, node)))
            functions.append(cpp.write_function(plan, pool))
    plans = [plan for _, plan in _named(probes)]
    return _caught(probes, run_text(functions, pool, plans, EDGE_TIMES, tmp_path_factory.mktemp("cpp")))


def _flipped(text: Any) -> Any:
    return replace(text, text=f"({text.text} ^ 1)")


@pytest.fixture(scope="module")
def caught_in_javascript(
    probes: Mapping[str, tuple[FunctionPlan, ...]], tmp_path_factory: pytest.TempPathFactory
) -> set[str]:
    """The same for JavaScript, each probe a module of its own."""
    folder, modules = tmp_path_factory.mktemp("js"), []
    for operation, plan in _named(probes):
        with pytest.MonkeyPatch.context() as patch:
            printers = js.RAW if operation in js.RAW else js.PRINT  # what PRINT makes of a raw text is more of the same
            right = printers[operation]
            patch.setitem(printers, operation, lambda writer, node, right=right: f"({right(writer, node)} ^ 1)")
            modules.append(js.write_module([plan]))
    for k, module in enumerate(modules):
        (folder / f"look_{k}.mjs").write_text(module)
    together = "\n".join(f'export {{ look_{k} }} from "./look_{k}.mjs";' for k in range(len(modules)))
    plans = [plan for _, plan in _named(probes)]
    return _caught(probes, run_module(together, plans, EDGE_TIMES, folder))


@pytest.mark.parametrize("operation", WRITTEN)
def test_a_wrong_bit_of_an_operation_in_cpp_is_caught(operation: str, caught_in_cpp: set[str]) -> None:
    assert operation in caught_in_cpp


@pytest.mark.parametrize("operation", WRITTEN)
def test_a_wrong_bit_of_an_operation_in_javascript_is_caught(operation: str, caught_in_javascript: set[str]) -> None:
    assert operation in caught_in_javascript


@pytest.fixture(scope="module")
def library(places: Places) -> list[tuple[Program, Codes]]:
    """Every look of the library, and its codes."""
    looks = [read_look(library_text(name), name, name) for name in library_names()]
    programs = [compile_look(look, settle(look, {}, {}), places, FRAME_SECONDS, LAST_FRAME, 0.7) for look in looks]
    return [(program, program.frames(_library_times())) for program in programs]


def _library_times() -> NDArray[np.int64]:
    return np.linspace(0, LAST_FRAME, 60).astype(np.int64)


@pytest.mark.parametrize("operation", sorted(MEANINGS))
def test_a_wrong_bit_of_an_operation_in_numpy_is_caught(
    operation: str, probes: Mapping[str, tuple[FunctionPlan, ...]], monkeypatch: pytest.MonkeyPatch
) -> None:
    right = [_meant(plan) for plan in probes[operation]]
    meaning = MEANINGS[operation]
    monkeypatch.setitem(MEANINGS, operation, lambda *given: meaning(*given) ^ 1)
    assert any((_meant(plan) != codes).any() for plan, codes in zip(probes[operation], right, strict=True))


SLIPS: dict[str, tuple[str, Meaning]] = {
    "a quotient rounded toward zero": ("divide", lambda _, a, b: np.trunc(a / b).astype(np.int64)),
    "a shift that rounds toward zero": ("shift right", lambda n, a: np.sign(a) * (np.abs(a) >> n[0])),
    "a shift that rounds to the nearest": ("shift right", lambda n, a: (a + (1 << n[0] >> 1)) >> n[0]),
    "a shift by a bit too few": ("shift left", lambda n, a: a << (n[0] - 1)),
    "a bit too few kept": ("low bits", lambda n, a: a & ((1 << (n[0] - 1)) - 1)),
    "a product of 16 bits": ("multiply", lambda _, a, b: ((a * b + 32768) & 65535) - 32768),
    "a sum of 16 bits": ("add", lambda _, a, b: ((a + b + 32768) & 65535) - 32768),
    "a difference turned around": ("subtract", lambda _, a, b: b - a),
    "a sum that comes around a bit early": ("wrap add", lambda n, a, b: (a + b) & ((1 << (n[0] - 1)) - 1)),
    "a product whose carry is lost": ("wrap multiply", lambda n, a, b: (a & 65535) * (b & 65535) & ((1 << n[0]) - 1)),
    "the larger for the smaller": ("least", lambda _, a, b: np.maximum(a, b)),
    "the smaller for the larger": ("most", lambda _, a, b: np.minimum(a, b)),
    "a sign that stays": ("magnitude", lambda _, a: a + 0),
    "an edge that counts as below": ("below", lambda _, a, b: (a <= b).astype(np.int64)),
    "an edge that doesn't count": ("at most", lambda _, a, b: (a < b).astype(np.int64)),
    "equal in 8 bits": ("equal", lambda _, a, b: ((a & 255) == (b & 255)).astype(np.int64)),
    "one of both": ("both", lambda _, a, b: a | b),
    "either but not both": ("either", lambda _, a, b: a ^ b),
    "a choice turned around": ("choose", lambda _, test, yes, no: np.where(test.astype(bool), no, yes)),
    "weights that add up to 256": ("blend", lambda _, start, end, weight: start * (256 - weight) + end * weight),
}
"""Slips that are easily made, as wrong meanings for numpy."""


@pytest.mark.parametrize("slip", SLIPS)
def test_a_slip_in_the_meaning_of_an_operation_is_caught(
    slip: str, probes: Mapping[str, tuple[FunctionPlan, ...]], monkeypatch: pytest.MonkeyPatch
) -> None:
    operation, wrong = SLIPS[slip]
    right = [_meant(plan) for plan in probes[operation]]
    monkeypatch.setitem(MEANINGS, operation, wrong)
    assert any((_meant(plan) != codes).any() for plan, codes in zip(probes[operation], right, strict=True))


def test_a_wrong_bit_of_any_operation_shows_in_the_codes_of_a_look_that_uses_it(
    library: list[tuple[Program, Codes]], monkeypatch: pytest.MonkeyPatch
) -> None:
    used = {node.operation for program, _ in library for node in in_order(program.codes)} & set(MEANINGS)
    assert len(used) > 15
    for operation in used:
        meaning = MEANINGS[operation]
        users = [(p, codes) for p, codes in library if operation in {node.operation for node in in_order(p.codes)}]
        bit = 1 << 8 if operation == "scramble" else 1  # the lowest of 16 random bits reaches no code
        with monkeypatch.context() as patch:
            patch.setitem(MEANINGS, operation, lambda n, *given, right=meaning, bit=bit: right(n, *given) ^ bit)
            assert any((p.frames(_library_times()) != codes).any() for p, codes in users), operation

"""Judge a circuit's fuses: whether they bear the show, and whether each wire may carry what they let through."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TypeVar

from lampwright.findings.model import Finding, Severity
from lampwright.parts import Fuse, Supply, Wire
from lampwright.piece.model import Circuit
from lampwright.power.basis import basis
from lampwright.power.fuse import smallest_fuse, standard_fuses
from lampwright.power.guard import FittedFuse, Guard, circuit_guards, fuses_of
from lampwright.power.guard_plan import GuardPlan, Loads, cables_of, cheapest_guard
from lampwright.power.rail_draw import RailDraw
from lampwright.units import format_quantity

PartT = TypeVar("PartT", Wire, Fuse)

_FORMULA = (
    "fuses at most what the wires behind them may carry; at least lasting current / 0.75 and peak, next standard size"
)


def check_guards(circuit: Circuit, draw: RailDraw) -> Finding:
    """POWER-021: every fuse against its load, and every wire against what its fuses let through."""
    loads = {
        name: (float(rms), float(peak))
        for name, rms, peak in zip(draw.wires, draw.wire_rms, draw.wire_peak, strict=True)
    }
    fitted = [each for each in fuses_of(circuit) if each.where in loads]
    needed = {each.where: smallest_fuse(*loads[each.where]) for each in fitted}
    for where, fuse in needed.items():
        if fuse is None:
            return _no_fuse(circuit, where, loads[where][1])
    blown = [
        (each, fuse)
        for each in fitted
        if (fuse := needed[each.where]) is not None and fuse.rating.value > each.fuse.rating.value
    ]
    if blown:
        worst, fuse = max(blown, key=lambda pair: pair[1].rating.value / pair[0].fuse.rating.value)
        return _fuse_small(circuit, draw, worst, fuse)
    return _wire_unguarded(circuit, loads)


def _fuse_small(circuit: Circuit, draw: RailDraw, fitted: FittedFuse, needed: Fuse) -> Finding:
    cable = cables_of(circuit)[fitted.where]
    has, needs = fitted.fuse.rating, needed.rating
    if needs.value <= cable.wire.ampacity.value:
        do = f'write fuse = "{needs.text}" for the {fitted.where}, or lower the brightness'
    else:
        do = f"take a wire for the {fitted.where} that may carry {needs.text} and fuse it so, or lower the brightness"
    return Finding(
        "POWER-021",
        Severity.WARN,
        circuit.name,
        f"{_told_fuses(circuit)}; the one in the {fitted.where} may blow in the show",
        f"{has.text} for the {fitted.where}",
        f"at least {needs.text}",
        has.value / needs.value - 1,
        do,
        basis(_FORMULA, ampacity=cable.wire.ampacity, **{f"{circuit.source_noun}_limit": circuit.source.current_limit}),
        float(draw.peak_time[draw.wires.index(fitted.where)]),
    )


def _wire_unguarded(circuit: Circuit, loads: Loads) -> Finding:
    found = circuit_guards(circuit)
    worst = max(found, key=lambda each: each.most / each.conductor.wire.ampacity.value)
    unsafe = [each for each in found if not each.is_safe]
    name, ampacity = worst.conductor.name, worst.conductor.wire.ampacity
    severity, said, do = Severity.PASS, "", ""
    if unsafe:
        # the pack's own limit still bounds an overload, but it is no fuse: a damaged pack may not keep to it; a
        # supply gives its limit into a thin wire for as long as the mains is on
        bears = min(each.conductor.wire.ampacity.value for each in unsafe)
        worst_case = Severity.FAIL if circuit.is_on_mains else Severity.WARN
        severity = Severity.NOTE if fault_current(circuit) <= bears else worst_case
        said = f"; too much for the {_listed([_with_ampacity(each) for each in unsafe])}"
        do = _told_plan(cheapest_guard(circuit, loads))
    return Finding(
        "POWER-021",
        severity,
        circuit.name,
        f"{_told_fuses(circuit)}{said}{_unblown(circuit)}",
        f"{_amperes(worst.most)} for the {name}",
        f"at most {_amperes(ampacity.value)}",
        1 - worst.most / ampacity.value,
        do,
        basis(_FORMULA, ampacity=ampacity, **{f"{circuit.source_noun}_limit": circuit.source.current_limit}),
    )


def _told_fuses(circuit: Circuit) -> str:
    """Return every fuse and what it stands in, such as "fuses: 3 A at the pack, 1 A in the feed of hoop at 50 %"."""
    fitted = fuses_of(circuit)
    at_pack = [each for each in fitted if each.where.startswith("pack ")]
    lead = next(each.fuse.rating.text for each in fitted if each.where == "lead")
    told = [f"{lead} at the {circuit.source_noun}"]
    if at_pack:
        told = [f"{at_pack[0].fuse.rating.text} at each of {len(at_pack)} packs", f"{lead} behind their diodes"]
    rest = [
        f"{each.fuse.rating.text} in the {each.where}"
        for each in fitted
        if each not in at_pack and each.where != "lead"
    ]
    count = "fuse" if len(told) + len(rest) == 1 else "fuses"
    return f"{count}: {', '.join([*told, *rest])}"


def _with_ampacity(guard: Guard) -> str:
    return f"{guard.conductor.name} ({_amperes(guard.conductor.wire.ampacity.value)})"


def fault_current(circuit: Circuit) -> float:
    """Return what flows into a short at most, on and on: of all packs that share the load, or of a supply. [A]"""
    if isinstance(circuit.source, Supply):
        return circuit.source.fault_current
    return circuit.source.current_limit.value * (circuit.bank.count if circuit.bank.is_shared else 1)


def _unblown(circuit: Circuit) -> str:
    """Return what is to be said where the source limits itself before the lead's fuse blows."""
    limit = fault_current(circuit)
    lead = next(each.fuse for each in fuses_of(circuit) if each.where == "lead")
    if lead.rating.value <= limit:
        return ""
    if circuit.is_on_mains:
        return (
            f"; the lead's is above the {_amperes(limit)} at which the supply limits itself: an overload goes on at "
            "that, no fuse blows"
        )
    whose = f"{circuit.bank.count} packs'" if circuit.bank.is_shared else "pack's"
    off = "packs" if circuit.bank.is_shared else "pack"
    return f"; the lead's is above the {whose} {_amperes(limit)}: an overload switches the {off} off, no fuse blows"


def _told_plan(plan: GuardPlan | None) -> str:
    """Return the cheapest way to guard what isn't, as it is written in the piece file."""
    if plan is None:
        return "lower the brightness so that a smaller fuse bears the show, or divide the strip among more circuits"
    told = []
    if plan.lead_fuse is not None:
        told.append(f'fuse = "{plan.lead_fuse.rating.text}" for the lead (it bears this show)')
    told += [f'wire = "{wire.name}" for the {_listed(names)}' for wire, names in _by_part(plan.wires).items()]
    told += [f'fuse = "{fuse.rating.text}" for the {_listed(names)}' for fuse, names in _by_part(plan.fuses).items()]
    return f"at the least cost: {_listed(told)}"


def _by_part(parts: Mapping[str, PartT]) -> dict[PartT, list[str]]:
    """Return the names that each part is for."""
    return {part: [name for name, each in parts.items() if each == part] for part in parts.values()}


def _listed(names: Sequence[str]) -> str:
    """Return names as spoken, such as "a, b and c"."""
    return " and ".join([*([", ".join(names[:-1])] if len(names) > 1 else []), names[-1]])


def _no_fuse(circuit: Circuit, name: str, peak: float) -> Finding:
    largest = standard_fuses()[-1].rating.value
    return Finding(
        "POWER-021",
        Severity.FAIL,
        circuit.name,
        f"no blade fuse is large enough for the {name}",
        _amperes(peak),
        f"at most {_amperes(largest)}",
        1 - peak / largest,
        f"divide the strip among more circuits, each with its own {circuit.source_noun} and fuse",
        basis(
            "next standard size from current / 0.75 and peak",
            **{f"{circuit.source_noun}_limit": circuit.source.current_limit},
        ),
    )


def _amperes(value: float) -> str:
    return format_quantity(value, "current")

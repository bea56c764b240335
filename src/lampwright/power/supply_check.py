"""Judge supplies from the mains: how long they feed, whether they may stand where they stand, and what to mind."""

from __future__ import annotations

from lampwright.findings.model import Finding, Severity
from lampwright.parts import Supply
from lampwright.piece.model import Brief, Circuit, Piece
from lampwright.power.basis import basis, duration
from lampwright.power.draw import Draw
from lampwright.power.mains import mains_power, outlets_of
from lampwright.units import format_quantity

SPLASHES = 4
"""Second digit of an IP code from which splashing water does no harm (IEC 60529, in summaries)."""

WET = "IP44"
"""What a supply outdoors needs at least: solids from 1 mm, splashes (IEC 60529, in summaries; common practice)."""

CAUTION = (
    "use supplies that are listed or certified for your country, each behind a residual-current device (RCD, GFCI); "
    "keep them and every mains plug dry, or within their IP code, with air at them; relieve the pull on both leads; "
    "lay mains leads where nobody walks, or cover them; have everything inspected by the local rules for portable "
    "appliances; never open a supply: whatever is on the mains side is work for a licensed electrician alone"
)


def check_supply(circuit: Circuit, brief: Brief, draw: Draw) -> tuple[Finding, ...]:
    """Return the findings on the supply that feeds a circuit."""
    source = circuit.source
    assert isinstance(source, Supply), f"packs feed {circuit.name}"
    return _lasts(circuit, source, brief, draw), _supply_wet(circuit, source, brief), _too_cold(circuit, source, brief)


def check_mains(piece: Piece) -> tuple[Finding, ...]:
    """Return what holds for a piece on the mains, whatever else is well; nothing where packs feed all of it."""
    outlets = outlets_of(piece.circuits)
    if not outlets:
        return ()
    told = "; ".join(f'{len(each.circuits)} supplies on "{each.name}", {_watts(each.power)}' for each in outlets)
    told = told.replace("1 supplies", "1 supply")
    classes = sorted({each.source.protection for each in piece.circuits if isinstance(each.source, Supply)})
    earth = " (class I: an outlet with protective earth)" if "class I" in classes else ""
    return (
        Finding(
            "POWER-050",
            Severity.NOTE,
            piece.brief.name,
            f"fed from the mains, at most and at once: {told}; protection {' and '.join(classes)}{earth}",
            _watts(sum(each.power for each in outlets)),
            "as the venue's electrician says",
            None,
            CAUTION,
            "cap × voltage / efficiency of each supply; their current may be twice what these watts come to at the "
            "mains voltage (power factor, from memory)",
        ),
    )


def _lasts(circuit: Circuit, supply: Supply, brief: Brief, draw: Draw) -> Finding:
    """POWER-003: a supply is never empty."""
    standby = draw.standby_frames * draw.frame_period
    return Finding(
        "POWER-003",
        Severity.PASS,
        circuit.name,
        f"run time after {duration(standby)} of standby: a supply gives as long as its outlet does, "
        f"{_watts(mains_power(circuit))} of it at most",
        "no end",
        f"at least {duration(brief.run_time)}",
        None,
        "",
        basis("cap × voltage / efficiency", output=supply.output_voltage, efficiency=supply.efficiency),
    )


def bears_splashes(supply: Supply) -> bool:
    """Return whether a supply may be splashed, by its IP code; a digit that isn't stated counts for nothing."""
    solids, water = supply.ip[2], supply.ip[3]
    return water.isdigit() and int(water) >= SPLASHES and solids.isdigit() and int(solids) >= SPLASHES


def _supply_wet(circuit: Circuit, supply: Supply, brief: Brief) -> Finding:
    """POWER-051: the supply's IP code against the place."""
    is_tight = bears_splashes(supply)
    severity, do = Severity.PASS, ""
    if not is_tight and brief.is_outdoors:
        severity = Severity.FAIL
        do = f"choose a supply of {WET} or more, such as supply-8a-sealed; a box around a dry one traps its heat"
    elif not is_tight and brief.is_outdoors is None:
        severity = Severity.WARN
        do = f'write where = "indoors" in [brief] if it stays dry all the time, else choose {WET} or more'
    places = {None: "a place that isn't said to be dry", True: "outdoors", False: "indoors, in the dry"}
    return Finding(
        "POWER-051",
        severity,
        circuit.name,
        f"the supply's IP code against its place, {places[brief.is_outdoors]}; plug and outlet have codes of their own",
        supply.ip,
        f"at least {WET}" if brief.is_outdoors is not False else "any, kept dry",
        None,
        do,
        "IEC 60529, in summaries; from which code outdoors: common practice, no source",
    )


def _too_cold(circuit: Circuit, supply: Supply, brief: Brief) -> Finding:
    """POWER-052: the coldest air against that from which the supply starts."""
    is_cold = brief.coldest < supply.works_from.value
    return Finding(
        "POWER-052",
        Severity.WARN if is_cold else Severity.PASS,
        circuit.name,
        f"coldest air against that from which the supply starts; its rating holds up to {supply.full_up_to.text} around"
        " it, so let air at it",
        format_quantity(brief.coldest, "temperature"),
        f"at least {supply.works_from.text}",
        None,
        "choose a supply that is rated for this cold, or try the very one after a night in it" if is_cold else "",
        basis("coldest of the brief", works_from=supply.works_from, full_up_to=supply.full_up_to),
    )


def _watts(value: float) -> str:
    return format_quantity(value, "power")

"""Tables of the book as plain texts: parts, checks, firmware, wires and joints."""

from __future__ import annotations

from lampwright.book.bound.contents import Contents
from lampwright.book.harness_lists import joint_rows, wire_rows
from lampwright.findings.grouping import count_line, margin_text, rows
from lampwright.making import Line


def parts_table(contents: Contents) -> dict[str, object]:
    """Return the shopping list and what it comes to."""
    bought, money = contents.bought, contents.money
    notes = [f"total {bought.total / 100:.2f} {money.currency}; worth {bought.reclaimable / 100:.2f} after the show"]
    if bought.unpriced:
        notes[0] += f"; without {len(bought.unpriced)} that have no price"
    if bought.judged:
        notes.append(f"* {bought.judged / 100:.2f} of it by judged prices, asked of nobody")
    if money.budget is not None:
        left = money.budget - bought.total / 100
        verdict = f"{left:.2f} left" if left >= 0 else f"{-left:.2f} over"
        notes.append(f"budget {money.budget:.2f} {money.currency}: {verdict}")
    notes.append(f"mass {bought.mass:.2f} kg of what the catalogue knows the mass of; wire counts as copper alone")
    return {"rows": [_part(line) for line in bought.lines], "notes": notes}


def harness_tables(contents: Contents) -> list[dict[str, object]]:
    """Return each circuit's wires and joints."""
    return [
        {
            "name": harness.circuit,
            "source": circuit.circuit.source_noun,
            "count": harness.n_solder,
            "wires": wire_rows(harness),
            "joints": joint_rows(harness),
        }
        for circuit, harness in zip(contents.layout.circuits, contents.harnesses, strict=True)
    ]


def checks_table(contents: Contents) -> dict[str, object]:
    """Return the findings as the check prints them, equal answers in one row."""
    everyone = [circuit.circuit.name for circuit in contents.layout.circuits]
    told = [
        (
            row.finding.code,
            row.about,
            row.finding.summary,
            row.finding.severity.value,
            row.finding.value,
            row.finding.limit,
            margin_text(row.finding.margin),
            row.finding.do,
        )
        for row in rows(contents.findings, everyone)
    ]
    return {"rows": told, "count": count_line(contents.findings)}


def firmware_table(contents: Contents) -> list[tuple[str, ...]]:
    """Return what names each circuit's firmware; the hash in groups of eight, to be read aloud."""
    return [
        (each.circuit, " ".join(each.sha256[i : i + 8] for i in range(0, 64, 8)), each.what, each.size)
        for each in contents.firmware
    ]


def _part(line: Line) -> tuple[str, ...]:
    total = "" if line.total is None else f"{line.total / 100:.2f}{'*' if line.is_judged else ''}"
    days = "" if line.days is None else f"{line.days:g}"
    return (
        str(line.buy),
        line.part,
        line.sold_as,
        str(line.needed),
        str(line.on_shelf),
        str(line.spare),
        total,
        days,
        line.substitute,
    )

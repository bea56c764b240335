"""What was found for a brief, as plain data: the words of the program's own tables, and one candidate to look at."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from lampwright.page.fields import Field, fields_of
from lampwright.page.preview import may_flash
from lampwright.page.scene import scene_of
from lampwright.page.workspace import finding_data, laid_out
from lampwright.propose import (
    BUILT_OF,
    COMES_TO,
    HELD_BY,
    SEEN,
    Asked,
    Candidate,
    Proposal,
    advice,
    covered,
    feeds,
    steps_up,
)
from lampwright.propose.design import FED

PARTS = (("built of", {**BUILT_OF, "feeds": feeds, **HELD_BY}), ("comes to", COMES_TO), ("is seen", SEEN))


def offers_of(proposal: Proposal) -> dict[str, Any]:
    """Return the candidates side by side, or why there are none, ready for JSON."""
    candidates = proposal.candidates
    return {
        "currency": proposal.currency,
        "count": len(candidates),
        "parts": [
            {
                "title": title,
                "rows": [{"title": name, "values": [tell(each) for each in candidates]} for name, tell in rows.items()],
            }
            for title, rows in PARTS
        ],
        "steps": [{"told": step.told, "more": list(step.more)} for step in steps_up(candidates, proposal.currency)],
        "advice": list(advice(candidates)),
        "covered": list(covered(proposal)),
        "unmet": None if proposal.unmet is None else finding_data(proposal.unmet),
        "ways": [
            [{"key": edit.key, "path": list(edit.path), "value": edit.value} for edit in way]
            for way in proposal.ways_out
        ],
    }


def candidate_data(candidate: Candidate, asked: Asked, file: Path) -> dict[str, Any]:
    """Return one candidate to look at: its scene, its findings, and its decisions with the reason for each."""
    ready, shows = laid_out(candidate.text, file)
    head = asked.head.rstrip("\n").count("\n") + 1
    grouping = candidate.design.grouping
    return {
        "scene": scene_of(ready.piece, shows),
        "mayFlash": may_flash(candidate.findings),
        "findings": [finding_data(each) for each in candidate.findings],
        "reasons": [
            {"decision": grouping.title, "reason": grouping.reason},
            {"decision": f"feeds: {feeds(candidate)}", "reason": FED},
            *(
                {"decision": _decision(field), "reason": field.comment}
                for field in fields_of(candidate.text)
                if field.place.line > head and field.comment
            ),
        ],
        "text": candidate.text,
    }


def _decision(field: Field) -> str:
    """Return a value and what it is of: "board: …", but "lead, length: …"."""
    before = [str(step) for step in field.path[-2:-1] if len(field.path) > 2 and isinstance(step, str)]
    return f"{', '.join([*before, field.key.replace('_', ' ')])}: {field.value}"

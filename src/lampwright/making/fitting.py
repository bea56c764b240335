"""How strip fits its sections: whole pixels from cut mark to cut mark, and what stays dark."""

from __future__ import annotations

from dataclasses import dataclass, replace

from lampwright.layout.model import Layout


@dataclass(frozen=True)
class SectionFit:
    """Sections that hold strip alike."""

    name: str
    """The first of them: its circuit, run and section."""
    room: float  # how much strip could lie there [m]
    n_pixel: int
    length: float  # of the strip that does [m]
    count: int = 1

    @property
    def dark(self) -> float:
        """What is left at the section's end because a strip is cut between pixels only. [m]"""
        return self.room - self.length


def fit_sections(layout: Layout) -> tuple[SectionFit, ...]:
    """Return how strip fits, sections alike once, in the order of the piece."""
    found: dict[tuple[str, float, int], SectionFit] = {}
    for circuit in layout.circuits:
        for run in circuit.runs:
            for section in run.sections:
                key = (run.run.name, round(section.room, 6), section.n_pixel)
                name = f"{circuit.circuit.name} {run.run.name}, {section.section.name}"
                earlier = found.get(key, SectionFit(name, section.room, section.n_pixel, section.length, 0))
                found[key] = replace(earlier, count=earlier.count + 1)
    return tuple(found.values())

"""What share of each part of a piece a fault leaves lit: of each circuit, each member, each span."""

from __future__ import annotations

from collections.abc import Mapping

from lampwright.faults.every import Body
from lampwright.faults.showing import Mask


def shares_lit(body: Body, lost: Mask) -> Mapping[str, float]:
    """Return the share of pixels lit of each part, by its name such as "circuit arch 2" or "span arch 1 crown to ...".

    Parameters
    ----------
    lost : (n_pixel,) bool
        Pixels of the piece that don't show the show.
    """
    counts: dict[str, list[int]] = {}
    for anatomy, offset in zip(body.anatomies, body.offsets, strict=False):
        circuit = counts.setdefault(f"circuit {anatomy.name}", [0, 0])
        for segment in anatomy.segments:
            start = offset + segment.first
            lit = int((~lost[start : start + segment.n_pixel]).sum())
            name = f"span {segment.section}" if segment.is_span else f"member {segment.section}"
            for count in (circuit, counts.setdefault(name, [0, 0])):
                count[0] += lit
                count[1] += segment.n_pixel
    return {name: lit / size for name, (lit, size) in counts.items()}

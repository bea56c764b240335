"""The last step of a look: three linear channels become three 8-bit codes."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

import numpy as np

from lampwright.look.graph import Node, Rate
from lampwright.look.lower import Lowering, Scaled
from lampwright.look.problems import too_wide
from lampwright.look.simplify import Simplifier, apart
from lampwright.look.steady import evaluate
from lampwright.look.whole import RangeError, Whole
from lampwright.units.errors import MakerError

CODE_PLACES = 24
"""Places of the product that a code is rounded from: the code is then its uppermost byte, which
costs an 8-bit chip nothing to take."""


def channel_codes(
    lowering: Lowering, simplifier: Simplifier, channels: Sequence[Node], full: float
) -> tuple[Whole, Whole, Whole]:
    """Return codes of red, green, blue: ``full`` times a channel, rounded, held to 0..full."""
    scaled = [simplifier.scaled(channel, full) for channel in channels]
    shared = _shared_factors(scaled)
    red, green, blue = (_code(lowering, simplifier, channel, full, shared) for channel in scaled)
    return red, green, blue


def _shared_factors(channels: Sequence[Node]) -> set[Node]:
    """Return factors that all three channels have, with the same constant before them."""
    seen: Counter[tuple[float, Node]] = Counter()
    for channel in channels:
        constant, product = apart(channel)
        if product is not None and product.operation == "multiply":
            seen.update((constant, factor) for factor in set(product.arguments))
    return {factor for (_, factor), count in seen.items() if count == len(channels)}


def _code(lowering: Lowering, simplifier: Simplifier, channel: Node, full: float, shared: set[Node]) -> Whole:
    most = round(full)
    if Rate.FRAME not in channel.rate:
        codes = np.clip(np.round(evaluate(channel, lowering.places)), 0, most).astype(np.int64)
        return lowering.table("code", codes)
    constant, of = apart(channel)
    assert of is not None
    try:
        value, factor = _two_factors(lowering, simplifier, constant, of, shared)
        return lowering.held(_rounded(lowering, value, factor), 0, most)
    except RangeError:
        raise MakerError([too_wide(channel, lowering.intervals.of(channel))]) from None


def _two_factors(
    lowering: Lowering, simplifier: Simplifier, constant: float, of: Node, shared: set[Node]
) -> tuple[Scaled, Scaled]:
    """Return a channel as a product of two 16-bit values, with :data:`CODE_PLACES` if possible."""
    if of.operation == "multiply" and shared.intersection(of.arguments):
        common, own = of.arguments if of.arguments[0] in shared else of.arguments[::-1]
        # constant x common is the same for all channels: one multiplication instead of three
        factor = lowering.narrow(lowering.value(simplifier.scaled(common, constant)), 16)
        value = lowering.narrow(lowering.value(own), 16)
        return lowering.raised(value, CODE_PLACES - factor.places), factor
    value = lowering.raised(lowering.narrow(lowering.value(of), 16), 16)
    places = CODE_PLACES - value.places
    while abs(constant) * 2.0**places > 65535:
        places -= 1
    return value, Scaled(lowering.wholes.constant(round(constant * 2.0**places)), places)


def _rounded(lowering: Lowering, value: Scaled, factor: Scaled) -> Whole:
    """Return a product rounded to a whole number."""
    wholes = lowering.wholes
    product = wholes.multiply(value.whole, factor.whole)
    places = value.places + factor.places
    if places > 16:
        # Rounding needs one place below the code; the lower 16 bits are never made.
        product, places = wholes.shift(product, 16), places - 16
    if places > 0:
        product = wholes.add(product, wholes.constant(1 << (places - 1)))
    return wholes.shift(product, places)

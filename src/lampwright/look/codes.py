"""The last step of a look: three linear channels become three 8-bit codes."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from lampwright.look.graph import Node, Rate
from lampwright.look.lower import Lowering, Scaled
from lampwright.look.problems import too_wide
from lampwright.look.simplify import Simplifier, apart
from lampwright.look.steady import evaluate
from lampwright.look.tables import Table
from lampwright.look.whole import RangeError, Whole
from lampwright.units.errors import MakerError

CODE_PLACES = 24
"""Places of the product that a code is rounded from: the code is then its uppermost byte, which
costs an 8-bit chip nothing to take."""


@dataclass(frozen=True)
class Drive:
    """How light becomes codes.

    ``brightness`` is the share of full drive that 1.0 of a channel means; ``balance`` multiplies red,
    green, blue so that equal shares look white; ``is_dithered`` spreads what lies between two codes
    over four frames and neighbouring pixels.
    """

    brightness: float
    balance: tuple[float, float, float] = (1.0, 1.0, 1.0)
    is_dithered: bool = False

    def full(self, channel: int) -> float:
        """Return the code, not rounded, that 1.0 of a channel means."""
        return 255.0 * self.brightness * self.balance[channel]


DITHER = Table("dither", np.array([1, 5, 3, 7], dtype=np.int64) << 5, "thresholds of four frames, 8 binary places")
_NEIGHBOURS = np.array([0, 2, 1, 3], dtype=np.int64)
"""Where in the four frames a pixel begins: those next to each other are far apart."""


def channel_codes(
    lowering: Lowering, simplifier: Simplifier, channels: Sequence[Node], drive: Drive
) -> tuple[Whole, Whole, Whole]:
    """Return codes of red, green, blue: ``drive`` times a channel, rounded, held to what it allows."""
    scaled = [simplifier.scaled(channel, drive.full(number)) for number, channel in enumerate(channels)]
    writer = _Codes(lowering, simplifier, _shared_factors(scaled), drive)
    red, green, blue = (writer.code(number, channel) for number, channel in enumerate(scaled))
    return red, green, blue


def _shared_factors(channels: Sequence[Node]) -> set[Node]:
    """Return factors that all three channels have, with the same constant before them."""
    seen: Counter[tuple[float, Node]] = Counter()
    for channel in channels:
        constant, product = apart(channel)
        if product is not None and product.operation == "multiply":
            seen.update((constant, factor) for factor in set(product.arguments))
    return {factor for (_, factor), count in seen.items() if count == len(channels)}


@dataclass(frozen=True)
class _Codes:
    """Makes the codes of one look."""

    lowering: Lowering
    simplifier: Simplifier
    shared: set[Node]
    drive: Drive

    def code(self, number: int, channel: Node) -> Whole:
        """Return a channel's code; ``channel`` is already multiplied by its full drive."""
        lowering, most = self.lowering, round(self.drive.full(number))
        if Rate.FRAME not in channel.rate and not self.drive.is_dithered:
            codes = np.clip(np.round(evaluate(channel, lowering.places)), 0, most).astype(np.int64)
            return lowering.table("code", codes)
        try:
            if Rate.FRAME not in channel.rate:
                return lowering.held(self._rounded(lowering.steady(channel, 7).whole, 7), 0, most)
            value, factor = self._two_factors(channel)
            product = lowering.wholes.multiply(value.whole, factor.whole)
            places = value.places + factor.places
            if places > 16:
                # Rounding needs few places below the code; the lower 16 bits are never made.
                product, places = lowering.wholes.shift(product, 16), places - 16
            return lowering.held(self._rounded(product, places), 0, most)
        except (RangeError, OverflowError):
            raise MakerError([too_wide(channel, lowering.intervals.of(channel))]) from None

    def _two_factors(self, channel: Node) -> tuple[Scaled, Scaled]:
        """Return a channel as a product of two 16-bit values, with :data:`CODE_PLACES` if possible."""
        lowering, (constant, of) = self.lowering, apart(channel)
        assert of is not None
        if of.operation == "multiply" and self.shared.intersection(of.arguments):
            common, own = of.arguments if of.arguments[0] in self.shared else of.arguments[::-1]
            # constant x common is the same for all channels: one multiplication instead of three
            factor = lowering.narrow(lowering.value(self.simplifier.scaled(common, constant)), 16)
            value = lowering.narrow(lowering.value(own), 16)
            return lowering.raised(value, CODE_PLACES - factor.places), factor
        value = lowering.raised(lowering.narrow(lowering.value(of), 16), 16)
        places = CODE_PLACES - value.places
        while abs(constant) * 2.0**places > 65535:
            places -= 1
        return value, Scaled(lowering.wholes.constant(round(constant * 2.0**places)), places)

    def _rounded(self, value: Whole, places: int) -> Whole:
        """Return a value rounded to a whole number, or cut at this frame's and pixel's threshold."""
        wholes = self.lowering.wholes
        if places <= 0:
            return wholes.shift(value, places)
        if self.drive.is_dithered and places >= 3:
            threshold = wholes.shift(self._threshold(), 8 - places)
        else:
            threshold = wholes.constant(1 << (places - 1))
        return wholes.shift(wholes.add(value, threshold), places)

    def _threshold(self) -> Whole:
        lowering = self.lowering
        frame = lowering.wholes.clock(1, 0, 2, lowering.last_frame)
        own = lowering.table("dither_start", np.resize(_NEIGHBOURS, lowering.places.n_pixel))
        return lowering.wholes.look_up(DITHER, lowering.wholes.wrap("wrap add", frame, own, 2))

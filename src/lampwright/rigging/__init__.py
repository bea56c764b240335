"""Whether a piece hangs and stands: in comes a :class:`~lampwright.layout.Layout`, out come findings.

A screening by a maker's tool, not a structural certificate: local codes, the venue and licensed practice decide.
"""

from lampwright.rigging.check import check_rigging, take_down_gust

__all__ = ["check_rigging", "take_down_gust"]

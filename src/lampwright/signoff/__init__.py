"""All stages in order: a piece comes in, findings, firmware and their proof come out.

:func:`sign_off` checks, :func:`make_firmware` builds, :func:`prove` rehearses. This is the only place
that knows the order; it shows nothing and prints nothing.
"""

from lampwright.signoff.check import Ready, Report, get_ready, has_passed, sign_off, sign_off_ready
from lampwright.signoff.estimate import estimate
from lampwright.signoff.feeds import EntryFeeds, RunFeeds, plan_feeds
from lampwright.signoff.measured import parts_from, with_measured
from lampwright.signoff.progress import Progress, Silent
from lampwright.signoff.prove import Firmware, Proof, folder_names, make_firmware, prove

__all__ = [
    "EntryFeeds",
    "Firmware",
    "Progress",
    "Proof",
    "Ready",
    "Report",
    "RunFeeds",
    "Silent",
    "estimate",
    "folder_names",
    "get_ready",
    "has_passed",
    "make_firmware",
    "parts_from",
    "plan_feeds",
    "prove",
    "sign_off",
    "sign_off_ready",
    "with_measured",
]

"""All stages in order: a piece comes in, findings, firmware and their proof come out.

:func:`sign_off` checks, :func:`make_firmware` builds, :func:`prove` rehearses. This is the only place
that knows the order; it shows nothing and prints nothing.
"""

from lampwright.signoff.check import Report, has_passed, sign_off
from lampwright.signoff.feeds import EntryFeeds, RunFeeds, plan_feeds
from lampwright.signoff.measured import with_measured
from lampwright.signoff.progress import Progress, Silent
from lampwright.signoff.prove import Firmware, Proof, folder_names, make_firmware, prove

__all__ = [
    "EntryFeeds",
    "Firmware",
    "Progress",
    "Proof",
    "Report",
    "RunFeeds",
    "Silent",
    "folder_names",
    "has_passed",
    "make_firmware",
    "plan_feeds",
    "prove",
    "sign_off",
    "with_measured",
]

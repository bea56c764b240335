"""The way in, with nothing loaded yet."""

from __future__ import annotations

import importlib
import sys


def main() -> None:
    """Run the command line of this process and leave with its exit code."""
    try:
        # Loaded here and not above, so that Ctrl-C in the tenths of a second that it takes ends quietly too;
        # and so that worker processes, which begin by loading what started the program, don't load it all.
        code = importlib.import_module("lampwright.cli.run").run_process()
    except KeyboardInterrupt:
        if sys.stderr is not None:
            print("stopped", file=sys.stderr)
        code = 130
    sys.exit(code)

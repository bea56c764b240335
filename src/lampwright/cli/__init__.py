"""The command line: words come in, findings go to the terminal, an exit code says pass or fail.

Exit codes: 0 passed, 1 a check failed, 2 the input can't be read or is wrong, 3 a fault of the program
itself, 130 interrupted.
"""

from lampwright.cli.start import main

__all__ = ["main"]

"""Worker processes for long work: in comes a function with its arguments, out comes its result.

They are started afresh on every system, leave Ctrl-C to the program, and end when the program ends.
"""

from lampwright.workers.pool import Workers, is_worker, report

__all__ = ["Workers", "is_worker", "report"]

"""Run one command and turn whatever happens into a message and an exit code."""

from __future__ import annotations

import io
import json
import os
import sys
from collections.abc import Sequence

from cyclopts import CycloptsError

from lampwright.cli.app import app
from lampwright.units.errors import MakerError

PASSED, FAILED, WRONG_INPUT, OUR_FAULT, INTERRUPTED = 0, 1, 2, 3, 130


def main() -> None:
    """Run the command line of this process and leave with its exit code."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")  # a terminal without × or ° still gets its table
    sys.exit(run(sys.argv[1:]))


def run(arguments: Sequence[str]) -> int:
    """Run one command and return the exit code; errors go to stderr without a traceback."""
    is_traced = "--trace" in arguments
    tokens = [argument for argument in arguments if argument != "--trace"]
    try:
        code = app(tokens, exit_on_error=False, result_action="return_value")
        sys.stdout.flush()
    except CycloptsError:
        return WRONG_INPUT  # cyclopts has said what is wrong
    except MakerError as error:
        _say_problems(error, is_json="--json" in tokens)
        return WRONG_INPUT
    except KeyboardInterrupt:
        print("stopped", file=sys.stderr)
        return INTERRUPTED
    except BrokenPipeError:
        # the reader, such as "head", has seen enough; keep Python from complaining at exit
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return PASSED
    except OSError as error:
        print(f"error: {error.strerror or error}: {error.filename or 'no file named'}", file=sys.stderr)
        return WRONG_INPUT
    except Exception as error:
        if is_traced:
            raise
        print(
            f"lampwright has a fault of its own: {type(error).__name__}: {error}\n"
            "do:      run the same command with --trace and send what it prints",
            file=sys.stderr,
        )
        return OUR_FAULT
    return code if isinstance(code, int) else PASSED


def _say_problems(error: MakerError, is_json: bool) -> None:
    print(error.render(), file=sys.stderr)
    if is_json:
        problems = [
            {
                "code": problem.code,
                "file": problem.place.file if problem.place else None,
                "line": problem.place.line if problem.place else None,
                "column": problem.place.column if problem.place else None,
                "summary": problem.summary,
                "found": problem.found,
                "allowed": problem.allowed,
                "do": problem.do,
            }
            for problem in error.problems
        ]
        print(json.dumps({"passed": False, "problems": problems}, indent=2, ensure_ascii=False))

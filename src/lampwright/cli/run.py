"""Run one command and turn whatever happens into a message and an exit code."""

from __future__ import annotations

import io
import json
import os
import shlex
import sys
from collections.abc import Sequence
from concurrent.futures import BrokenExecutor

from cyclopts import CycloptsError, UnusedCliTokensError

from lampwright.cli.app import app
from lampwright.units.errors import MakerError, Problem

PASSED, FAILED, WRONG_INPUT, OUR_FAULT, INTERRUPTED = 0, 1, 2, 3, 130


def run_process() -> int:
    """Run the command line of this process and return its exit code."""
    # A program that is started without them, as by ">&-", has no streams.
    sys.stdout = sys.stdout or io.StringIO()
    sys.stderr = sys.stderr or io.StringIO()
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")  # a terminal without × or ° still gets its table
    return run(sys.argv[1:])


def run(arguments: Sequence[str]) -> int:
    """Run one command and return the exit code; errors go to stderr without a traceback."""
    is_traced = "--trace" in arguments
    tokens = [argument for argument in arguments if argument != "--trace"]
    try:
        code = app(tokens, exit_on_error=False, print_error=False, result_action="return_value")
        sys.stdout.flush()
    except CycloptsError as error:
        return _refuse([_misread(error, tokens)], tokens)
    except MakerError as error:
        return _refuse(error.problems, tokens)
    except KeyboardInterrupt:
        print("stopped", file=sys.stderr)
        return INTERRUPTED
    except BrokenPipeError:
        # the reader, such as "head", has seen enough; keep Python from complaining at exit
        _send_nowhere()
        return PASSED
    except OSError as error:
        if error.filename is None:  # what was printed can't be kept, as on a full disk; nor can the rest
            _send_nowhere()
        return _refuse([_refused_by_system(error)], tokens)
    except MemoryError:
        return _refuse([_out_of_memory()], tokens)
    except BrokenExecutor:
        return _refuse([_worker_ended()], tokens)
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


def _send_nowhere() -> None:
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _misread(error: CycloptsError, tokens: Sequence[str]) -> Problem:
    """Return the problem of words on the command line that can't be understood."""
    is_known = bool(tokens) and tokens[0] in app
    if isinstance(error, UnusedCliTokensError):
        words = shlex.join(error.unused_tokens or ())
        summary = f"there are words too many: {words}"
    else:
        summary = str(error).split(" Available commands:")[0].rstrip(".")  # the help lists them all
        summary = summary[:1].lower() + summary[1:]
    return Problem(
        "COMMAND-001",
        summary,
        shlex.join(["lampwright", *tokens]),
        "a command and its options, as the help lists them; a path with spaces in quotes",
        "type lampwright " + (f"{tokens[0]} --help" if is_known else "--help"),
    )


def _refused_by_system(error: OSError) -> Problem:
    if isinstance(error, FileExistsError | NotADirectoryError | IsADirectoryError):
        is_folder = isinstance(error, IsADirectoryError)
        return Problem(
            "COMMAND-002",
            "this is a folder where a file is meant" if is_folder else "there is a file where a folder is meant",
            str(error.filename),
            "a file" if is_folder else "a folder that is there, or that can be made",
            "name a file" if is_folder else "name another folder, or move that file away; it was left as it is",
        )
    return Problem(
        "COMMAND-002",
        f"the computer refuses a file: {error.strerror or error}",
        str(error.filename) if error.filename is not None else "what the command prints",
        "files and folders that you may read and write, on a disk with room",
        "free some room, change the permissions, or choose another folder",
    )


def _out_of_memory() -> Problem:
    return Problem(
        "COMMAND-002",
        "the computer has too little memory for this",
        "a piece or a show too large to be weighed at once",
        "what fits the memory",
        "close other programs, or split the piece into several files",
    )


def _worker_ended() -> Problem:
    return Problem(
        "COMMAND-002",
        "the computer ended one of the processes that share the work",
        "a process gone before its work was done; most often memory ran out",
        "processes that are left to finish",
        "close other programs and try again; if it goes on, split the piece into several files",
    )


def _refuse(problems: Sequence[Problem], tokens: Sequence[str]) -> int:
    """Print problems for the reader, and as JSON for a program that asked for it."""
    print(MakerError(problems).render(), file=sys.stderr)
    if "--json" in tokens:
        print(problems_json(problems))
    return WRONG_INPUT


def problems_json(problems: Sequence[Problem]) -> str:
    """Return problems as JSON."""
    rows = [
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
        for problem in problems
    ]
    return json.dumps({"passed": False, "problems": rows}, indent=2, ensure_ascii=False)

"""What the server answers with when something can't be done."""

from __future__ import annotations

from typing import Any

from starlette.responses import JSONResponse, Response

from lampwright.units.errors import MakerError, Problem


def refused(error: MakerError) -> Response:
    """Return the problems of an error, as the page shows them."""
    return JSONResponse({"problems": [problem_data(problem) for problem in error.problems]}, 422)


def problem_data(problem: Problem) -> dict[str, Any]:
    """Return a problem ready for JSON."""
    place = problem.place
    return {
        "code": problem.code,
        "summary": problem.summary,
        "found": problem.found,
        "allowed": problem.allowed,
        "do": problem.do,
        "line": place.line if place else None,
        "column": place.column if place else None,
    }

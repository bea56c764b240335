"""``lampwright explain``: the page of a check."""

from __future__ import annotations

from typing import Annotated

from cyclopts import Parameter
from rich.console import Console
from rich.markdown import Markdown

from lampwright.findings import explain as find_page


def explain(
    code: Annotated[str, Parameter(help="A code such as POWER-001, or the name of its fault.")],
    /,
) -> int:
    """Print the page of a check: what, why, and what to do."""
    page = find_page(code)
    console = Console()
    if console.is_terminal:
        console.print(Markdown(page.text))
    else:
        print(page.text.rstrip())
    return 0

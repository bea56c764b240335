"""``lampwright demo``: all of it on Frost Gate."""

from __future__ import annotations

from importlib import resources
from pathlib import Path

from lampwright.cli.options import AsJson, OutFolder
from lampwright.cli.rehearse import rehearse

EXAMPLE = "frost-gate/frost-gate.toml"


def demo(*, out: OutFolder = Path("out"), as_json: AsJson = False) -> int:
    """Do all of it on Frost Gate, an invented piece.

    Four lit arches over a footpath in a park. The folder gets the firmware of each arch and a picture
    of what the chips sent.
    """
    return rehearse(example_file(), out=out, as_json=as_json)


def example_file() -> Path:
    """Return the example's piece file: beside the package where it was installed, else in the checkout."""
    package = Path(str(resources.files("lampwright")))
    installed = package / "examples" / EXAMPLE
    return installed if installed.is_file() else package.parents[1] / "examples" / EXAMPLE

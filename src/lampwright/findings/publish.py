"""Write the pages for readers on the web: ``python -m lampwright.findings.publish docs/checks``."""

from __future__ import annotations

import argparse
from pathlib import Path

from lampwright.findings.pages import Page, load_pages

_HEAD = """# Checks

Every message and finding has a code. Each code has a page here; `lampwright explain CODE` prints the same
text. This folder is written by `python -m lampwright.findings.publish docs/checks`; the texts are kept in
`src/lampwright/findings/pages/`.

| code | fault | in short |
| --- | --- | --- |
"""


def published() -> dict[str, str]:
    """Return the files of the folder: name to text."""
    pages = load_pages()
    files = {f"{page.code}.md": page.text for page in pages.values()}
    return {"README.md": _HEAD + "".join(_row(page) for page in pages.values()), **files}


def _row(page: Page) -> str:
    summary = " ".join(page.summary.split()).replace("|", "\\|")
    return f"| [{page.code}]({page.code}.md) | {page.fault} | {summary} |\n"


def publish(folder: Path) -> None:
    """Write all pages and their index into ``folder``, and delete pages whose code is gone."""
    folder.mkdir(parents=True, exist_ok=True)
    files = published()
    for name, text in files.items():
        (folder / name).write_text(text, encoding="utf-8", newline="\n")
    for path in folder.glob("*.md"):
        if path.name not in files:
            path.unlink()


def main() -> None:
    """Run from the command line."""
    parser = argparse.ArgumentParser(description="Write the pages of all checks into a folder.")
    parser.add_argument("folder", type=Path)
    publish(parser.parse_args().folder)


if __name__ == "__main__":
    main()

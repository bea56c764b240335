"""Set a paper: a template and plain data in, a PDF out; the same data gives the same bytes."""

from __future__ import annotations

import json
from collections.abc import Mapping
from importlib import resources


def typeset(template: str, data: Mapping[str, object]) -> bytes:
    """Return the PDF of a template of this package, such as "handover".

    The data is handed over as JSON, so that nothing a maker writes is ever read as markup. The fonts are those that
    come with the typesetter, whatever the computer has.
    """
    # Imported here: no other command needs it.
    import typst

    with resources.as_file(resources.files("lampwright.book").joinpath("templates", f"{template}.typ")) as file:
        pdf = typst.compile(
            file,
            root=file.parent,
            format="pdf",
            ignore_system_fonts=True,
            sys_inputs={"data": json.dumps(data)},
            timestamp=0,
        )
    assert isinstance(pdf, bytes)
    return pdf

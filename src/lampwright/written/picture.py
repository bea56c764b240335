"""Pictures written whole or not at all."""

from __future__ import annotations

import io
from pathlib import Path

from PIL import Image

from lampwright.written.whole import write_whole


def write_png(path: Path, image: Image.Image) -> None:
    """Write a picture as PNG, in one step.

    Raises
    ------
    OSError
        That names the picture, not a part of it.
    """
    write_whole(path, png_bytes(image))


def png_bytes(image: Image.Image) -> bytes:
    """Return a picture as PNG."""
    buffer = io.BytesIO()
    image.save(buffer, "PNG", optimize=True)
    return buffer.getvalue()

"""What the built firmware sends, by two outside programs and nothing of ours.

* libsimavr (Debian package libsimavr-dev 1.6), an AVR emulator, runs the very ELF file that is
  flashed and gives the edges of the data pin.
* sigrok-cli (Debian package) with libsigrokdecode's decoder of the WS281x line, made for logic
  analysers, turns the edges into colours.

The colours have to be the show's frames, as numpy draws them.
"""

from __future__ import annotations

import re
import subprocess
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from lampwright.show import render
from tests.rehearsal.conftest import Outcome, rehearse_small

__all__ = ["rehearse_small"]

CLOCK_HZ = 16_000_000
FIRST_SECOND, SECONDS = 60.3, 0.5


@pytest.fixture(scope="module")
def edge_recorder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Compile the little program around libsimavr."""
    program = tmp_path_factory.mktemp("recorder") / "line_edges"
    source = Path(__file__).with_name("line_edges.c")
    done = subprocess.run(
        ["gcc", "-O2", "-o", program, source, "-lsimavr", "-lelf"], capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, f"needs libsimavr-dev and libelf-dev, which make test installs:\n{done.stderr}"
    return program


def _levels(recorder: Path, elf: Path) -> np.ndarray:
    """Return the data pin, one sample per cycle, over half a second of the show."""
    first, last = round(FIRST_SECOND * CLOCK_HZ), round((FIRST_SECOND + SECONDS) * CLOCK_HZ)
    run = subprocess.run([recorder, elf, "6", str(first), str(last)], capture_output=True, check=True)
    words = np.frombuffer(run.stdout, dtype="<u8")
    edges, level = (words >> 1).astype(np.int64) - first, (words & 1).astype(np.uint8)
    keep = edges < last - first
    samples = np.zeros(last - first, dtype=np.uint8)
    starts, levels = np.concatenate([[0], edges[keep]]), np.concatenate([[0], level[keep]])
    samples[:] = np.repeat(levels, np.diff(np.append(starts, last - first)))
    return samples


def _decode(samples: np.ndarray, folder: Path) -> list[list[tuple[int, int, int]]]:
    """Return frames of (red, green, blue) as sigrok reads them; the first and last may be cut off."""
    file = folder / "line.bin"
    file.write_bytes(samples.tobytes())
    command = ["sigrok-cli", "-I", f"binary:numchannels=1:samplerate={CLOCK_HZ}", "-i", str(file)]
    command += ["-P", "rgb_led_ws281x:din=0", "-A", "rgb_led_ws281x=rgb:reset"]
    text = subprocess.run(command, capture_output=True, text=True, check=True).stdout
    frames: list[list[tuple[int, int, int]]] = [[]]
    for line in text.splitlines():
        colour = re.search(r"#([0-9a-f]{2})([0-9a-f]{2})([0-9a-f]{2})", line)
        if colour is not None:
            red, green, blue = (int(part, 16) for part in colour.groups())
            frames[-1].append((red, green, blue))
        elif "RESET" in line:
            frames.append([])
    return frames


def test_two_outside_programs_read_the_shows_own_frames_off_the_pin(
    rehearse_small: Callable[..., Outcome], edge_recorder: Path, tmp_path: Path
) -> None:
    outcome = rehearse_small(show_seconds=1.0)
    frames = _decode(_levels(edge_recorder, outcome.built.elf), tmp_path)
    whole = [frame for frame in frames if len(frame) == outcome.show.n_pixel]
    assert len(whole) >= 18
    around = round(FIRST_SECOND * 1000 / outcome.show.frame_ms)
    show = render(outcome.show, around - 5, 40).codes
    first = next(k for k in range(10) if [tuple(c) for c in show[k].tolist()] == whole[0])
    assert np.array(whole).max() > 0
    np.testing.assert_array_equal(np.array(whole), show[first : first + len(whole)])

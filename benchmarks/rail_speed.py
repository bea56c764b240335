"""Rails of the first arch of Frost Gate, frame by frame: ours, a circuit simulator, a banded solver.

Run: python -m benchmarks.rail_speed (or python benchmarks/rail_speed.py)

The simulator (the Debian package ngspice) sweeps the pack's voltage over a hundred steps too small to matter, in one
process; its time for one frame is the sweep less a single operating point, so that start and reading don't count.
The banded solver is scipy's, called once a frame for a strip of as many pixels fed at one end, constant currents.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
import time
from functools import partial
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path
from typing import Any

import numpy as np
from scipy.linalg import solve_banded

from lampwright.layout import lay_out
from lampwright.piece import read_piece
from lampwright.power import ready_rails
from lampwright.show import compile_show, render

ROOT = Path(__file__).parents[1]
N_FRAME = 4000


def best_of(times: int, work: Any) -> float:
    """Return the shortest of some runs. [s]"""
    taken = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        taken.append(time.perf_counter() - start)
    return min(taken)


def netlist_of(network: Any, codes: Any) -> str:
    """Return the network as the tests write it for the simulator."""
    sys.path.insert(0, str(ROOT))
    spec = spec_from_file_location("test_ngspice", ROOT / "tests" / "published" / "test_ngspice.py")
    assert spec is not None
    assert spec.loader is not None
    module = module_from_spec(spec)
    spec.loader.exec_module(module)
    return str(module.netlist(network, codes))


def simulate(folder: str) -> None:
    """Run the simulator on the network in a folder."""
    subprocess.run(["ngspice", "-b", "-r", "out.raw", "net.cir"], cwd=folder, capture_output=True, check=False)


def simulator_frame(text: str) -> float:
    """Return the simulator's time for one more frame in the same process. [s]"""
    volts = 5.0
    taken = []
    for steps in (1, 100):
        sweep = f".dc Vpack {volts} {volts + 1e-6 * steps!r} 1e-6"
        with tempfile.TemporaryDirectory() as folder:
            (Path(folder) / "net.cir").write_text(text.replace(".op", sweep))
            taken.append(best_of(2, partial(simulate, folder)))
    return (taken[1] - taken[0]) / 99


def main() -> None:
    """Print the figures."""
    piece = read_piece(ROOT / "examples" / "frost-gate" / "frost-gate.toml")
    show = compile_show(lay_out(piece))[0]
    rails = ready_rails(show.layout)
    n = show.n_pixel
    start = show.standby_frames + show.pass_frames // 3
    codes = render(show, start, N_FRAME).codes
    ours = best_of(3, lambda: rails.solve(codes)) / N_FRAME
    drawn = best_of(1, lambda: render(show, start, N_FRAME)) / N_FRAME
    alone = best_of(5, lambda: rails.frame(codes[0]))
    moved = best_of(20, lambda: ready_rails(show.layout).frame(codes[0]))
    white = np.full((200, n, 3), 255, dtype=np.uint8)
    curved = best_of(3, lambda: rails.solve(white)) / 200
    bands = np.array([np.full(n, -1.0), np.full(n, 2.0), np.full(n, -1.0)])
    right = np.full(n, 0.01)
    banded = best_of(3, lambda: [solve_banded((1, 1), bands, right) for _ in range(200)]) / 200
    simulated = simulator_frame(netlist_of(rails.network, codes[0]))
    print(f"{n} pixels, {rails.network.n_place} places, {len(rails.laid)} laid wires, loops included")
    print(f"every pixel regulating   {1e6 * ours:9.1f} us a frame {1 / ours:11,.0f} frames/s on one core")
    print(f"every pixel sagging      {1e6 * curved:9.1f} us a frame {1 / curved:11,.0f} frames/s")
    print(f"one frame, all voltages  {1e3 * alone:9.2f} ms")
    print(f"one frame, feeds moved   {1e3 * moved:9.2f} ms, wired up and ordered anew")
    print(f"drawing the same frames  {1e6 * drawn:9.1f} us a frame")
    print(f"scipy solve_banded       {1e6 * banded:9.1f} us a frame, {banded / ours:7.0f} times ours")
    print(f"circuit simulator        {1e6 * simulated:9.0f} us a frame, {simulated / ours:7.0f} times ours")
    n_byte = codes[0].size + 2 * 8 * rails.network.n_place * 4
    print(f"a frame touches some {n_byte / 1000:.0f} kB in the cache: {n_byte / ours / 1e9:.1f} GB/s")


if __name__ == "__main__":
    main()

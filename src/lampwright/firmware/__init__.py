"""From a show to firmware: C++ sources written for one circuit, then built and sized.

In: a :class:`lampwright.show.model.CircuitShow`. Out: :func:`write_firmware` gives a folder of
plain C++ that also builds by hand, :func:`build` the binary with its sizes, RAM map, fuses and
avrdude commands.
"""

from lampwright.firmware.build import FirmwareBuild, build
from lampwright.firmware.compiler import Compiler, PathCompiler, WheelCompiler
from lampwright.firmware.compiler_choice import find_compiler
from lampwright.firmware.compiler_wasi import WasiCompiler
from lampwright.firmware.image import RamSymbol, variables_end
from lampwright.firmware.pins import SourceRun
from lampwright.firmware.write import FirmwareSource, refusals, write_firmware

__all__ = [
    "Compiler",
    "FirmwareBuild",
    "FirmwareSource",
    "PathCompiler",
    "RamSymbol",
    "SourceRun",
    "WasiCompiler",
    "WheelCompiler",
    "build",
    "find_compiler",
    "refusals",
    "variables_end",
    "write_firmware",
]

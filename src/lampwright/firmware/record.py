"""The record of a build, as a text that stays beside the .hex: what was built, how large, by what."""

from __future__ import annotations

from lampwright.firmware.image import RamSymbol, variables_end

SECTIONS = {".data": "starts with a value", ".bss": "starts at zero", ".noinit": "lives through a reset"}
"""What an ELF section means to a maker."""


def record_text(
    circuit: str,
    compiler: str,
    sha256: str,
    flash: tuple[int, int],
    ram: tuple[int, int],
    symbols: tuple[RamSymbol, ...],
) -> str:
    """Return the record; ``flash`` and ``ram`` are used and there. [byte]"""
    lines = [
        f'circuit   "{circuit}"',
        f"compiler  {compiler}",
        f"sha256    {sha256}  firmware.hex",
        f"flash     {flash[0]} of {flash[1]} bytes",
        f"RAM       {ram[0]} of {ram[1]} bytes by variables; {ram[1] - ram[0]} are left for the stack",
        "",
        "RAM map",
        f"{'address':>8}  {'bytes':>5}  variable",
    ]
    for symbol in symbols:
        meaning = SECTIONS.get(symbol.section, symbol.section)
        lines.append(f"{symbol.address:#08x}  {symbol.size:>5}  {symbol.name:<28}  {meaning}")
    lines.append(f"{variables_end(symbols):#08x}  {'':>5}  from here up to the top: stack")
    return "\n".join(lines) + "\n"

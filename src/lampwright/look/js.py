"""Writes whole-number values as JavaScript, equal bit for bit to numpy and C++.

A number of JavaScript holds whole numbers of 53 bits exactly, and its bit operations see the
lowest 32. Every value's proven range fits 32 bits, signed or not; what is written depends on it
only where the two differ: :meth:`_Writer.held` brings a 32-bit result back to its own sign.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from importlib import resources

from lampwright.look.graph import Rate
from lampwright.look.tables import SHUFFLE, Curve, Table
from lampwright.look.whole import Whole
from lampwright.look.writing import FlashTable, FunctionPlan, FunctionWriter, TablePool, bare, harmless

PRELUDE = (resources.files("lampwright.look") / "prelude.js").read_text(encoding="utf-8")
"""Small functions that the looks' functions call; written once above them."""

_ARRAYS = {
    "uint8_t": "Uint8Array",
    "int8_t": "Int8Array",
    "uint16_t": "Uint16Array",
    "int16_t": "Int16Array",
    "uint32_t": "Uint32Array",
    "int32_t": "Int32Array",
}
_RESERVED = frozenset(
    "arguments async await break case catch class const continue debugger default delete do else enum eval export "
    "extends false finally for function if implements import in instanceof interface let new null of package private "
    "protected public return static super switch this throw true try typeof undefined var void while with yield "
    "i t put curve blend bump scramble clock".split()
)
"""Names that a look's author may use and JavaScript, or the function around them, may not."""

_SMALL = 1 << 30
"""Sums and products below this stay whole numbers in the engine by themselves."""


def write_module(plans: Sequence[FunctionPlan]) -> str:
    """Return an ES module that exports ``name(t, put)`` for each plan.

    It calls ``put(i, red, green, blue)`` for every pixel ``i`` at the cue's frame number ``t``,
    codes from 0 to 255. Tables that several looks read are kept once.
    """
    pool = TablePool()
    functions = [_Writer(plan, pool).text() for plan in plans]
    return "\n".join([*(_table_text(table) for table in pool.tables), PRELUDE, *functions])


def _table_text(table: FlashTable) -> str:
    comment = f"// {harmless(table.comment)}\n" if table.comment else ""
    rows = [""]
    for value in table.values:
        if len(rows[-1]) + len(str(value)) > 96:
            rows.append("")
        rows[-1] += f" {value},"
    lines = "\n".join("   " + row for row in rows)
    return f"{comment}const {table.name} = {_ARRAYS[table.ctype]}.of(\n{lines}\n);\n"


class _Writer(FunctionWriter):
    def __init__(self, plan: FunctionPlan, pool: TablePool) -> None:
        super().__init__(plan, pool, _RESERVED)

    def text(self) -> str:
        self.name_values()
        codes = ", ".join(bare(self.written(code)) for code in self.plan.codes)
        lines = [
            *(f"// {harmless(line)}" for line in self.plan.comment),
            f"export function {self.plan.name}(t, put) {{",
        ]
        if self.lines[Rate.FRAME]:
            lines += ["    // once per frame", *("    " + line for line in self.lines[Rate.FRAME])]
        lines.append(f"    for (let i = 0; i < {self.plan.n_pixel}; ++i) {{")
        lines += ["        " + line for line in self.lines[Rate.PIXEL]]
        lines += [f"        put(i, {codes});", "    }", "}"]
        return "\n".join(lines) + "\n"

    def written(self, node: Whole) -> str:
        if node in self.names:
            return self.names[node]
        if node.operation == "constant":
            number = node.numbers[0]
            return f"({number})" if number < 0 else str(number)
        return PRINT[node.operation](self, node)

    def declared(self, node: Whole, name: str) -> str:
        return f"const {name} = {bare(self.written(node))};"

    def _arguments(self, node: Whole) -> list[str]:
        return [self.written(argument) for argument in node.arguments]

    def _call(self, function: str, *arguments: str) -> str:
        return f"{function}({', '.join(bare(argument) for argument in arguments)})"

    def _bits(self, node: Whole) -> str:
        """Return a text whose lowest 32 bits are the value's, for operations that look at no others."""
        if node in self.names or node.operation not in RAW:
            return self.written(node)
        return RAW[node.operation](self, node)

    def held(self, node: Whole) -> str:
        """Return a value whose lowest 32 bits are made first, with the sign that its range says it has."""
        text = RAW[node.operation](self, node)
        if node.high >= 1 << 31:
            return f"({text} >>> 0)"
        is_whole = node.operation in {"multiply", "shift left"} or (node.low >= -_SMALL and node.high < _SMALL)
        return text if is_whole else f"({text} | 0)"

    def raw_sum(self, node: Whole) -> str:
        left, right = self._arguments(node)
        return f"({left} {'+' if node.operation in {'add', 'wrap add'} else '-'} {right})"

    def raw_product(self, node: Whole) -> str:
        return self._call("Math.imul", *(self._bits(argument) for argument in node.arguments))

    def raw_shift(self, node: Whole) -> str:
        return f"({self._bits(node.arguments[0])} << {node.numbers[0]})"

    def divide(self, node: Whole) -> str:
        # The quotient of two numbers of 32 bits, rounded to 53, never reaches a whole number from below.
        left, right = self._arguments(node)
        return self._call("Math.floor", f"{left} / {right}")

    def shift_right(self, node: Whole) -> str:
        value, bits = node.arguments[0], node.numbers[0]
        if value.low >= 0:
            return f"({self._bits(value)} >>> {bits})" if bits < 32 else "0"
        return f"({self._bits(value)} >> {min(31, bits)})"

    def _lowest(self, text: str, bits: int) -> str:
        return f"({text} >>> 0)" if bits == 32 else f"({text} & 0x{(1 << bits) - 1:X})"

    def low_bits(self, node: Whole) -> str:
        return self._lowest(self._bits(node.arguments[0]), node.numbers[0])

    def wrapped(self, node: Whole) -> str:
        raw = self.raw_product if node.operation == "wrap multiply" else self.raw_sum
        return self._lowest(raw(node), node.numbers[0])

    def clock(self, node: Whole) -> str:
        increment, shift, bits = node.numbers
        assert shift + bits <= 64
        if (increment, shift) == (1, 0):
            return self._lowest("t", bits)
        if shift < 16:
            increment, shift = increment << (16 - shift), 16
        upper, lower = increment >> 32 & 0xFFFFFFFF, increment & 0xFFFFFFFF
        text = self._call("clock", "t", f"0x{upper:X}", f"0x{lower:X}", str(shift))
        return text if bits == 32 else self._lowest(text, bits)

    def pixel(self, node: Whole) -> str:
        assert isinstance(node.data, Table)
        return f"{self.pool.name(node.data, self.plan.name)}[i]"

    def look_up(self, node: Whole) -> str:
        assert isinstance(node.data, Table)
        owner = self.plan.name if node.data.name == "band" else ""
        return f"{self.pool.name(node.data, owner)}[{bare(self.written(node.arguments[0]))}]"

    def curve(self, node: Whole) -> str:
        assert isinstance(node.data, Curve)
        values = self.pool.name(node.data.values, "", "int16_t")
        steps = self.pool.name(node.data.steps, "", "int8_t")
        return self._call("curve", values, steps, *self._arguments(node))

    def bump(self, node: Whole) -> str:
        return self._call("bump", self.pool.name(SHUFFLE, ""), *self._arguments(node))

    def call(self, node: Whole) -> str:
        functions = {"least": "Math.min", "most": "Math.max", "magnitude": "Math.abs"}
        return self._call(functions.get(node.operation, node.operation), *self._arguments(node))

    def comparison(self, node: Whole) -> str:
        return f"({self._test(node)} ? 1 : 0)"

    def _test(self, node: Whole) -> str:
        """Return a text that JavaScript takes for true or false."""
        sign = {"below": "<", "at most": "<=", "equal": "==="}.get(node.operation)
        if sign is None or node in self.names:
            return self.written(node)
        left, right = self._arguments(node)
        return f"{left} {sign} {right}"

    def logic(self, node: Whole) -> str:
        if node.operation == "not":
            return f"(1 - {self.written(node.arguments[0])})"
        left, right = self._arguments(node)
        return f"({left} {'&' if node.operation == 'both' else '|'} {right})"

    def choose(self, node: Whole) -> str:
        test, yes, no = node.arguments
        return f"({self._test(test)} ? {self.written(yes)} : {self.written(no)})"


RAW: dict[str, Callable[[_Writer, Whole], str]] = {
    "add": _Writer.raw_sum,
    "subtract": _Writer.raw_sum,
    "multiply": _Writer.raw_product,
    "shift left": _Writer.raw_shift,
}
"""Operations that may leave more than 32 bits, or the wrong sign, until they are held."""

PRINT: dict[str, Callable[[_Writer, Whole], str]] = {
    "clock": _Writer.clock,
    "pixel": _Writer.pixel,
    "look up": _Writer.look_up,
    "curve": _Writer.curve,
    "add": _Writer.held,
    "subtract": _Writer.held,
    "multiply": _Writer.held,
    "divide": _Writer.divide,
    "shift right": _Writer.shift_right,
    "shift left": _Writer.held,
    "low bits": _Writer.low_bits,
    "wrap add": _Writer.wrapped,
    "wrap multiply": _Writer.wrapped,
    "least": _Writer.call,
    "most": _Writer.call,
    "magnitude": _Writer.call,
    "below": _Writer.comparison,
    "at most": _Writer.comparison,
    "equal": _Writer.comparison,
    "both": _Writer.logic,
    "either": _Writer.logic,
    "not": _Writer.logic,
    "choose": _Writer.choose,
    "blend": _Writer.call,
    "bump": _Writer.bump,
    "scramble": _Writer.call,
}
"""How each operation is written."""

"""Writes whole-number values as C++ for an 8-bit chip, one function a look.

Every intermediate is computed in a type that holds its operands and its result, so that
C++'s own promotion rules (where ``int`` has 16 bits on the chip, 32 on a desk computer) can't
change a bit.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from importlib import resources

from lampwright.look.graph import Rate
from lampwright.look.tables import SHUFFLE, Curve, Table
from lampwright.look.whole import Whole, narrowest
from lampwright.look.writing import FunctionPlan, FunctionWriter, TablePool, bare, harmless

PRELUDE = (resources.files("lampwright.look") / "prelude.h").read_text(encoding="utf-8")
"""Small functions that the looks' functions call; written once above them."""

_WIDTH = {"uint8_t": 8, "int8_t": 8, "uint16_t": 16, "int16_t": 16, "uint32_t": 32, "int32_t": 32}
_RESERVED = frozenset(
    "auto bool break case char class const continue default delete do double else enum extern false float for goto "
    "if inline int long namespace new not and or xor operator private public register return short signed sizeof "
    "static struct switch template this true try typedef typename union unsigned using virtual void volatile while "
    "i t put least most magnitude curve blend bump scramble floor_divide main "
    "high_product high_product_signed high_product_both_signed middle_product".split()
)
"""Names that a look's author may use and C++ may not."""


def write_function(plan: FunctionPlan, pool: TablePool) -> str:
    """Return ``static void name(uint32_t t)`` that puts every pixel's codes."""
    return _Writer(plan, pool).text()


@dataclass(frozen=True)
class _Text:
    """An expression and the type that C++ gives it."""

    text: str
    ctype: str


class _Writer(FunctionWriter):
    def __init__(self, plan: FunctionPlan, pool: TablePool) -> None:
        super().__init__(plan, pool, _RESERVED)

    def text(self) -> str:
        self.name_values()
        codes = ", ".join(bare(self.written(code)) for code in self.plan.codes)
        lines = [
            *(f"// {harmless(line)}" for line in self.plan.comment),
            f"static void {self.plan.name}(uint32_t t)",
            "{",
        ]
        if self.lines[Rate.FRAME]:
            lines += ["    // once per frame", *("    " + line for line in self.lines[Rate.FRAME])]
        else:
            lines.append("    (void)t;")
        lines.append(f"    for (uint16_t i = 0; i < {self.plan.n_pixel}; ++i) {{")
        lines += ["        " + line for line in self.lines[Rate.PIXEL]]
        lines += [f"        put(i, {codes});", "    }", "}"]
        return "\n".join(lines) + "\n"

    def written(self, node: Whole) -> str:
        return self._expression(node).text

    def declared(self, node: Whole, name: str) -> str:
        return f"const {node.ctype} {name} = {bare(self.written(node))};"

    def belongs_to_its_users(self, node: Whole) -> bool:
        # most products are written as one call with the shift that follows
        return node.operation == "multiply" and all(u.operation == "shift right" for u in self.users[node])

    def _expression(self, node: Whole) -> _Text:
        """Return the text of a value: its name, or its expression in the type of its range."""
        if node in self.names:
            return _Text(self.names[node], node.ctype)
        if node.operation == "constant":
            return _Text(_literal(node.numbers[0], node.ctype), node.ctype)
        text = PRINT[node.operation](self, node)
        if text.ctype == node.ctype:
            return text
        return _Text(f"({node.ctype}){text.text}", node.ctype)

    def _common(self, node: Whole, *others: Whole) -> str:
        """Return the type that holds all arguments and the result; at least 16 bits."""
        every = (node, *node.arguments, *others)
        return narrowest(min(-256, *(n.low for n in every)) if any(n.low < 0 for n in every) else 0,
                         max(256, *(n.high for n in every)))  # fmt: skip

    def _cast(self, node: Whole, ctype: str) -> str:
        """Return a value's text in a type; bytes need no cast to the chip's own ``int``."""
        if node.operation == "constant":
            return _literal(node.numbers[0], ctype)
        expression = self._expression(node)
        if expression.ctype == ctype or (ctype == "int16_t" and _WIDTH[expression.ctype] == 8):
            return expression.text
        return f"({ctype}){expression.text}"

    def _infix(self, sign: str) -> Callable[[Whole], _Text]:
        def write(node: Whole) -> _Text:
            ctype = self._common(node)
            left, right = (self._cast(a, ctype) for a in node.arguments)
            return _Text(f"({left} {sign} {right})", ctype)

        return write

    def clock(self, node: Whole) -> _Text:
        increment, shift, bits = node.numbers
        if (increment, shift) == (1, 0):
            return self._lowest("t", "uint32_t", bits)
        product = f"((uint64_t)t * 0x{increment:X}ULL)"
        return self._lowest(f"({product} >> {shift})" if shift else product, "uint64_t", bits)

    def _lowest(self, text: str, ctype: str, bits: int) -> _Text:
        own = {8: "uint8_t", 16: "uint16_t", 32: "uint32_t"}.get(bits)
        if own is not None:
            return _Text(text if own == ctype else f"({own}){text}", own)
        wide = "uint16_t" if bits < 16 else "uint32_t"
        return _Text(f"(({wide}){text} & 0x{(1 << bits) - 1:X}u{'l' if bits > 16 else ''})", wide)

    def pixel(self, node: Whole) -> _Text:
        assert isinstance(node.data, Table)
        name = self.pool.name(node.data, self.plan.name)
        return self._read(name, "i", narrowest(node.data.lowest, node.data.highest))

    def look_up(self, node: Whole) -> _Text:
        assert isinstance(node.data, Table)
        ctype = narrowest(node.data.lowest, node.data.highest)
        owner = self.plan.name if node.data.name == "band" else ""
        return self._read(self.pool.name(node.data, owner), bare(self._expression(node.arguments[0]).text), ctype)

    def _read(self, name: str, index: str, ctype: str) -> _Text:
        reader = {8: "pgm_read_byte", 16: "pgm_read_word", 32: "pgm_read_dword"}[_WIDTH[ctype]]
        text = f"{reader}(&{name}[{index}])"
        return _Text(text if ctype.startswith("u") else f"({ctype}){text}", ctype)

    def curve(self, node: Whole) -> _Text:
        assert isinstance(node.data, Curve)
        values = self.pool.name(node.data.values, "", "int16_t")
        steps = self.pool.name(node.data.steps, "", "int8_t")
        return _Text(f"curve({values}, {steps}, {bare(self._expression(node.arguments[0]).text)})", "int16_t")

    def shift_right(self, node: Whole) -> _Text:
        short = self._short_product(node)
        if short is not None:
            return short
        argument = self._expression(node.arguments[0])
        wide = argument.ctype if _WIDTH[argument.ctype] >= 16 else "int16_t"
        if node.numbers[0] >= _WIDTH[wide]:
            wide = "int32_t"
            return _Text(f"(({wide}){argument.text} >> {min(31, node.numbers[0])})", wide)
        return _Text(f"({argument.text} >> {node.numbers[0]})", wide)

    def _short_product(self, node: Whole) -> _Text | None:
        """Return a product whose lower bytes nobody asks for, by a function that never makes them."""
        product = node.arguments[0]
        if product.operation != "multiply" or product in self.names:
            return None
        a, b = product.arguments
        if node.numbers[0] == 8 and _is_within(a, 0, 65535) and _is_within(b, 0, 255):
            return self._call_text("middle_product", "uint16_t", (a, "uint16_t"), (b, "uint8_t"))
        if node.numbers[0] == 8 and _is_within(b, 0, 65535) and _is_within(a, 0, 255):
            return self._call_text("middle_product", "uint16_t", (b, "uint16_t"), (a, "uint8_t"))
        if node.numbers[0] != 16 or not all(_is_within(x, -32768, 65535) for x in (a, b)):
            return None
        signed = [x for x in (a, b) if x.low < 0]
        if any(x.high > 32767 for x in signed):
            return None
        if not signed:
            return self._call_text("high_product", "uint16_t", (a, "uint16_t"), (b, "uint16_t"))
        if len(signed) == 2:
            return self._call_text("high_product_both_signed", "int16_t", (a, "int16_t"), (b, "int16_t"))
        other = b if signed[0] is a else a
        if not _is_within(node, -32768, 32767):
            return None
        return self._call_text("high_product_signed", "int16_t", (signed[0], "int16_t"), (other, "uint16_t"))

    def _call_text(self, function: str, result: str, *arguments: tuple[Whole, str]) -> _Text:
        return _Text(f"{function}({', '.join(bare(self._cast(*argument)) for argument in arguments)})", result)

    def shift_left(self, node: Whole) -> _Text:
        ctype = self._common(node)
        factor = _literal(1 << node.numbers[0], ctype)
        return _Text(f"({self._cast(node.arguments[0], ctype)} * {factor})", ctype)

    def low_bits(self, node: Whole) -> _Text:
        argument = self._expression(node.arguments[0])
        return self._lowest(argument.text, argument.ctype, node.numbers[0])

    def wrapped(self, node: Whole) -> _Text:
        sign = {"wrap add": "+", "wrap multiply": "*"}[node.operation]
        bits = node.numbers[0]
        if bits > 16:
            left, right = (self._cast(a, "uint32_t") for a in node.arguments)
        else:
            left, right = (self._expression(a).text for a in node.arguments)
        # 1u: on a desk computer two 16-bit values would be multiplied as signed int
        lead = "1u * " if sign == "*" else ""
        return self._lowest(f"({lead}{left} {sign} {right})", "wider", bits)

    def extreme(self, node: Whole) -> _Text:
        ctype = self._common(node)
        left, right = (bare(self._expression(a).text) for a in node.arguments)
        return _Text(f"{node.operation}<{ctype}>({left}, {right})", ctype)

    def magnitude(self, node: Whole) -> _Text:
        ctype = self._common(node)
        return _Text(f"magnitude<{ctype}>({bare(self._expression(node.arguments[0]).text)})", ctype)

    def comparison(self, node: Whole) -> _Text:
        sign = {"below": "<", "at most": "<=", "equal": "=="}[node.operation]
        text = self._infix(sign)(node)
        return _Text(text.text, "uint8_t")

    def logic(self, node: Whole) -> _Text:
        if node.operation == "not":
            return _Text(f"!{self._expression(node.arguments[0]).text}", "uint8_t")
        left, right = (self._expression(a).text for a in node.arguments)
        return _Text(f"({left} {'&' if node.operation == 'both' else '|'} {right})", "uint8_t")

    def choose(self, node: Whole) -> _Text:
        ctype = node.ctype
        test, yes, no = (self._expression(a).text for a in node.arguments)
        return _Text(f"({test} ? ({ctype}){yes} : ({ctype}){no})", ctype)

    def divide(self, node: Whole) -> _Text:
        if node.arguments[0].low >= 0:
            return self._infix("/")(node)
        left, right = (bare(self._expression(a).text) for a in node.arguments)
        return _Text(f"floor_divide({left}, {right})", "int32_t")

    def call(self, node: Whole) -> _Text:
        arguments = ", ".join(bare(self._expression(a).text) for a in node.arguments)
        return _Text(f"{node.operation}({arguments})", "uint16_t")


def _bump(writer: _Writer, node: Whole) -> _Text:
    table = writer.pool.name(SHUFFLE, "")
    cell, weight = (bare(writer._expression(a).text) for a in node.arguments)
    return _Text(f"bump({table}, {cell}, {weight})", "uint16_t")


def _infix_method(sign: str) -> Callable[[_Writer, Whole], _Text]:
    return lambda writer, node: writer._infix(sign)(node)


PRINT: dict[str, Callable[[_Writer, Whole], _Text]] = {
    "clock": _Writer.clock,
    "pixel": _Writer.pixel,
    "look up": _Writer.look_up,
    "curve": _Writer.curve,
    "add": _infix_method("+"),
    "subtract": _infix_method("-"),
    "multiply": _infix_method("*"),
    "divide": _Writer.divide,
    "shift right": _Writer.shift_right,
    "shift left": _Writer.shift_left,
    "low bits": _Writer.low_bits,
    "wrap add": _Writer.wrapped,
    "wrap multiply": _Writer.wrapped,
    "least": _Writer.extreme,
    "most": _Writer.extreme,
    "magnitude": _Writer.magnitude,
    "below": _Writer.comparison,
    "at most": _Writer.comparison,
    "equal": _Writer.comparison,
    "both": _Writer.logic,
    "either": _Writer.logic,
    "not": _Writer.logic,
    "choose": _Writer.choose,
    "blend": _Writer.call,
    "bump": _bump,
    "scramble": _Writer.call,
}


def _literal(number: int, ctype: str) -> str:
    """Return a number that C++ takes for the type, whatever the width of its ``int``."""
    suffix = {"uint32_t": "ul", "int32_t": "l", "uint16_t": "u"}.get(ctype, "")
    text = f"{abs(number)}{suffix}"
    return f"(-{text})" if number < 0 else text


def _is_within(node: Whole, low: int, high: int) -> bool:
    return low <= node.low and node.high <= high

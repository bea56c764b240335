"""What back-ends that write text share: which values get a name, and the tables they read."""

from __future__ import annotations

import re
from abc import ABC, abstractmethod
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field

from lampwright.look.graph import Rate
from lampwright.look.run import in_order
from lampwright.look.tables import Table
from lampwright.look.whole import Whole, narrowest

_LONGEST = 90
"""A value's text longer than this gets a name, whether or not it is used again. [sign]"""


@dataclass(frozen=True)
class FlashTable:
    """A table as written: its unique name, type, values and what it is."""

    name: str
    ctype: str
    values: tuple[int, ...]
    comment: str


@dataclass
class TablePool:
    """Tables of all looks of one text; equal ones are kept once."""

    tables: list[FlashTable] = field(default_factory=list)
    _known: dict[tuple[str, tuple[int, ...]], str] = field(default_factory=dict)

    def name(self, table: Table, owner: str, ctype: str | None = None) -> str:
        """Return the name under which the table stands in the source, adding it if new."""
        values = tuple(int(v) for v in table.values)
        ctype = ctype or narrowest(table.lowest, table.highest)
        key = (ctype, values)
        if key not in self._known:
            base = _plain(f"{owner}_{table.name}" if owner else table.name)
            name, number = f"{base}_table", 2
            while any(t.name == name for t in self.tables):
                name, number = f"{base}_table_{number}", number + 1
            self._known[key] = name
            self.tables.append(FlashTable(name, ctype, values, table.comment))
        return self._known[key]


@dataclass(frozen=True)
class FunctionPlan:
    """What a look's function computes: the codes of ``n_pixel`` pixels, and how to introduce it."""

    name: str
    comment: tuple[str, ...]
    codes: tuple[Whole, Whole, Whole]
    named: Mapping[Whole, str]
    n_pixel: int


class FunctionWriter(ABC):
    """Decides which values of a look get a name, and on which of the two levels they stand.

    ``lines`` holds what is worked out once per frame and what is worked out for each pixel.
    """

    def __init__(self, plan: FunctionPlan, pool: TablePool, reserved: frozenset[str]) -> None:
        self.plan, self.pool = plan, pool
        self.order = in_order(plan.codes)
        self.uses = Counter(a for node in self.order for a in node.arguments)
        self.uses.update(plan.codes)
        self.users: dict[Whole, list[Whole]] = {node: [] for node in self.order}
        for node in self.order:
            for argument in set(node.arguments):
                self.users[argument].append(node)
        self.names: dict[Whole, str] = {}
        self.lines: dict[Rate, list[str]] = {Rate.FRAME: [], Rate.PIXEL: []}
        self._taken = set(reserved)

    @abstractmethod
    def written(self, node: Whole) -> str:
        """Return the text of a value: its name, or how it is worked out."""

    @abstractmethod
    def declared(self, node: Whole, name: str) -> str:
        """Return the line that gives a value its name."""

    def belongs_to_its_users(self, node: Whole) -> bool:
        """Whether a value without a name of its own is best written inside what uses it."""
        return node.operation == "constant"

    def name_values(self) -> None:
        """Fill ``lines`` and ``names``."""
        for node in self.order:
            if self._needs_name(node):
                name = self._free_name(self.plan.named.get(node) or _hint(node))
                level = Rate.PIXEL if Rate.PIXEL in node.rate else Rate.FRAME
                self.lines[level].append(self.declared(node, name))
                self.names[node] = name

    def _needs_name(self, node: Whole) -> bool:
        """Whether a value gets a name: its author gave one, it is used again, or it is due once a frame."""
        if node.operation == "constant":
            return False
        if node in self.plan.named or self.uses[node] > 1:
            return True
        if self.belongs_to_its_users(node):
            return False
        if node.rate == Rate.FRAME:
            return any(Rate.PIXEL in user.rate for user in self.users[node]) or node in self.plan.codes
        return len(self.written(node)) > _LONGEST

    def _free_name(self, wanted: str) -> str:
        """Return a name that no other value has, and no table, type, macro or global thing can have.

        Tables end in "_table", types in "_t"; macros and the globals of JavaScript begin with a capital.
        """
        wanted = _plain(wanted).lower()
        if re.search(r"_t(able)?(_\d+)?$", wanted) or wanted.startswith("_"):
            wanted = f"its_{wanted.strip('_')}_value"
        name, number = wanted, 2
        while name in self._taken:
            name, number = f"{wanted}_{number}", number + 1
        self._taken.add(name)
        return name


def bare(text: str) -> str:
    """Return a text without a pair of brackets around all of it."""
    if not (text.startswith("(") and text.endswith(")")):
        return text
    depth = 0
    for position, sign in enumerate(text):
        depth += {"(": 1, ")": -1}.get(sign, 0)
        if depth == 0 and position < len(text) - 1:
            return text
    return text[1:-1]


def harmless(text: str) -> str:
    """Return a text that can't leave its comment: one line, no backslash to join the next one."""
    return "".join(sign if sign.isprintable() and sign.isascii() and sign != "\\" else " " for sign in text)


def _plain(name: str) -> str:
    return re.sub(r"[^A-Za-z0-9_]", "_", name)


def _hint(node: Whole) -> str:
    """Return a name for a value that its author left unnamed."""
    if node.operation == "pixel":
        assert isinstance(node.data, Table)
        return f"own_{node.data.name}"
    return {
        "clock": "turn",
        "curve": "wave",
        "blend": "bumps",
        "bump": "bumps",
        "look up": "entry",
        "wrap add": "turn",
        "multiply": "product",
        "add": "sum",
        "low bits": "part",
        "scramble": "chance",
        "least": "held",
        "most": "held",
        "shift right": "part",
        "shift left": "part",
    }.get(node.operation, "value")

"""Where each entry of a TOML text stands: line and column, in characters, by path of keys and list positions."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from dataclasses import dataclass, field

import tree_sitter_toml
from tree_sitter import Language, Node, Parser

from lampwright.piece.model import SourceMap
from lampwright.units import Place

Path = tuple[str | int, ...]
Extent = tuple[int, int]
"""First byte of the text in UTF-8, and the one after the last."""

_LANGUAGE = Language(tree_sitter_toml.language())


@dataclass
class Locations:
    """Places of values, of the keys in front of them, and of what is inside plain quotes."""

    file: str
    lines: tuple[str, ...]
    values: dict[Path, Place] = field(default_factory=dict)
    """A table that has a header stands where its header is."""
    keys: dict[Path, Place] = field(default_factory=dict)
    quoted: set[Path] = field(default_factory=set)
    """Values in single-line quotes without escapes: their characters can be counted from the first quote."""
    headers: dict[Path, Extent] = field(default_factory=dict)
    """Headers of tables, [x] and [[x]]."""
    braces: dict[Path, Extent] = field(default_factory=dict)
    """Tables in { }, from brace to brace."""
    pairs: dict[Path, Extent] = field(default_factory=dict)
    """Keys with their values: from the key to the end of the value."""

    def source_map(self) -> SourceMap:
        """Return the places of the values, for the later stages."""
        return SourceMap(dict(self.values))

    def value(self, path: Path) -> Place:
        """Return the place of the value, of the nearest table around it, or of the first line."""
        return self.source_map().find(*path) or self.line(1)

    def key(self, path: Path) -> Place:
        """Return the place of the key, else of the value."""
        return self.keys.get(path) or self.value(path)

    def inside(self, path: Path, start: int, length: int) -> Place:
        """Return the place of some characters of a quoted text, else of the whole of it."""
        place = self.value(path)
        if path not in self.quoted:
            return place
        return Place(place.file, place.line, place.column + 1 + start, max(1, length), place.text)

    def line(self, number: int, column: int = 1, length: int = 1) -> Place:
        """Return a place by its line and column."""
        number = min(max(1, number), len(self.lines))
        return Place(self.file, number, column, length, self.lines[number - 1])


def locate(text: str, file: str) -> Locations:
    """Return where each entry of ``text`` stands; ``text`` must be valid TOML."""
    # A tab would move the caret below it: a space has the same width in characters.
    lines = tuple(line.rstrip("\r").replace("\t", " ") for line in text.split("\n"))
    locations = Locations(file, lines)
    _Walker(text, locations).document()
    return locations


class _Walker:
    """Walks the syntax tree and notes the places."""

    def __init__(self, text: str, locations: Locations) -> None:
        self.locations = locations
        # tree-sitter counts columns in bytes, makers count characters.
        self.byte_lines = text.encode().split(b"\n")
        self.root = Parser(_LANGUAGE).parse(text.encode()).root_node
        self.array_sizes: dict[Path, int] = {}

    def document(self) -> None:
        for node in self.root.named_children:
            if node.type == "pair":
                self._pair(node, ())
            elif node.type in ("table", "table_array_element"):
                self._table(node)

    def _table(self, node: Node) -> None:
        header = node.named_children[0]
        path: Path = ()
        keys = list(_keys(header))
        is_array = node.type == "table_array_element"
        for key_node, name in keys:
            path = (*path, name)
            self.locations.keys.setdefault(path, self._place(key_node, key_node))
            if path in self.array_sizes:
                if is_array and key_node is keys[-1][0]:
                    break
                path = (*path, self.array_sizes[path] - 1)
        closing = node.children[2]
        if is_array:
            self.array_sizes[path] = self.array_sizes.get(path, 0) + 1
            self.locations.values.setdefault(path, self._place(node, closing))
            path = (*path, self.array_sizes[path] - 1)
        self.locations.values[path] = self._place(node, closing)
        self.locations.headers[path] = (node.start_byte, closing.end_byte)
        for child in node.named_children[1:]:
            if child.type == "pair":
                self._pair(child, path)

    def _pair(self, node: Node, around: Path) -> None:
        path = around
        for key_node, name in _keys(node.named_children[0]):
            path = (*path, name)
            place = self._place(key_node, key_node)
            self.locations.keys.setdefault(path, place)
            self.locations.values.setdefault(path, place)
        value = node.named_children[1]  # a comment may follow on the line
        self.locations.pairs[path] = (node.start_byte, value.end_byte)
        self._value(value, path)

    def _value(self, node: Node, path: Path) -> None:
        self.locations.values[path] = self._place(node, node)
        if node.type == "inline_table":
            self.locations.braces[path] = (node.start_byte, node.end_byte)
            for child in node.named_children:
                if child.type == "pair":
                    self._pair(child, path)
        elif node.type == "array":
            items = [child for child in node.named_children if child.type != "comment"]
            for index, child in enumerate(items):
                self._value(child, (*path, index))
        elif node.type == "string":
            has_escape = any(child.type == "escape_sequence" for child in node.children)
            if node.children[0].type in ('"', "'") and not has_escape:
                self.locations.quoted.add(path)

    def _place(self, first: Node, last: Node) -> Place:
        row, start = first.start_point
        end_row, end = last.end_point
        line = self.byte_lines[row]
        column = len(line[:start].decode())
        stop = len((line[:end] if end_row == row else line).decode().rstrip("\r"))
        return self.locations.line(row + 1, column + 1, max(1, stop - column))


def _keys(node: Node) -> Iterator[tuple[Node, str]]:
    """Yield the parts of a bare, quoted or dotted key with their names."""
    if node.type == "dotted_key":
        for child in node.named_children:
            yield from _keys(child)
        return
    text = (node.text or b"").decode()
    yield node, text if node.type == "bare_key" else next(iter(tomllib.loads(f"{text} = 0")))

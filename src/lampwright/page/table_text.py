"""Keys and tables put into the text of a piece file and taken out of it; every other character stays.

What is put in and taken out again leaves the text as it was, byte for byte. Places are counted in bytes of UTF-8,
as the reader of the syntax does.
"""

from __future__ import annotations

import re
from collections.abc import Mapping

from lampwright.piece.source import Extent, Locations, Path, locate

_LINE_END = re.compile(rb"\r?\n")


class NoPlaceError(Exception):
    """The text has no place for such a change: its table is written in a way that only an editor can add to."""


def with_key(text: str, path: Path, value: str) -> str:
    """Return the text with one more key at the end of its table's own keys.

    Parameters
    ----------
    value
        As TOML. Its table may be one with a header, one in { }, or one at the top that isn't there yet; where the
        table is a missing { } of a table that is there, it is begun.

    Raises
    ------
    NoPlaceError
        The table is written in dotted keys.
    """
    raw, found = text.encode(), locate(text, "")
    table, pair = path[:-1], f"{path[-1]} = {value}".encode()
    if table in found.braces:
        return _into_braces(raw, found, table, pair).decode()
    if table in found.headers:
        end = max([found.headers[table][1], *(found.pairs[each][1] for each in _own_pairs(found, table))])
        return _line_after(raw, end, pair).decode()
    if len(table) > 1 and isinstance(table[-1], str) and table not in found.values:
        return with_key(text, table, f"{{ {pair.decode()} }}")
    if len(table) == 1 and table not in found.values:
        return _table_at_end(raw, f"[{table[0]}]".encode(), pair).decode()
    raise NoPlaceError


def without_key(text: str, path: Path) -> str:
    """Return the text without a key and its value, and without a comment behind it.

    Raises
    ------
    NoPlaceError
        The key isn't there, or shares its line with something else.
    """
    raw, found = text.encode(), locate(text, "")
    table = path[:-1]
    if path not in found.pairs:
        raise NoPlaceError
    start, end = found.pairs[path]
    if table in found.braces:
        return _out_of_braces(text, raw, found, path)
    begins = _begin_of_line(raw, start)
    if raw[begins:start].strip():
        raise NoPlaceError
    header = found.headers.get(table)
    if header is not None and _is_begun_at_end(raw, header, (start, end)):
        blank = _blank_before(raw, header[0])
        if blank is not None and len(table) == 1:
            return _cut(raw, blank, len(raw)).decode()
    return _cut(raw, begins, _end_of_line(raw, end)).decode()


def with_copy(text: str, path: Path, changes: Mapping[str, str]) -> str:
    """Return the text with one more entry of a list of tables, copied from the one at ``path``, behind it.

    Parameters
    ----------
    changes
        Keys of the copy that get another value, as TOML.
    """
    raw, found = text.encode(), locate(text, "")
    if path in found.braces:
        start, end = found.braces[path]
        copy = _changed(raw, found, path, changes, (start, end))
        gap = b", "
        begins = _begin_of_line(raw, start)
        if not raw[begins:start].strip():  # each on a line of its own
            gap = b"," + _newline(raw) + raw[begins:start]
        return (raw[:end] + gap + copy + raw[end:]).decode()
    if path not in found.headers:
        raise NoPlaceError
    start, end = _block(raw, found, path)
    copy, newline = _changed(raw, found, path, changes, (start, end)), _newline(raw)
    if raw[end - 1 : end] == b"\n":
        return (raw[:end] + newline + copy + raw[end:]).decode()
    return (raw[:end] + newline + newline + copy + raw[end:]).decode()


def without_entry(text: str, path: Path) -> str:
    """Return the text without one entry of a list of tables, and without the empty line before it."""
    raw, found = text.encode(), locate(text, "")
    if path in found.braces:
        return _out_of_list(text, raw, found, path)
    if path not in found.headers:
        raise NoPlaceError
    start, end = _block(raw, found, path)
    blank = _blank_before(raw, start)
    return _cut(raw, start if blank is None else blank, end).decode()


def _own_pairs(found: Locations, table: Path) -> list[Path]:
    """Return the keys written below a table's header, dotted ones too, but no other table's."""
    return [path for path in found.pairs if path[: len(table)] == table and _holder(found, path) == table]


def _holder(found: Locations, path: Path) -> Path:
    """Return the nearest table around a key that has a header or braces."""
    around = path[:-1]
    while around and around not in found.headers and around not in found.braces:
        around = around[:-1]
    return around


def _into_braces(raw: bytes, found: Locations, table: Path, pair: bytes) -> bytes:
    ends = [found.pairs[each][1] for each in _own_pairs(found, table)]
    if ends:
        return raw[: max(ends)] + b", " + pair + raw[max(ends) :]
    start = found.braces[table][0] + 1
    return raw[:start] + pair + raw[start:]


def _out_of_braces(text: str, raw: bytes, found: Locations, path: Path) -> str:
    table = path[:-1]
    extents = sorted(found.pairs[each] for each in _own_pairs(found, table))
    start, end = found.pairs[path]
    number = extents.index((start, end))
    if number > 0:
        return (raw[: extents[number - 1][1]] + raw[end:]).decode()
    if len(extents) > 1:
        return (raw[:start] + raw[extents[1][0] :]).decode()
    if start == found.braces[table][0] + 1 or table not in found.pairs:
        return (raw[:start] + raw[end:]).decode()
    return without_key(text, table)  # nothing is left of it


def _out_of_list(text: str, raw: bytes, found: Locations, path: Path) -> str:
    extents = sorted(
        extent for each, extent in found.braces.items() if each[:-1] == path[:-1] and isinstance(each[-1], int)
    )
    start, end = found.braces[path]
    number = extents.index((start, end))
    if len(extents) == 1:
        return without_key(text, path[:-1])
    if number == 0:
        return (raw[:start] + raw[extents[1][0] :]).decode()
    before = extents[number - 1][1]
    if b"#" not in raw[before:start]:
        return (raw[:before] + raw[end:]).decode()
    begins, ends = _begin_of_line(raw, start), _end_of_line(raw, end)
    rest = raw[end:ends].strip(b" \t\r\n,")
    if raw[begins:start].strip() or not (rest == b"" or rest.startswith(b"#")):
        raise NoPlaceError
    return _cut(raw, begins, ends).decode()


def _block(raw: bytes, found: Locations, path: Path) -> Extent:
    """Return where a table with all tables in it begins, and where its last line ends, line end included."""
    inside = [
        extent
        for extents in (found.headers, found.pairs)
        for each, extent in extents.items()
        if each[: len(path)] == path
    ]
    return found.headers[path][0], _end_of_line(raw, max(extent[1] for extent in inside))


def _changed(raw: bytes, found: Locations, path: Path, changes: Mapping[str, str], extent: Extent) -> bytes:
    """Return the bytes of an entry with other values of some of its own keys."""
    start, end = extent
    copy = raw[start:end]
    places = sorted(((found.pairs[(*path, key)], value) for key, value in changes.items()), reverse=True)
    for (begins, ends), value in places:
        pair = raw[begins:ends]
        key = pair[: pair.index(b"=") + 1]
        copy = copy[: begins - start] + key + b" " + value.encode() + copy[ends - start :]
    return copy


def _line_after(raw: bytes, place: int, line: bytes) -> bytes:
    """Put a line behind the one in which ``place`` is."""
    end = _end_of_line(raw, place)
    newline = _newline(raw)
    if raw[end - 1 : end] == b"\n":
        return raw[:end] + line + newline + raw[end:]
    return raw[:end] + newline + line


def _table_at_end(raw: bytes, header: bytes, pair: bytes) -> bytes:
    newline = _newline(raw)
    if raw.endswith(b"\n"):
        return raw + newline + header + newline + pair + newline
    return raw + newline + newline + header + newline + pair


def _is_begun_at_end(raw: bytes, header: Extent, pair: Extent) -> bool:
    """Return whether the text ends with a table as :func:`_table_at_end` writes one, and nothing else in it."""
    newline = _newline(raw)
    return raw[header[1] : pair[0]] == newline and raw[pair[1] :] in (b"", newline)


def _cut(raw: bytes, start: int, end: int) -> bytes:
    """Take whole lines out; of the last line, which may have no end, the line end before it goes instead."""
    if raw[end - 1 : end] == b"\n" or start == 0:
        return raw[:start] + raw[end:]
    before = start - (2 if raw[start - 2 : start] == b"\r\n" else 1)
    return raw[:before] + raw[end:]


def _blank_before(raw: bytes, start: int) -> int | None:
    """Return where the empty line before a line begins, if there is one."""
    for newline in (b"\r\n", b"\n"):
        if raw[:start].endswith(newline + newline):
            return start - len(newline)
    return None


def _begin_of_line(raw: bytes, place: int) -> int:
    return raw.rfind(b"\n", 0, place) + 1


def _end_of_line(raw: bytes, place: int) -> int:
    """Return the first byte of the next line."""
    at = raw.find(b"\n", place)
    return len(raw) if at < 0 else at + 1


def _newline(raw: bytes) -> bytes:
    """Return how lines end in this text."""
    first = _LINE_END.search(raw)
    return b"\n" if first is None else first[0]

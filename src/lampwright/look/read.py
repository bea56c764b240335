"""Reads the text of a look: Python syntax, parsed and never executed.

A look is a first line of description, settings, named values and at last ``colour``::

    \"\"\"Slow ice: pale blue that is never quite still.\"\"\"
    tint = setting("#bfe3ff", help="colour of the ice")
    pace = setting(0.25, least=0.01, most=2, unit="/s", help="how fast it shifts")
    depth = noise(along * 6, time * pace)
    colour = tint * (1 - 0.5 * depth)
"""

from __future__ import annotations

import ast
import warnings
from collections.abc import Iterator

from lampwright.look.colour import hex_to_linear
from lampwright.look.source import UNIT_KINDS, Look, Setting, place_of
from lampwright.units.errors import MakerError, Place, Problem

MOST_CHARACTERS = 8000
MOST_SYNTAX = 2000
MOST_NESTING = 40
MOST_SETTINGS = 16
"""Limits far above any look that fits a chip; they keep a hostile text from using up memory."""

NUMBERS_BELOW = 1e9
"""No value of 32 bits with a place behind the point reaches a number so large."""

_ALLOWED = (
    ast.Name, ast.Load, ast.Constant, ast.BinOp, ast.UnaryOp, ast.Compare, ast.BoolOp, ast.Call, ast.keyword,
    ast.Add, ast.Sub, ast.Mult, ast.Div, ast.USub, ast.UAdd, ast.Not, ast.And, ast.Or,
    ast.Lt, ast.LtE, ast.Gt, ast.GtE, ast.Eq, ast.NotEq,
)  # fmt: skip

_ALLOWED_TEXT = (
    'names, numbers, hex colours, + - * /, comparisons, "and", "or", "not", and calls of the functions of a look'
)


def read_look(text: str, name: str, file: str) -> Look:
    """Return the look written in ``text``.

    Raises
    ------
    MakerError
        With every problem of form: LOOK-001 not part of the language, LOOK-009 no colour,
        LOOK-010 too large, LOOK-011 a wrong setting.
    """
    lines = tuple(text.splitlines())
    tree = _parse(text, file, lines)
    body = list(tree.body)
    title = _take_title(body)
    problems: list[Problem] = []
    settings: dict[str, Setting] = {}
    declared: dict[str, Place] = {}
    statements: list[ast.Assign] = []
    for statement in body:
        problem = _check_form(statement, file, lines)
        if problem is not None:
            problems.append(problem)
            continue
        assert isinstance(statement, ast.Assign)
        if _is_setting(statement):
            read = _read_setting(statement, file, lines)
            if isinstance(read, Problem):
                problems.append(read)
            else:
                settings[read.name] = read
                declared[read.name] = place_of(statement.targets[0], file, lines)
        else:
            statements.append(statement)
    if len(declared) > MOST_SETTINGS:
        problems.append(_too_many_settings(list(declared.values())))
    if not problems and (not statements or _target(statements[-1]) != "colour"):
        problems.append(_no_colour(body, file, lines))
    if problems:
        raise MakerError(problems)
    return Look(name, title, file, lines, settings, declared, tuple(statements))


def _parse(text: str, file: str, lines: tuple[str, ...]) -> ast.Module:
    if len(text) > MOST_CHARACTERS:
        raise MakerError([_too_large(f"{len(text)} characters", f"at most {MOST_CHARACTERS} characters")])
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # about "1is" and the like: refused or harmless here
            tree = ast.parse(text)
    except SyntaxError as error:
        line = min(error.lineno or 1, max(1, len(lines)))
        shown = lines[line - 1] if lines else ""
        column = max(1, min(error.offset or 1, len(shown) + 1))
        place = Place(file, line, column, 1, shown)
        raise MakerError([_not_allowed("a line that can't be read", f"{error.msg}", place)]) from None
    except (ValueError, RecursionError, MemoryError):
        raise MakerError([_too_large("text that can't be read: nested too deeply", "plain text")]) from None
    size = sum(1 for _ in ast.walk(tree))
    if size > MOST_SYNTAX:
        raise MakerError([_too_large(f"{size} names, numbers and signs", f"at most {MOST_SYNTAX}")])
    if _depth(tree) > MOST_NESTING:
        raise MakerError([_too_large(f"{_depth(tree)} levels of nesting", f"at most {MOST_NESTING}")])
    return tree


def _depth(tree: ast.AST) -> int:
    deepest, level = 0, [tree]
    while level:
        deepest += 1
        level = [child for node in level for child in ast.iter_child_nodes(node)]
    return deepest


def _take_title(body: list[ast.stmt]) -> str:
    first = body[0] if body else None
    if isinstance(first, ast.Expr) and isinstance(first.value, ast.Constant) and isinstance(first.value.value, str):
        body.pop(0)
        return first.value.value.strip().splitlines()[0] if first.value.value.strip() else ""
    return ""


def _check_form(statement: ast.stmt, file: str, lines: tuple[str, ...]) -> Problem | None:
    if (
        not isinstance(statement, ast.Assign)
        or len(statement.targets) != 1
        or not isinstance(statement.targets[0], ast.Name)
    ):
        found = _kind(statement)
        return _not_allowed("a look is a list of named values", found, place_of(statement, file, lines))
    for node in _within(statement.value):
        if not isinstance(node, _ALLOWED):
            place = place_of(node if hasattr(node, "lineno") else statement, file, lines)
            return _not_allowed("this is not part of the look language", _kind(node), place)
        if isinstance(node, ast.Constant) and _is_too_large(node.value):
            return _number_too_large(place_of(node, file, lines))
        if isinstance(node, ast.Constant) and not _is_plain(node.value):
            return _not_allowed("this is not part of the look language", f"{node.value!r}", place_of(node, file, lines))
        if isinstance(node, ast.Call) and not isinstance(node.func, ast.Name):
            return _not_allowed(
                "only functions of a look can be called",
                "a call of something else",
                place_of(node, file, lines),
            )
    return None


def _within(node: ast.AST) -> Iterator[ast.AST]:
    yield node
    for child in ast.iter_child_nodes(node):
        yield from _within(child)


def _is_plain(value: object) -> bool:
    return isinstance(value, (int, float, str)) and not isinstance(value, bool)


def _is_too_large(value: object) -> bool:
    return isinstance(value, (int, float)) and abs(value) >= NUMBERS_BELOW


def _kind(node: ast.AST) -> str:
    """Return a syntax node's kind in plain words."""
    names = {
        "Import": "import", "ImportFrom": "import", "FunctionDef": "function definition", "ClassDef": "class",
        "For": "loop", "While": "loop", "If": "if statement", "Expr": "value without a name",
        "AugAssign": "change of a value", "AnnAssign": "type note", "With": "with statement",
        "Attribute": "dot after a name", "Subscript": "square bracket", "Lambda": "lambda",
        "ListComp": "comprehension", "GeneratorExp": "comprehension", "DictComp": "comprehension",
        "SetComp": "comprehension", "JoinedStr": "formatted text", "IfExp": "if-else (write choose(test, a, b))",
        "Pow": "power sign (write x * x)", "Mod": "remainder sign (write fraction(x))",
        "FloorDiv": "// sign (write floor(a / b))", "NamedExpr": ":= sign", "Starred": "star",
        "List": "list", "Tuple": "list", "Dict": "dictionary", "Set": "set", "Await": "await",
    }  # fmt: skip
    name = type(node).__name__
    return names.get(name, name.lower())


def _is_setting(statement: ast.Assign) -> bool:
    value = statement.value
    return isinstance(value, ast.Call) and isinstance(value.func, ast.Name) and value.func.id == "setting"


def _target(statement: ast.Assign) -> str:
    target = statement.targets[0]
    assert isinstance(target, ast.Name)
    return target.id


def _read_setting(statement: ast.Assign, file: str, lines: tuple[str, ...]) -> Setting | Problem:
    call = statement.value
    assert isinstance(call, ast.Call)
    name = _target(statement)
    words = {k.arg: _literal(k.value) for k in call.keywords if k.arg is not None}
    default = _literal(call.args[0]) if len(call.args) == 1 else None
    place = place_of(statement.value, file, lines)
    help_text = words.get("help")
    if isinstance(default, str) and set(words) <= {"help"} and isinstance(help_text, str):
        if hex_to_linear(default) is None:
            return _bad_setting(f'"{default}"', place)
        return Setting(name, default, 0.0, 0.0, "", help_text)
    least, most, unit = words.get("least"), words.get("most"), words.get("unit", "")
    if (
        isinstance(default, float)
        and isinstance(least, float)
        and isinstance(most, float)
        and isinstance(help_text, str)
        and isinstance(unit, str)
        and unit in UNIT_KINDS
        and set(words) <= {"least", "most", "unit", "help"}
        and least <= default <= most
    ):
        return Setting(name, default, least, most, unit, help_text)
    return _bad_setting(place.text.strip(), place)


def _literal(node: ast.expr) -> float | str | None:
    if isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.USub):
        inner = _literal(node.operand)
        return -inner if isinstance(inner, float) else None
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        return node.value
    if isinstance(node, ast.Constant) and isinstance(node.value, (int, float)):
        return float(node.value)
    return None


def _bad_setting(found: str, place: Place) -> Problem:
    units = ", ".join(f'"{u}"' for u in UNIT_KINDS if u)
    return Problem(
        "LOOK-011",
        "a setting is declared wrongly",
        found,
        'setting(number, least=number, most=number, unit="/s", help="text") with the default from least to most, '
        f'or setting("#bfe3ff", help="text"); units: {units} or none',
        "write all of it as plain numbers and texts",
        place,
    )


def _not_allowed(summary: str, found: str, place: Place) -> Problem:
    return Problem("LOOK-001", summary, found, _ALLOWED_TEXT, 'write it as "name = value", or leave it out', place)


def _no_colour(body: list[ast.stmt], file: str, lines: tuple[str, ...]) -> Problem:
    place = place_of(body[-1], file, lines) if body else Place(file, 1, 1, 1, lines[0] if lines else "")
    return Problem(
        "LOOK-009",
        'the last line doesn\'t give "colour"',
        place.text.strip() or "an empty look",
        "colour = ... as the last named value",
        "end the look with the colour of a pixel",
        place,
    )


def _number_too_large(place: Place) -> Problem:
    written = place.text[place.column - 1 : place.column - 1 + place.length]
    return Problem(
        "LOOK-006",
        "this number is too large for the chip",
        written if len(written) <= 24 else f"{written[:20]}... ({len(written)} characters)",
        f"numbers below {NUMBERS_BELOW:.0e}".replace("e+0", "e"),
        "write a smaller number; a value that has to pass 1 can be held there with min()",
        place,
    )


def _too_many_settings(declared: list[Place]) -> Problem:
    return Problem(
        "LOOK-010",
        "the look has too many settings",
        f"{len(declared)} settings",
        f"at most {MOST_SETTINGS} settings",
        'write those that no cue changes as plain values, such as "width = 0.3"',
        declared[MOST_SETTINGS],
    )


def _too_large(found: str, allowed: str) -> Problem:
    return Problem("LOOK-010", "the look is too large", found, allowed, "make it shorter; no chip could run it")

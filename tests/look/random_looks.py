"""Random look texts, well formed but with no sense: they go where no author thinks of going."""

from __future__ import annotations

import random

_LEAVES = ("along", "height", "x", "y", "time", "dice(1)", "dice(2)", "circuit", "pixel / pixels", "section", "member")
_NUMBERS = ("0", "0.5", "1", "2", "-1", "0.1", "3.7", "-0.3", "0.03", "12")
_COLOURS = ('"#ff8000"', '"#0a1e5a"', '"#ffffff"', '"#bfe0ff"')


class _Writer:
    def __init__(self, seed: int) -> None:
        self.random = random.Random(seed)
        self.names: list[str] = []

    def number(self, depth: int) -> str:
        pick = self.random.random()
        if depth <= 0 or pick < 0.12:
            return self.random.choice([*_LEAVES, *_NUMBERS, *self.names, *self.names])
        if pick < 0.45:
            sign = self.random.choice("+-**")
            return f"({self.number(depth - 1)} {sign} {self.number(depth - 1)})"
        if pick < 0.5:
            return f"({self.number(depth - 1)} / (0.5 + abs({self.number(depth - 2)})))"
        return self._call(depth)

    def _call(self, depth: int) -> str:
        name = self.random.choice(
            ["sine", "swell", "fraction", "floor", "noise", "noise2", "pulse", "ease", "clamp", "min", "max", "abs",
             "choose", "mix", "throw", "noise3", "seen"]
        )  # fmt: skip
        a, b = self.number(depth - 1), self.number(depth - 2)
        texts = {
            "noise2": f"noise({a}, {b})",
            "noise3": f"noise({a}, {b}, time * 0.7)",
            "pulse": f"pulse({a}, 0.2, 0.5)",
            "ease": f"ease({a}, 0.2, 1.5)",
            "clamp": f"clamp({a}, -0.5, 1.25)",
            "min": f"min({a}, {b})",
            "max": f"max({a}, {b})",
            "choose": f"choose({self.truth(depth - 1)}, {a}, {b})",
            "mix": f"mix({a}, {b}, {self.number(depth - 2)})",
            "throw": f"dice(3, {a})",
        }
        return texts.get(name, f"{name}({a})")

    def truth(self, depth: int) -> str:
        sign = self.random.choice(["<", "<=", ">", ">=", "==", "!="])
        test = f"{self.number(depth - 1)} {sign} {self.number(depth - 2)}"
        if depth > 2 and self.random.random() < 0.3:
            return f"({test} {self.random.choice(['and', 'or'])} not {self.number(1)} < 0.4)"
        return f"({test})"

    def colour(self) -> str:
        pick = self.random.random()
        share = f"clamp({self.number(3)}, 0, 1)"
        if pick < 0.4:
            return f"{self.random.choice(_COLOURS)} * {share}"
        if pick < 0.6:
            return f"mix({self.random.choice(_COLOURS)}, {self.random.choice(_COLOURS)}, {share})"
        if pick < 0.8:
            if pick < 0.68:
                return f"hue({self.number(3)}) * {share} + kelvin(2700) * 0.2"
            return f"gradient({share}, {', '.join(self.random.sample(_COLOURS, 3))})"
        return f"light({self.number(2)}, {self.number(2)}, {self.number(3)})"


def random_look(seed: int) -> str:
    """Return the text of a random look."""
    writer = _Writer(seed)
    lines = []
    for index in range(writer.random.randint(1, 4)):
        lines.append(f"v{index} = {writer.number(3)}")
        writer.names.append(f"v{index}")
    lines.append(f"colour = {writer.colour()}")
    return "\n".join(lines) + "\n"

"""What comes out when quantities are added, multiplied and compared: the arithmetic of types."""

from __future__ import annotations

from loomwright.facts.types import WIDER
from loomwright.quantity import DIMENSIONS

UNSURE = "?"
"""The type of what has already been reported; fits everything."""

PURE = ("ratio", "count", "number")
"""Types without a unit; "number" is what a rule file writes (`1.5`), and stands for either of the others."""

# Powers of metre, second, ampere, volt and kelvin. What is left out multiplies with pure numbers only.
_POWERS: dict[str, tuple[int, ...]] = {
    "ratio": (0, 0, 0, 0, 0),
    "length": (1, 0, 0, 0, 0),
    "area": (2, 0, 0, 0, 0),
    "volume": (3, 0, 0, 0, 0),
    "time": (0, 1, 0, 0, 0),
    "frequency": (0, -1, 0, 0, 0),
    "speed": (1, -1, 0, 0, 0),
    "current": (0, 0, 1, 0, 0),
    "voltage": (0, 0, 0, 1, 0),
    "power": (0, 0, 1, 1, 0),
    "resistance": (0, 0, -1, 1, 0),
    "resistance-per-length": (-1, 0, -1, 1, 0),
    "charge": (0, 1, 1, 0, 0),
    "energy": (0, 1, 1, 1, 0),
    "irradiance": (-2, 0, 1, 1, 0),
    "let-through": (0, 1, 2, 0, 0),
    "force": (-1, 1, 1, 1, 0),
    "pressure": (-3, 1, 1, 1, 0),
    "temperature-difference": (0, 0, 0, 0, 1),
    "temperature-coefficient": (0, 0, 0, 0, -1),
}
_NAMES = {powers: name for name, powers in _POWERS.items()}

_NOUNS = {
    "count": "a count",
    "number": "a plain number",
    "yes-no": "a yes or no",
    "word": "a word",
    "words": "some words",
    "text": "a text",
    "date": "a date",
}


def is_numeric(type: str) -> bool:
    return type in PURE or type in DIMENSIONS or type == UNSURE


def base(type: str) -> str:
    """A type without its list of words: "word agm|gel" is a word."""
    return type.split(" ", 1)[0] if type.startswith("word") else type


def noun(type: str) -> str:
    """A type in a message: "a length", "a feed", "several fuses"."""
    first, _, rest = type.partition(" ")
    if first == "thing":
        return article(rest)
    if first == "things":
        return f"several {plural(rest)}"
    if first == "list":
        return f"several values, each {noun(rest)}"
    return _NOUNS.get(first) or DIMENSIONS[first].noun


def article(word: str) -> str:
    return f"an {word}" if word[0] in "aeiou" else f"a {word}"


def plural(word: str) -> str:
    return (
        f"{word}es"
        if word.endswith(("s", "ch", "sh"))
        else f"{word[:-1]}ies"
        if word.endswith("ry")
        else f"{word}s"
    )


def joined(left: str, right: str) -> str | None:
    """The type that both fit (the branches of a choice, the sides of a comparison), or None."""
    if UNSURE in (left, right):
        return right if left == UNSURE else left
    left, right = base(left), base(right)
    if left == right:
        return left
    if "number" in (left, right):
        other = right if left == "number" else left
        return other if other in PURE else None
    if {left, right} == {"word", "text"}:
        return "text"
    if left.startswith("thing ") and right.startswith("thing "):
        return f"thing {_common(left.removeprefix('thing '), right.removeprefix('thing '))}"
    return None


def _common(kind: str, other: str) -> str:
    """The narrowest kind that both kinds are of: a feed and an earth are runs. "thing", which has no facts, where there is none."""
    wider = WIDER.get(other, (other,))
    return next((wide for wide in WIDER.get(kind, (kind,)) if wide in wider), "thing")


def added(left: str, sign: str, right: str) -> str | None:
    """The type of a sum or difference, or None. A temperature takes differences only, and gives one."""
    if (left, right) == ("temperature", "temperature"):
        return "temperature-difference" if sign == "-" else None
    if left == "temperature" and right == "temperature-difference":
        return "temperature"
    both = joined(left, right)
    return both if both is not None and is_numeric(both) else None


def scaled(left: str, sign: str, right: str) -> str | None:
    """The type of a product or quotient, or None where it is none of ours (a current times a length)."""
    if UNSURE in (left, right):
        return UNSURE
    if left in PURE and right in PURE:
        return "ratio" if sign == "/" or "ratio" in (left, right) else joined(left, right)
    if right in PURE and left in DIMENSIONS:
        return left if left != "temperature" else None
    if left in PURE and right in DIMENSIONS and sign == "*":
        return right if right != "temperature" else None
    if left == right and sign == "/" and left in DIMENSIONS and left != "temperature":
        return "ratio"
    first = _POWERS.get("ratio" if left in PURE else left)
    second = _POWERS.get(right)
    if first is None or second is None:
        return None
    turn = 1 if sign == "*" else -1
    return _NAMES.get(tuple(a + turn * b for a, b in zip(first, second, strict=True)))

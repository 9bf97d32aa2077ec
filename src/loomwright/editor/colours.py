"""Colours without a server: what words look like, as patterns that editors (TextMate grammars) and Pygments both understand.

The words come from the tables of the language. `python -m loomwright.editor.colours` prints the TextMate grammar, which is kept in
`fitout.tmLanguage.json` beside this module.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from typing import Any, NamedTuple

from loomwright.quantity import CELSIUS, FACTORS, GAUGES
from loomwright.syntax.forms import CLAUSES, STATEMENTS
from loomwright.syntax.lexer import NEVER_UNITS
from loomwright.syntax.parse import tables

SCOPES = {
    "comment": "comment.line.number-sign",
    "string": "string.quoted.double",
    "statement": "keyword.control",
    "clause": "support.type.property-name",
    "joining": "keyword.operator.word",
    "word": "constant.language",
    "number": "constant.numeric",
    "unit": "keyword.other.unit",
    "terminal": "variable.other.member",
    "name": "variable.other",
    "brace": "punctuation.section.braces",
}
JOINING = (*sorted(NEVER_UNITS - {"x"}), "is", "with", "x")
NUMBER = r"[+-]?(?:\d+(?:\.\d+)?|\.\d+)(?:[eE][+-]?\d+|/0)?"
NAME = r"[a-z][a-z0-9]*(?:-[a-z0-9]+)*"
AFTER = r"(?![\w.-])"


class Look(NamedTuple):
    """A pattern, and what each of its groups is; without groups what the whole is."""

    pattern: str
    kinds: tuple[str, ...]


def _any(words: Iterable[str]) -> str:
    """Longest first, so that `mm2` is not read as `mm`."""
    return "|".join(_plain(word) for word in sorted(words, key=lambda word: (-len(word), word)))


def _plain(word: str) -> str:
    return "".join(f"\\{letter}" if letter in "^*./+?()[]{}|$\\" else letter for letter in word)


def inside() -> tuple[Look, ...]:
    """What may stand anywhere behind the first word."""
    units = {unit for units in FACTORS.values() for unit in units} | CELSIUS | GAUGES
    words = {word for some in tables().lists.values() for word in some} - set(STATEMENTS)
    return (
        Look(r"#.*", ("comment",)),
        Look(r'"[^"\n]*"?', ("string",)),
        Look(r"\b\d{4}-\d{2}-\d{2}\b", ("number",)),
        Look(rf"(?<![\w.-])({NUMBER})( *)({_any(units)})(?![\w/²³*^-])", ("number", "", "unit")),
        Look(rf"\bM\d+(?:\.\d+)?{AFTER}", ("number",)),
        Look(rf"(?<![\w.-]){NUMBER}(?![\w-])", ("number",)),
        Look(rf"(?<![\w.-])(?:{_any(JOINING)}){AFTER}", ("joining",)),
        Look(rf"(?<![\w.-])(?:none|unknown|auto|{_any(words)}){AFTER}", ("word",)),
        Look(rf"({NAME})(\.[a-z0-9]+(?:-[a-z0-9]+)*)", ("name", "terminal")),
        Look(NAME, ("name",)),
    )


def statements() -> Look:
    """The first word of a head."""
    return Look(rf"(^[ \t]*|(?<=[}};])[ \t]*)({_any(STATEMENTS)}){AFTER}", ("", "statement"))


def clauses() -> Look:
    """The first word of a clause."""
    words = {word for forms in CLAUSES.values() for word in forms}
    return Look(rf"(^[ \t]*|(?<=[{{;])[ \t]*)({_any(words)}){AFTER}", ("", "clause"))


def textmate() -> dict[str, Any]:
    """The grammar as the editors that read TextMate grammars take it."""
    block = {
        "begin": r"\{",
        "end": r"\}",
        "beginCaptures": {"0": _scope("brace")},
        "endCaptures": {"0": _scope("brace")},
        "patterns": [_rule(clauses()), {"include": "#inside"}],
    }
    return {
        "name": "Fit-out",
        "scopeName": "source.fitout",
        "fileTypes": ["fitout"],
        "patterns": [_rule(statements()), {"include": "#block"}, {"include": "#inside"}],
        "repository": {"block": block, "inside": {"patterns": [_rule(look) for look in inside()]}},
    }


def _scope(kind: str) -> dict[str, str]:
    return {"name": f"{SCOPES[kind]}.fitout"}


def _rule(look: Look) -> dict[str, Any]:
    if len(look.kinds) == 1:
        return {"match": look.pattern, **_scope(look.kinds[0])}
    captures = {str(number): _scope(kind) for number, kind in enumerate(look.kinds, 1) if kind}
    return {"match": look.pattern, "captures": captures}


def printed() -> str:
    return json.dumps(textmate(), indent=1, ensure_ascii=False) + "\n"


if __name__ == "__main__":
    print(printed(), end="")

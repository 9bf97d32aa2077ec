"""The fit-out language for Pygments, which finds this by the entry point `fitout`."""

from __future__ import annotations

from typing import Any, ClassVar

from pygments.lexer import RegexLexer, bygroups
from pygments.token import Comment, Keyword, Name, Number, Operator, Punctuation, String, Whitespace

from loomwright.editor import colours

TOKENS = {
    "": Whitespace,
    "comment": Comment.Single,
    "string": String.Double,
    "statement": Keyword.Declaration,
    "clause": Name.Attribute,
    "joining": Operator.Word,
    "word": Keyword.Constant,
    "number": Number,
    "unit": Keyword.Type,
    "terminal": Name.Property,
    "name": Name.Variable,
}


def _rule(look: colours.Look) -> tuple[str, Any]:
    kinds = [TOKENS[kind] for kind in look.kinds]
    return look.pattern, kinds[0] if len(kinds) == 1 else bygroups(*kinds)


_INSIDE = [
    *map(_rule, colours.inside()),
    (r"\n|[^\S\n]+", Whitespace),  # line by line: the first word of a line begins there
    (r"[,;]", Punctuation),
    (r"[^\s{}]", Name),
]


class FitoutLexer(RegexLexer):  # type: ignore[misc]
    """Colours for `.fitout` texts, also for those with slips."""

    name = "Fit-out"
    aliases: ClassVar[list[str]] = ["fitout"]
    filenames: ClassVar[list[str]] = ["*.fitout"]
    tokens: ClassVar[dict[str, list[Any]]] = {
        "root": [_rule(colours.statements()), (r"\{", Punctuation, "block"), (r"\}", Punctuation), *_INSIDE],
        "block": [
            _rule(colours.clauses()),
            (r"\{", Punctuation, "#push"),
            (r"\}", Punctuation, "#pop"),
            *_INSIDE,
        ],
    }

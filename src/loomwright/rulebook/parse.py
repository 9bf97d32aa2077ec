"""Rule text to trees: heads, clauses, expressions, and the expressions inside {…} of a sentence."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from lark import Lark, Transformer, v_args
from lark.exceptions import UnexpectedInput
from lark.lexer import Lexer
from lark.lexer import Token as LarkToken

from loomwright import resources
from loomwright.rulebook.finding import SEVERITIES
from loomwright.rulebook.lexer import CLAUSES, STRAY, Block, Token, cut, named, scan
from loomwright.rulebook.tree import Node, Template
from loomwright.rulebook.written import Clause, RuleText
from loomwright.source import Problem, Source
from loomwright.syntax import hints

DEEPEST = 40
"""How deep an expression may nest: more than any reader can follow, and far from any limit of the machine."""

LONGEST = 2000
"""Tokens in one clause."""

FORMS = {
    "for": "for KIND NAME, for end e of run r, for load l in each mode m",
    "let": "let NAME = EXPRESSION",
    "when": "when CONDITION",
    "need": "need CONDITION",
    "at": "at THING",
    "say": 'say "…"',
    "why": 'why "…"',
    "do": 'do "…"',
    "fix": 'fix set PLACE to VALUE, or fix add THING "CLAUSE"',
    "source": 'source "DOCUMENT AND CLAUSE", source "…" memory, or source practice',
}


class TooDeep(Exception):
    """An expression nests deeper than DEEPEST."""


class _Ready(Lexer):
    """Gives the parser the tokens that it is handed."""

    def __init__(self, conf: object) -> None:
        pass

    def lex(self, data: Iterable[LarkToken]) -> Iterator[LarkToken]:  # type: ignore[override]
        return iter(data)


def node(op: str, *parts: Any, start: int, end: int) -> Node:
    depth = 1 + max((part.depth for part in parts if isinstance(part, Node)), default=0)
    if depth > DEEPEST:
        raise TooDeep
    return Node(op, parts, start, end, "", depth)


def _place(parts: Iterable[Any]) -> tuple[int, int]:
    """From the first part's start to the last part's end."""
    spans = [_extent(part) for part in parts if part is not None]
    return spans[0][0], spans[-1][1]


def _extent(part: Any) -> tuple[int, int]:
    if isinstance(part, LarkToken):
        return int(part.start_pos or 0), int(part.end_pos or 0)
    if isinstance(part, Node):
        return part.start, part.end
    return part[0], part[1]  # words: (start, end, …)


@v_args(inline=True)
class _Trees(Transformer[Any, Any]):
    """Each production to its tree. Chains of one operator are flat, so that long ones are not deep."""

    def __init__(self) -> None:
        super().__init__(visit_tokens=False)

    def choice(self, yes: Node, _if: Any, asked: Node, _else: Any, no: Node) -> Node:
        return node("choice", asked, yes, no, start=yes.start, end=no.end)

    def either(self, *parts: Any) -> Node:
        return node("or", *parts[::2], start=parts[0].start, end=parts[-1].end)

    def both(self, *parts: Any) -> Node:
        return node("and", *parts[::2], start=parts[0].start, end=parts[-1].end)

    def negation(self, word: Any, part: Node) -> Node:
        return node("not", part, start=_extent(word)[0], end=part.end)

    def compare(self, left: Node, sign: Any, right: Node) -> Node:
        return node("compare", str(sign), left, right, start=left.start, end=right.end)

    def exists(self, part: Node, word: Any) -> Node:
        return node("exists", part, start=part.start, end=_extent(word)[1])

    def is_word(self, part: Node, _is: Any, words: Any) -> Node:
        return node("is", part, words[2], start=part.start, end=words[1])

    def has_word(self, part: Node, _has: Any, words: Any) -> Node:
        return node("has", part, words[2], start=part.start, end=words[1])

    def words(self, *parts: Any) -> tuple[int, int, tuple[tuple[str, int, int], ...]]:
        start, end = _place(parts)
        names = [part for part in parts if part is not None and part.type == "NAME"]
        many = any(part is not None and part.type == "OF" for part in parts)
        if many and parts[0].type == "NAME":
            if parts[0] != "one":
                raise UnexpectedInput
            names = names[1:]
        return start, end, tuple((str(name), *_extent(name)) for name in names)

    def sum(self, *parts: Any) -> Node:
        return node("sum", *parts, start=parts[0].start, end=parts[-1].end)

    def product(self, *parts: Any) -> Node:
        return node("product", *parts, start=parts[0].start, end=parts[-1].end)

    def sign(self, token: Any) -> str:
        return str(token)

    scale = sign

    def minus(self, sign: Any, part: Node) -> Node:
        return node("minus", part, start=_extent(sign)[0], end=part.end)

    def _leaf(self, op: str, token: Any) -> Node:
        start, end = _extent(token)
        return node(op, str(token), start=start, end=end)

    def measure(self, token: Any) -> Node:
        return self._leaf("measure", token)

    def number(self, token: Any) -> Node:
        return self._leaf("number", token)

    def text(self, token: Any) -> Node:
        start, end = _extent(token)
        return node("text", str(token)[1:-1], start=start, end=end)

    def root(self, token: Any) -> Node:
        return self._leaf("name", token)

    def inside(self, first: Any, part: Node, last: Any) -> Node:
        return part._replace(start=_extent(first)[0], end=_extent(last)[1])

    def fact(self, owner: Node, _dot: Any, name: Any) -> Node:
        return node("fact", owner, str(name), start=owner.start, end=_extent(name)[1])

    def call(self, owner: Node, _dot: Any, name: Any, _open: Any, *rest: Any) -> Node:
        return node("fact", owner, str(name), *rest[:-1:2], start=owner.start, end=_extent(rest[-1])[1])

    def fold(self, word: Any, _of: Any, part: Node) -> Node:
        return node("fold", str(word), part, start=_extent(word)[0], end=part.end)

    def fold_each(self, word: Any, name: Any, _of: Any, many: Node, _colon: Any, body: Node) -> Node:
        return node("each", str(word), str(name), many, body, start=_extent(word)[0], end=body.end)

    def head(self, _rule: Any, name: Any, severity: Any, title: Any) -> tuple[Any, ...]:
        return tuple((str(part), *_extent(part)) for part in (name, severity, title))

    def _clause(self, *parts: Any) -> tuple[Any, ...]:
        return parts

    for_clause = let_clause = when_clause = need_clause = severity_clause = at_clause = _clause
    say_clause = why_clause = do_clause = source_clause = source_practice = _clause
    fix_set = fix_add = _clause


_parser: Lark | None = None


def parser() -> Lark:
    global _parser
    if _parser is None:
        _parser = Lark(
            resources.text("grammar", "rulebook.lark"),
            parser="lalr",
            lexer=_Ready,
            start=["head", "clause", "expr"],
            maybe_placeholders=True,
            keep_all_tokens=True,
            transformer=_Trees(),
        )
    return _parser


def _run(tokens: Iterable[Token], start: str) -> Any:
    """The tree of a list of tokens. Raises _Wrong at the token that does not fit."""
    machine = parser().parse_interactive([], start=start)
    token = None
    for token in tokens:
        try:
            machine.feed_token(LarkToken(token.type, token.text, start_pos=token.start, end_pos=token.end))
        except UnexpectedInput as stuck:
            raise _Wrong(token) from stuck
    try:
        return machine.feed_eof()  # type: ignore[no-untyped-call]
    except UnexpectedInput as stuck:
        raise _Wrong(None) from stuck


class _Wrong(Exception):
    def __init__(self, token: Token | None) -> None:
        super().__init__()
        self.token = token


def read_rules(source: Source) -> tuple[list[RuleText], list[Problem]]:
    """All rules of a file that could be read, and every problem with the rest."""
    problems: list[Problem] = []
    rules = [_rule(source, block, problems) for block in cut(source, problems)]
    return [rule for rule in rules if rule is not None], problems


def _rule(source: Source, block: Block, problems: list[Problem]) -> RuleText | None:
    head = _head(source, block.head, problems)
    clauses: list[Clause] = []
    broken: set[str] = set()
    for piece in block.clauses:
        found = _clause(source, named(piece), problems)
        if isinstance(found, Clause):
            clauses.append(found)
        else:
            broken.add(found)
    if head is None:
        return None
    name, severity, title = head
    return RuleText(name, severity, title, tuple(clauses), frozenset(broken))


def _head(source: Source, tokens: tuple[Token, ...], problems: list[Problem]) -> tuple[Any, ...] | None:
    """Name, severity and title; a head that does not parse is explained by what it lacks."""
    kinds = [
        token._replace(type=kind) for token, kind in zip(tokens, ("RULE", "NAME", "SEVERITY"), strict=False)
    ]
    if any(token.type == STRAY for token in tokens):
        return None
    span = source.span(tokens[0].start, tokens[-1].end)
    if len(tokens) > 2 and tokens[2].text not in SEVERITIES:
        there = source.span(tokens[2].start, tokens[2].end)
        problems.append(
            Problem(there, f"'{tokens[2].text}' is no severity", nearest(tokens[2].text, SEVERITIES))
        )
        return None
    try:
        head = _run([*kinds, *tokens[3:]], "head")
    except _Wrong:
        problems.append(
            Problem(span, "the head of a rule is not complete", 'write: rule NAME SEVERITY "TITLE" { … }')
        )
        return None
    name, severity, (title, start, end) = head
    return name, severity, (title[1:-1], start, end)


def _clause(source: Source, tokens: tuple[Token, ...], problems: list[Problem]) -> Clause | str:
    """The clause, or the word of one that could not be read (the word that was probably meant, where it is none)."""
    first, last = tokens[0], tokens[-1]
    word = first.text
    if any(token.type == STRAY for token in tokens):
        return word
    if first.type not in {"SEVERITY", *(clause.upper() for clause in CLAUSES)}:
        hint = nearest(word, (*CLAUSES, *SEVERITIES))
        problems.append(
            Problem(source.span(first.start, first.end), f"'{word}' is no clause of a rule", hint)
        )
        return hints.nearest(word, CLAUSES) or word
    parts = _parsed(source, tokens, "clause", _form(first), problems)
    if parts is None:
        return word
    return Clause("severity" if first.type == "SEVERITY" else word, parts, first.start, last.end)


def _form(first: Token) -> str:
    return f"{first.text} when CONDITION" if first.type == "SEVERITY" else FORMS.get(first.text, "")


def _parsed(source: Source, tokens: tuple[Token, ...], start: str, form: str, problems: list[Problem]) -> Any:
    """The tree, or None with a problem added at the token that does not fit."""
    whole = source.span(tokens[0].start, tokens[-1].end)
    if len(tokens) > LONGEST:
        problems.append(
            Problem(whole, f"the clause has more than {LONGEST} words", "break it into several rules")
        )
        return None
    try:
        return _run(tokens, start)
    except TooDeep:
        hint = "name a part of it with `let`, or make two rules of it"
        problems.append(Problem(whole, f"the expression nests more than {DEEPEST} deep", hint))
    except _Wrong as wrong:
        problems.append(_misfit(source, tokens, wrong.token, form))
    return None


def _misfit(source: Source, tokens: tuple[Token, ...], token: Token | None, form: str) -> Problem:
    hint = f"write: {form}" if form else ""
    if token is None:
        end = tokens[-1].end
        return Problem(source.span(end, end), f"something is missing after '{tokens[-1].text}'", hint)
    place = source.span(token.start, token.end)
    index = tokens.index(token)
    before = f" after '{tokens[index - 1].text}'" if index else ""
    return Problem(place, f"'{token.text}' does not fit{before}", hint)


def read_template(source: Source, start: int, end: int, problems: list[Problem]) -> Template:
    """The sentence between two quotes: its text, and a tree for each {EXPRESSION}. `{{` and `}}` stand for braces."""
    text, parts, at = source.text, list[Any](), start + 1
    stop = end - 1
    while at < stop:
        brace = text.find("{", at, stop)
        if brace < 0:
            parts.append(text[at:stop])
            break
        if text.startswith("{{", brace):
            parts.append(text[at : brace + 1])
            at = brace + 2
            continue
        parts.append(text[at:brace])
        close = text.find("}", brace, stop)
        if close < 0:
            problems.append(
                Problem(
                    source.span(brace, stop),
                    "the brace is not closed",
                    "write {EXPRESSION}, or {{ for a brace",
                )
            )
            break
        tree = _inside_braces(source, brace + 1, close, problems)
        parts.extend([tree] if tree is not None else [])
        at = close + 1
    return tuple(part.replace("}}", "}") if isinstance(part, str) else part for part in parts if part != "")


def _inside_braces(source: Source, start: int, end: int, problems: list[Problem]) -> Node | None:
    tokens = tuple(token for token in scan(source, start, end, problems) if token.type != "END")
    if any(token.type == STRAY for token in tokens):
        return None
    if not tokens:
        problems.append(
            Problem(
                source.span(start - 1, end + 1), "there is nothing between the braces", "write {EXPRESSION}"
            )
        )
        return None
    found: Node | None = _parsed(source, tokens, "expr", "", problems)
    return found


def nearest(word: str, known: Iterable[str]) -> str:
    """A hint that names the nearest known word, or all of them when they are few."""
    names = sorted(set(known))
    near = hints.nearest(word, names)
    if near:
        return f"did you mean '{near}'?"
    return f"one of {', '.join(names)}" if 0 < len(names) <= 12 else ""

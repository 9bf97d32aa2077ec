"""One file's text to its declarations, with every problem in it.

Heads and clauses are parsed one by one, each from its own start rule, so a slip never reaches past its clause. Which
statement a clause belongs to, and where braces were forgotten, is kept track of here.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any

from loomwright import garbage
from loomwright.record import Record
from loomwright.source import Problem, Source, Span
from loomwright.syntax.again import Earlier
from loomwright.syntax.build import Builder
from loomwright.syntax.checks import Repeats, Slip, number_slips, unknown_slips
from loomwright.syntax.forms import CLAUSES, STATEMENTS, form_of
from loomwright.syntax.hints import quoted
from loomwright.syntax.lexer import NEVER_NAMES, Token, is_name, is_sound, lines
from loomwright.syntax.machine import run
from loomwright.syntax.messages import Mender
from loomwright.syntax.tables import Tables, load
from loomwright.syntax.tree import Clause, Comment, Document, Statement, Word

MOST_PROBLEMS = 200
"""More problems than these are counted and not told one by one."""


class Parsed(Record):
    """`count` is the number of problems found, also beyond those that are told."""

    document: Document
    problems: tuple[Problem, ...]
    count: int


def parse(source: Source, before: Parsed | None = None) -> Parsed:
    """What a file says. Raises nothing: what could not be read is among the problems, in the order of the text.

    `before` is what was read of the file when it said nearly the same: the answer is the same with it, and sooner there.
    """
    with garbage.never():
        return _Reader(source, before).read()


tables = lru_cache(maxsize=1)(load)


@dataclass(slots=True)
class _Block:
    """A statement that is being read. `statement` is None when its head was wrong; `kind` is "" when not even that is known."""

    kind: str
    start: Token
    head_span: Span
    statement: tuple[Word, Word | None, Mapping[str, Any]] | None
    braced: bool
    clauses: list[Clause] = field(default_factory=list)
    repeats: Repeats = field(default_factory=Repeats)

    @property
    def named(self) -> str:
        name = self.statement[1] if self.statement else None
        return f"{self.kind} {quoted(name.text)}" if name else self.kind or "statement"


class _Reader:
    def __init__(self, source: Source, before: Parsed | None) -> None:
        self.source = source
        told_all = before is not None and before.count == len(before.problems)
        self.earlier = Earlier(before.document, before.problems) if before and told_all else None
        self.tables: Tables = tables()
        self.problems: list[Problem] = []
        self.count = 0
        self.statements: list[Statement] = []
        self.unread: list[Word] = []
        self.comments: list[Comment] = []
        self.builder = Builder(source, self.tables, self.report)
        self.open: _Block | None = None
        self.skipping = 0
        """How many braces deep in something that makes no sense."""
        self.passed = 0
        """Nothing that begins before this offset is read."""
        self.line_end = 0

    def read(self) -> Parsed:
        for tokens, stop, at in lines(self.source, self.comments):
            if self.skipping and self.begins(tokens, stop):
                self.skipping = 0
            if tokens and tokens[0][2] < self.passed:
                continue
            if self.skipping:
                self.skipping += (stop == "{") - (stop == "}")
            else:
                self.line(tokens, stop, at)
        if self.open is not None and self.open.braced:
            self.report(
                self.open.head_span,
                f"the braces of {self.open.named} are never closed",
                "put '}' after its last clause",
            )
        self.close(len(self.source.text.rstrip()))
        self.problems.sort(key=Problem.order)
        if self.count > MOST_PROBLEMS:
            end = len(self.source.text)
            more = f"and {self.count - MOST_PROBLEMS} more problems in this file"
            self.problems.append(Problem(self.source.span(end, end), more, "mend these first"))
        document = Document(self.source, tuple(self.statements), tuple(self.comments), tuple(self.unread))
        return Parsed(document, tuple(self.problems), self.count)

    def report(self, span: Span, message: str, hint: str = "") -> None:
        if self.count < MOST_PROBLEMS:
            problem = Problem(span, message, hint)
            if problem in self.problems[-5:]:  # a clause that was read twice
                return
            self.problems.append(problem)
        self.count += 1

    def skip_braces(self, at: int) -> None:
        """Pass over what stands in the braces that open there; where a statement is open, no further than its own brace."""
        if self.open is None or not self.open.braced:
            self.skipping = 1
            return
        if at >= self.line_end:
            end = self.source.text.find("\n", at)
            self.line_end = len(self.source.text) if end < 0 else end
        if self.source.text.find("}", at, self.line_end) >= 0:
            self.skipping = 1
        else:
            self.passed = self.line_end

    def begins(self, tokens: list[Token], stop: str) -> bool:
        """Whether a head in what is skipped shows that a closing brace was forgotten there."""
        known = stop == "{" and bool(tokens) and tokens[0][1] in STATEMENTS
        return known and self.source.position(tokens[0][2])[1] == 1

    # ---- Lines

    def line(self, tokens: list[Token], stop: str, at: int) -> None:
        if tokens:
            self.settle_braces(tokens, stop)
            if self.open is not None and self.open.braced:
                self.clause_line(self.open, tokens, stop, at)
            else:
                self.close()
                self.head(tokens, stop, at)
                if self.skipping:
                    return
        elif stop == "{":
            self.report(self.source.span(at, at + 1), "nothing stands before this '{' that takes clauses")
            self.skip_braces(at)
            return
        if stop == "}":
            if self.open is None or not self.open.braced:
                self.report(self.source.span(at, at + 1), "this '}' closes nothing")
            self.close(at + 1)

    def settle_braces(self, tokens: list[Token], stop: str) -> None:
        """See where the writer forgot a brace: a clause after a head without one, or a head where clauses stand."""
        block, word = self.open, tokens[0][1]
        if block is None:
            return
        known = CLAUSES.get(block.kind, {})
        if not block.braced:
            if word in known and word not in STATEMENTS and block.kind:
                end = block.head_span.end
                self.report(
                    self.source.span(end, end),
                    f"the '{{' of {block.named} is missing",
                    "its clauses stand between { and }",
                )
                block.braced = True
            return
        if word in known and (stop != "{" or word not in STATEMENTS):
            return
        if stop == "{" or (word in STATEMENTS and self.outward(tokens[0], block.start)):
            line = self.source.position(block.start[2])[0]
            self.report(
                self.at(tokens[0]),
                f"{block.named} is not closed before this",
                f"put '}}' after its last clause; it begins on line {line}",
            )
            self.close(block.clauses[-1].span.end if block.clauses else block.head_span.end)

    def outward(self, token: Token, other: Token) -> bool:
        """Whether a token is indented no deeper than another. Only asked where something is wrong already."""
        return self.source.position(token[2])[1] <= self.source.position(other[2])[1]

    def at(self, first: Token, last: Token | None = None) -> Span:
        return self.builder.span(first, last)

    # ---- Statements

    def head(self, tokens: list[Token], stop: str, at: int) -> None:
        span = self.at(tokens[0], tokens[-1])
        first = tokens[0]
        self.builder.failed = False
        mender = self.mender("")
        parts = self.earlier.head(span) if self.earlier else None
        if parts is None:
            parts = run(self.tables, "statement", tokens, self.builder, mender)
        if mender.opened:
            self.head(tokens[: mender.opened], "{", at)
            if self.open is not None:
                self.clause_line(self.open, tokens[mender.opened :], stop, at)
            return
        kind = tokens[0][1] if tokens[0][1] in STATEMENTS else ""
        name = parts.pop("name", None) if parts else None
        if kind == "part":
            kind = tokens[1][1] if len(tokens) > 1 and tokens[1][1] in CLAUSES else ""
        if parts is None or self.builder.failed:
            parts = None
            self.unreadable(tokens)
        if stop == "{" and not kind:
            self.skipping = 1
            return
        if stop == "{" and kind == "include":
            self.report(
                self.source.span(span.end, span.end), "an include has no clauses", "leave the braces out"
            )
            self.skipping = 1
        word = Word(tokens[0][1], self.at(first))
        statement = None if parts is None else (word, name, parts)
        self.open = _Block(kind, first, span, statement, stop == "{" and not self.skipping)

    def unreadable(self, tokens: list[Token]) -> None:
        """Keep the names that a head, and others that it runs on into, would have declared."""
        for at, token in enumerate(tokens[1:], 1):
            before = tokens[at - 1][1]
            after_kind = before in STATEMENTS and (before != "part" or token[1] not in CLAUSES)
            if (after_kind or at == 1) and is_name(token):
                self.unread.append(self.builder.word(token))

    def close(self, end: int | None = None) -> None:
        """The statement that is open ends here."""
        block, self.open = self.open, None
        if block is None or block.statement is None:
            return
        kind, name, head = block.statement
        stop = block.head_span.end if end is None or not block.braced else end
        span = self.source.span(block.head_span.start, stop)
        self.statements.append(Statement(kind, name, head, tuple(block.clauses), span, block.head_span))

    # ---- Clauses

    def clause_line(self, block: _Block, tokens: list[Token], stop: str, at: int) -> None:
        if stop == "{" and is_sound(tokens[-1]):
            self.report(
                self.at(tokens[0], tokens[-1]),
                "a clause takes no braces",
                f"{block.named} holds one clause a line",
            )
            self.skip_braces(at)
            return
        if not block.kind or self.read_before(block, tokens):
            return
        mender = self.mender(block.kind)
        self.clause(block, tokens, mender)
        if mender.carried:  # a comma at the end of a line took the next clause with it: read the two apart
            self.clause(block, tokens[: mender.carried - 1], self.mender(block.kind))
            self.clause(block, tokens[mender.carried :], self.mender(block.kind, splits=False))

    def read_before(self, block: _Block, tokens: list[Token]) -> bool:
        """Whether the clause stood in the earlier text: it is taken from there unless it stands twice now."""
        clause = self.earlier.clause(block.kind, self.at(tokens[0], tokens[-1])) if self.earlier else None
        form = form_of(block.kind, clause.keyword.text) if clause else None
        if clause is None or form is None:
            return False
        self.take(block, clause, block.repeats.slips(form, clause))
        return True

    def take(self, block: _Block, clause: Clause, slips: Iterable[Slip]) -> None:
        """The clause goes into its block, unless there is something wrong with it."""
        wrong = list(slips)
        for slip in wrong:
            self.report(*slip)
        if not wrong:
            block.clauses.append(clause)

    def clause(self, block: _Block, tokens: list[Token], mender: Mender) -> None:
        self.builder.failed = False
        form = form_of(block.kind, tokens[0][1])
        if len(tokens) == 2 and tokens[1][1] in NEVER_NAMES and form is not None and not form.flag:
            parts: Any = {"value": self.builder.word(tokens[1])}
        else:
            parts = run(self.tables, mender.rule, tokens, self.builder, mender)
        form = form_of(block.kind, tokens[0][1])
        if parts is None or self.builder.failed or form is None:
            if tokens[0][1] in STATEMENTS and form is None:
                self.unreadable(tokens)
            return
        clause = Clause(self.builder.word(tokens[0]), parts, self.at(tokens[0], tokens[-1]))
        again = () if mender.told else block.repeats.slips(form, clause)
        self.take(block, clause, (*number_slips(form, clause), *unknown_slips(form, clause), *again))

    def mender(self, kind: str, splits: bool = True) -> Mender:
        return Mender(self.source, self.tables, self.report, kind, splits, silent=self.count >= MOST_PROBLEMS)

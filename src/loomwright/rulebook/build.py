"""Parsed rules to checked rules: each clause in its place, what is missing or stands twice reported."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from loomwright.facts.types import KIND_NAMES
from loomwright.rulebook.check import Scope, check, check_condition, kind_named
from loomwright.rulebook.dimensions import UNSURE, article, joined, noun, plural
from loomwright.rulebook.parse import FORMS, read_rules, read_template
from loomwright.rulebook.subjects import can_be_asked, parent_field, parents_of
from loomwright.rulebook.tree import Fix, Node, Rule, Subject, Template
from loomwright.rulebook.written import Clause, RuleText
from loomwright.source import Problem, Source
from loomwright.syntax.hints import listed

ONCE = ("for", "at", "say", "why", "do")
NEEDED = ("for", "need", "say", "why", "do", "source")
FROM_MEMORY = " (from memory)"
PRACTICE = "common practice, no source"


def build_rules(
    source: Source, limits: Mapping[str, str], file: str = ""
) -> tuple[list[Rule], list[Problem]]:
    """The rules of one file that are sound, and every problem of the others. `limits` gives the type of each limit."""
    texts, problems = read_rules(source)
    rules = []
    for text in texts:
        found: list[Problem] = []
        rule = _rule(text, Scope(source, limits, found), file)
        problems += found
        if rule is not None and not found and not text.broken:
            rules.append(rule)
    return rules, problems


def _rule(text: RuleText, scope: Scope, file: str) -> Rule | None:
    by_word: dict[str, list[Clause]] = {}
    for clause in text.clauses:
        by_word.setdefault(clause.keyword, []).append(clause)
    _complete(text, by_word, scope)
    if "for" not in by_word:
        return None
    about, of, mode = _subjects(by_word["for"][0], scope)
    lets = tuple(_let(clause, scope) for clause in by_word.get("let", ()))
    whens, needs = (
        tuple(check_condition(clause.parts[1], scope, word) for clause in by_word.get(word, ()))
        for word in ("when", "need")
    )
    severities = tuple(
        (str(clause.parts[0]), check_condition(clause.parts[2], scope, "when"))
        for clause in by_word.get("severity", ())
    )
    at = _at(by_word["at"][0], scope) if "at" in by_word else None
    say, why, do = (_sentence(by_word.get(word), scope) for word in ("say", "why", "do"))
    if mode is not None and mode.kind == "mode" and "say" in by_word and not _speaks_of(say, mode.slot):
        _report_silence(by_word["say"][0], mode, scope)
    return Rule(
        name=text.name[0],
        severity=text.severity[0],
        title=text.title[0],
        span=scope.source.span(text.name[1], text.name[2]),
        about=about,
        of=of,
        mode=mode,
        lets=lets,
        whens=whens,
        needs=needs,
        severities=severities,
        at=at,
        say=say,
        why=why,
        do=do,
        sources=tuple(_source(clause, scope) for clause in by_word.get("source", ())),
        fixes=tuple(_fix(clause, scope) for clause in by_word.get("fix", ())),
        slots=scope.slots,
        file=file,
        texts=(_quoted(by_word.get("say")), _quoted(by_word.get("why")), _quoted(by_word.get("do"))),
    )


def _report_silence(clause: Clause, mode: Subject, scope: Scope) -> None:
    scope.report(
        clause.start,
        clause.end,
        f"the sentence does not name the mode {{{mode.name}}}",
        "say in which mode it is so",
    )


def _complete(text: RuleText, by_word: Mapping[str, list[Clause]], scope: Scope) -> None:
    name, start, end = text.name
    missing = [f"`{word}`" for word in NEEDED if word not in by_word and word not in text.broken]
    if missing:
        hint = f"every rule has {listed(NEEDED, 'and')}"
        scope.report(start, end, f"the rule {name} has no {listed(missing)}", hint)
    for word in ONCE:
        for again in by_word.get(word, ())[1:]:
            scope.report(again.start, again.end, f"`{word}` stands twice in the rule {name}", "write it once")
    if not text.title[0].strip():
        scope.report(text.title[1], text.title[2], "the title is empty", "say in a few words what is wrong")


def _subjects(clause: Clause, scope: Scope) -> tuple[Subject, Subject | None, Subject | None]:
    """The things that `for` names: what the rule is about, what that is of, and the mode."""
    _, kind, name, _, parent_kind, parent_name, _, _, mode_kind, mode_name = clause.parts
    about = _subject(kind, name, scope)
    if about.kind in KIND_NAMES and not can_be_asked(about.kind):
        _at_token(
            kind, scope, f"no rule can be about {article(about.kind)}", "make it about what it is part of"
        )
    of = mode = None
    if parent_kind is not None:
        of = _subject(parent_kind, parent_name, scope)
        if {about.kind, of.kind} <= KIND_NAMES and parent_field(about.kind, of.kind) is None:
            hint = f"{plural(about.kind)} are of {' or '.join(article(one) for one in parents_of(about.kind)) or 'nothing'}"
            _at_token(parent_kind, scope, f"{article(about.kind)} is not part of {article(of.kind)}", hint)
    if mode_kind is not None:
        mode = _subject(mode_kind, mode_name, scope)
        if mode.kind != "mode":
            _at_token(mode_kind, scope, f"'in each {mode.kind}' is not to be had", "write: in each mode m")
    return about, of, mode


def _subject(kind: Any, name: Any, scope: Scope) -> Subject:
    known = kind_named(str(kind), kind.start_pos, kind.end_pos, scope)
    if str(name) in scope.names or str(name) == "limit":
        _at_token(name, scope, f"the name '{name}' is taken", "choose another")
    slot = scope.bind(str(name), f"thing {known}" if known else UNSURE)
    return Subject(str(kind), str(name), slot)


def _at_token(token: Any, scope: Scope, message: str, hint: str = "") -> None:
    scope.report(token.start_pos, token.end_pos, message, hint)


def _let(clause: Clause, scope: Scope) -> tuple[int, Node]:
    _, name, _, expression = clause.parts
    typed = check(expression, scope)
    if str(name) in scope.names or str(name) == "limit":
        _at_token(name, scope, f"the name '{name}' is taken", "choose another")
        return 0, typed
    return scope.bind(str(name), typed.type), typed


def _at(clause: Clause, scope: Scope) -> Node:
    typed = check(clause.parts[1], scope)
    if typed.op not in ("slot", "fact", "choice") and typed.type != UNSURE:
        return scope.wrong(
            typed,
            f"`at` wants a thing or one of its values, and this is {noun(typed.type)}",
            "for example: at f.fuse",
        )
    return typed


def _sentence(clauses: list[Clause] | None, scope: Scope) -> Template:
    if not clauses:
        return ()
    token = clauses[0].parts[1]
    if not str(token)[1:-1].strip():
        _at_token(token, scope, f"`{clauses[0].keyword}` says nothing")
    parts = read_template(scope.source, token.start_pos, token.end_pos, scope.problems)
    return tuple(check(part, scope) if isinstance(part, Node) else part for part in parts)


def _quoted(clauses: list[Clause] | None) -> str:
    return str(clauses[0].parts[1])[1:-1] if clauses else ""


def _speaks_of(parts: tuple[Any, ...], slot: int) -> bool:
    """Whether a tree or template anywhere takes the value of a slot itself."""
    return any(isinstance(part, Node) and part.op == "slot" and part.parts == (slot,) for part in parts)


def _source(clause: Clause, scope: Scope) -> str:
    words = clause.parts[1:]
    if len(words) == 1:
        if str(words[0]) != "practice":
            _at_token(words[0], scope, f"'{words[0]}' is no source", f"write: {FORMS['source']}")
        return PRACTICE
    text, mark = words
    if mark is not None and str(mark) != "memory":
        _at_token(mark, scope, f"'{mark}' can't follow a source", "write: memory, where it was not read")
    if "://" in str(text):
        _at_token(text, scope, "a source is a document and its clause, not an address")
    return str(text)[1:-1] + (FROM_MEMORY if mark is not None else "")


def _fix(clause: Clause, scope: Scope) -> Fix:
    """`fix set PLACE to VALUE`, where the place is a fact that a clause gives; `fix add THING "CLAUSE"`."""
    action, first, second = clause.parts[1], clause.parts[2], clause.parts[-1]
    wanted = "set" if isinstance(first, Node) else "add"
    if str(action) != wanted:
        _at_token(action, scope, f"'{action}' is no way to mend a spec", FORMS["fix"])
    if isinstance(first, Node):
        target, value = check(first, scope), check(second, scope)
        if target.op != "fact" and target.type != UNSURE:
            target = scope.wrong(
                target, "only what a clause gives can be set", "for example: fix set f.fuse.rating to 20 A"
            )
        if joined(target.type, value.type) is None:
            scope.report(value.start, value.end, f"{noun(target.type)} can't be set to {noun(value.type)}")
        return Fix("set", target, (value,))
    place = Node("name", (str(first),), first.start_pos, first.end_pos)
    target = check(place, scope)
    if not target.type.startswith("thing ") and target.type != UNSURE:
        target = scope.wrong(target, f"a clause is added to a thing, and this is {noun(target.type)}")
    parts = read_template(scope.source, second.start_pos, second.end_pos, scope.problems)
    return Fix("add", target, tuple(check(part, scope) if isinstance(part, Node) else part for part in parts))

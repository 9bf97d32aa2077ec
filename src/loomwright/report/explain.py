"""`explain`: a rule or a fact in full, and how a figure of a spec came about, down to clauses and table rows."""

from __future__ import annotations

import datetime
import os
from collections.abc import Iterator, Sequence
from typing import Any

from loomwright import resources
from loomwright.facts.registry import FACTS, Definition, Entry, Ledger, Note, find
from loomwright.facts.types import kinds_of, name_of
from loomwright.report import text
from loomwright.report.check import Wishes, check
from loomwright.report.files import Unreadable, read_spec
from loomwright.rulebook.load import Rulebook, load_rules
from loomwright.rulebook.tree import Rule
from loomwright.rulebook.wording import called, printed
from loomwright.syntax.hints import listed, nearest, quoted

DEEPEST = 8  # levels of a derivation; what lies deeper is explained by asking for that fact


def explain(topic: str) -> str:
    """A rule with its examples, or a fact for every kind of thing that has it. Raises Unreadable for a name unknown."""
    book = load_rules()
    rule = book.rule(topic)
    if rule is not None:
        return _rule_in_full(rule)
    definitions = _definitions(topic)
    if definitions:
        return "\n".join(_fact_in_full(definition) for definition in definitions)
    raise Unreadable(_no_such(topic, book))


def explain_in(topic: str, spec: str, name: str, today: datetime.date | None = None) -> str:
    """A rule or a fact with the numbers of one spec. Raises Unreadable for a name unknown, or a spec with errors."""
    book = load_rules()
    rule = book.rule(topic)
    definitions = _definitions(topic)
    if rule is None and not definitions:
        raise Unreadable(_no_such(topic, book))
    report = check(read_spec(spec), spec, Wishes(frozenset({topic}), today=today, judging=rule is not None))
    if report.errors or report.ledger is None:
        raise Unreadable(
            f"{spec} has errors, so nothing can be explained in it; 'loomwright check {spec}' lists them"
        )
    things = things_named(report.ledger, name)
    if not things:
        raise Unreadable(_no_thing(report.ledger, spec, name))
    if rule is not None:
        found = [finding for finding in report.findings if name in finding.things]
        return text.text(type(report)(report.files, tuple(found), ())) if found else _holds(rule, name)
    return "\n".join(_derivations(report.ledger, things, definitions, name))


def _holds(rule: Rule, name: str) -> str:
    return f"{rule.name} has nothing to say about {name}: it holds there, or does not concern it\n"


def _definitions(topic: str) -> list[Definition]:
    """Facts by `kind.name`, or by the name alone for every kind."""
    kind, _, name = topic.rpartition(".")
    return [one for (of, called_), one in FACTS.items() if called_ == (name or topic) and kind in ("", of)]


def _no_such(topic: str, book: Rulebook) -> str:
    names = (
        [rule.name for rule in book.rules]
        + [f"{kind}.{name}" for kind, name in FACTS]
        + [n for _, n in FACTS]
    )
    near = nearest(topic, names)
    return f"there is no rule or fact {quoted(topic)}" + (f": did you mean '{near}'?" if near else "")


def _no_thing(ledger: Ledger, spec: str, name: str) -> str:
    near = nearest(name, [*ledger.installation.named, *ledger.installation.terminals])
    return f"{spec} has nothing called {quoted(name)}" + (f": did you mean '{near}'?" if near else "")


# ---------------------------------------------------------------- the book


def _rule_in_full(rule: Rule) -> str:
    say, why, do = rule.texts
    head = [f"{rule.name}: {rule.severity}", rule.title, ""]
    lines = [("says", say), ("why", why), ("do", do), *(("source", source) for source in rule.sources)]
    lines.append(("stands", f"{rule.span.source.path}:{rule.span.line}"))
    shown = [f"{label.ljust(text.LABEL)}{value}" for label, value in lines if value]
    return "\n".join([*head, *shown, "", *_examples(rule.name)]).rstrip() + "\n"


def otherwise(rule: Rule) -> list[tuple[str, str]]:
    """The classes that a rule has beside that of its head, each with its condition as the rule file has it."""
    text = rule.span.source.text
    return [(severity, " ".join(text[when.start : when.end].split())) for severity, when in rule.severities]


def _examples(rule: str) -> Iterator[str]:
    for name, title in (("fails", "Fails:"), ("holds", "Holds:")):
        try:
            example = resources.text("rules", "examples", rule, f"{name}.fitout")
        except FileNotFoundError:
            continue
        yield title
        yield from (f"{text.INDENT}{line}".rstrip() for line in example.splitlines())
        yield ""


def _fact_in_full(definition: Definition) -> str:
    takes = f"({', '.join(definition.takes)})" if definition.takes else ""
    lines = [
        f"{definition.kind}.{definition.name}{takes}: {definition.type}",
        definition.says,
        f"{'source'.ljust(text.LABEL)}{definition.source}",
    ]
    return "\n".join(lines) + "\n"


# ---------------------------------------------------------------- in one spec


def things_named(ledger: Ledger, name: str) -> list[Any]:
    """Everything that a name may mean: the thing itself, both legs of a circuit, a way, a terminal; ends by run."""
    installation = ledger.installation
    ways = [way for ways in installation.ways_of.values() for way in ways]
    runs = [run for run in installation.runs if run.name == name]
    candidates: list[Any] = [
        installation.named.get(name),
        *runs,
        installation.terminals.get(name),
        *(way for way in ways if way.name == name),
        *(fuse for way, fuse in installation.fuse_of_way.items() if fuse and way.name == name),
    ]
    for run in runs:
        fuses = installation.fuses_of[run]
        candidates += fuses if isinstance(fuses, tuple) else ()
        candidates += installation.ends_of[run]
    return list({id(thing): thing for thing in candidates if thing is not None}.values())


def _derivations(
    ledger: Ledger, things: Sequence[Any], definitions: Sequence[Definition], name: str
) -> Iterator[str]:
    shown = 0
    for thing in things:
        for definition in definitions:
            if find(kinds_of(thing), definition.name) is not definition:
                continue
            for arguments in _arguments(ledger, definition):
                shown += 1
                yield "\n".join(_tree(ledger.entry(thing, definition.name, *arguments), 0, set())) + "\n"
    if not shown:
        kinds = listed(sorted({definition.kind for definition in definitions}))
        raise Unreadable(
            f"{definitions[0].name} is a fact of a {kinds}; {name} is a {kinds_of(things[0])[0]}"
        )


def _arguments(ledger: Ledger, definition: Definition) -> list[tuple[Any, ...]]:
    """Every mode for a fact of a mode; a fact that takes a figure is explained where another one asks for it."""
    if not definition.takes:
        return [()]
    if definition.takes == ("thing mode",):
        return [(mode,) for mode in ledger.installation.modes]
    raise Unreadable(
        f"{definition.kind}.{definition.name} takes {listed(definition.takes, 'and')};"
        " ask for a fact that rests on it, and it is explained there"
    )


def _tree(entry: Entry, depth: int, told: set[int]) -> Iterator[str]:
    pad = text.INDENT * depth
    yield pad + _one_line(entry)
    if id(entry) in told:
        if entry.inputs:
            yield f"{pad}{text.INDENT}as above"
        return
    told.add(id(entry))
    for part in entry.inputs:
        if isinstance(part, Note):
            yield f"{pad}{text.INDENT}{_note(part)}"
        elif depth < DEEPEST:
            yield from _tree(part, depth + 1, told)


def _one_line(entry: Entry) -> str:
    definition = entry.definition
    taken = zip(entry.arguments, definition.takes, strict=True)
    arguments = ", ".join(printed(argument, kind) for argument, kind in taken)
    who = f"{called(entry.thing) or name_of(entry.thing)}.{definition.name}" + (
        f"({arguments})" if arguments else ""
    )
    if entry.missing:
        value = "unknown: " + "; ".join(reason.what for reason in entry.missing)
    else:
        value = printed(entry.value, definition.type)
    source = f"  ({definition.source})" if definition.source != "definition" else ""
    return f"{who} = {value}{source}"


def _note(note: Note) -> str:
    where = ""
    if note.span is not None:
        line, column = note.span.source.position(note.span.start)
        where = f"  {os.path.basename(note.span.source.path)}:{line}:{column}"
    return note.text + (f"  ({note.source})" if note.source else "") + where

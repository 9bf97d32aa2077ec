"""`explain`: a rule or a fact in full, and how a figure of a spec came about, down to clauses and table rows."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

from loomwright import resources
from loomwright.facts.limits import Limit
from loomwright.facts.registry import FACTS, Definition, Ledger, find
from loomwright.facts.types import kinds_of
from loomwright.quantity import DIMENSIONS
from loomwright.report import text
from loomwright.report.books import book_for
from loomwright.report.check import Wishes, check
from loomwright.report.currents import currents
from loomwright.report.derivation import OBVIOUS, Told, tree
from loomwright.report.files import Unreadable, read_spec
from loomwright.report.judgement import judgement
from loomwright.rulebook.dimensions import noun
from loomwright.rulebook.load import Rulebook
from loomwright.rulebook.subjects import widened
from loomwright.rulebook.tree import Node, Rule
from loomwright.syntax.hints import listed, nearest, quoted

OF_A_MODE = ("thing mode",)
OF_A_CURRENT = ("current",)


def explain(topic: str, folder: str | None = None) -> str:
    """A rule with its examples, or a fact for every kind of thing that has it. Raises Unreadable for a name unknown.

    With a folder it is as the workshop of the specs there has it.
    """
    book, limits = book_for(folder)
    rule = book.rule(topic)
    if rule is not None:
        return _rule_in_full(rule, limits)
    definitions = _definitions(topic)
    if definitions:
        return "\n".join(_fact_in_full(definition, book) for definition in definitions)
    raise Unreadable(_no_such(topic, book))


def explain_in(topic: str, spec: str, name: str, today: datetime.date | None = None) -> str:
    """A rule or a fact with the numbers of one spec. Raises Unreadable for a name unknown, or a spec with errors."""
    text = read_spec(spec)
    book, _ = book_for(None if spec == "-" else spec)
    rule = book.rule(topic)
    definitions = _definitions(topic)
    if rule is None and not definitions and not book.problems:
        raise Unreadable(_no_such(topic, book))
    wishes = Wishes(
        only=frozenset({topic} if rule else ()),
        today=today,
        judging=rule is not None or any(one.takes not in ((), OF_A_MODE) for one in definitions),
    )
    report = check(text, "<stdin>" if spec == "-" else spec, wishes)
    if report.errors or report.ledger is None:
        raise Unreadable(
            f"{spec} has errors, so nothing can be explained in it; 'loomwright check {spec}' lists them"
        )
    things = things_named(report.ledger, name)
    if not things:
        raise Unreadable(_no_thing(report.ledger, spec, name))
    if rule is not None:
        return judgement(rule, report, name, kinds_of(things[0])[0])
    return "\n".join(_derivations(report.ledger, things, definitions, name))


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


def _rule_in_full(rule: Rule, limits: Mapping[str, Limit]) -> str:
    say, why, do = rule.texts
    head = [f"{rule.name}: {rule.severity}", rule.title, ""]
    lines = [
        ("says", say),
        ("why", why),
        ("do", do),
        *(("class", f"{severity} when {condition}") for severity, condition in otherwise(rule)),
        *(
            ("limit", f"{name} {limits[name].text}: {limits[name].printed_source}")
            for name in limits_in(rule)
        ),
        *(("source", source) for source in rule.sources),
        ("stands", f"{rule.span.source.path}:{rule.span.line}"),
    ]
    return "\n".join([*head, *_labelled(lines), "", *_examples(rule.name)]).rstrip() + "\n"


def _labelled(lines: Iterable[tuple[str, str]]) -> list[str]:
    return [f"{label.ljust(text.LABEL)}{value}" for label, value in lines if value]


def limits_in(rule: Rule) -> list[str]:
    """The limits that a rule names, in the order of its text."""
    return list(dict.fromkeys(node.parts[0] for node in nodes_of(rule) if node.op == "limit"))


def nodes_of(rule: Rule) -> list[Node]:
    """Every expression of a rule and in its sentences, in the order of the text."""
    found: list[Node] = []
    waiting: list[Any] = [rule.lets, rule.whens, rule.needs, rule.severities, rule.at]
    waiting += [rule.say, rule.why, rule.do, rule.fixes]
    while waiting:
        part = waiting.pop()
        if isinstance(part, Node):
            found.append(part)
        if isinstance(part, tuple):
            waiting.extend(part)
    return sorted(found, key=lambda node: (node.start, node.end))


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


def _fact_in_full(definition: Definition, book: Rulebook) -> str:
    takes = ", ".join(type_.removeprefix("thing ") for type_ in definition.takes)
    name = f"{definition.kind}.{definition.name}" + (f"({takes})" if takes else "")
    unit = DIMENSIONS[definition.type].unit if definition.type in DIMENSIONS else ""
    lines = [
        ("is", noun(definition.type) + (f", {unit}" if unit else "")),
        ("source", "" if definition.source == OBVIOUS else definition.source),
        ("rules", ", ".join(rule.name for rule in book if definition in _facts_asked(rule))),
    ]
    return "\n".join([name, definition.says, *_labelled(lines)]) + "\n"


def _facts_asked(rule: Rule) -> list[Definition | None]:
    """The facts that a rule's own text asks for."""
    asked = (node.parts for node in nodes_of(rule) if node.op in ("fact", "facts"))
    return [find(widened(owner.type.partition(" ")[2]), name) for owner, name, *_ in asked]


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
            for at, arguments in _arguments(ledger, thing, definition):
                shown += 1
                head = [f"at {at}:"] if at else []
                lines = tree(ledger.entry(thing, definition.name, *arguments), Told())
                yield "\n".join([*head, *lines]) + "\n"
    if not shown:
        kinds = listed(sorted({definition.kind for definition in definitions}))
        raise Unreadable(
            f"{definitions[0].name} is a fact of a {kinds}; {name} is a {kinds_of(things[0])[0]}"
        )


def _arguments(ledger: Ledger, thing: Any, definition: Definition) -> Iterable[tuple[str, tuple[Any, ...]]]:
    """Every mode for a fact of a mode; for one that takes a figure those figures that the rules asked it for.

    Where they asked for none, the thing's own currents, each with what it is.
    """
    if not definition.takes:
        return [("", ())]
    if definition.takes == OF_A_MODE:
        return [("", (mode,)) for mode in ledger.installation.modes]
    asked = [("", arguments) for arguments in ledger.asked(thing, definition.name)]
    if definition.takes == OF_A_CURRENT:
        asked = asked or [(what, (amps,)) for what, amps in currents(thing, definition, ledger)]
    if not asked:
        raise Unreadable(
            f"{definition.kind}.{definition.name} takes {listed(map(noun, definition.takes), 'and')},"
            " and no rule asked it for one here; ask for a fact that rests on it"
        )
    return asked

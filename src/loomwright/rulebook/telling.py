"""What a rule says where it did not hold: the finding with its place, sentences, facts and fixes.

Made ready only for rules that find something, which in a sound spec are few.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from functools import partial
from typing import Any, NamedTuple

from loomwright.facts.registry import Ledger, notes_under
from loomwright.model.things import Run
from loomwright.rulebook.evaluate import compiled
from loomwright.rulebook.finding import UNPROVEN, Edit, Finding, Later, Rested, Wanted
from loomwright.rulebook.fixes import Maker, maker, together
from loomwright.rulebook.place import Finder, Place, finder, of_thing
from loomwright.rulebook.subjects import Unseen
from loomwright.rulebook.tree import Node, Rule
from loomwright.rulebook.values import Closure, Environment, Reasons
from loomwright.rulebook.wording import Sentence, advice, called, names_in_finding, rested, sentence
from loomwright.source import Source


class Read(NamedTuple):
    """A fact or limit that a condition reads, under the name that the rule text gives it."""

    name: str
    node: Node
    closure: Closure


class Telling(NamedTuple):
    """`asked` and `excess` go with the rule's needs, one each; `asked` is what the need reads and all whens, `all_asked` what all
    needs read and all whens."""

    rule: Rule
    at: Finder | None
    severities: tuple[tuple[str, Closure], ...]
    say: Sentence
    why: Sentence
    do: Sentence
    fixes: tuple[Maker, ...]
    asked: tuple[tuple[Read, ...], ...]
    all_asked: tuple[Read, ...]
    excess: tuple[Closure, ...]


def telling(rule: Rule) -> Telling:
    return Telling(
        rule=rule,
        at=finder(rule.at) if rule.at else None,
        severities=tuple((severity, compiled(node)) for severity, node in rule.severities),
        say=sentence(rule.say),
        why=sentence(rule.why),
        do=advice(rule.do),
        fixes=tuple(maker(fix) for fix in rule.fixes),
        asked=tuple(reads(rule, (need, *rule.whens)) for need in rule.needs),
        all_asked=reads(rule, (*rule.needs, *rule.whens)),
        excess=tuple(_excess(need) for need in rule.needs),
    )


def finding(of: Telling, env: Environment, failed: int | None, missing: Reasons | None) -> Finding:
    """The finding of one environment: `failed` is the need that was missed, `missing` why it can't be proved."""
    rule = of.rule
    things = [env[subject.slot] for subject in (rule.about, rule.of) if subject is not None]
    span, label = _place(of, env, things[0])
    severity = _severity(of, env)
    asked = of.all_asked if failed is None else of.asked[failed]
    return Finding(
        rule=rule.name,
        severity=severity if missing is None else UNPROVEN,
        rule_severity=severity,
        span=span,
        things=tuple(dict.fromkeys(name for thing in things for name in names_in_finding(thing))),
        at=label,
        message=_message(of, env, things[0], missing is None),
        why=of.why(env, settled=missing is not None),
        do=of.do(env, settled=missing is not None),
        sources=(*rule.sources, *_house_limits(rule, asked, env)),
        facts=Later(partial(_rested, asked, env.copy())),
        missing=tuple(Wanted(one.what, one.span) for one in missing.unknowns) if missing else (),
        edits=Later(partial(_edits, of, env.copy())) if missing is None and of.fixes else (),
        rule_file=rule.file,
    )


def _rested(asked: tuple[Read, ...], env: Environment) -> tuple[Rested, ...]:
    return tuple(rested(read.name, read.node, read.closure, env) for read in asked)


def _house_limits(rule: Rule, asked: Iterable[Read], env: Environment) -> tuple[str, ...]:
    """ "limit fuse-distance 50 mm of loomwright.toml": the workshop's own limits that a finding rests on.

    They are those that its conditions and sentences name, and those of the facts there. A limit that goes into a network which
    many facts share stands in no fact's derivation, and so not here.
    """
    ledger: Ledger = env[0]
    own = ledger.index(
        "house limits", lambda: {name: limit for name, limit in ledger.limits.items() if limit.house}
    )
    if not own:
        return ()
    told = tuple(part for text in (rule.say, rule.why, rule.do) for part in text if isinstance(part, Node))
    read = (*asked, *reads(rule, told))
    closures = [*(one.closure for one in read), *map(compiled, (*rule.whens, *rule.needs, *told))]
    _, rested_on = ledger.reading(lambda: [closure(env) for closure in closures])
    noted = {note.text for note in notes_under(rested_on)}
    named = {one.node.parts[0] for one in read if one.node.op == "limit"}
    return tuple(
        f"limit {name} {limit.text} of {limit.house}"
        for name, limit in own.items()
        if name in named or f"limit {name} {limit.text}" in noted
    )


def _message(of: Telling, env: Environment, thing: Any, proven: bool) -> str:
    """The rule's own sentence; of what can't be proved another, for `say` would tell as a fact what nobody knows."""
    if isinstance(thing, Unseen):
        return f"not known: {thing.unknown.what}"
    if proven:
        return of.say(env)
    title = of.rule.title
    return f"it can't be told yet of {called(thing)}: {title[:1].lower()}{title[1:]}"


def is_leg(thing: Any) -> bool:
    """Whether it is one leg of a circuit, or a part of one: the other has the same names."""
    run = thing if isinstance(thing, Run) else getattr(thing, "run", None)
    return run is not None and run.circuit is not None


def _place(of: Telling, env: Environment, thing: Any) -> Place:
    if isinstance(thing, Unseen):
        return of_thing(thing)
    return (of.at(env) if of.at else None) or of_thing(thing)


def _severity(of: Telling, env: Environment) -> str:
    """That of the first `SEVERITY when …` that certainly holds, or the head's."""
    return next((severity for severity, asked in of.severities if asked(env) is True), of.rule.severity)


def _edits(of: Telling, env: Environment) -> tuple[Edit, ...]:
    """What all `fix` clauses write together; nothing where one of them can't be reckoned."""
    written = [make(env) for make in of.fixes]
    return together(edit for edits in written for edit in edits) if all(written) else ()


def _excess(need: Node) -> Closure:
    """How far a condition is missed: the ratio of the first comparison in it that fails, the greater the worse; else 0."""
    if need.op in ("and", "or"):
        parts = [(compiled(part), _excess(part)) for part in need.parts]
        return lambda env: next(
            (much for asked, far in parts if asked(env) is False and (much := far(env))), 0.0
        )
    if need.op != "compare" or need.parts[0] in ("=", "!="):
        return lambda _env: 0.0
    least = need.parts[0] in (">", ">=")
    first, second = compiled(need.parts[1]), compiled(need.parts[2])

    def ratio(env: Environment) -> float:
        over, under = (second(env), first(env)) if least else (first(env), second(env))
        if not isinstance(over, (int, float)) or not isinstance(under, (int, float)):
            return 0.0
        return max(0.0, over / under) if under > 0 else math.inf

    return ratio


def reads(rule: Rule, conditions: tuple[Node, ...]) -> tuple[Read, ...]:
    """The facts and limits that some conditions read, each once."""
    found: dict[str, Node] = {}
    for condition in conditions:
        _gather(condition, rule.span.source, dict(rule.lets), frozenset(), found)
    return tuple(Read(name, node, compiled(node)) for name, node in found.items())


def _gather(
    node: Node, source: Source, lets: dict[int, Node], inner: frozenset[int], found: dict[str, Node]
) -> None:
    """Facts of the rule's own names go in whole; those of a loop's name stand for no single value and are left out."""
    if node.op in ("fact", "facts", "limit") and not _slots(node) & inner:
        found.setdefault(" ".join(source.text[node.start : node.end].split()), node)
        return
    if node.op == "slot" and node.parts[0] in lets:
        _gather(lets[node.parts[0]], source, lets, inner, found)
    if node.op == "each":
        inner = inner | {node.parts[1]}
    for part in node.parts:
        if isinstance(part, Node):
            _gather(part, source, lets, inner, found)


def _slots(node: Node) -> frozenset[int]:
    if node.op == "slot":
        return frozenset(node.parts)
    return frozenset().union(*(_slots(part) for part in node.parts if isinstance(part, Node)))

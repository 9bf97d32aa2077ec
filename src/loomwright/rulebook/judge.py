"""Rules to findings: every rule asked of every thing it is about."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cache
from typing import Any

from loomwright.facts.registry import Ledger
from loomwright.model.things import Run
from loomwright.rulebook import concessions
from loomwright.rulebook.evaluate import Closure, Environment, Pending, Reasons, compiled, conjunction, merged
from loomwright.rulebook.finding import SEVERITIES, UNPROVEN, Edit, Finding, Wanted
from loomwright.rulebook.fixes import Maker, maker, together
from loomwright.rulebook.place import Finder, Place, finder, of_thing
from loomwright.rulebook.subjects import Unseen, each, parent, parent_field
from loomwright.rulebook.tree import Node, Rule
from loomwright.rulebook.wording import Sentence, names_in_finding, rested, sentence
from loomwright.source import Source


@dataclass(frozen=True, slots=True)
class Judge:
    """A rule made ready: its expressions as closures."""

    rule: Rule
    lets: tuple[tuple[int, Pending], ...]
    when: Closure
    needs: tuple[Closure, ...]
    severities: tuple[tuple[str, Closure], ...]
    at: Finder | None
    sentences: tuple[Sentence, Sentence, Sentence]
    fixes: tuple[Maker, ...]


def judge(rules: Iterable[Rule], ledger: Ledger, known: Iterable[str] | None = None) -> list[Finding]:
    """All findings of the rules on the ledger's installation, in order, with concessions applied.

    Rules about concessions are judged last: what a concession covers is known only when all others are. `known` names all
    rules that there are, where only some of them are judged.
    """
    ready = [_ready(rule) for rule in rules]
    names = [one.rule.name for one in ready]
    first = [one for one in ready if one.rule.about.kind != concessions.KIND]
    found = [finding for one in first for finding in _findings(one, ledger)]
    found = concessions.apply(found, names, names if known is None else known, ledger)
    last = [one for one in ready if one.rule.about.kind == concessions.KIND]
    found += [finding for one in last for finding in _findings(one, ledger)]
    return sorted(_once(found), key=Finding.order)


def things_judged(rules: Iterable[Rule], ledger: Ledger) -> int:
    """How many pairs of a rule and a thing `judge` looks at, modes not counted."""
    kinds = [rule.about.kind for rule in rules]
    sizes = {kind: sum(1 for _ in each(ledger.installation, kind)) for kind in set(kinds)}
    return sum(sizes[kind] for kind in kinds)


def _ready(rule: Rule) -> Judge:
    return Judge(
        rule=rule,
        lets=tuple((slot, Pending(compiled(node))) for slot, node in rule.lets),
        when=conjunction([compiled(node) for node in rule.whens]),
        needs=tuple(compiled(node) for node in rule.needs),
        severities=tuple((severity, compiled(node)) for severity, node in rule.severities),
        at=finder(rule.at) if rule.at else None,
        sentences=(sentence(rule.say), sentence(rule.why), sentence(rule.do)),
        fixes=tuple(maker(fix) for fix in rule.fixes),
    )


def _once(findings: list[Finding]) -> list[Finding]:
    """Findings that say the same of the same things at the same place once: the two legs of a circuit, say."""
    same = {(one.rule, one.things, one.span.order(), one.message): one for one in reversed(findings)}
    return list(same.values())


def _findings(judge: Judge, ledger: Ledger) -> Iterator[Finding]:
    rule = judge.rule
    modes = ledger.installation.modes if rule.mode else (None,)
    of_circuits: dict[tuple[str, ...], Finding] = {}
    for env in _environments(judge, ledger):
        found = [verdict for mode in modes if (verdict := _judged(judge, env, mode)) is not None]
        if found and _is_leg(env[rule.about.slot]):
            finding = _worst(found)
            of_circuits[finding.things] = _graver(of_circuits.get(finding.things), finding)
        elif found:
            yield _worst(found)
    yield from of_circuits.values()


def _is_leg(thing: Any) -> bool:
    """Whether it is one leg of a circuit, or a part of one: the other has the same names."""
    run = thing if isinstance(thing, Run) else getattr(thing, "run", None)
    return run is not None and run.circuit is not None


def _graver(one: Finding | None, other: Finding) -> Finding:
    """Of two findings of the same names the graver, of two alike the first."""
    ranks = (*SEVERITIES, UNPROVEN)
    return other if one is None or ranks.index(other.severity) < ranks.index(one.severity) else one


def _environments(judge: Judge, ledger: Ledger) -> Iterator[Environment]:
    """One environment for each thing that the rule is about."""
    about, of = judge.rule.about, judge.rule.of
    field = parent_field(about.kind, of.kind) if of else None
    for thing in each(ledger.installation, about.kind):
        env: Environment = [None] * judge.rule.slots
        env[0], env[about.slot] = ledger, thing
        if of is not None:
            env[of.slot] = parent(thing, field or "", of.kind)
            if env[of.slot] is None:
                continue
        yield env


Verdict = tuple[float, Finding]


def _judged(judge: Judge, env: Environment, mode: Any) -> Verdict | None:
    """The finding in one environment with how far off it is, or None where the rule holds or does not concern the thing."""
    if judge.rule.mode is not None:
        env[judge.rule.mode.slot] = mode
    for slot, pending in judge.lets:
        env[slot] = pending
    concerned = judge.when(env)
    if concerned is False:
        return None
    answers = [need(env) for need in judge.needs]
    failed = next(
        (index for index, answer in enumerate(answers) if not answer and type(answer) is not Reasons), None
    )
    reasons = [answer for answer in (concerned, *answers) if type(answer) is Reasons]
    if failed is None and not any(type(answer) is Reasons for answer in answers):
        return None
    if failed is not None and concerned is True:
        need = judge.rule.needs[failed]
        return _excess(need, env), _finding(judge, env, (need,), None)
    return -1.0, _finding(judge, env, judge.rule.needs, merged(reasons))


def _worst(verdicts: Sequence[Verdict]) -> Finding:
    """The finding of the mode where the need is missed most; only if none is, the unproven one, wanting what all want."""
    worst, finding = max(verdicts, key=lambda verdict: verdict[0])
    if worst >= 0 or len(verdicts) == 1:
        return finding
    wanted = {(one.what, one.span.order()): one for _, each in verdicts for one in each.missing}
    return replace(verdicts[0][1], missing=tuple(wanted.values()))


def _excess(need: Node, env: Environment) -> float:
    """How far a condition is missed: the ratio of the first comparison that fails, above 1 the worse; 0 where there is none."""
    if need.op == "and":
        missed = (part for part in need.parts if _closure(part)(env) is False)
        return next((_excess(part, env) for part in missed), 0.0)
    if need.op != "compare" or need.parts[0] in ("=", "!="):
        return 0.0
    sign, left, right = need.parts
    a, b = _closure(left)(env), _closure(right)(env)
    if not all(isinstance(value, (int, float)) for value in (a, b)):
        return 0.0
    over, under = (a, b) if sign in ("<", "<=") else (b, a)
    return max(0.0, over / under) if under > 0 else math.inf


@cache
def _closure(node: Node) -> Closure:
    return compiled(node)


def _finding(judge: Judge, env: Environment, needs: tuple[Node, ...], missing: Reasons | None) -> Finding:
    rule = judge.rule
    things = [env[subject.slot] for subject in (rule.about, rule.of) if subject is not None]
    span, label = _place(judge, env, things[0])
    severity = _severity(judge, env)
    say, why, do = (told(env) for told in judge.sentences)
    return Finding(
        rule=rule.name,
        severity=severity if missing is None else UNPROVEN,
        rule_severity=severity,
        span=span,
        things=tuple(dict.fromkeys(name for thing in things for name in names_in_finding(thing))),
        at=label,
        message=say,
        why=why,
        do=do,
        sources=rule.sources,
        facts=tuple(rested(name, node, _closure(node), env) for name, node in _read(rule, needs)),
        missing=tuple(Wanted(one.what, one.span) for one in missing.unknowns) if missing else (),
        edits=_edits(judge, env) if missing is None else (),
        rule_file=rule.file,
    )


def _edits(judge: Judge, env: Environment) -> tuple[Edit, ...]:
    """What all `fix` clauses write together; nothing where one of them can't be reckoned."""
    edits = [make(env) for make in judge.fixes]
    known = [edit for edit in edits if edit is not None]
    return together(known) if len(known) == len(edits) else ()


def _place(judge: Judge, env: Environment, thing: Any) -> Place:
    if isinstance(thing, Unseen):
        return of_thing(thing)
    return (judge.at(env) if judge.at else None) or of_thing(thing)


def _severity(judge: Judge, env: Environment) -> str:
    """That of the first `SEVERITY when …` that certainly holds, or the head's."""
    return next((severity for severity, asked in judge.severities if asked(env) is True), judge.rule.severity)


@cache
def _read(rule: Rule, needs: tuple[Node, ...]) -> tuple[tuple[str, Node], ...]:
    """The facts and limits that some conditions read, under the names that the rule text gives them."""
    found: dict[str, Node] = {}
    lets = dict(rule.lets)
    for node in (*needs, *rule.whens):
        _gather(node, rule.span.source, lets, frozenset(), found)
    return tuple(found.items())


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

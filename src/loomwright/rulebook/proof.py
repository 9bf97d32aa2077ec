"""How a rule comes to its verdict on one thing: every condition with its answer and the facts that it read."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from typing import Any, NamedTuple

from loomwright.facts.registry import Entry, Ledger, Note
from loomwright.rulebook.evaluate import compiled
from loomwright.rulebook.finding import UNPROVEN
from loomwright.rulebook.judge import Judge, enter, environments, ready
from loomwright.rulebook.telling import reads
from loomwright.rulebook.tree import Node, Rule
from loomwright.rulebook.values import Environment, Pending, Reasons, unknown
from loomwright.rulebook.verdicts import FOUND, HOLDS, NOT_CONCERNED
from loomwright.rulebook.wording import names_in_finding, printed

GRAVEST = (FOUND, UNPROVEN, HOLDS, NOT_CONCERNED)
YES, NO, NOT_KNOWN, NOT_ASKED = "yes", "no", "not known", "not asked"


class Clause(NamedTuple):
    """A `when` or `need` as the rule file has it, its answer, and the facts and limits that it read."""

    word: str
    text: str
    answer: str
    read: tuple[Entry | Note, ...]


class Proof(NamedTuple):
    """A rule on one thing in one mode. `excess` is how near its needs come to being missed, or are missed: 1 is the border."""

    thing: Any
    mode: Any
    clauses: tuple[Clause, ...]
    outcome: str
    excess: float


def proofs(rule: Rule, ledger: Ledger, name: str) -> list[list[Proof]]:
    """A rule on everything it is about that bears a name, as findings name it: of each thing its modes, the worst first."""
    judge = ready(rule)
    modes = ledger.installation.modes if rule.mode else (None,)
    return [
        sorted((_proof(judge, env, mode) for mode in modes), key=_gravity)
        for env in environments(judge, ledger)
        if name in _names(rule, env)
    ]


def _names(rule: Rule, env: Environment) -> set[str]:
    things = [env[subject.slot] for subject in (rule.about, rule.of) if subject is not None]
    return {name for thing in things for name in names_in_finding(thing)}


def _gravity(proof: Proof) -> tuple[int, float]:
    return GRAVEST.index(proof.outcome), -proof.excess


def _proof(judge: Judge, env: Environment, mode: Any) -> Proof:
    """As a judge goes: the whens as long as none says no, then all needs."""
    rule = judge.rule
    whens: list[Clause] = []
    for node in rule.whens:
        whens.append(_clause("when", node, judge, env, mode, any(one.answer == NO for one in whens)))
    concerned = all(one.answer != NO for one in whens)
    needs = [_clause("need", node, judge, env, mode, not concerned) for node in rule.needs]
    enter(judge, env, mode)
    excess = max(far(env) for far in judge.telling.excess) if concerned else 0.0
    return Proof(env[rule.about.slot], mode, (*whens, *needs), _outcome(whens, needs), excess)


def _outcome(whens: list[Clause], needs: list[Clause]) -> str:
    asked, needed = {one.answer for one in whens}, {one.answer for one in needs}
    if NO in asked:
        return NOT_CONCERNED
    if NO in needed and asked <= {YES}:
        return FOUND
    return HOLDS if needed <= {YES} else UNPROVEN


def _clause(word: str, node: Node, judge: Judge, env: Environment, mode: Any, idle: bool) -> Clause:
    text = _text(judge.rule, node)
    if idle:
        return Clause(word, text, NOT_ASKED, ())
    enter(judge, env, mode)  # anew, so that what a `let` reads is read by each condition that uses it
    ledger: Ledger = env[0]
    answer, read = ledger.reading(partial(compiled(node), env))
    said = NOT_KNOWN if type(answer) is Reasons else YES if answer else NO
    return Clause(word, text, said, (*_named(judge.rule, node, env), *read))


def _named(rule: Rule, node: Node, env: Environment) -> Iterator[Note]:
    """The rule's own names and the limits of the book that a condition uses, with what they stand for."""
    ledger, lets = env[0], dict(rule.lets)
    for slot, name in dict(_lets_in(rule, node, lets)).items():
        if type(env[slot]) is not Pending:  # else nothing asked for it
            value = NOT_KNOWN if unknown(env[slot]) else printed(env[slot], lets[slot].type)
            yield Note(f"{name} = {value}: {_text(rule, lets[slot])}")
    for read in reads(rule, (node,)):
        if read.node.op == "limit":
            limit = ledger.limits[read.node.parts[0]]
            yield Note(f"{read.name} = {limit.text}", limit.printed_source)


def _lets_in(rule: Rule, node: Node, lets: dict[int, Node]) -> Iterator[tuple[int, str]]:
    """Slots and names of the `let`s that an expression uses, and of those in them."""
    if node.op == "slot" and node.parts[0] in lets:
        yield node.parts[0], _text(rule, node)
        yield from _lets_in(rule, lets[node.parts[0]], lets)
    for part in node.parts:
        if isinstance(part, Node):
            yield from _lets_in(rule, part, lets)


def _text(rule: Rule, node: Node) -> str:
    return " ".join(rule.span.source.text[node.start : node.end].split())

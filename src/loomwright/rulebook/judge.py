"""Rules to findings: every rule asked of every thing it is about."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from functools import cached_property
from typing import Any, Protocol

from loomwright.facts.registry import Ledger
from loomwright.record import replace
from loomwright.rulebook import concessions
from loomwright.rulebook.evaluate import compiled, conjunction
from loomwright.rulebook.finding import SEVERITIES, UNPROVEN, Finding
from loomwright.rulebook.subjects import each, parent, parent_field
from loomwright.rulebook.telling import Telling, finding, is_leg, telling
from loomwright.rulebook.tree import Rule
from loomwright.rulebook.values import Environment, Pending, Reasons, merged

Verdict = tuple[float, Finding]


class Judge:
    """A rule made ready: its conditions as closures, what it says made only when it has something to say."""

    def __init__(self, rule: Rule) -> None:
        self.rule = rule
        self.lets = [(slot, Pending(compiled(node))) for slot, node in rule.lets]
        self.when = conjunction([compiled(node) for node in rule.whens])
        self.needs = [compiled(node) for node in rule.needs]

    @cached_property
    def telling(self) -> Telling:
        return telling(self.rule)


_READY: dict[int, Judge] = {}
MOST_READY = 1000


def ready(rule: Rule) -> Judge:
    """The rule made ready, once for all specs that the process checks."""
    found = _READY.get(id(rule))
    if found is None or found.rule is not rule:
        if len(_READY) >= MOST_READY:
            _READY.clear()
        found = _READY[id(rule)] = Judge(rule)
    return found


class Aside(Protocol):
    """Rules that somebody else judges meanwhile, by the same texts."""

    @property
    def names(self) -> frozenset[str]: ...

    def findings(self) -> Iterable[Finding] | None:
        """What they find; None where that can't be had."""


def judge(
    rules: Iterable[Rule], ledger: Ledger, known: Iterable[str] | None = None, aside: Aside | None = None
) -> list[Finding]:
    """All findings of the rules on the ledger's installation, in order, with concessions applied.

    Rules about concessions are judged last: what a concession covers is known only when all others are. `known` names all
    rules that there are, where only some of them are judged. Those of `aside` are judged here only if they are not there.
    """
    judges = [ready(rule) for rule in rules]
    names = [one.rule.name for one in judges]
    first = [one for one in judges if one.rule.about.kind != concessions.KIND]
    last = [one for one in judges if one.rule.about.kind == concessions.KIND]
    elsewhere = aside.names if aside else frozenset()
    found = [finding for one in first if one.rule.name not in elsewhere for finding in _findings(one, ledger)]
    theirs = aside.findings() if aside else ()
    if theirs is None:
        theirs = (
            finding for one in first if one.rule.name in elsewhere for finding in _findings(one, ledger)
        )
    found.extend(theirs)
    found = concessions.apply(found, names, names if known is None else known, ledger)
    found += [finding for one in last for finding in _findings(one, ledger)]
    return sorted(_once(found), key=Finding.order)


def concerned(rule: Rule, ledger: Ledger) -> int:
    """How many things a rule has something to say of: those that its whens do not rule out, in some mode if it asks of modes."""
    one = ready(rule)
    modes = ledger.installation.modes if rule.mode else (None,)
    return sum(any(_concerns(one, env, mode) for mode in modes) for env in environments(one, ledger))


def _concerns(judge: Judge, env: Environment, mode: Any) -> bool:
    enter(judge, env, mode)
    return judge.when(env) is not False


def enter(judge: Judge, env: Environment, mode: Any) -> None:
    """Make an environment ready for the conditions of one mode."""
    if judge.rule.mode is not None:
        env[judge.rule.mode.slot] = mode
    for slot, pending in judge.lets:
        env[slot] = pending


def _once(findings: list[Finding]) -> list[Finding]:
    """Findings that say the same of the same things at the same place once."""
    same = {(one.rule, one.things, one.span.order(), one.message): one for one in reversed(findings)}
    return list(same.values())


def _findings(judge: Judge, ledger: Ledger) -> Iterator[Finding]:
    """The findings of one rule: of several modes the worst, of a circuit's two legs the graver."""
    rule = judge.rule
    modes = ledger.installation.modes if rule.mode else (None,)
    of_circuits: dict[tuple[str, ...], Finding] = {}
    for env in environments(judge, ledger):
        found = []
        for mode in modes:
            verdict = _judged(judge, env, mode)
            if verdict is not None:
                found.append(verdict)
        if found and is_leg(env[rule.about.slot]):
            worst = _worst(found)
            of_circuits[worst.things] = _graver(of_circuits.get(worst.things), worst)
        elif found:
            yield _worst(found)
    yield from of_circuits.values()


def _graver(one: Finding | None, other: Finding) -> Finding:
    """Of two findings of the same names the graver, of two alike the first."""
    ranks = (*SEVERITIES, UNPROVEN)
    return other if one is None or ranks.index(other.severity) < ranks.index(one.severity) else one


def environments(judge: Judge, ledger: Ledger) -> Iterator[Environment]:
    """One environment for each thing that the rule is about."""
    about, of = judge.rule.about, judge.rule.of
    field = parent_field(about.kind, of.kind) if of else None
    for thing in ledger.index(f"each {about.kind}", lambda: tuple(each(ledger.installation, about.kind))):
        env: Environment = [None] * judge.rule.slots
        env[0], env[about.slot] = ledger, thing
        if of is not None:
            env[of.slot] = parent(thing, field or "", of.kind)
            if env[of.slot] is None:
                continue
        yield env


def _judged(judge: Judge, env: Environment, mode: Any) -> Verdict | None:
    """The finding in one environment with how far off it is, or None where the rule holds or does not concern the thing.

    A rule says: when these hold, those are needed. It is proved broken only where the whens certainly hold and a need
    certainly does not, and it holds wherever all needs do, whatever the whens.
    """
    enter(judge, env, mode)
    concerned = judge.when(env)
    if concerned is False:
        return None
    failed, reasons = None, []
    for n, need in enumerate(judge.needs):
        answer = need(env)
        if type(answer) is Reasons:
            reasons.append(answer)
        elif not answer and failed is None:
            failed = n
    if failed is None and not reasons:
        return None
    if failed is not None and concerned is True:
        return judge.telling.excess[failed](env), finding(judge.telling, env, failed, None)
    if concerned is not True:
        reasons.insert(0, concerned)
    return -1.0, finding(judge.telling, env, None, merged(reasons))


def _worst(verdicts: Sequence[Verdict]) -> Finding:
    """The finding of the mode where the need is missed most; only if none is, the unproven one, wanting what all want."""
    worst, found = max(verdicts, key=lambda verdict: verdict[0])
    if worst >= 0 or len(verdicts) == 1:
        return found
    wanted = {(one.what, one.span.order()): one for _, each in verdicts for one in each.missing}
    return replace(verdicts[0][1], missing=tuple(wanted.values()))

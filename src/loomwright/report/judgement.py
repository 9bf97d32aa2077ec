"""A rule on one thing of a spec: its conditions with their answers, the figures behind them, and the verdict."""

from __future__ import annotations

from collections.abc import Iterator

from loomwright.facts.connection import spoken
from loomwright.model.things import End, Joint
from loomwright.report import text
from loomwright.report.check import Report
from loomwright.report.derivation import Told, beneath, who
from loomwright.rulebook.dimensions import noun
from loomwright.rulebook.finding import UNPROVEN
from loomwright.rulebook.proof import NOT_ASKED, NOT_KNOWN, Proof, proofs
from loomwright.rulebook.tree import Rule
from loomwright.rulebook.verdicts import FOUND, HOLDS, NOT_CONCERNED

VERDICTS = {
    FOUND: "it does not hold",
    UNPROVEN: "it can't be told yet",
    HOLDS: "it holds",
    NOT_CONCERNED: "the rule does not concern it",
}
ANSWER = max(len(NOT_KNOWN), len(NOT_ASKED)) + 2  # columns an answer takes


def judgement(rule: Rule, report: Report, name: str, kind: str) -> str:
    """The rule on all things that go by the name `name`, of `kind`; of several modes the worst in full."""
    assert report.ledger is not None
    head = [f"{rule.name}: {rule.severity}", rule.title, ""]
    found = proofs(rule, report.ledger, name)
    if not found:
        what = f"{rule.name} is about {noun('thing ' + rule.about.kind)}; {name} is {noun('thing ' + kind)}"
        return f"{what}: the rule does not concern it\n"
    told = Told()
    blocks = ["\n".join(_of_thing(of_modes, Told(told.facts))) for of_modes in found]
    blocks += text.blocks(one for one in report.findings if name in one.things)
    return "\n".join(head) + "\n" + "\n\n".join(blocks) + "\n"


def _of_thing(of_modes: list[Proof], told: Told) -> Iterator[str]:
    worst, *others = of_modes
    yield f"{_named(worst, len(of_modes))}: {VERDICTS[worst.outcome]}"
    for clause in worst.clauses:
        yield f"{text.INDENT}{clause.word.ljust(text.LABEL)}{clause.answer.ljust(ANSWER)}{clause.text}"
        yield from beneath(clause.read, told, 3)
    yield from (f"{_named(one)}: {VERDICTS[one.outcome]}" for one in others)


def _named(proof: Proof, of: int = 1) -> str:
    """ "main in mode driving, the worst of 3 modes"."""
    mode = f" in mode {proof.mode.name}" if proof.mode is not None else ""
    thing = spoken(proof.thing) if isinstance(proof.thing, (End, Joint)) else who(proof.thing)
    return f"{thing}{mode}" + (f", the worst of {of} modes" if of > 1 else "")

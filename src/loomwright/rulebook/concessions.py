"""Concessions: findings knowingly accepted, and the facts by which rules judge the concessions themselves."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from loomwright.facts.registry import Ledger, Missing, fact
from loomwright.model.things import Concession, Unknown
from loomwright.record import replace
from loomwright.rulebook.finding import UNPROVEN, Conceded, Finding
from loomwright.syntax.hints import nearest

KIND = "concession"
_COVERED = "findings that each concession matches"
_JUDGED = "rules that were judged"
_KNOWN = "rules that there are"


def apply(
    findings: list[Finding], judged: Iterable[str], known: Iterable[str], ledger: Ledger
) -> list[Finding]:
    """The findings, those that a concession covers marked as conceded.

    What each concession matched is kept in the ledger, with the names of the rules judged and of all that there are.
    """
    matched: dict[Concession, list[Finding]] = {one: [] for one in ledger.installation.concessions}
    ledger.kept.update({_COVERED: matched, _JUDGED: frozenset(judged), _KNOWN: frozenset(known)})
    return [_conceded(finding, matched, ledger) for finding in findings]


def _conceded(finding: Finding, matched: dict[Concession, list[Finding]], ledger: Ledger) -> Finding:
    for concession, covered in matched.items():
        if concession.rule != finding.rule or not concerns(concession, finding):
            continue
        covered.append(finding)
        if not expired(concession, ledger) and not lacks_date(concession, finding):
            until = concession.until.isoformat() if concession.until else None
            return replace(finding, conceded=Conceded(concession.reason, concession.by, until))
    return finding


def concerns(concession: Concession, finding: Finding) -> bool:
    """Whether the finding is about the thing conceded for, or about a terminal of it."""
    name = concession.name
    return any(thing == name or thing.startswith(f"{name}.") for thing in finding.things)


def expired(concession: Concession, ledger: Ledger) -> bool:
    """Whether it ran out before today. Without a today nothing runs out."""
    until, today = concession.until, ledger.today
    return until is not None and today is not None and today > until


def lacks_date(concession: Concession, finding: Finding) -> bool:
    """A dangerous finding is conceded for a time only; so is one that can't be proved not to be dangerous."""
    return concession.until is None and finding.rule_severity == "dangerous"


@fact(KIND, "rule", "text", "The rule whose findings are conceded.")
def _rule(concession: Concession, _ledger: Ledger) -> str:
    return concession.rule


@fact(KIND, "until", "date", "The last day on which it holds; none where it has no end.")
def _until(concession: Concession, _ledger: Ledger) -> Any:
    return concession.until


@fact(KIND, "by", "text", "Who conceded.")
def _by(concession: Concession, _ledger: Ledger) -> str:
    return concession.by


@fact(KIND, "expired", "yes-no", "Whether its last day is past.")
def _expired(concession: Concession, ledger: Ledger) -> bool:
    return expired(concession, ledger)


@fact(KIND, "covers", "count", "How many findings it matches, expired or not.")
def _covers(concession: Concession, ledger: Ledger) -> int:
    return len(ledger.kept.get(_COVERED, {}).get(concession, ()))


@fact(KIND, "concedes", "count", "How many findings it would turn into conceded ones if it has not expired.")
def _concedes(concession: Concession, ledger: Ledger) -> int:
    covered = ledger.kept.get(_COVERED, {}).get(concession, ())
    return sum(1 for finding in covered if not lacks_date(concession, finding))


@fact(
    KIND,
    "judged",
    "yes-no",
    "Whether its rule was judged, so that what it concedes is known; yes for a rule that there is not.",
)
def _judged(concession: Concession, ledger: Ledger) -> bool:
    return concession.rule in ledger.kept.get(_JUDGED, ()) or concession.rule not in _known(ledger)


@fact(KIND, "idle-because", "text", "Why it concedes nothing, in words; none where it concedes something.")
def _idle_because(concession: Concession, ledger: Ledger) -> str | None:
    known = _known(ledger)
    if concession.rule not in known:
        near = nearest(concession.rule, known)
        return f"there is no rule '{concession.rule}'" + (f": did you mean '{near}'?" if near else "")
    if ledger.get(concession, "concedes"):
        _must_be_proven(concession, ledger)
        return None
    if ledger.get(concession, "covers"):
        return "a dangerous finding can be conceded only with `until` and a date"
    return f"{concession.name} has no finding of {concession.rule}"


def _must_be_proven(concession: Concession, ledger: Ledger) -> None:
    """Raises Missing where every finding that it covers is unproven: what it concedes may not be so."""
    covered: list[Finding] = ledger.kept[_COVERED][concession]
    if all(finding.severity == UNPROVEN for finding in covered):
        raise Missing(*(Unknown(one.what, one.span) for finding in covered for one in finding.missing))


def _known(ledger: Ledger) -> frozenset[str]:
    names: frozenset[str] = ledger.kept.get(_KNOWN, frozenset())
    return names

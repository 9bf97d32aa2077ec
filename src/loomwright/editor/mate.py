"""The mate: a second process that judges some of the rules while the server judges the others.

It is given the texts, and gives back what it found. It decides nothing: where it fails or takes too long it is sent away, and
the server judges all by itself, as it does until the mate is warm.
"""

from __future__ import annotations

import logging
import signal
from collections.abc import Mapping
from functools import cache
from typing import TYPE_CHECKING, NamedTuple

from loomwright import garbage
from loomwright.record import replace
from loomwright.report import basis
from loomwright.report.check import Wishes, check
from loomwright.rulebook.finding import Finding

if TYPE_CHECKING:
    from multiprocessing.connection import Connection
    from multiprocessing.process import BaseProcess

    from loomwright.syntax.parse import Parsed

AREAS = ("batteries", "cable", "terminations")
"""The files of the rule book that the mate judges by: with all that their facts rest on they take as long as the others do."""

MOMENT = 0.005
"""Seconds that the last answer, which nobody waited for, may still take: of a text with an error it comes at once."""

PATIENCE = 5.0
"""Seconds for an answer that takes a tenth of one."""

log = logging.getLogger("loomwright.editor")


@cache
def share() -> frozenset[str]:
    """The names of the mate's rules."""
    from loomwright.rulebook.load import load_rules

    files = {f"rules/{area}.rules" for area in AREAS}
    return frozenset(rule.name for rule in load_rules() if rule.span.source.path in files)


class Question(NamedTuple):
    """A spec's text and path, what is to be looked at, and the texts of included files that are not to be read from the disk."""

    text: str
    spec: str
    wishes: Wishes
    texts: Mapping[str, str]


class Asked(NamedTuple):
    """The mate at work on its rules."""

    mate: Mate
    names: frozenset[str]

    def findings(self) -> tuple[Finding, ...] | None:
        """What it finds; None where it fails."""
        return self.mate.answer()


class Mate:
    """The process, which comes when it is first asked, and the line to it."""

    def __init__(self) -> None:
        self._process: BaseProcess | None = None
        self._line: Connection | None = None
        self._owes = False  # an answer that must be fetched before the next question
        self._gone = False

    def leave(self) -> None:
        """Send it away for good."""
        self._gone = True
        if self._line is not None:
            self._line.close()
        if self._process is not None:
            self._process.kill()
            self._process.join()
        self._process = self._line = None

    def ask(self, question: Question) -> Asked | None:
        """Have a spec judged by its rules; None while it is not ready, and where not all rules are to be judged. With the first
        question it only warms up."""
        wishes = question.wishes
        if self._gone or wishes.only or wishes.skip or not wishes.judging:
            return None
        is_new = self._line is None
        try:
            line = self._line or self._come()
            if self._owes and not line.poll(MOMENT):
                return None  # still at the last one
            if self._owes:
                line.recv()  # nobody waited for it
            line.send(question)
        except (EOFError, OSError):
            self.leave()
            return None
        self._owes = True
        return None if is_new else Asked(self, share())

    def _come(self) -> Connection:
        import multiprocessing

        context = multiprocessing.get_context("spawn")
        self._line, other_end = context.Pipe()
        self._process = context.Process(target=_work, args=(other_end,), daemon=True)
        self._process.start()
        other_end.close()
        return self._line

    def answer(self) -> tuple[Finding, ...] | None:
        """What it found of what it was asked last."""
        try:
            if self._line is not None and self._line.poll(PATIENCE):
                found: tuple[Finding, ...] | None = self._line.recv()
                self._owes = False
                return found
            log.error("the second process does not answer: this one goes on alone")
        except (EOFError, OSError):
            log.error("the second process has ended: this one goes on alone")
        self.leave()
        return None


def _work(line: Connection) -> None:
    """What the mate does until the line is closed."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # that is for the server, which closes the line
    garbage.seldom()
    before: dict[str, Parsed] = {}
    try:
        while True:
            if not line.poll(garbage.REST):
                garbage.now()
            line.send(_found(line.recv(), before))
    except (EOFError, OSError):
        return


def _found(question: Question, before: dict[str, Parsed]) -> tuple[Finding, ...] | None:
    """None where there is a fault: the server meets it too, and tells of it."""
    text, spec, wishes, texts = question
    _, reading = basis.recording(texts.get)
    try:
        report = check(text, spec, replace(wishes, only=share()), reading, before)
    except Exception:
        return None
    return report.findings

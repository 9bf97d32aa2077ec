"""A spec checked whenever it, what it includes or the house's rules are saved."""

from __future__ import annotations

import datetime
import os
import time
from collections.abc import Callable, Collection
from dataclasses import dataclass, field
from html import escape

from loomwright.model.files import FileTrouble, read_file
from loomwright.report import basis
from loomwright.report.check import Report, Wishes, check
from loomwright.sheets.job import NEIGHBOUR, NoPapers, job_of
from loomwright.sheets.papers import papers
from loomwright.source import Problem
from loomwright.watching.glance import Glance

PAUSE_S = 0.2
"""Between two looks; a change is told after two looks that show the same."""

PAGE = """<!doctype html>
<html lang="en"><head><meta charset="utf-8"><title>{title}</title>
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'">
<style>body{{font:1rem/1.5 sans-serif;margin:2rem auto;max-width:60rem;padding:0 1rem}}pre{{white-space:pre-wrap}}</style>
</head><body><main><h1>{title}</h1>
<p>There are no papers until this is mended. Saving the spec brings them back by itself.</p>
{rows}</main></body></html>
"""


@dataclass(slots=True)
class Watch:
    """One spec that is being watched. `tell` gets every report, or why there is none; `show` every page, with `only` the sheets
    named or all."""

    spec: str
    tell: Callable[[Report | str], None]
    show: Callable[[str], None]
    fault: Callable[[Exception], str] = repr
    today: datetime.date | None = None
    only: Collection[str] = ()
    glance: Glance = field(default_factory=Glance)
    includes: tuple[str, ...] = ()

    def files(self) -> tuple[str, ...]:
        """All that the findings and the papers rest on; also what is not there, for it may come."""
        beside = os.path.join(os.path.dirname(self.spec), NEIGHBOUR)
        return self.spec, *self.includes, *basis.house_files(self.spec), beside

    def look(self) -> bool:
        """Look once; whether something had changed and was told."""
        if not self.glance.changed(self.files()):
            return False
        try:
            self._check()
        except FileTrouble as trouble:
            self.tell(f"{trouble}; waiting for it")
            self.show(_page(self.spec, [str(trouble)]))
        except Exception as fault:  # a rule that fails must not end the watch
            said = self.fault(fault)
            self.tell(said)
            self.show(_page(self.spec, [said]))
        self.glance.settle(self.files())
        return True

    def _check(self) -> None:
        text = read_file(self.spec)
        seen, reading = basis.recording()
        try:
            report = check(text, self.spec, Wishes(today=self.today), reading)
        finally:
            self.includes = tuple(seen)
        self.tell(report)
        self.show(self._papers(text, report))

    def _papers(self, text: str, report: Report) -> str:
        from loomwright.sheets import render

        if report.errors or report.ledger is None:
            fragment = [f"{self.spec} has no 'fitout' of its own: watch the spec that includes it"]
            return _page(self.spec, [_line(problem) for problem in report.errors] or fragment)
        try:
            return render.html(papers(job_of(text, self.spec, self.today), self.only))
        except NoPapers as none:  # saved anew between the two looks at it
            return _page(self.spec, [_line(problem) for problem in none.problems])

    def forever(self) -> None:
        while True:
            self.look()
            time.sleep(PAUSE_S)


def _line(problem: Problem) -> str:
    where = f"{problem.span.source.path}:{problem.span.line}:{problem.span.column}"
    return f"{where}: {problem.message}" + (f"\n{problem.hint}" if problem.hint else "")


def _page(spec: str, lines: list[str]) -> str:
    rows = "".join(f"<pre>{escape(line)}</pre>\n" for line in lines)
    return PAGE.format(title=escape(f"{os.path.basename(spec)} can't be read"), rows=rows)

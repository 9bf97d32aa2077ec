"""Findings in print: the first line, the spec's own line, the labels, the summary."""

from __future__ import annotations

import re

from loomwright.report import text
from loomwright.report.check import Checked, Report, together
from loomwright.report.json_form import as_data
from loomwright.rulebook.finding import Conceded, Finding, Rested, Wanted
from loomwright.source import Problem, Source

SOURCE = Source(
    "van.fitout",
    'fitout "Van" {\n    system 12 V\n}\nfeed main from crank.pos to house.pos { cable 16 mm² }  # 🔧\n',
)


def finding(severity: str = "dangerous", **changes: object) -> Finding:
    start = SOURCE.text.index("crank.pos")
    fields = {
        "rule": "unfused-feed",
        "severity": severity,
        "rule_severity": "dangerous",
        "span": SOURCE.span(start, start + len("crank.pos")),
        "things": ("main",),
        "at": "crank.pos",
        "message": "main leaves crank.pos with no fuse",
        "why": "A rub-through meets 1 800 A with nothing to stop it.",
        "do": "Fit a fuse of at most 60 A within 178 mm of crank.pos.",
        "sources": ("33 CFR 183.455",),
    }
    return Finding(**{**fields, **changes})  # type: ignore[arg-type]


def report(*findings: Finding, errors: tuple[Problem, ...] = ()) -> Report:
    return Report((Checked("van.fitout", "Van", "planned", 1, 2, 30),), findings, errors)


def test_a_finding_reads_as_a_foreman_would_say_it() -> None:
    assert text.text(report(finding())) == (
        "van.fitout:4:16: dangerous: main leaves crank.pos with no fuse [unfused-feed]\n"
        "    feed main from crank.pos to house.pos { cable 16 mm² }  # 🔧\n"
        "    at      crank.pos\n"
        "    why     A rub-through meets 1 800 A with nothing to stop it.\n"
        "    do      Fit a fuse of at most 60 A within 178 mm of crank.pos.\n"
        "    source  33 CFR 183.455\n"
        "\n"
        "1 dangerous\n"
        "checked 30 rules on 1 run and 2 devices in 1 file\n"
    )


def test_what_must_be_looked_at_stands_once_with_the_rules_that_wait_for_it() -> None:
    place = SOURCE.span(SOURCE.text.index("cable"), SOURCE.text.index("cable") + 5)
    found = [
        finding("unproven", missing=(Wanted("the cable size of main", place),), rule=rule)
        for rule in ("a", "b")
    ]
    assert (
        text.text(report(*found)).splitlines()[0]
        == "van.fitout:4:41: unproven: look at the cable size of main [a, b]"
    )
    assert "    do " not in text.text(report(*found))


def test_a_conceded_finding_stays_listed_and_counts_apart() -> None:
    conceded = Conceded("fuse holder is on order", "RM", "2026-12-01")
    shown = text.text(report(finding(conceded=conceded), finding()))
    assert "conceded dangerous" in shown
    assert "    agreed  fuse holder is on order (RM until 2026-12-01)" in shown
    assert "1 dangerous; 1 conceded" in shown


def test_gnu_lines_are_one_a_finding() -> None:
    error = Problem(SOURCE.span(0, 6), "'fitout' stands twice", "write it once")
    lines = text.gnu(report(finding(), errors=(error,))).splitlines()
    assert lines == [
        "van.fitout:1:1: error: 'fitout' stands twice",
        "van.fitout:4:16: dangerous: main leaves crank.pos with no fuse [unfused-feed]",
    ]


def test_errors_keep_the_summary_from_calling_the_spec_sound() -> None:
    error = Problem(SOURCE.span(0, 6), "'fitout' stands twice")
    assert "1 error; not checked until mended" in text.text(report(errors=(error,)))


def test_colour_adds_nothing_but_colour() -> None:
    plain, coloured = text.text(report(finding())), text.text(report(finding()), colour=True)
    assert coloured != plain
    assert re.sub(r"\x1b\[[0-9;]*m", "", coloured) == plain


def test_a_finding_in_a_shared_include_stands_once() -> None:
    assert len(together([report(finding()), report(finding())]).findings) == 1


def test_the_threshold_counts_worse_classes_and_no_conceded_ones() -> None:
    assert report(finding("major")).reaches("minor")
    assert not report(finding("minor")).reaches("major")
    assert report(finding("unproven")).reaches("unproven")
    assert not report(finding("unproven")).reaches("minor")
    assert not report(finding(conceded=Conceded("known", "RM", "2026-12-01"))).reaches("unproven")


def test_a_fact_without_end_is_null_in_json_and_says_so_in_its_text() -> None:
    never = Rested("fuse.opens-by", float("inf"), "s", "no end")
    (shown,) = as_data(report(finding(facts=(never,))))["findings"][0]["facts"]
    assert (shown["value"], shown["text"]) == (None, "no end")

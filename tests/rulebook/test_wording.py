"""What findings call things, and how their sentences read where something is not known."""

from __future__ import annotations

import re

import loomwright
from loomwright.rulebook.finding import Finding

SYSTEM = """
fitout "Van" { stage %s; system 12 V }
place bay { ambient 40 degC }
structure skin { metal steel; bonded crank.neg }
battery crank in bay { chemistry lead-acid; capacity 75 Ah; internal 7 mohm; stud M8 }
load pump in bay { draws 7 A }
%s
earth back from pump.neg to crank.neg { cable 6 mm2; along bay 1 m%s }
"""


def findings(run: str, ends: str = "", stage: str = "planned") -> list[Finding]:
    report = loomwright.check(SYSTEM % (stage, run, ends), "van.fitout")
    assert not report.errors, report.errors
    return list(report.findings)


def one(found: list[Finding], rule: str) -> Finding:
    (only,) = [finding for finding in found if finding.rule == rule and not finding.missing]
    return only


FUSES = "feed main from crank.pos to pump.pos { cable 10 mm2; along bay 4 m; %s }"


def test_two_fuses_of_one_run_are_told_apart_by_the_end_that_each_is_measured_from() -> None:
    run = FUSES % "fuse strip 60 A at 0.1 m from crank.pos; fuse strip 60 A at 0.2 m from pump.pos"
    told = one(findings(run), "no-selectivity")
    assert (
        "the fuse of main at pump.pos of 60 A does not open surely before the fuse of main at crank.pos"
        in (told.message)
    )


def test_two_fuses_measured_from_one_end_are_told_apart_by_their_distance_too() -> None:
    run = FUSES % "fuse strip 60 A at 0.1 m from crank.pos; fuse strip 60 A at 2 m from crank.pos"
    told = one(findings(run), "no-selectivity")
    assert "the fuse of main at 2 m from crank.pos of 60 A" in told.message
    assert "before the fuse of main at 0.1 m from crank.pos" in told.message


def test_the_one_fuse_of_a_run_needs_no_place() -> None:
    told = {finding.message for finding in findings(FUSES % "fuse breaker-auto 20 A at 0.1 m")}
    assert any("the fuse of main" in message for message in told), told
    assert not any("the fuse of main at" in message for message in told)


def test_an_unknown_length_after_its_takes_no_article_and_an_unknown_size_is_left_out_of_the_advice() -> None:
    told = one(findings("feed main from crank.pos to pump.pos"), "unfused-feed")
    assert told.why.startswith("A rub-through anywhere along its unknown length meets ")
    assert told.do == "Fit a fuse within 178 mm of crank.pos."


def test_what_can_t_be_told_yet_gives_no_reason_and_no_advice_that_names_what_is_not_known() -> None:
    found = findings("feed main from crank.pos to pump.pos { cable unknown; fuse strip 60 A at 0.1 m }")
    waiting = [finding for finding in found if finding.missing]
    assert len(waiting) > 5
    assert not [text for one in waiting for text in (one.why, one.do) if "unknown" in text]
    assert "" in {one.do for one in waiting}
    assert any(one.do for one in waiting), "advice without a figure stands as it did"


def test_what_a_return_is_too_small_for_is_said_as_far_as_it_is_known() -> None:
    run = "feed main from crank.pos to pump.pos { cable 25 mm2; fuse strip 100 A at 0.1 m }"
    told = one(findings(run), "undersized-earth")
    assert "unknown" not in told.message + told.do
    assert re.search(r"is too small a return: .*its feed has 25 mm²", told.message)


def test_ends_of_one_clause_are_named_together_and_mended_in_that_clause() -> None:
    run = FUSES % "fuse blade 20 A at 0.1 m"
    text = SYSTEM % ("planned", run, "; ends twisted sealed")
    told = one(findings(run, "; ends twisted sealed"), "twisted-joint")
    assert told.message == "the ends of back are twisted strands"
    (edit,) = told.edits
    mended = text[: edit.span.start] + edit.text + text[edit.span.end :]
    assert mended == SYSTEM % ("planned", run, "; ends crimped sealed")
    after = loomwright.check(mended, "van.fitout").findings
    assert "the ends of back" not in " ".join(finding.message for finding in after)
    assert not [finding for finding in after if finding.rule == "twisted-joint" and not finding.missing]


def test_an_end_with_a_clause_of_its_own_is_named_and_mended_by_itself() -> None:
    run = FUSES % "fuse blade 20 A at 0.1 m"
    found = findings(run, "; ends twisted sealed; end pump.neg lug 6 mm2 M6")
    told = {one.message: one.edits for one in found if one.rule == "twisted-joint" and not one.missing}
    assert list(told) == [
        "the end of back at crank.neg is twisted strands",
        "the end of back at pump.neg is twisted strands",
    ]


def test_what_the_practice_says_of_all_ends_is_mended_by_a_clause_of_the_run() -> None:
    text = "practice { ends twisted sealed }" + SYSTEM % ("planned", FUSES % "fuse blade 20 A at 0.1 m", "")
    found = loomwright.check(text, "van.fitout").findings
    told = [one for one in found if one.rule == "twisted-joint"]
    assert {"the ends of back are twisted strands"} <= {finding.message for finding in told}
    for finding in sorted(told, key=lambda one: -one.edits[0].span.start):
        (edit,) = finding.edits
        assert edit.text.strip(" ;{}\n") == "ends crimped"
        text = text[: edit.span.start] + edit.text + text[edit.span.end :]
    after = loomwright.check(text, "van.fitout").findings
    assert "twisted-joint" not in {finding.rule for finding in after}

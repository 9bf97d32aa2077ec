"""The inspection report: worst first, each fault once with its places, and nothing that no finding says."""

from __future__ import annotations

import re

import pytest
from syrupy.assertion import SnapshotAssertion
from tests.sheets.job import PLANNED, SPECS, job_at, job_in, made, markdown_of, tables, words

from loomwright.rulebook.finding import SEVERITIES
from loomwright.sheets.inspection import entries
from loomwright.sheets.job import Job

AS_FOUND = SPECS / "orchard-bees" / "as-found.fitout"
TAPED = """
fitout "Taped" {{ stage as-found; system 12 V }}
place bay {{ ambient 30 degC }}
place box {{ ambient 30 degC }}
structure chassis {{ metal steel; bonded crank.neg }}
battery crank in bay {{ chemistry lead-acid; capacity 75 Ah; internal 7 mohm; stud M8 }}
{loads}
{runs}
"""


def taped(count: int) -> Job:
    """So many circuits, each with a taped end in the box."""
    loads = "\n".join(f"load lamp{n} in box {{ draws 1 A }}" for n in range(count))
    runs = "\n".join(
        f"feed feed{n} from crank.pos to lamp{n}.pos {{ cable 4 mm2 red; along bay 1 m, box 1 m; fuse blade 10 A at 0.1 m"
        f'; sleeve split-tube; clips 0.2 m; label "L{n}"; end crank.pos lug 4 mm2 M8 crimped sealed tight'
        f"; end lamp{n}.pos blade-terminal crimped taped tight }}\n"
        f"earth back{n} from lamp{n}.neg to crank.neg {{ cable 4 mm2 black; along box 1 m, bay 1 m; sleeve split-tube; clips 0.2 m"
        f"; end crank.neg lug 4 mm2 M8 crimped sealed tight; end lamp{n}.neg blade-terminal crimped sealed tight }}"
        for n in range(count)
    )
    return job_in(TAPED.format(loads=loads, runs=runs))


def test_the_report_on_what_came_in_reads_so(snapshot: SnapshotAssertion) -> None:
    assert markdown_of(made("inspection", job_at(AS_FOUND))) == snapshot


def test_ten_taped_ends_are_one_fault_with_ten_places() -> None:
    job = taped(10)
    fault = next(one for one in entries(job) if one.rule == "taped-joint")
    assert len(fault.findings) == 10
    number = [one.rule for one in entries(job)].index("taped-joint") + 1
    (table,) = tables(made("inspection", job), f"Places of fault {number}")
    assert [words(row)[0] for row in table.rows] == ["box"] * 10


def test_worse_faults_stand_before_milder_ones() -> None:
    ranks = [SEVERITIES.index(one.severity) for one in entries(job_at(AS_FOUND))]
    assert ranks == sorted(ranks)
    assert ranks[0] == 0


def test_every_finding_stands_once_and_what_is_not_proved_is_told_as_not_seen() -> None:
    job = job_at(AS_FOUND)
    proved = [one for one in job.findings if one.severity != "unproven" and not one.conceded]
    assert sorted(one.message for entry in entries(job) for one in entry.findings) == sorted(
        one.message for one in proved
    )
    text = markdown_of(made("inspection", job))
    unseen = {wanted.what for one in job.findings if one.severity == "unproven" for wanted in one.missing}
    section = text[text.index("### Not seen") :]
    assert unseen
    assert all(what[1:].split("(")[0].strip() in section for what in unseen)


@pytest.mark.parametrize(
    ("path", "title"), [(AS_FOUND, "Inspection report"), (PLANNED, "Findings of the design")]
)
def test_a_design_is_not_called_an_inspection(path: str, title: str) -> None:
    assert made("inspection", job_at(path)).title == title  # type: ignore[arg-type]


def test_a_conceded_finding_stands_apart_with_its_reason() -> None:
    job = job_in(
        TAPED.format(loads="", runs='concession no-return on crank { reason "later"; by "RM" }').replace(
            "structure chassis { metal steel; bonded crank.neg }", ""
        )
    )
    conceded = [one for one in job.findings if one.conceded]
    text = markdown_of(made("inspection", job))
    assert ("Accepted as it is" in text) == bool(conceded)


def test_what_was_built_is_called_neither_a_design_nor_found() -> None:
    job = job_at(SPECS / "orchard-bees" / "installed.fitout")
    text = markdown_of(made("inspection", job)) + markdown_of(made("cover", job))
    assert made("inspection", job).title == "Findings of the installation"
    assert "before it is handed over" in text
    for wrong in ("design:", "not what was seen", "before copper is cut", "This is what came in"):
        assert wrong not in text


def test_a_customer_reads_sentences_printed_units_and_what_each_terminal_is() -> None:
    job = job_at(AS_FOUND)
    sheet = made("inspection", job)
    text = markdown_of(sheet)
    assert "mm2" not in text
    assert not re.search(r"(\| |found\. |do\. )(the|a|an|no|of) ", text)
    (names,) = tables(sheet, "Terminals that are named")
    assert ("box.1", "Way 1 of box, fuse hub 30 A.", "toolbox") in [words(row) for row in names.rows]

"""Twenty different slips in one file give twenty messages, each at its own place."""

from __future__ import annotations

from syrupy.assertion import SnapshotAssertion

from .saying import read

MARK = "«"
SLIPS = """\
# A file with twenty slips: each mark stands right before one.
fitout "Slips" {
    stage     «plannd
    system    «12 m
    drawn     «2026-13-40 by "RM"
    job       «"2026-118
}

place engine-bay { ambient 60 degC; hazards heat, «vibraton }
place toolbox { ambient «60 to 70 degC }

«batery house in toolbox {
    chemistry lifepo4
    capacity  «0 Ah
    «fuse strip 60 A at 0.1 m
    sealed
    «vented
}

load «Lamp in toolbox { draws «1e999 W }

feed main «form crank.pos to house.pos {
    cable  «6 mm red
    along  engine-bay «0,7 m, toolbox 2 m
    «fuze   strip 60 A at 0.15 m
    fuse   strip 60 A «0.15 m
    sleeve split-tube
    «sleeve braid
    end    crank.pos lug 8 B&S«
    label  "MAIN"
}

«frobnicate main { this is; no clause }
"""


def places(marked: str) -> list[tuple[int, int]]:
    """Line and column of every mark, had the others not been there."""
    found = []
    for number, line in enumerate(marked.split("\n"), start=1):
        column = -1
        while (column := line.find(MARK)) >= 0:
            found.append((number, column + 1))
            line = line[:column] + line[column + 1 :]
    return found


def test_twenty_slips_give_twenty_messages_at_their_places(snapshot: SnapshotAssertion) -> None:
    parsed = read(SLIPS.replace(MARK, ""))
    assert [(problem.span.line, problem.span.column) for problem in parsed.problems] == places(SLIPS)
    assert len(parsed.problems) == parsed.count == 20
    report = []
    for problem in parsed.problems:
        line = problem.span.source.line_text(problem.span.line).strip()
        report += [f"{problem.span.line}:{problem.span.column}  {line}", f"    {problem.message}"]
        report += [f"    {problem.hint}"] if problem.hint else []
    assert "\n".join(report) == snapshot


def test_what_stands_beside_a_slip_is_still_read() -> None:
    document = read(SLIPS.replace(MARK, "")).document
    read_clauses = {
        (statement.name.text if statement.name else ""): [clause.keyword.text for clause in statement.clauses]
        for statement in document.statements
    }
    assert read_clauses == {
        "": ["stage"],
        "engine-bay": ["ambient", "hazards"],
        "toolbox": [],
        "house": ["chemistry", "sealed"],
        "lamp": [],
        "main": ["fuse", "sleeve", "label"],
    }

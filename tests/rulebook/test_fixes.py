"""Fixes as text edits: after them the spec reads as a person would have written it, and the finding is gone."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from loomwright.rulebook.finding import Finding

from ..edits import edited

Judged = Callable[..., list[Finding]]

RULE = """
rule test-rule major "A test" {
    for KIND
    when WHEN
    need NEED
    say "s"
    why "w"
    do "d"
    FIX
    source practice
}
"""


def rule(kind: str, when: str, need: str, *fixes: str) -> str:
    return (
        RULE.replace("KIND", kind)
        .replace("WHEN", when)
        .replace("NEED", need)
        .replace("FIX", "\n".join(fixes))
    )


def lines_changed(before: str, after: str) -> list[str]:
    old = before.split("\n")
    return [line.strip() for line in after.split("\n") if line not in old]


@pytest.mark.parametrize(
    ("rules", "now", "offered"),
    [
        (rule("fuse u of feed f", "u.kind is strip", "u.rating < 50 A", "fix set u.rating to 0.5 * f.carries"),
         ["fuse   strip 40 A at 0.15 m"], True),
        (rule("feed f", "f.fuse exists", "f.area > 20 mm2", 'fix set f.size to "25 mm2"'), ["cable  25 mm2 red", "end    crank.pos lug 25 mm² M10 crimped bare loose", "end    house.pos lug 25 mm² M8 crimped sealed tight"], True),
        (rule("end e of feed f", "e.held is loose", "e.held is tight", 'fix set e.held to "tight"'),
         ["end    crank.pos lug 16 mm2 M10 crimped bare tight"], False),
        (rule("end e of feed f", 'e.lug-stud = "M10"', 'e.lug-stud = "M8"', 'fix set e.lug-stud to "M8"'),
         ["end    crank.pos lug 16 mm2 M8 crimped bare loose"], False),
        (rule("feed f", "not f.fuse exists", "f.maker", 'fix add f "clips 0.3 m"'), ["clips 0.3 m"], False),
        (rule("feed f", "not f.fuse exists", "f.maker", 'fix add f "fuse strip {f.carries} at {limit.fuse-distance}"'),
         ["fuse strip 30 A at 178 mm"], True),
        (rule("feed f", "f.fuse exists and f.area > 10 mm2", "f.maker", 'fix add f "sleeve braid"', 'fix add f "clips 0.3 m"'),
         ["sleeve braid", "clips 0.3 m"], False),
        (rule("battery b", "b.chemistry is agm", "b.capacity > 200 Ah", "fix set b.capacity to 2000 Ah"),
         ["battery house in tray { chemistry agm; capacity 2000 Ah; stud M8 }"], False),
    ],
)  # fmt: skip
def test_the_edit_is_what_a_person_would_have_written(
    rules: str, now: list[str], offered: bool, judged: Judged, spec: str
) -> None:
    found = next(one for one in judged(rules) if one.edits)
    text = edited(spec, found)
    assert lines_changed(spec, text) == now
    assert {edit.offered for edit in found.edits} == {offered}
    judged(
        'rule other minor "t" { for feed f; need not f.maker; say "s"; why "w"; do "d"; source practice }',
        text,
    )


def test_a_statement_without_braces_gets_them(judged: Judged, spec: str) -> None:
    rules = rule("battery b", "b.chemistry is gel", "b.capacity > 200 Ah", 'fix add b "capacity 300 Ah"')
    bare = spec.replace(
        "battery house in tray { chemistry agm; capacity 100 Ah; stud M8 }", "battery house in tray"
    )
    found = [one for one in judged(rules, bare) if one.edits]
    assert found == []  # nothing is proposed for what is not proved
    loads = rule(
        "load l in each mode m",
        "l.current(m) > 1 A",
        "l.current(m) < 1 A",
        'fix add l "duty 50 %"',
        'fix add l "critical"',
    )
    lamp = judged(
        loads.replace('say "s"', 'say "{m}"'),
        spec.replace("load lamp in tray { draws 5 A }", "load lamp in tray"),
    )[0]
    assert "load lamp in tray { duty 50 %; critical }" in edited(
        spec.replace("load lamp in tray { draws 5 A }", "load lamp in tray"), lamp
    )


def test_a_fix_that_cannot_be_reckoned_is_no_edit_at_all(judged: Judged) -> None:
    rules = rule("feed f", "not f.maker", "f.maker", 'fix add f "clips 0.3 m"', "fix set f.size to f.size")
    assert {one.things[0]: len(one.edits) for one in judged(rules)} == {
        "main": 4,  # with a lug at each end
        "bare": 2,
        "hidden": 0,
        "light": 2,
    }

"""Every message about a rule file, as a workshop that writes its first rule will meet them."""

from __future__ import annotations

from collections.abc import Iterable

import pytest
from syrupy.assertion import SnapshotAssertion

from loomwright.rulebook.load import rulebook_of
from loomwright.rulebook.parse import LONGEST
from loomwright.source import Problem

from .gallery import cases, shown

pytestmark = pytest.mark.usefixtures("nothing_kept")

# ---------------------------------------------------------------- whole rules

HEADS = """
need f.fuse exists
----
}
----
rule thin-cable major "A cable is too thin"
----
rule thin-cable grave "A cable is too thin" {
    for feed f
    need f.fuse exists
    say "a"
    why "b"
    do "c"
    source practice
}
----
rule thin-cable major {
    for feed f
}
----
rule thin-cable major "" {
    for feed f
    need f.fuse exists
    say "a"
    why "b"
    do "c"
    source practice
}
----
rule thin-cable major "A cable is too thin" {
}
----
rule thin-cable major "A cable is too thin" {
    for feed f
    need f.fuse exists
    say "a"
    why "b"
    do "c"
    source practice
----
rule one major "One" {
    for feed f
    need f.fuse exists
    say "a"
    why "b"
    do "c"
    source practice
}
rule one major "Another" {
    for feed f
    need f.fuse exists
    say "a"
    why "b"
    do "c"
    source practice
}
----
rule Thin major "A cable is too thin" {
}
"""

# ---------------------------------------------------------------- clauses in a rule that is otherwise whole

CLAUSES = """
need f.fuse exists
want f.label exists
----
need f.fuse exists
whne f.leaves-source
----
need f.fuse exists
say "again"
say "and again"
----
need f.fuse exists
say ""
----
need f.fuse exists
say "{f} has no fuse
----
need f.fuse exists
say "{f has no fuse"
----
need f.fuse exists
say "{} has no fuse"
----
need f.fuse exists
say "{f.carrys} is too little"
----
need f.fuse exists
source "https://example.org/clause"
----
need f.fuse exists
source hearsay
----
need f.fuse exists
source "ISO 8820-1" quoted
----
need f.fuse exists
at 3 A
----
need f.fuse exists
let limit = 3 A
----
need f.fuse exists
major f.exempt
"""

SUBJECTS_OF_RULES = """
for cable f
need f exists
----
for lug f
need f exists
----
for feed f of battery b
need f.fuse exists
----
for end f of run f
need f exists
----
for load f in each day m
need f exists
----
for load f in each mode m
need f.drop(m) <= 3 %
say "{f} is starved"
"""

EXPRESSIONS = """
need f.carrys >= 10 A
----
need f.capacity >= 10 Ah
----
need u.fuse exists
----
need limit
----
need f.length <= limit.fuse-distanse
----
need f.length <= limit.fuse-distance(3)
----
need f.carries
----
need f.fuse
----
need f.length <= 3 A
----
need f.fuse <= f.fuse
----
need f.length <= 3 parsec
----
need f.length.area = 3 mm2
----
need f.length + f.carries > 3 m
----
need f.hottest + f.hottest > 90 degC
----
need f.carries - f.length > 3 m
----
need f.carries * f.length > 3 m
----
need f.hottest / 3 A > 2
----
need -f.fuse exists
----
need f.fuse.kind is bladder
----
need f.length is blade
----
need f.fuse.kind has blade
----
need f.length > (3 m if f.exempt else 3 A)
----
need f.current <= 3 A
----
need f.length(3 m) <= 3 m
----
need f.withstands(3 m) > 1 s
----
need any of f.fuses
----
need count of f.length > 1
----
need max of f.fuses > 3 A
----
need any x of f.length: x > 3 m
----
need any f of f.fuses: f.rating > 3 A
----
need max x of f.fuses: x.kind > 3
----
need f.fuse exists
let worst = max x of f.fuses: x.kind
----
need any x of f.fuses: any y of f.fuses: any z of f.fuses: z.rating > 3 A
----
need f.length <= 1e999 m
----
need f.length / 1 m <= 1e999
"""

FORMS = """
need f.length <=
----
need <= 3 m
----
need f.length 3 m
----
need f.length <= 3 m $ 2
----
need F.length <= 3 m
----
let f.length
need f.fuse exists
----
for feed
need f.fuse exists
"""

FIXES = """
need f.fuse exists
fix mend f.fuse.rating to 10 A
----
need f.fuse exists
fix set limit.fuse-distance to 10 A
----
need f.fuse exists
fix set f.fuse.rating to 3 m
----
need f.fuse exists
let amps = 3 A
fix add amps "fuse blade 3 A at 0.1 m"
"""

SUBJECTS = {
    "clauses": CLAUSES,
    "what a rule is about": SUBJECTS_OF_RULES,
    "expressions": EXPRESSIONS,
    "form": FORMS,
    "fixes": FIXES,
}


def problems(text: str) -> Iterable[Problem]:
    return rulebook_of([("house.rules", text, False)]).problems


def in_a_rule(text: str) -> Iterable[Problem]:
    """A case within a rule that has whatever the case lacks: two lines above it, the rest below."""
    given = [line.split()[0] for line in text.split("\n")]
    subject = "" if "for" in given else "for feed f"
    rest = {"say": '"{f}"', "why": '"b"', "do": '"c"', "source": "practice"}
    below = [f"{word} {value}" for word, value in rest.items() if word not in given]
    return problems("\n".join(['rule case major "A case" {', subject, text, *below, "}"]))


def test_what_is_said_of_heads_and_whole_rules(snapshot: SnapshotAssertion) -> None:
    assert shown(cases(HEADS), problems) == snapshot


@pytest.mark.parametrize("subject", SUBJECTS)
def test_what_is_said_of(subject: str, snapshot: SnapshotAssertion) -> None:
    assert shown(cases(SUBJECTS[subject]), in_a_rule, above=2) == snapshot


def test_what_is_said_of_a_clause_that_has_no_end(snapshot: SnapshotAssertion) -> None:
    long = "need " + " and ".join(["f.exempt"] * LONGEST)
    deep = "need " + "(not " * 60 + "f.exempt" + ")" * 60
    assert shown([long, deep], in_a_rule, above=2) == snapshot

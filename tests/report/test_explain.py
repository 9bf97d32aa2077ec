"""Everything can be explained: each rule and fact by itself, and the main figures of a spec down to clauses and tables."""

from __future__ import annotations

import pytest
from syrupy.assertion import SnapshotAssertion

from loomwright.facts.registry import FACTS
from loomwright.report.explain import ABOVE, explain, explain_in, limits_in, otherwise
from loomwright.report.files import Unreadable
from loomwright.rulebook.load import load_rules

BOOK = load_rules()
PLANNED = "specs/orchard-bees/planned.fitout"
AS_FOUND = "specs/orchard-bees/as-found.fitout"


@pytest.mark.parametrize("rule", [rule.name for rule in BOOK])
def test_every_rule_is_explained_with_reason_remedy_sources_and_both_examples(rule: str) -> None:
    lines = explain(rule).split("\n")
    known = BOOK.rule(rule)
    assert known is not None
    assert lines[0] == f"{rule}: {known.severity}"
    assert lines[1] == known.title
    labels = [line[:8].strip() for line in lines[3 : lines.index("", 3)]]
    assert labels[:3] == ["says", "why", "do"]
    assert labels.count("class") == len(otherwise(known))
    assert labels.count("limit") == len(limits_in(known))
    assert labels.count("source") == len(known.sources)
    assert lines.index("Fails:") < lines.index("Holds:")


@pytest.mark.parametrize("kind", sorted({kind for kind, _ in FACTS}))
def test_every_fact_of_a_kind_is_explained_with_what_it_is(kind: str) -> None:
    for of, name in FACTS:
        if of == kind:
            lines = explain(f"{kind}.{name}").split("\n")
            assert lines[0].partition("(")[0] == f"{kind}.{name}"
            assert lines[1][:1].isupper(), lines[1]
            assert lines[1].endswith("."), lines[1]
            assert lines[2].startswith("is      ")


def test_a_fact_is_explained_by_its_name_alone_for_every_kind_that_has_it() -> None:
    kinds = {kind for kind, name in FACTS if name == "drop"}
    assert {line.partition(".")[0] for line in explain("drop").split("\n") if ".drop" in line} == kinds


def test_a_fact_names_the_rules_that_ask_for_it() -> None:
    assert "rules   " in explain("run.carries")
    assert "fuse-above-cable" in explain("run.carries")
    assert "unfused-feed" not in explain("run.carries")


# What a reviewer asks for first: what a cable carries, what a fault draws, what a fuse does, what arrives at a load.
MAIN = [
    ("run.carries", "main"),
    ("run.start-fault", "main"),
    ("run.drop", "main"),
    ("run.withstands", "main"),
    ("fuse.opens-by", "main"),
    ("fuse.load-current", "main"),
    ("load.volts", "incubator"),
    ("load.drop", "incubator"),
    ("battery.amps", "house"),
]


@pytest.mark.parametrize(("fact", "name"), MAIN, ids=[f"{fact} of {name}" for fact, name in MAIN])
@pytest.mark.usefixtures("in_checkout")
def test_the_figure_reads_from_result_to_clause(fact: str, name: str, snapshot: SnapshotAssertion) -> None:
    assert explain_in(fact, PLANNED, name) == snapshot


@pytest.mark.usefixtures("in_checkout")
def test_nothing_is_said_twice_in_one_derivation() -> None:
    for fact, name in MAIN:
        for derivation in explain_in(fact, PLANNED, name).split("\n\n"):
            lines = [line.strip() for line in derivation.strip().split("\n")]
            fresh = [line for line in lines if not line.endswith(ABOVE)]
            noted = [line for line in fresh if " = " not in line]
            assert len(noted) == len(set(noted)), derivation


@pytest.mark.usefixtures("in_checkout")
def test_what_is_not_known_says_what_to_look_at_and_where() -> None:
    told = explain_in("run.carries", AS_FOUND, "pump")
    assert "unknown: the cable size of pump  as-found.fitout:" in told


@pytest.mark.usefixtures("in_checkout")
def test_the_two_legs_of_a_circuit_are_told_apart() -> None:
    told = explain_in("run.length", PLANNED, "incubator-feed")
    assert "incubator-feed.length = " in told
    assert "the return of incubator-feed.length = " in told


@pytest.mark.usefixtures("in_checkout")
def test_a_rule_is_explained_on_a_thing_whether_it_fails_there_or_not() -> None:
    assert "[unfused-feed]" in explain_in("unfused-feed", AS_FOUND, "main")
    assert "has nothing to say about main" in explain_in("unfused-feed", PLANNED, "main")


@pytest.mark.parametrize(
    ("topic", "spec", "name", "message"),
    [
        (
            "unfused-fed",
            PLANNED,
            "main",
            "there is no rule or fact 'unfused-fed': did you mean 'unfused-feed'?",
        ),
        ("run.carrys", PLANNED, "main", "there is no rule or fact 'run.carrys': did you mean 'run.carries'?"),
        ("run.carries", PLANNED, "mian", f"{PLANNED} has nothing called 'mian': did you mean 'main'?"),
        ("run.carries", PLANNED, "house", "carries is a fact of a run; house is a battery"),
        (
            "run.carries",
            "specs/none.fitout",
            "main",
            "specs/none.fitout can't be read: there is no such file",
        ),
    ],
)
@pytest.mark.usefixtures("in_checkout")
def test_what_can_t_be_explained_is_said(topic: str, spec: str, name: str, message: str) -> None:
    with pytest.raises(Unreadable) as refused:
        explain_in(topic, spec, name)
    assert str(refused.value) == message

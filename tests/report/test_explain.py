"""Everything can be explained: each rule and fact by itself, and the main figures of a spec down to clauses and tables."""

from __future__ import annotations

import re
from math import log

import pytest
from syrupy.assertion import SnapshotAssertion

from loomwright.facts.registry import FACTS
from loomwright.report.check import check
from loomwright.report.currents import currents
from loomwright.report.derivation import ABOVE
from loomwright.report.explain import explain, explain_in, limits_in, otherwise
from loomwright.report.files import Unreadable, read_spec
from loomwright.rulebook.finding import UNPROVEN
from loomwright.rulebook.load import load_rules
from loomwright.rulebook.proof import proofs
from loomwright.rulebook.verdicts import FOUND

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
def test_a_rule_that_holds_shows_its_conditions_and_the_figures_behind_them(
    snapshot: SnapshotAssertion,
) -> None:
    assert explain_in("cable-overloaded", PLANNED, "main") == snapshot


@pytest.mark.usefixtures("in_checkout")
def test_a_rule_that_fails_shows_the_condition_that_says_no_and_the_finding() -> None:
    told = explain_in("unfused-feed", AS_FOUND, "main")
    assert "main: it does not hold\n" in told
    assert "    need    no         f.fuse exists or f.short-link\n            main.fuse = none\n" in told
    assert f"{AS_FOUND}:74:16: dangerous: main leaves crank.pos with no fuse [unfused-feed]" in told


@pytest.mark.usefixtures("in_checkout")
def test_a_rule_that_does_not_concern_a_thing_asks_nothing_after_the_when_that_says_so() -> None:
    told = explain_in("unfused-feed", PLANNED, "gen-link")
    assert "gen-link: the rule does not concern it" in told
    assert "    when    no         not f.exempt" in told
    assert "    need    not asked  f.fuse exists or f.short-link" in told
    told = explain_in("unfused-feed", PLANNED, "house")
    assert told == "unfused-feed is about a feed; house is a battery: the rule does not concern it\n"


@pytest.mark.usefixtures("in_checkout")
def test_a_rule_that_can_t_be_told_yet_says_which_condition_is_not_known_and_what_to_look_at() -> None:
    told = explain_in("cable-overloaded", AS_FOUND, "pump")
    assert "the worst of 2 modes: it can't be told yet" in told
    assert "    need    not known  r.demand(m) <= r.carries" in told
    assert "pump.carries = unknown: the cable size of pump" in told
    assert "look at the cable size of pump" in told


@pytest.mark.usefixtures("in_checkout")
def test_of_several_modes_the_one_nearest_the_limit_stands_in_full_and_the_others_by_their_verdict() -> None:
    told = explain_in("voltage-drop-high", PLANNED, "incubator")
    assert "incubator in mode working, the worst of 3 modes: it holds" in told
    assert "limit-here = 3 %: limit.drop-critical if l.critical else limit.drop-other" in told
    assert "limit.drop-critical = 3 %" in told
    assert told.endswith("incubator in mode night: it holds\nincubator in mode driving: it holds\n")


@pytest.mark.usefixtures("in_checkout")
def test_a_rule_is_explained_on_both_legs_of_a_circuit_and_each_end_of_a_run() -> None:
    legs = explain_in("cable-overloaded", PLANNED, "incubator-feed")
    assert "\nincubator-feed in mode night, the worst" in legs
    assert "\nthe return of incubator-feed in mode night, the worst" in legs
    ends = explain_in("soldered-joint", AS_FOUND, "main")
    assert "the end of main at crank.pos: it holds" in ends
    assert "the end of main at house.pos: it does not hold" in ends


@pytest.mark.usefixtures("in_checkout")
def test_what_is_explained_of_a_rule_is_what_check_finds() -> None:
    """Of every rule and every thing of the as-found spec: a finding where it does not hold, and nowhere else."""
    report = check(read_spec(AS_FOUND), AS_FOUND)
    assert report.ledger is not None
    for rule in BOOK:
        found = {name for one in report.findings if one.rule == rule.name for name in one.things}
        for name in sorted(report.ledger.installation.named):
            outcomes = {of_modes[0].outcome for of_modes in proofs(rule, report.ledger, name)}
            assert bool(outcomes & {FOUND, UNPROVEN}) is (name in found), (rule.name, name)


@pytest.mark.usefixtures("in_checkout")
def test_a_fact_of_a_current_that_no_rule_asked_for_is_explained_at_the_thing_s_own_currents() -> None:
    told = explain_in("fuse.holds-for", PLANNED, "main")
    heads = [line for line in told.split("\n") if line.startswith("at ")]
    assert heads == ["at its greatest-load:", "at its least-fault:", "at its fault:"]
    assert "the fuse of main.holds-for(33.6 A) = no end" in told
    sizes = explain_in("run.carrying-size", PLANNED, "main")
    assert [line for line in sizes.split("\n") if line.startswith("at ")] == ["at its peak-current:"]


@pytest.mark.usefixtures("in_checkout")
def test_the_currents_of_a_fuse_are_its_load_each_start_behind_it_and_its_faults() -> None:
    ledger = check(read_spec(PLANNED), PLANNED).ledger
    assert ledger is not None
    (fuse,) = [fuse for way, fuse in ledger.installation.fuse_of_way.items() if fuse and way.name == "ways.3"]
    offers = currents(fuse, FACTS["fuse", "opens-by"], ledger)
    assert [what for what, _ in offers] == [
        "its greatest-load",
        "the start of syrup-pump",
        "its least-fault",
        "its fault",
    ]
    assert dict(offers)["the start of syrup-pump"] == pytest.approx(18.0)


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


# ---------------------------------------------------------------- every figure of a sum stands in its derivation


@pytest.mark.usefixtures("in_checkout")
def test_the_resistance_of_a_run_is_the_sum_of_the_figures_in_its_derivation() -> None:
    for spec, name in ((PLANNED, "main"), (AS_FOUND, "main"), (PLANNED, "hub-feed")):
        told = explain_in("run.resistance", spec, name)
        metres, per_metre = map(float, re.findall(r"copper ([\d.]+) m × ([\d.]+) mohm/m", told)[0])
        contacts = re.findall(r"(\d+) × ([\d.]+) mΩ, limit contact-", told)
        fuses = re.findall(r"fuse of \d+ A: ([\d.]+) mΩ", told)
        total = (
            metres * per_metre + sum(int(n) * float(each) for n, each in contacts) + sum(map(float, fuses))
        )
        found = re.findall(r"\.resistance = ([\d.]+) mΩ", told)
        assert contacts
        assert float(found[0]) == pytest.approx(total, rel=0.005)


@pytest.mark.usefixtures("in_checkout")
def test_the_time_of_a_fuse_comes_out_of_the_gates_in_its_derivation() -> None:
    told = explain_in("fuse.opens-by", PLANNED, "main")
    amps, multiple, rating = map(float, re.findall(r"([\d.]+) A is ([\d.]+) × ([\d.]+) A", told)[0])
    (edge,) = re.findall(r"opens within ([\d.]+) s at ([\d.]+) × and ([\d.]+) s at ([\d.]+) ×", told)
    slow, low, fast, high = map(float, edge)
    assert multiple == pytest.approx(amps / rating, rel=0.003)
    share = log(multiple / low) / log(high / low)
    assert f"opens-by({amps:g} A) = {slow * (fast / slow) ** share:.1f} s" in told


@pytest.mark.usefixtures("in_checkout")
def test_the_drop_of_a_load_shows_the_volts_that_it_is_a_share_of() -> None:
    told = explain_in("load.drop", PLANNED, "incubator")
    assert told.count("of the nominal 12 V  planned.fitout:") == 3


@pytest.mark.parametrize("fact", ["fuse.fault", "fuse.least-fault"])
@pytest.mark.usefixtures("in_checkout")
def test_a_fault_through_a_fuse_shows_each_source_s_share(fact: str) -> None:
    told = explain_in(fact, PLANNED, "main")
    given = [float(amps.replace(" ", "")) for amps in re.findall(r"gives ([\d ]+) A", told)]
    taken = [float(amps.replace(" ", "")) for amps in re.findall(r"takes ([\d ]+) A", told)]
    total = float(re.findall(r"fault = ([\d ]+) A", told)[0].replace(" ", ""))
    assert given
    assert sum(given) - sum(taken) == pytest.approx(total, abs=2.0)  # each is rounded to an ampere


@pytest.mark.usefixtures("in_checkout")
def test_what_a_derivation_says_fits_the_page_before_its_source() -> None:
    for fact, name in (
        *MAIN,
        ("fuse.parts-first", "ways.1"),
        ("run.resistance", "main"),
        ("fuse.fault", "ways.1"),
    ):
        for line in explain_in(fact, PLANNED, name).split("\n"):
            said = line.partition("  (")[0]
            assert len(said.strip()) <= 100, line

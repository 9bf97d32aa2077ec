"""Protection as an inspector would walk it: from each source to the first fuse, and from there on."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from loomwright.rulebook.finding import Finding

from ..edits import edited

Find = Callable[..., list[Finding]]

HEAD = """
fitout "Protection" {{ stage {stage}; system 12 V }}
place bay {{ ambient 30 degC }}
structure chassis {{ metal steel; bonded crank.neg }}
battery crank in bay {{ serves cranking; chemistry lead-acid; capacity 75 Ah; internal 7 mohm; stud M8 }}
battery house in bay {{ serves house; chemistry agm; capacity 100 Ah; internal 9 mohm; stud M8 }}
busbar plus in bay {{ studs 6 x M8; rated 250 A }}
isolator iso in bay {{ rated 200 A; stud M8 }}
load lamp in bay {{ draws 3 A }}
load pump in bay {{ draws 8 A; stud M6 }}
"""

UNFUSED = ("unfused-feed", "unfused-both-ends", "step-down-unfused", "fuse-too-far")


def spec(*runs: str, stage: str = "planned") -> str:
    return HEAD.format(stage=stage) + "\n".join(runs)


def feed(
    name: str, start: str, end: str, cable: str = "16 mm2", metres: float = 1, fuse: str = "none"
) -> str:
    return (
        f"feed {name} from {start} to {end} {{ cable {cable} 105 degC; along bay {metres:g} m; fuse {fuse} }}"
    )


def told(findings: list[Finding]) -> list[tuple[str, str, str]]:
    return [(finding.rule, finding.things[0], finding.at) for finding in findings]


def test_a_feed_from_a_battery_needs_a_fuse(find: Find) -> None:
    [finding] = find(spec(feed("bare", "house.pos", "pump.pos")), *UNFUSED)
    assert told([finding]) == [("unfused-feed", "bare", "house.pos")]
    assert finding.severity == "dangerous"


def test_it_does_not_matter_which_way_the_feed_is_written(find: Find) -> None:
    findings = find(spec(feed("bare", "pump.pos", "house.pos")), *UNFUSED)
    assert told(findings) == [("unfused-feed", "bare", "house.pos")]
    assert findings[0].span.text == "house.pos"


def test_a_fuse_measured_from_the_battery_end_serves_it(find: Find) -> None:
    text = spec(feed("fed", "pump.pos", "house.pos", fuse="strip 60 A at 0.1 m from house.pos"))
    assert find(text, *UNFUSED) == []


def test_behind_an_isolator_the_fuse_before_it_protects(find: Find) -> None:
    text = spec(
        feed("main", "house.pos", "iso.in", fuse="strip 80 A at 0.1 m"),
        feed("on", "iso.out", "plus"),
        feed("pump-feed", "plus", "pump.pos"),
    )
    assert find(text, *UNFUSED) == []


def test_a_thinner_cable_behind_it_needs_a_fuse_of_its_own(find: Find) -> None:
    main = feed("main", "house.pos", "plus", fuse="strip 80 A at 0.1 m")
    thin = feed("pump-feed", "plus", "pump.pos", cable="2.5 mm2")
    assert told(find(spec(main, thin), *UNFUSED)) == [("step-down-unfused", "pump-feed", "plus")]
    fused = thin.replace("fuse none", "fuse blade 20 A at 0.1 m")
    assert find(spec(main, fused), *UNFUSED) == []
    late = thin.replace("fuse none", "fuse blade 20 A at 0.9 m")
    assert told(find(spec(main, late), *UNFUSED)) == [("fuse-too-far", "pump-feed", "the fuse of pump-feed")]


def test_a_link_of_two_batteries_needs_a_fuse_at_each_end(find: Find) -> None:
    bare = feed("link", "crank.pos", "house.pos", metres=4)
    assert told(find(spec(bare), *UNFUSED)) == [
        ("unfused-feed", "link", "crank.pos"),
        ("unfused-both-ends", "link", "house.pos"),
    ]
    one = bare.replace("fuse none", "fuse strip 80 A at 0.1 m")
    assert told(find(spec(one), *UNFUSED)) == [("unfused-both-ends", "link", "house.pos")]
    two = one.replace("at 0.1 m", "at 0.1 m; fuse strip 80 A at 0.1 m from house.pos")
    assert find(spec(two), *UNFUSED) == []


def test_a_fuse_in_the_middle_of_a_very_short_link_serves_both_ends(find: Find) -> None:
    assert (
        find(spec(feed("link", "crank.pos", "house.pos", metres=0.3, fuse="strip 80 A at 0.15 m")), *UNFUSED)
        == []
    )


def test_a_link_through_an_isolator_that_is_fused_at_one_battery_only_is_told_once(find: Find) -> None:
    text = spec(
        feed("first", "crank.pos", "iso.in", fuse="strip 80 A at 0.1 m"),
        feed("second", "iso.out", "house.pos", metres=3),
    )
    assert told(find(text, *UNFUSED)) == [("unfused-both-ends", "second", "house.pos")]


def test_a_short_link_from_the_battery_to_the_fuses_is_allowed(find: Find) -> None:
    text = spec(
        feed("strap", "house.pos", "plus", cable="50 mm2", metres=0.1),
        feed("pump-feed", "plus", "pump.pos", fuse="strip 60 A at 0.05 m"),
    )
    assert find(text, *UNFUSED) == []
    far = text.replace("at 0.05 m", "at 0.1 m")
    assert told(find(far, *UNFUSED)) == [("fuse-too-far", "pump-feed", "the fuse of pump-feed")]


def test_a_short_link_straight_to_a_load_still_needs_a_fuse(find: Find) -> None:
    text = spec(feed("strap", "house.pos", "pump.pos", metres=0.1))
    assert told(find(text, *UNFUSED)) == [("unfused-feed", "strap", "house.pos")]


def test_one_missing_fuse_is_told_once_unless_the_cable_behind_is_thinner(find: Find) -> None:
    main = feed("main", "house.pos", "iso.in")
    alike = feed("on", "iso.out", "plus")
    thin = feed("pump-feed", "plus", "pump.pos", cable="2.5 mm2")
    assert told(find(spec(main, alike), *UNFUSED)) == [("unfused-feed", "main", "house.pos")]
    assert told(find(spec(main, alike, thin), *UNFUSED)) == [
        ("unfused-feed", "main", "house.pos"),
        ("unfused-feed", "pump-feed", "plus"),
    ]


CHARGER = """
charger dcdc in bay { input 45 A max; output 30 A at 14.4 V; efficiency 92 %; suits agm; stud M6 }
solar panel in bay { peak 160 W; open 22.4 V; short 9.1 A; at-peak 18.6 V }
"""


def test_what_cannot_overload_the_cable_needs_no_fuse_against_it(find: Find) -> None:
    charge = feed(
        "charge", "dcdc.out", "house.pos", cable="10 mm2", fuse="strip 50 A at 0.1 m from house.pos"
    )
    sun = feed("sun", "panel.pos", "dcdc.solar", cable="6 mm2", metres=3)
    assert find(spec(CHARGER, charge, sun), *UNFUSED) == []


def test_the_battery_at_the_end_of_a_charge_lead_needs_its_fuse(find: Find) -> None:
    charge = feed("charge", "dcdc.out", "house.pos", cable="10 mm2")
    assert told(find(spec(CHARGER, charge), *UNFUSED)) == [("unfused-feed", "charge", "house.pos")]


def test_a_charger_that_gives_more_than_the_lead_carries_counts_as_a_source(find: Find) -> None:
    thin = feed("charge", "dcdc.out", "plus", cable="1 mm2")
    assert told(find(spec(CHARGER, thin), *UNFUSED)) == [("unfused-feed", "charge", "dcdc.out")]


HUB = "hub box in bay {{ rated 60 A; stud M6; negatives 4 x M4; way 1 {way} }}"
LAMP = "circuit lamp-feed from box.1 to lamp {{ cable twin {size} 105 degC; along bay 2 m }}"


def hub(way: str, size: str = "2.5 mm2", stage: str = "planned") -> str:
    main = feed("main", "house.pos", "box.in", fuse="strip 60 A at 0.1 m")
    return spec(HUB.format(way=way), main, LAMP.format(size=size), stage=stage)


def test_a_way_protects_what_is_wired_to_it(find: Find) -> None:
    assert find(hub("blade 10 A"), *UNFUSED, "fuse-above-cable") == []


def test_a_way_that_is_larger_than_its_cable_carries_is_told_at_the_way(find: Find) -> None:
    [finding] = find(hub("blade 30 A", size="1 mm2"), *UNFUSED, "fuse-above-cable")
    assert told([finding]) == [("fuse-above-cable", "lamp-feed", "the fuse of box.1")]
    assert finding.span.text.startswith("way 1") or finding.span.text.startswith("blade")


def test_a_way_without_fuse_hands_the_hub_s_own_fuse_on(find: Find) -> None:
    assert told(find(hub("none"), *UNFUSED)) == [("step-down-unfused", "lamp-feed", "box.1")]


def test_a_fuse_that_nobody_has_looked_for_leaves_it_unproven_and_says_where_to_look(find: Find) -> None:
    text = spec("feed old from house.pos to pump.pos { cable 6 mm2; along bay 2 m }", stage="as-found")
    [finding] = find(text, "unfused-feed")
    assert (finding.severity, finding.rule_severity) == ("unproven", "dangerous")
    assert [wanted.what for wanted in finding.missing] == ["the fuses of old"]


def test_the_maker_s_wiring_and_the_cranking_circuit_are_exempt(find: Find) -> None:
    text = spec(
        "load starter in bay { draws 200 A; stud M8 }",
        "load glow in bay { draws 40 A; stud M8 }",
        feed("cranking-lead", "crank.pos", "starter.pos", cable="35 mm2"),
        feed("glow-lead", "crank.pos", "glow.pos", cable="10 mm2").replace("{ cable", "{ maker; cable"),
        "mode start { engine cranking; on starter }",
        "mode drive { engine running }",
    )
    assert find(text, *UNFUSED, "cable-overloaded") == []
    both = text.replace("mode drive { engine running }", "mode drive { engine running; on starter }")
    assert ("unfused-feed", "cranking-lead", "crank.pos") in told(find(both, *UNFUSED))


def test_the_severity_follows_how_far_the_fuse_is_above_the_cable(find: Find) -> None:
    """10 mm² of 105 °C carries about 90 A: above 150 % of it no code goes (33 CFR 183.455(c))."""
    severities = {
        rating: [
            finding.severity
            for finding in find(
                spec(feed("main", "house.pos", "plus", cable="10 mm2", fuse=f"strip {rating} A at 0.1 m")),
                "fuse-above-cable",
            )
        ]
        for rating in (80, 125, 150)
    }
    assert severities == {80: [], 125: ["major"], 150: ["dangerous"]}


@pytest.mark.parametrize(("amps", "found"), [(40, False), (55, False), (65, True)])
def test_what_runs_together_fits_the_hub_and_its_feed(find: Find, amps: int, found: bool) -> None:
    """A hub of 100 A behind a fuse of 60 A; one of 60 A behind 80 A does no better."""
    load = f"load heater in bay {{ draws {amps} A }}\nmode on {{ on heater }}"
    wire = "circuit heat from box.1 to heater { cable twin 35 mm2 105 degC; along bay 1 m }"
    for hub_rating, fuse in ((100, 60), (60, 80)):
        box = HUB.format(way="maxi 80 A").replace("rated 60 A", f"rated {hub_rating} A")
        main = feed("main", "house.pos", "box.in", cable="35 mm2", fuse=f"strip {fuse} A at 0.1 m")
        back = "earth back from box.neg to house.neg { cable 35 mm2 105 degC; along bay 1 m }"
        assert bool(find(spec(box, main, back, load, wire), "feeder-overloaded")) is found


@pytest.mark.parametrize("name", ["fuse-never-blows", "fuse-slower-than-cable"])
def test_a_fuse_too_slow_for_several_cables_is_told_once_and_of_the_worst(find: Find, name: str) -> None:
    main = feed("main", "house.pos", "plus", cable="70 mm2", fuse="strip-large 400 A at 0.1 m")
    back = "earth {0}-back from {0}.neg to house.neg {{ cable 1.5 mm2 105 degC; along bay {1} m }}"
    for order in ((("lamp", 12), ("pump", 3)), (("pump", 3), ("lamp", 12))):
        thin = [feed(f"to-{to}", "plus", f"{to}.pos", cable="1.5 mm2", metres=far) for to, far in order]
        [finding] = find(spec(main, *thin, *(back.format(*each) for each in order)), name)
        assert finding.things == ("main",)
        assert finding.at == "the fuse of main"
        assert name == "fuse-slower-than-cable" or "to-lamp" in finding.message


@pytest.mark.parametrize(
    ("fuse", "severity"),
    [
        ("class-t 60 A at 0.1 m", "major"),
        ("maxi 60 A at 0.1 m", "dangerous"),
        ("none", "dangerous"),
        ("unknown", "dangerous"),
    ],
)
def test_a_way_that_cannot_break_the_fault_is_major_behind_a_fuse_that_can(
    find: Find, fuse: str, severity: str
) -> None:
    """IEC 60364-4-43 clause 434.5.1, back-up protection, from memory."""
    bank = (
        "battery bank in bay { serves house; chemistry lifepo4; capacity 300 Ah; internal 1 mohm; stud M8 }"
    )
    main = feed("main", "bank.pos", "box.in", cable="50 mm2", metres=0.5, fuse=fuse)
    back = "earth back from box.neg to bank.neg { cable 50 mm2 105 degC; along bay 0.5 m }"
    text = spec(bank, HUB.format(way="blade 30 A"), main, back, LAMP.format(size="6 mm2"))
    of_way = [each for each in find(text, "breaking-capacity-short") if each.things == ("box.1",)]
    assert [each.severity for each in of_way] == [severity]


# ---------------------------------------------------------------- properties


AREAS = (1, 1.5, 2.5, 4, 6, 10, 16, 25, 35, 50)
no_deadline = settings(
    deadline=None, max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture]
)


@no_deadline
@given(
    far=st.floats(0.0, 2.9),
    share=st.floats(0.0, 1.0),
    sleeve=st.sampled_from(["none", "split-tube"]),
    end=st.sampled_from(["house.pos", "pump.pos"]),
)
def test_moving_a_fuse_nearer_never_adds_fuse_too_far(
    find: Find, far: float, share: float, sleeve: str, end: str
) -> None:
    def too_far(metres: float) -> bool:
        line = feed("fed", "house.pos", "pump.pos", metres=3, fuse=f"strip 60 A at {metres:.4f} m from {end}")
        return bool(find(spec(line.replace("; fuse", f"; sleeve {sleeve}; fuse")), "fuse-too-far"))

    from_battery = far if end == "house.pos" else 3 - far
    nearer = from_battery * share
    written = nearer if end == "house.pos" else 3 - nearer
    assert too_far(far) or not too_far(written)


@no_deadline
@given(
    thin=st.sampled_from(AREAS),
    thick=st.sampled_from(AREAS),
    rating=st.sampled_from([30, 40, 60, 80, 100, 150]),
    watts=st.integers(20, 1500),
    metres=st.floats(0.3, 8),
)
def test_a_thicker_cable_never_adds_what_thickness_cures(
    find: Find, thin: float, thick: float, rating: int, watts: int, metres: float
) -> None:
    names = (
        "cable-overloaded",
        "voltage-drop-high",
        "fuse-above-cable",
        "step-down-unfused",
        "fuse-slower-than-cable",
    )

    def found_at(area: float) -> list[Finding]:
        text = f"""
fitout "Monotone" {{ stage planned; system 12 V }}
place bay {{ ambient 40 degC }}
battery house in bay {{ serves house; chemistry agm; capacity 100 Ah; internal 9 mohm; stud M8 }}
load heater in bay {{ draws {watts} W; stud M8 }}
feed out from house.pos to heater.pos {{ cable {area} mm2; along bay {metres:.3f} m; fuse strip {rating} A at 0.1 m }}
earth back from heater.neg to house.neg {{ cable {area} mm2; along bay {metres:.3f} m }}
mode on {{ on heater }}
"""
        return find(text, *names)

    thin, thick = sorted((thin, thick))
    fail_thick = {finding.rule for finding in found_at(thick) if finding.severity != "unproven"}
    not_held_thin = {
        finding.rule for finding in found_at(thin)
    }  # a cable that burns leaves no state to judge
    assert fail_thick <= not_held_thin


@no_deadline
@given(st.sampled_from(["16 mm2 105 degC", "fuse strip 60 A at 0.5 m", "along bay 2 m", "sleeve none"]))
def test_what_is_not_known_never_makes_a_failing_rule_hold(find: Find, value: str) -> None:
    clauses = "cable 16 mm2 105 degC; along bay 2 m; sleeve none; fuse strip 60 A at 0.5 m"
    text = spec(f"feed fed from house.pos to pump.pos {{ {clauses} }}")
    keyword = "cable" if value.startswith("16") else value.split()[0]
    whole = f"cable {value}" if keyword == "cable" else value
    hidden = text.replace(whole, f"{keyword} unknown")
    assert hidden != text
    assert [finding.rule for finding in find(text, "fuse-too-far")] == ["fuse-too-far"]
    assert find(hidden, "fuse-too-far")


@pytest.mark.parametrize("name", ["unfused-feed", "unfused-both-ends", "step-down-unfused", "fuse-too-far"])
def test_the_offered_fuse_mends_it(find: Find, name: str) -> None:
    specs = {
        "unfused-feed": spec(feed("bare", "pump.pos", "house.pos")),
        "unfused-both-ends": spec(
            feed("link", "crank.pos", "house.pos", metres=4, fuse="strip 80 A at 0.1 m")
        ),
        "step-down-unfused": spec(
            feed("main", "house.pos", "plus", fuse="strip 80 A at 0.1 m"),
            feed("pump-feed", "plus", "pump.pos", cable="2.5 mm2"),
        ),
        "fuse-too-far": spec(
            feed("strap", "house.pos", "plus", cable="50 mm2", metres=0.1),
            feed("pump-feed", "pump.pos", "plus", metres=2, fuse="strip 60 A at 0.1 m"),
        ),
    }
    text = specs[name]
    [finding] = find(text, name)
    assert finding.edits
    assert all(edit.offered for edit in finding.edits)
    assert find(edited(text, finding), *UNFUSED, "fuse-above-cable") == []

"""Cable rules at their limits."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from loomwright.rulebook.finding import Finding

from ..edits import edited

Find = Callable[..., list[Finding]]

SPEC = """
fitout "Cable" {{ stage planned; system 12 V }}
place bay {{ ambient {ambient} degC }}
battery house in bay {{ serves house; chemistry agm; capacity 100 Ah; internal 5 mohm; stud M8 }}
load lamp in bay {{ draws {draws}; stud M5; {more} }}
circuit lamp-feed from house.pos to lamp {{
    return house.neg
    cable  {cable}
    along  bay {metres} m
    fuse   strip 100 A at 0.1 m
}}
mode on {{ on lamp; charge {charge} % }}
"""


def spec(
    draws: str = "5 A",
    cable: str = "twin 8 AWG 105 degC",
    metres: float = 1,
    ambient: int = 30,
    more: str = "",
    charge: int = 80,
) -> str:
    return SPEC.format(draws=draws, cable=cable, metres=metres, ambient=ambient, more=more, charge=charge)


def severities(findings: list[Finding]) -> set[str]:
    return {finding.severity for finding in findings}


@pytest.mark.parametrize(
    ("amps", "severity"), [(79, set()), (81, {"major"}), (99, {"major"}), (101, {"dangerous"})]
)
def test_8_awg_of_105_degrees_carries_80_a_and_a_quarter_more_is_dangerous(
    find: Find, amps: int, severity: set[str]
) -> None:
    """33 CFR 183.425 Table 5; the quarter is common practice, no source."""
    assert severities(find(spec(f"{amps} A"), "cable-overloaded")) == severity


@pytest.mark.parametrize(
    ("amps", "duty", "severity"),
    [(79, 5, set()), (120, 5, {"major"}), (120, 40, {"major"}), (120, 50, {"dangerous"})],
)
def test_what_a_load_of_low_duty_overloads_is_dangerous_only_by_its_root_mean_square(
    find: Find, amps: int, duty: int, severity: set[str]
) -> None:
    """8 AWG of 105 °C carries 80 A (33 CFR 183.425 Table 5): 120 A for 40 % of the time is 76 A by its heat, for 50 % 85 A."""
    findings = find(spec(f"{amps} A", more=f"duty {duty} %"), "cable-overloaded")
    assert severities(findings) == severity
    assert all(f"(of which lamp runs {duty} % of the time)" in finding.message for finding in findings)


def test_a_duty_that_nobody_knows_makes_an_overload_no_lighter(find: Find) -> None:
    assert severities(find(spec("120 A", more="duty unknown"), "cable-overloaded")) == {"dangerous"}


@pytest.mark.parametrize(
    ("amps", "duty", "severity"),
    [(79, 100, set()), (90, 100, {"minor"}), (90, 50, set()), (110, 5, {"major"})],
)
def test_a_fuse_bears_a_load_of_low_duty_by_its_heat_but_not_above_its_rating(
    find: Find, amps: int, duty: int, severity: set[str]
) -> None:
    """80 % of 100 A for good, ISO 8820-1 from memory."""
    text = spec(f"{amps} A", more=f"duty {duty} %", cable="twin 35 mm2 105 degC")
    assert severities(find(text, "fuse-below-load")) == severity


def test_both_legs_of_a_circuit_are_one_finding(find: Find) -> None:
    [finding] = find(spec("90 A"), "cable-overloaded")
    assert finding.things == ("lamp-feed",)
    assert "8 AWG" in finding.span.text
    assert [edit.text for edit in finding.edits] == ["6 AWG"]


def test_a_load_that_gets_no_operating_point_is_starved_and_overloads_its_cable(find: Find) -> None:
    findings = find(
        spec("400 W", cable="twin 1 mm2 105 degC", metres=12), "voltage-drop-high", "cable-overloaded"
    )
    assert {finding.rule: finding.severity for finding in findings} == {
        "voltage-drop-high": "major",
        "cable-overloaded": "dangerous",
    }
    assert "can't be given its power" in next(f.message for f in findings if f.rule == "voltage-drop-high")


@pytest.mark.parametrize(("more", "limit"), [("critical", 0.03), ("", 0.10)])
def test_the_drop_is_judged_by_what_hangs_on_it(find: Find, more: str, limit: float) -> None:
    """ABYC E-11 11.14.2.6: 3 % critical and 10 % other, out and back. The metres that give that drop in 8 AWG at 20 A, by the
    resistance of NFPA 70 Chapter 9 Table 8 (0.764 ohm per 1000 ft), less a quarter and more by a quarter for warm copper and joints.
    """
    metres = limit * 12 / 20 / 2 / (0.764 / 304.8)
    assert not find(spec("20 A", metres=metres * 0.75, more=more), "voltage-drop-high")
    assert severities(find(spec("20 A", metres=metres * 1.25, more=more), "voltage-drop-high")) == {"major"}


def test_the_offered_size_leaves_enough_volts(find: Find) -> None:
    text = spec("20 A", metres=8, more="critical")
    [finding] = find(text, "voltage-drop-high")
    assert len(finding.edits) == 1
    assert find(edited(text, finding), "voltage-drop-high") == []


def test_cut_out_is_judged_with_the_battery_half_full_whatever_the_mode_says(find: Find) -> None:
    full, half = (spec(more="cuts-out 12.0 V", charge=charge) for charge in (100, 50))
    messages = [finding.message for text in (full, half) for finding in find(text, "cut-out-margin")]
    assert len(messages) == 2
    assert messages[0] == messages[1]
    assert not find(spec(more="cuts-out 10.8 V"), "cut-out-margin")


@pytest.mark.parametrize(("ambient", "found"), [(65, False), (66, True)])
def test_insulation_keeps_ten_kelvin_above_the_hottest_place(find: Find, ambient: int, found: bool) -> None:
    """Common practice, no source."""
    text = spec(cable="twin 8 AWG", ambient=ambient)
    findings = find(text, "insulation-temp-low")
    assert bool(findings) is found
    assert all("75 °C insulation assumed" in finding.message for finding in findings)


@pytest.mark.parametrize(
    ("cable", "draws", "found"),
    [
        ("0.75 mm2 90 degC", "5 A", True),
        ("1 mm2 90 degC", "5 A", False),
        ("twin 0.75 mm2 90 degC", "5 A", False),
        ("twin 0.5 mm2 90 degC", "5 A", True),
        ("0.5 mm2 90 degC", "0.5 A", False),
    ],
)
def test_a_conductor_has_a_least_area_unless_it_feeds_next_to_nothing(
    find: Find, cable: str, draws: str, found: bool
) -> None:
    """ISO 10133 clause 7.7: 1 mm² single, 0.75 mm² in a sheath; 33 CFR 183.425(f): circuits below 1 A."""
    assert bool(find(spec(draws, cable=cable), "too-thin-for-mechanics")) is found


CHARGER = """
fitout "Charger" {{ stage planned; system 12 V }}
place bay {{ ambient 40 degC }}
battery crank in bay {{ serves cranking; chemistry lead-acid; capacity 75 Ah; internal 7 mohm; stud M8 }}
battery house in bay {{ serves house; chemistry agm; capacity 100 Ah; internal 5 mohm; stud M8 }}
alternator gen in bay {{ rated 110 A; holds 14.2 V; regulation fixed; stud M8 }}
charger dcdc in bay {{ input 45 A max; output 30 A at 14.4 V; efficiency 92 %; cuts-out {cut} V; suits agm; stud M6 }}
structure chassis {{ metal steel; bonded crank.neg }}
feed gen-link from gen.pos to crank.pos {{ maker; cable 35 mm2 105 degC; along bay 0.6 m }}
feed main from crank.pos to dcdc.in {{ cable {cable} 105 degC; along bay 5 m; fuse strip 60 A at 0.1 m }}
earth back from dcdc.neg to crank.neg {{ cable {cable} 105 degC; along bay 5 m }}
feed charge from dcdc.out to house.pos {{ cable 8 B&S 105 degC; along bay 0.5 m; fuse strip 60 A at 0.1 m from house.pos }}
earth house-back from house.neg to dcdc.neg {{ cable 8 B&S 105 degC; along bay 0.5 m }}
mode driving {{ engine running; charge 50 % }}
"""


@pytest.mark.parametrize(("cable", "cut", "found"), [("8 B&S", 11, False), ("4 mm2", 12.5, True)])
def test_a_charger_s_input_is_judged_by_its_cut_out(find: Find, cable: str, cut: float, found: bool) -> None:
    findings = find(CHARGER.format(cable=cable, cut=cut), "cut-out-margin")
    assert [finding.things for finding in findings] == ([("dcdc",)] if found else [])

"""Every limits file can stand in for the general one, and says where each figure comes from."""

from __future__ import annotations

import tomllib

import pytest

from loomwright import resources
from loomwright.facts.limits import BASES, limits_names, load_limits
from loomwright.report.check import check
from loomwright.rulebook.load import load_rules

GENERAL = load_limits()
OTHERS = [name for name in limits_names() if name != "general"]
PRACTICE = BASES[-1]
FRIDGE = """
fitout "Fridge feed" {{ stage planned; system 12 V; limits {limits} }}
practice {{ sleeve split-tube; clips 0.25 m; ends crimped sealed tight }}
place engine-bay {{ ambient 60 degC; hazards heat, vibration }}
place tray {{ ambient 45 degC }}
structure chassis {{ metal steel; bonded crank.neg }}
earthpoint tray-earth on chassis in tray {{ stud M8; surface bare; sealed }}
battery crank in engine-bay {{ chemistry lead-acid; capacity 75 Ah; internal 7 mohm; serves cranking; stud M8 }}
load fridge in tray {{ draws 5 A; stud M5 }}
feed fridge-feed from crank.pos to fridge.pos {{
    cable 6 mm2 red 105 degC
    along engine-bay 0.8 m, tray 3.2 m
    fuse  strip {rating} A at {at}
    end   crank.pos  lug 6 mm2 M8
    end   fridge.pos lug 6 mm2 M5
}}
earth fridge-return from fridge.neg to tray-earth {{ cable 6 mm2 black 105 degC; along tray 0.5 m }}
mode parked {{ engine off; on fridge }}
"""


def said(limits: str, rule: str, rating: int = 15, at: str = "0.15 m") -> list[str]:
    """What a rule says and advises of the fridge's feed under some limits."""
    report = check(FRIDGE.format(limits=limits, rating=rating, at=at))
    assert report.errors == ()
    return [f"{one.severity}: {one.message} {one.do}" for one in report.findings if one.rule == rule]


def test_there_are_limits_for_habitation_and_for_boats() -> None:
    assert {"habitation", "boats"} <= set(OTHERS)


@pytest.mark.parametrize("name", OTHERS)
def test_a_file_has_the_same_limits_in_the_same_order_and_of_the_same_kind(name: str) -> None:
    limits = load_limits(name)
    assert list(limits) == list(GENERAL)
    assert [one.dimension for one in limits.values()] == [one.dimension for one in GENERAL.values()]


@pytest.mark.parametrize("name", OTHERS)
def test_every_figure_has_its_own_source_and_no_address(name: str) -> None:
    for key, table in tomllib.loads(resources.text("rules", "limits", f"{name}.toml")).items():
        assert table["source"].strip(), key
        assert table["says"].endswith("."), key
        assert (table["basis"] == PRACTICE) == (table["source"] == "common practice"), key
        assert not any(mark in text for text in table.values() for mark in ("://", "www.")), key


@pytest.mark.parametrize("name", OTHERS)
def test_every_rule_can_be_judged_by_them(name: str) -> None:
    assert load_rules(limits=load_limits(name)).problems == ()


# A limit that is greater in a stricter file: what must be kept clear, spared or cut off rather than what may be reached.
GREATER_IS_STRICTER = frozenset(("vent-area", "starter-cut-out"))


def test_habitation_is_nowhere_looser_than_general() -> None:
    changed = [
        (GENERAL[key], limit)
        for key, limit in load_limits("habitation").items()
        if limit.value != GENERAL[key].value
    ]
    assert len(changed) >= 5
    for general, own in changed:
        assert isinstance(general.value, float)
        assert isinstance(own.value, float)
        assert (own.value > general.value) == (own.name in GREATER_IS_STRICTER), own.name


def test_vents_of_a_habitation_vehicle_are_those_of_the_formula_for_vented_cells() -> None:
    """IEC 62485-3 (from memory): Q = 0.05 n I C / 100 in m³/h, I = 2 A per 100 Ah of vented cells; A = 28 Q in cm²."""
    flow = 0.05 * 6 * 2 * 100 / 100
    assert load_limits("habitation")["vent-area"].value == pytest.approx(28 * flow * 1e-4)


def test_boat_law_has_the_figures_of_its_clauses() -> None:
    """33 CFR 183.455(b) and (c), 183.425(d): 7 in, 40 in, 150 %, 16 AWG; ABYC E-11: 18 in."""
    boats = load_limits("boats")
    inch = 0.0254
    assert boats["fuse-distance"].value == pytest.approx(7 * inch, abs=5e-4)
    assert boats["fuse-distance-sheathed"].value == pytest.approx(40 * inch, abs=5e-4)
    assert boats["support-interval"].value == pytest.approx(18 * inch, abs=5e-4)
    assert boats["fuse-over-cable"].value == 1.5
    assert boats["least-area-single"].value == pytest.approx(1.309e-6, rel=0.01)


def test_a_spec_that_asks_for_boats_is_judged_by_their_figures() -> None:
    """A fuse of 60 A on a cable that carries some 47 A: above the cable, and below one and a half times of it."""
    (by_general,) = said("general", "fuse-above-cable", rating=60)
    assert by_general.startswith("major: the fuse of fridge-feed is 60 A")
    assert said("boats", "fuse-above-cable", rating=60) == []
    (by_boats,) = said("boats", "fuse-above-cable", rating=80)
    assert by_boats.startswith("dangerous: the fuse of fridge-feed is 80 A")


def test_the_finding_shows_the_limit_of_the_file_that_the_spec_asks_for() -> None:
    (general,) = said("general", "fuse-too-far", at="1.1 m")
    (habitation,) = said("habitation", "fuse-too-far", at="1.1 m")
    (boats,) = said("boats", "fuse-too-far", at="1.1 m")
    assert "1 016 mm where the cable lies in a sheath" in general
    assert "1 m where the cable lies in a sheath" in habitation
    assert boats == general
    assert said("general", "fuse-too-far", at="1.01 m") == []
    assert len(said("habitation", "fuse-too-far", at="1.01 m")) == 1

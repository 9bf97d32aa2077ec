"""Sound designs stay quiet: systems sized by hand rules of the trade have no dangerous or major finding of protection or cable."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from loomwright.rulebook.finding import Finding
from loomwright.rulebook.load import load_rules
from loomwright.stock.ampacity import carries
from loomwright.stock.conductors import ConductorSize, resistance_per_metre, sizes

Find = Callable[..., list[Finding]]

NAMES = (
    "unfused-feed",
    "unfused-both-ends",
    "fuse-too-far",
    "fuse-above-cable",
    "fuse-below-load",
    "step-down-unfused",
    "fuse-trips-on-surge",
    "breaking-capacity-short",
    "fuse-never-blows",
    "fuse-slower-than-cable",
    "cable-overloaded",
    "voltage-drop-high",
    "cut-out-margin",
    "insulation-temp-low",
    "charge-line-drop",
    "feeder-overloaded",
    "unfused-run-single-insulated",
    "parallel-cables-unequal",
)

HEAD = """
fitout "Sound" {{ stage planned; system 12 V }}
practice {{ sleeve split-tube; clips 0.25 m; ends crimped sealed tight }}
place shed {{ ambient {ambient} degC }}
battery house in shed {{ serves house; chemistry lifepo4; capacity 120 Ah; internal 14 mohm; stud M8 }}
isolator iso in shed {{ rated 150 A; stud M8 }}
hub box in shed {{ rated 100 A; stud M6; negatives {count} x M4; {ways} }}
feed main from house.pos to iso.in {{ cable {main} 105 degC; along shed 0.3 m; fuse strip {fuse} A at 0.1 m }}
feed on from iso.out to box.in {{ cable {main} 105 degC; along shed 0.5 m }}
earth back from box.neg to house.neg {{ cable {main} 105 degC; along shed 0.8 m }}
"""
LOAD = """
load load-{n} in shed {{ draws {amps} A; surge {surge:.1f} A for 0.1 s; cuts-out 10.5 V }}
circuit feed-{n} from box.{n} to load-{n} {{ cable twin {size} 105 degC; along shed {metres:.2f} m; ends blade-terminal }}
"""
BLADES = (5, 7.5, 10, 15, 20, 25, 30)
STRIPS = (40, 50, 60, 80, 100)

loads = st.lists(st.tuples(st.integers(1, 16), st.floats(0.5, 6.0)), min_size=1, max_size=5).filter(
    lambda wanted: sum(amps for amps, _ in wanted) <= 0.75 * STRIPS[-1]
)
"""No more than the largest main fuse bears: the low, old battery of 14 mΩ does not surely open a larger one."""


def thinnest(fuse: float, seconds: float, load: float, metres: float, ambient: float) -> ConductorSize:
    """Carries the fuse, bears what it lets through at 6 × its rating, and loses 2 % of 12 V at most, out and back, warm.

    k = 87.6 from 105 to 160 °C: IEC 60364-5-54 annex A.
    """
    for size in sizes("area"):
        ohms = 2 * metres * resistance_per_metre(size, 80).value
        bears = 87.6 * size.area_mm2 >= 6 * fuse * seconds**0.5
        if bears and carries(size, 105, ambient, 2).amps >= fuse and load * ohms <= 0.02 * 12:
            return size
    raise AssertionError("no size is thick enough")


@settings(deadline=None, max_examples=30, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(loads, st.sampled_from([20, 40, 50]))
def test_a_hub_system_sized_by_the_trade_s_rules_is_quiet(
    find: Find, wanted: list[tuple[int, float]], ambient: int
) -> None:
    total = sum(amps for amps, _ in wanted)
    rating = next(strip for strip in STRIPS if strip * 0.75 >= total)
    main = thinnest(rating, 1.0, total, 0.8, ambient)
    ways, bodies = [], []
    for number, (amps, metres) in enumerate(wanted, 1):
        blade = next(blade for blade in BLADES if blade * 0.75 >= amps)
        size = thinnest(blade, 0.1, amps, metres, ambient)
        ways.append(f"way {number} blade {blade} A")
        bodies.append(
            LOAD.format(n=number, amps=amps, surge=1.5 * amps, size=f"{size.area_mm2:g} mm2", metres=metres)
        )
    head = HEAD.format(
        ambient=ambient, count=len(wanted), ways="; ".join(ways), main=f"{main.area_mm2:g} mm2", fuse=rating
    )
    on = ", ".join(f"load-{number}" for number in range(1, len(wanted) + 1))
    text = head + "".join(bodies) + f"mode work {{ engine off; charge 50 %; on {on} }}\n"
    worse = [f"{f.severity} {f.rule}: {f.message}" for f in find(text, *NAMES) if f.severity != "minor"]
    assert worse == []


TWO_BATTERIES = """
fitout "Link" {{ stage planned; system 12 V }}
practice {{ sleeve conduit; clips 0.25 m; ends crimped sealed tight }}
place bonnet {{ ambient -5 degC to {ambient} degC; inside }}
place tray {{ ambient -5 degC to 45 degC; outside }}
structure chassis {{ metal steel; bonded crank.neg; mount welded; resistance 0.5 mohm }}
battery crank in bonnet {{ serves cranking; chemistry agm; capacity 75 Ah; internal 7 mohm; charge 60 A max; held-down; stud M8; order "B-1"; maker }}
alternator gen in bonnet {{ rated 120 A; holds 14.2 V; regulation fixed; stud M8; maker }}
feed gen-link from gen.pos to crank.pos {{ maker; cable 35 mm2 105 degC; along bonnet 0.6 m }}
battery house in tray {{ serves house; chemistry agm; capacity 100 Ah; internal 6 mohm; charge 120 A max; discharge 80 A max; held-down; bought 2026-01-10; stud M8 }}
isolator link in bonnet {{ rated 150 A; stud M8 }}
feed start-side from crank.pos to link.in {{ cable {size} mm2 red 105 degC; along bonnet 0.3 m; fuse strip {fuse} A at 0.1 m in bonnet; label "LINK" }}
feed house-side from link.out to house.pos {{ cable {size} mm2 red 105 degC; along bonnet 0.3 m, tray {metres:.2f} m; fuse strip {fuse} A at 0.1 m from house.pos; label "LINK" }}
earth house-back from house.neg to crank.neg {{ cable {size} mm2 black 105 degC; along tray {metres:.2f} m, bonnet 0.5 m }}
load lamp in tray {{ draws {amps} A }}
feed lamp-feed from house.pos to lamp.pos {{ cable {thin} mm2 red 105 degC; along tray 1 m; fuse strip 30 A at 0.1 m; label "LAMP" }}
earth lamp-back from lamp.neg to house.neg {{ cable {thin} mm2 black 105 degC; along tray 1 m }}
mode work {{ engine off; charge 80 %; on lamp; open link }}
"""

SUN_AND_MAINS = """
fitout "Sun" {{ stage planned; system 12 V }}
practice {{ sleeve conduit; clips 0.25 m; ends crimped sealed tight }}
place shed {{ ambient 5 degC to {ambient} degC; inside }}
place roof {{ ambient 5 degC to 60 degC; outside }}
site {{ latitude -35 deg; longitude 149 deg; month december; coldest -5 degC }}
battery house in shed {{ serves house; chemistry lifepo4; capacity 200 Ah; internal 2 mohm; charge 100 A max; discharge 200 A max; charges-from 0 degC; held-down; sealed; stud M8 }}
charger sun in shed {{ output 30 A at 14.4 V; efficiency 95 %; suits lifepo4; isolated; stud M6; solar 75 V max 25 A }}
solar panel in roof {{ peak {peak} W; open 22.4 V; short {short:.2f} A; at-peak 18.6 V; coefficient -0.28 %/K; count {panels} series }}
inverter tools in shed {{ rated {watts} W; efficiency 90 %; idle 0.5 A; output 230 V; stud M8 }}
feed panel-plus from panel.pos to sun.solar {{ cable 6 mm2 red 125 degC; along roof {metres:.2f} m, shed 1 m }}
earth panel-minus from panel.neg to sun.neg {{ cable 6 mm2 black 125 degC; along roof {metres:.2f} m, shed 1 m }}
feed sun-out from house.pos to sun.out {{ cable {sun} mm2 red 105 degC; along shed 1 m; fuse class-t 60 A at 0.1 m; label "SUN" }}
earth sun-back from sun.neg to house.neg {{ cable {sun} mm2 black 105 degC; along shed 1 m }}
feed tools-plus from house.pos to tools.pos {{ cable {size} mm2 red 105 degC; along shed 1 m; fuse class-t {fuse} A at 0.1 m; label "INVERTER" }}
earth tools-minus from tools.neg to house.neg {{ cable {size} mm2 black 105 degC; along shed 1 m }}
mode work {{ sun full; charge 60 %; on tools {watts} W }}
mode night {{ charge 60 %; on tools 50 W }}
day usual {{ work 1 h; night 1 h }}
"""


def worse_than_minor(find: Find, text: str) -> list[str]:
    """What every rule of the book finds that is dangerous or major."""
    found = find(text, *(rule.name for rule in load_rules().rules))
    return [
        f"{each.severity} {each.rule}: {each.message}"
        for each in found
        if each.severity in ("dangerous", "major")
    ]


@settings(deadline=None, max_examples=15, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.sampled_from((60, 80, 100)), st.floats(1.0, 4.0), st.integers(2, 15), st.sampled_from((30, 45, 60)))
def test_two_batteries_with_a_link_fused_at_both_ends_are_quiet(
    find: Find, fuse: int, metres: float, amps: int, ambient: int
) -> None:
    size = thinnest(fuse, 1.0, fuse / 2, metres + 0.6, ambient)
    thin = thinnest(30, 1.0, amps, 1.0, 45)
    text = TWO_BATTERIES.format(
        fuse=fuse,
        metres=metres,
        amps=amps,
        ambient=ambient,
        size=f"{size.area_mm2:g}",
        thin=f"{thin.area_mm2:g}",
    )
    assert worse_than_minor(find, text) == []


@settings(deadline=None, max_examples=15, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    st.sampled_from((100, 160, 200)),
    st.sampled_from((1, 2)),
    st.floats(1.0, 4.0),
    st.integers(3, 15),
    st.sampled_from((20, 30, 40)),
)
def test_a_solar_charger_and_an_inverter_are_quiet(
    find: Find, peak: int, panels: int, metres: float, hundreds: int, ambient: int
) -> None:
    watts = 100 * hundreds
    amps = watts / 0.9 / 10.5
    fuse = next(each for each in (60, 80, 100, 125, 150, 175, 200, 225, 250) if each >= 1.25 * amps)
    size, sun = thinnest(fuse, 1.0, amps, 1.0, ambient), thinnest(60, 1.0, 30, 1.0, ambient)
    text = SUN_AND_MAINS.format(
        peak=peak, short=peak / 18.6 * 1.06, panels=panels, metres=metres, watts=watts, ambient=ambient,
        fuse=fuse, size=f"{size.area_mm2:g}", sun=f"{sun.area_mm2:g}",
    )  # fmt: skip
    assert worse_than_minor(find, text) == []


CLASS_T = """
fitout "Class T" {{ stage planned; system 12 V }}
practice {{ sleeve conduit; clips 0.25 m; ends crimped sealed tight }}
place shed {{ ambient 5 degC to 40 degC; inside }}
battery house in shed {{ serves house; chemistry lifepo4; capacity 200 Ah{internal}; charge 100 A max; discharge 250 A max; charges-from 0 degC; held-down; sealed; stud M8 }}
inverter tools in shed {{ rated 2000 W; efficiency 90 %; idle 0.5 A; output 230 V; stud M8 }}
feed tools-plus from house.pos to tools.pos {{ cable {area} mm2 red 105 degC; along shed {metres} m; fuse class-t 225 A at 0.1 m; label "INVERTER" }}
earth tools-minus from tools.neg to house.neg {{ cable {area} mm2 black 105 degC; along shed {metres} m }}
mode work {{ charge 60 %; on tools 2000 W }}
"""


@pytest.mark.parametrize("internal", ["", "; internal 2 mohm", "; internal 6 mohm"])
@pytest.mark.parametrize(("area", "metres"), [(50, 1), (50, 0.5), (70, 1.5)])
def test_an_ordinary_lithium_battery_behind_a_class_t_fuse_is_quiet(
    find: Find, internal: str, area: int, metres: float
) -> None:
    assert worse_than_minor(find, CLASS_T.format(internal=internal, area=area, metres=metres)) == []

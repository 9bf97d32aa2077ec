"""Sound designs stay quiet: systems sized by hand rules of the trade have no dangerous or major finding of protection or cable."""

from __future__ import annotations

from collections.abc import Callable

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from loomwright.rulebook.finding import Finding
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

loads = st.lists(st.tuples(st.integers(1, 16), st.floats(0.5, 6.0)), min_size=1, max_size=5)


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
    rating = next((strip for strip in STRIPS if strip * 0.75 >= total), 125)
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

"""Panels on a cold morning, their strings, and the fuses that part them."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from loomwright.facts.registry import Ledger, Missing

Make = Callable[[str], Ledger]

PANEL = "peak 160 W; open 22.4 V; short 9 A; at-peak 18.6 V; coefficient -0.28 %/K"
SPEC = """
fitout "Test" { stage STAGE; system 12 V }
place roof { ambient AMBIENT }
place box { ambient 20 degC }
battery house in box { serves house; chemistry agm; capacity 100 Ah }
charger mppt in box { output 20 A at 14.4 V; solar 50 V max 30 A; suits agm }
feed charge from mppt.out to house.pos { cable 6 mm2 red; along box 1 m FUSE }
MORE
"""
ONE = "solar sun in roof { PANEL }\nfeed panel from sun.pos to mppt.solar { cable 6 mm2 red; along roof 2 m }"


def system(
    ledger_of: Make,
    more: str = ONE,
    ambient: str = "-8 degC to 60 degC",
    fuse: str = "",
    stage: str = "planned",
) -> Ledger:
    text = SPEC.replace("MORE", more).replace("AMBIENT", ambient).replace("FUSE", fuse)
    return ledger_of(text.replace("PANEL", PANEL).replace("STAGE", stage))


def test_open_volts_rise_in_the_cold(ledger_of: Make) -> None:
    ledger = system(ledger_of)
    sun = ledger.installation.named["sun"]
    assert ledger.get(sun, "cold-volts") == pytest.approx(22.4 * (1 + 0.0028 * 33))


def test_panels_in_series_add_their_volts_and_in_parallel_their_amps(ledger_of: Make) -> None:
    for arrangement, volts, amps in (("series", 44.8, 9), ("parallel", 22.4, 18)):
        ledger = system(
            ledger_of, ONE.replace("PANEL", f"PANEL; count 2 {arrangement}"), "25 degC to 60 degC"
        )
        mppt = ledger.installation.named["mppt"]
        assert ledger.get(mppt, "panel-volts") == pytest.approx(volts)
        assert ledger.get(mppt, "panel-current") == pytest.approx(amps)


@pytest.mark.parametrize(
    ("ambient", "site", "celsius"),
    [
        ("-8 degC to 60 degC", "", -8),
        ("45 degC", "", -10),  # how hot it gets says nothing of the cold: the limits' assumption
        ("45 degC", "site { latitude -33 deg; longitude 149 deg; month july; coldest -15 degC }", -15),
    ],
)
def test_the_coldest_dawn_is_the_sites_the_places_or_assumed(
    ledger_of: Make, ambient: str, site: str, celsius: float
) -> None:
    ledger = system(ledger_of, f"{ONE}\n{site}", ambient)
    assert ledger.get(ledger.installation.named["sun"], "coldest") == celsius


def strings(fuse: str, count: int = 3) -> str:
    row = [
        "busbar bar in roof { studs 4 x M6; rated 60 A }",
        "feed down from bar to mppt.solar { cable 10 mm2 red; along roof 2 m }",
    ]
    for n in range(count):
        row += [
            f"solar s{n} in roof {{ {PANEL} }}",
            f"feed f{n} from s{n}.pos to bar {{ cable 6 mm2 red; along roof 1 m {fuse} }}",
        ]
    return "\n".join(row)


def test_strings_with_a_fuse_each_are_parted(ledger_of: Make) -> None:
    ledger = system(ledger_of, strings("; fuse blade 15 A at 0.1 m"))
    first = ledger.installation.named["s0"]
    assert ledger.get(first, "strings-together") == 3
    assert ledger.get(first, "unfused-strings") == ()


def test_strings_without_are_told_at_the_first(ledger_of: Make) -> None:
    ledger = system(ledger_of, strings(""))
    named = ledger.installation.named
    assert [each.name for each in ledger.get(named["s0"], "unfused-strings")] == ["s0", "s1", "s2"]
    assert ledger.get(named["s1"], "unfused-strings") == ()


def test_fuses_that_nobody_has_looked_for_leave_it_open(ledger_of: Make) -> None:
    ledger = system(ledger_of, strings(""), stage="as-found")
    with pytest.raises(Missing):
        ledger.get(ledger.installation.named["s0"], "unfused-strings")


def test_the_battery_side_of_a_controller_is_fused_anywhere_between(ledger_of: Make) -> None:
    for fuse, batteries in (("", ["house"]), ("; fuse strip 30 A at 0.1 m from house.pos", [])):
        ledger = system(ledger_of, fuse=fuse)
        found = ledger.get(ledger.installation.named["mppt"], "unfused-to")
        assert [battery.name for battery in found] == batteries


def test_a_panel_without_controller_may_trickle(ledger_of: Make) -> None:
    straight = "solar sun in roof { PANEL }\nfeed panel from sun.pos to house.pos { cable 6 mm2 red; along roof 2 m }"
    ledger = system(ledger_of, straight)
    sun = ledger.installation.named["sun"]
    assert [battery.name for battery in ledger.get(sun, "straight-to")] == ["house"]
    assert ledger.get(sun, "trickle-limit") == pytest.approx(1.5, rel=1e-3)  # 1.5 % of 100 Ah


@pytest.mark.parametrize(
    ("fitting", "parted"), [("plug", True), ("blade-terminal", False), ("lug 6 mm2 M6", False)]
)
def test_a_plug_at_the_panel_parts_it(ledger_of: Make, fitting: str, parted: bool) -> None:
    ledger = system(ledger_of, ONE.replace("along roof 2 m }", f"along roof 2 m; end sun.pos {fitting} }}"))
    assert ledger.get(ledger.installation.named["sun"], "can-be-parted") is parted


def test_a_switch_anywhere_on_its_line_parts_it(ledger_of: Make) -> None:
    more = """
    isolator cut in roof { rated 30 A }
    feed one from sun.pos to cut.in { cable 6 mm2 red; along roof 1 m; end sun.pos lug 6 mm2 M6 }
    feed two from cut.out to mppt.solar { cable 6 mm2 red; along roof 1 m }
    """
    ledger = system(ledger_of, ONE.split("\n")[0] + more)
    assert ledger.get(ledger.installation.named["sun"], "can-be-parted") is True

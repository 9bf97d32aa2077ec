"""The return side: what is joined to what, and what each earth must bear."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from loomwright.facts.registry import Ledger, Missing
from loomwright.model.things import Run

SPEC = """
fitout "Returns" {{ stage {stage}; system 12 V }}
practice {{ sleeve split-tube; clips 0.25 m; ends crimped sealed tight }}
place bay {{ ambient 30 degC }}
place box {{ ambient 30 degC; inside }}
structure chassis {{ metal steel; bonded crank.neg }}
structure canopy  {{ metal aluminium; mount rubber }}
battery crank in bay {{ serves cranking; chemistry lead-acid; capacity 70 Ah; internal 7 mohm; stud M8 }}
battery house in box {{ chemistry agm; capacity 100 Ah; internal 5 mohm; stud M8 }}
load pump in box {{ draws 8 A; stud M6 }}
earthpoint wall on canopy in box {{ stud M6; surface bare }}
feed pump-feed from house.pos to pump.pos {{ cable 10 mm2 105 degC; along box 1 m; {fuse} }}
earth pump-return from pump.neg to {back} {{ cable 6 mm2 105 degC; along box 1 m }}
{more}
"""

Make = Callable[[str], Ledger]


def spec(
    back: str = "house.neg", more: str = "", fuse: str = "fuse strip 40 A at 0.1 m", stage: str = "planned"
) -> str:
    return SPEC.format(back=back, more=more, fuse=fuse, stage=stage)


def run_of(ledger: Ledger, name: str) -> Run:
    found = ledger.installation.named[name]
    assert isinstance(found, Run)
    return found


def test_metal_on_rubber_is_an_island_until_a_cable_joins_it(ledger_of: Make) -> None:
    canopy = "canopy"
    alone = ledger_of(spec())
    assert alone.get(alone.installation.named[canopy], "island") is True
    bond = "earth bond from wall to crank.neg { cable 10 mm2; along box 1 m }"
    joined = ledger_of(spec(more=bond))
    assert joined.get(joined.installation.named[canopy], "island") is False


def test_joined_over_a_battery_that_itself_is_joined_to_nothing_it_stays_an_island(ledger_of: Make) -> None:
    ledger = ledger_of(spec(more="earth bond from wall to house.neg { cable 10 mm2; along box 1 m }"))
    assert ledger.get(ledger.installation.named["canopy"], "island") is True


def test_a_dead_short_in_the_device_comes_back_through_its_earth(ledger_of: Make) -> None:
    ledger = ledger_of(spec())
    run = run_of(ledger, "pump-return")
    assert ledger.get(run, "fault-fuse") == pytest.approx(40.0)
    assert ledger.get(run, "served-area") == pytest.approx(10e-6)


def test_a_chafed_feed_comes_back_through_the_cable_from_the_structure(ledger_of: Make) -> None:
    """The main return bears the house battery's largest fuse, though its own feed has a smaller one."""
    more = """
    charger dcdc in box { input 30 A max; cuts-out 11 V; output 20 A at 14.4 V; efficiency 90 %; suits agm; stud M6 }
    feed charge-in from crank.pos to dcdc.in { cable 10 mm2 105 degC; along bay 1 m, box 1 m; fuse strip 30 A at 0.1 m }
    feed charge-out from dcdc.out to house.pos { cable 10 mm2 105 degC; along box 1 m; fuse strip 30 A at 0.1 m from house.pos }
    earth dcdc-return from dcdc.neg to house.neg { cable 10 mm2 105 degC; along box 1 m }
    earth main-return from house.neg to crank.neg { cable 10 mm2 105 degC; along box 1 m, bay 1 m }
    """
    ledger = ledger_of(spec(more=more))
    assert ledger.get(run_of(ledger, "main-return"), "fault-fuse") == pytest.approx(40.0)
    assert ledger.get(run_of(ledger, "dcdc-return"), "fault-fuse") == pytest.approx(30.0)
    assert ledger.get(run_of(ledger, "dcdc-return"), "served-area") == pytest.approx(10e-6)


def test_with_a_second_way_back_no_earth_must_bear_it_alone(ledger_of: Make) -> None:
    more = "earth second from pump.neg to house.neg { cable 6 mm2 105 degC; along box 1 m }"
    ledger = ledger_of(spec(more=more))
    assert ledger.get(run_of(ledger, "pump-return"), "fault-fuse") is None
    assert ledger.get(run_of(ledger, "second"), "fault-fuse") is None


def test_without_a_fuse_the_earth_is_judged_by_its_feed_alone(ledger_of: Make) -> None:
    ledger = ledger_of(spec(fuse="fuse none"))
    run = run_of(ledger, "pump-return")
    assert ledger.get(run, "fault-fuse") is None
    assert ledger.get(run, "served-area") == pytest.approx(10e-6)


UNSEEN = """
hub ways in box { rated 60 A; stud M6; way 1 blade 20 A }
feed hub-feed from house.pos to ways.in { cable 10 mm2 105 degC; along box 1 m; fuse strip 80 A at 0.1 m }
feed spur from ways.1 to fan.pos { cable 2.5 mm2 105 degC; along box 1 m }
load fan in box { draws 3 A }
earth fan-return from fan.neg to house.neg { cable SIZE 105 degC; along box 1 m }
"""


def test_a_fuse_that_nobody_has_looked_for_matters_only_where_the_known_one_is_too_large(
    ledger_of: Make,
) -> None:
    stage = "as-found"
    wide = ledger_of(
        spec(more=UNSEEN.replace("SIZE", "2.5 mm2").replace("way 1 blade 20 A", "way 1 unknown"), stage=stage)
    )
    with pytest.raises(Missing, match=r"the protection of ways\.1"):
        wide.get(run_of(wide, "fan-return"), "fault-fuse")
    thick = ledger_of(
        spec(more=UNSEEN.replace("SIZE", "25 mm2").replace("way 1 blade 20 A", "way 1 unknown"), stage=stage)
    )
    assert thick.get(run_of(thick, "fan-return"), "fault-fuse") == pytest.approx(80.0)


def test_what_the_earth_is_too_small_for_is_said_in_numbers(ledger_of: Make) -> None:
    ledger = ledger_of(spec(fuse="fuse strip 80 A at 0.1 m"))
    said = ledger.get(run_of(ledger, "pump-return"), "too-small-for")
    assert "80 A" in said
    assert "its feed has 10 mm²" in said
    assert ledger.get(run_of(ledger, "pump-return"), "earth-size") == "10 mm²"


def test_current_that_cannot_get_back_is_told_by_its_source(ledger_of: Make) -> None:
    stuck = ledger_of(spec(back="wall"))
    pump = stuck.installation.named["pump"]
    assert [source.name for source in stuck.get(pump, "no-way-back-to")] == ["house"]
    sound = ledger_of(spec())
    assert sound.get(sound.installation.named["pump"], "no-way-back-to") == ()


SHUNT = """
shunt monitor in box { rated 500 A; stud M8 }
earth link from house.neg to monitor.in { cable 25 mm2; along box 0.3 m }
battery second in box { chemistry agm; capacity 100 Ah; internal 5 mohm; stud M8 }
earth pair from second.neg to house.neg { cable 25 mm2; along box 0.3 m }
"""


def test_a_negative_on_the_post_bypasses_the_shunt_but_the_link_and_the_twin_battery_do_not(
    ledger_of: Make,
) -> None:
    ledger = ledger_of(spec(more=SHUNT))
    bypassed = {
        run.name: ledger.get(run, "bypassed-shunt") for run in ledger.installation.runs if run.role == "earth"
    }
    assert {name: shunt and shunt.name for name, shunt in bypassed.items()} == {
        "pump-return": "monitor",
        "link": None,
        "pair": None,
    }


def test_a_battery_that_is_bonded_anyway_has_its_earth_there(ledger_of: Make) -> None:
    more = "earth strap from house.neg to chassis { cable 16 mm2; along box 1 m }\nearth bond from wall to crank.neg { cable 6 mm2; along box 1 m }"
    ledger = ledger_of(spec(more=more))
    assert ledger.get(run_of(ledger, "strap"), "grounded-battery").name == "house"
    assert ledger.get(run_of(ledger, "bond"), "grounded-battery") is None


def test_an_earth_on_the_post_goes_round_the_vehicles_own_sensor(ledger_of: Make) -> None:
    text = spec().replace("capacity 100 Ah;", "capacity 100 Ah; post-sensor;")
    ledger = ledger_of(text)
    assert ledger.get(run_of(ledger, "pump-return"), "bypassed-sensor").name == "house"
    assert ledger.get(run_of(ledger, "pump-feed"), "bypassed-sensor") is None


MIRRORED = """
plug tow in box {{ poles 2; rated 50 A; live a }}
load lamp in box {{ draws 2 A }}
feed tow-feed from house.pos to tow.pos-a {{ cable 4 mm2; along box 1 m; fuse blade 10 A at 0.1 m }}
earth tow-return from tow.neg-a to house.neg {{ cable 4 mm2; along box 1 m }}
feed lamp-feed from tow.{feed}-b to lamp.pos {{ cable 4 mm2; along box 1 m }}
earth lamp-return from lamp.neg to tow.{earth}-b {{ cable 4 mm2; along box 1 m }}
"""


@pytest.mark.parametrize(("feed", "earth", "mirrored"), [("pos", "neg", ()), ("neg", "pos", ("pos", "neg"))])
def test_a_plug_is_mirrored_when_a_feed_meets_an_earth(
    ledger_of: Make, feed: str, earth: str, mirrored: tuple[str, ...]
) -> None:
    ledger = ledger_of(spec(more=MIRRORED.format(feed=feed, earth=earth)))
    assert ledger.get(ledger.installation.named["tow"], "mirrored") == mirrored


def test_conductors_alone_between_the_posts_are_a_short_circuit(ledger_of: Make) -> None:
    more = """
    busbar bar in box { studs 3 x M6 }
    feed up from house.pos to bar { cable 6 mm2; along box 1 m; fuse strip 30 A at 0.1 m }
    earth down from bar to house.neg { cable 6 mm2; along box 1 m }
    """
    ledger = ledger_of(spec(more=more))
    house, crank = (ledger.installation.named[name] for name in ("house", "crank"))
    assert [run.name for run in ledger.get(house, "shorted-by")] == ["up", "down"]
    assert ledger.get(crank, "shorted-by") == ()


def test_an_isolator_on_an_earth_is_told_from_one_on_a_feed(ledger_of: Make) -> None:
    more = """
    isolator good in box { rated 50 A; resistance 0.2 mohm; stud M8 }
    isolator odd in box { rated 50 A; resistance 0.2 mohm; stud M8 }
    feed to-good from house.pos to good.in { cable 6 mm2; along box 1 m; fuse strip 30 A at 0.1 m }
    earth to-odd from odd.out to house.neg { cable 6 mm2; along box 1 m }
    """
    ledger = ledger_of(spec(more=more))
    assert ledger.get(ledger.installation.named["good"], "in-return") is None
    assert ledger.get(ledger.installation.named["odd"], "in-return").name == "to-odd"


@pytest.mark.parametrize(("also", "twice"), [("", False), ("chassis", True), ("house.neg", False)])
def test_a_load_returns_twice_when_a_cable_and_a_structure_take_its_current(
    ledger_of: Make, also: str, twice: bool
) -> None:
    more = f"earth also from pump.neg to {also} {{ cable 6 mm2; along box 1 m }}" if also else ""
    ledger = ledger_of(spec(more=more))
    assert ledger.get(ledger.installation.named["pump"], "returns-twice") is twice


def test_a_run_on_the_other_pole_is_told_and_batteries_in_series_are_not(ledger_of: Make) -> None:
    ledger = ledger_of("""
    fitout "Poles" { stage planned; system 24 V }
    place bay {}
    battery front in bay { serves house; chemistry agm; capacity 100 Ah; internal 9 mohm }
    battery rear in bay { serves house; chemistry agm; capacity 100 Ah; internal 9 mohm }
    load lamp in bay { draws 3 A }
    feed series from front.neg to rear.pos { cable 16 mm2; along bay 0.3 m }
    feed right from front.pos to lamp.pos { cable 4 mm2; along bay 1 m }
    earth wrong from lamp.pos to rear.neg { cable 4 mm2; along bay 1 m }
    """)
    runs = {run.name: run for run in ledger.installation.runs}
    assert ledger.get(runs["series"], "wrong-pole") is None
    assert ledger.get(runs["right"], "wrong-pole") is None
    assert ledger.get(runs["wrong"], "wrong-pole").name == "lamp.pos"

"""Labels, colours, open ends, parts left open, and taps into the vehicle's own wiring."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from loomwright.facts.registry import Ledger, Missing
from loomwright.model.things import Run

Make = Callable[[str], Ledger]

SPEC = """
fitout "Test" { stage STAGE; system 12 V }
place box { ambient 20 degC }
battery house in box { serves house; chemistry agm; capacity 100 Ah }
hub ways in box { rated 60 A; negatives 4 x M4; way 1 blade 10 A }
load lamp in box { draws 2 A }
feed main from house.pos to ways.in { cable 16 mm2 COLOUR; along box 1 m; fuse strip 60 A at 0.1 m }
earth back from ways.neg to house.neg { cable 16 mm2 EARTH; along box 1 m }
circuit light from ways.1 to lamp { cable 4 mm2 yellow; along box 1 m }
MORE
"""


def system(
    ledger_of: Make, more: str = "", stage: str = "planned", colour: str = "red", earth: str = "black"
) -> Ledger:
    text = SPEC.replace("MORE", more).replace("STAGE", stage)
    return ledger_of(text.replace("COLOUR", colour).replace("EARTH", earth))


def run(ledger: Ledger, name: str, role: str = "feed") -> Run:
    return next(run for run in ledger.installation.runs if run.name == name and run.role == role)


def test_a_fuse_in_a_run_needs_a_label_and_a_way_is_one(ledger_of: Make) -> None:
    ledger = system(ledger_of)
    assert ledger.get(run(ledger, "main"), "unlabelled") is True
    assert ledger.get(run(ledger, "light"), "unlabelled") is False
    assert ledger.get(run(ledger, "back", "earth"), "unlabelled") is False


@pytest.mark.parametrize(
    ("colour", "earth", "feed_told", "earth_told"),
    [
        ("red", "black", None, None),
        ("brown", "green", None, None),
        ("black", "red", "black is the negative", "red is the positive"),
        ("orange", "green/yellow", "orange marks high voltage in a vehicle", "green/yellow is the protective earth of mains and nothing else"),
    ],
)  # fmt: skip
def test_a_colour_says_what_it_says(
    ledger_of: Make, colour: str, earth: str, feed_told: str | None, earth_told: str | None
) -> None:
    ledger = system(ledger_of, colour=colour, earth=earth)
    assert ledger.get(run(ledger, "main"), "colour-clash") == feed_told
    assert ledger.get(run(ledger, "back", "earth"), "colour-clash") == earth_told
    assert ledger.get(run(ledger, "light"), "colour-clash") == "yellow marks airbag wiring in a vehicle"


def test_a_run_to_an_unwired_switch_or_a_lonely_splice_dangles(ledger_of: Make) -> None:
    more = """
    switch left in box { rated 10 A }
    splice spare in box { crimped; sealed }
    feed one from ways.1 to left.in { cable 2 mm2; along box 1 m }
    feed two from ways.1 to spare { cable 2 mm2; along box 1 m }
    """
    ledger = system(ledger_of, more)
    assert ledger.get(run(ledger, "one"), "dangles-at").name == "left.in"
    assert ledger.get(run(ledger, "two"), "dangles-at").device.name == "spare"
    assert ledger.get(run(ledger, "main"), "dangles-at") is None
    on = "feed on from left.out to lamp.pos { cable 2 mm2; along box 1 m }\nfeed more from spare to lamp.pos { cable 2 mm2; along box 1 m }"
    ledger = system(ledger_of, more + on)
    assert ledger.get(run(ledger, "one"), "dangles-at") is None
    assert ledger.get(run(ledger, "two"), "dangles-at") is None


def test_a_run_to_a_busbar_dangles_where_nothing_else_is_on_the_bar_and_no_structure_is_bonded_to_it(
    ledger_of: Make,
) -> None:
    more = """
    busbar bar in box { studs 4 x M8; rated 100 A }
    feed one from house.pos to bar { cable 16 mm2 red; along box 1 m; fuse strip 60 A at 0.1 m }
    busbar earths in box { studs 4 x M8; rated 100 A }
    earth two from earths to house.neg { cable 16 mm2 black; along box 1 m }
    """
    ledger = system(ledger_of, more)
    assert ledger.get(run(ledger, "one"), "dangles-at").device.name == "bar"
    assert ledger.get(run(ledger, "two", "earth"), "dangles-at").device.name == "earths"
    on = """
    feed on from bar to lamp.pos { cable 2 mm2; along box 1 m }
    structure frame { metal steel; bonded earths }
    """
    ledger = system(ledger_of, more + on)
    assert ledger.get(run(ledger, "one"), "dangles-at") is None
    assert ledger.get(run(ledger, "two", "earth"), "dangles-at") is None


def test_a_job_to_be_done_needs_its_parts_settled_and_an_inspection_does_not(ledger_of: Make) -> None:
    more = 'isolator iso in box { stud M8 }\nisolator known in box { order "ISO-1" }\nfeed dark from house.pos to iso.in { cable unknown; along box 1 m }'
    for stage, told, open_ in (("planned", "the rated current of iso", True), ("as-found", None, False)):
        ledger = system(ledger_of, more, stage)
        assert ledger.get(ledger.installation.named["iso"], "unspecified") == told
        assert ledger.get(ledger.installation.named["known"], "unspecified") is None
        assert ledger.get(run(ledger, "dark"), "unspecified") is open_


def test_what_a_supply_is_taken_from_is_asked(ledger_of: Make) -> None:
    more = "supply point in box { holds 13 V; rated 5 A; live ignition CLAUSE }\nfeed tap from point.pos to lamp.pos { cable 1 mm2; along box 1 m }"
    ledger = system(ledger_of, more.replace("CLAUSE", "; taken-from airbag"))
    point = ledger.installation.named["point"]
    assert [each.name for each in ledger.get(point, "tapped-by")] == ["tap"]
    assert ledger.get(point, "taken-from") == "airbag"
    ledger = system(ledger_of, more.replace("CLAUSE", ""))
    with pytest.raises(Missing, match="which circuit of the vehicle point is taken from"):
        ledger.get(ledger.installation.named["point"], "taken-from")

"""The diagram and the routing plan of systems that nobody would build: they are drawn whole and readable all the same."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from loomwright.sheets.drawings import diagram, routing

from .conftest import installation_of
from .paper import outside, overlapping, root_of, runs_of, struck

DEVICES = """
fitout "any" { stage as-found; system 12 V }
place bay { ambient 40 degC; hazards heat, vibration }
place a-rather-long-name-of-a-hole { opening bare }
place box { ambient 30 degC }
structure chassis { metal steel; bonded crank.neg }
structure skin { metal aluminium }
earthpoint stud-one on chassis in bay { stud M8 }
earthpoint stud-two on skin in box { stud M6 }
battery crank in bay { serves cranking; stud M8 }
battery house in box { serves house; stud M8 }
alternator gen in bay
solar panel in box
supply ignition in bay
charger dcdc in box
inverter bench in box
isolator main in bay
shunt meter in box
relay split in bay
plug tow in bay { poles 2 }
busbar common in box { studs 12 x M8 }
splice tap in box
hub ways in box { negatives 9 x M4; way 1 blade 15 A; way 2 breaker 10 A switched; way 3 none }
load lamp in box { draws 2 A; count 3 }
load a-pump-with-a-very-long-name-indeed in box { draws 5 A }
sensor probe in box
"""
POSITIVE = [
    "crank.pos",
    "house.pos",
    "gen.pos",
    "panel.pos",
    "ignition.pos",
    "dcdc.in",
    "dcdc.out",
    "dcdc.solar",
    "bench.pos",
    "main.in",
    "main.out",
    "split.in",
    "split.out",
    "split.rest",
    "tow.pos-a",
    "tow.pos-b",
    "common",
    "tap",
    "ways.in",
    "ways.1",
    "ways.2",
    "ways.3",
    "lamp.pos",
    "a-pump-with-a-very-long-name-indeed.pos",
    "probe.pos",
]
NEGATIVE = [
    "crank.neg",
    "house.neg",
    "gen.neg",
    "panel.neg",
    "dcdc.neg",
    "bench.neg",
    "meter.in",
    "meter.out",
    "tow.neg-a",
    "tow.neg-b",
    "ways.neg",
    "lamp.neg",
    "chassis",
    "skin",
    "stud-one",
    "stud-two",
    "common",
]
SIGNAL = ["split.coil-pos", "split.coil-neg", "dcdc.sense", "probe.out", "ignition.pos", "tap", "lamp.pos"]
CABLES = ("4 mm2 red", "16 mm2 black/red 105 degC", "twin 2.5 mm2", "unknown", "6 mm auto", "2/0 AWG")
PATHS = (
    "bay 1 m",
    "bay 0.7 m, a-rather-long-name-of-a-hole, box 2.25 m",
    "box 1 m, a-rather-long-name-of-a-hole, bay 1 m",
    "",
)
FUSES = ("", "fuse none", "fuse strip 60 A at 0.1 m", "fuse blade 5 A at 0.1 m; fuse breaker 30 A at 0.6 m")


@st.composite
def texts(draw: st.DrawFn) -> str:
    lines = [DEVICES]
    for number in range(draw(st.integers(0, 28))):
        kind, ends = draw(
            st.sampled_from([("feed", POSITIVE), ("feed", POSITIVE), ("earth", NEGATIVE), ("signal", SIGNAL)])
        )
        start, end = draw(st.lists(st.sampled_from(ends), min_size=2, max_size=2, unique=True))
        path = draw(st.sampled_from(PATHS))
        fuse = draw(st.sampled_from(FUSES)) if path and kind == "feed" else ""
        joint = draw(st.sampled_from(("", "joint at 0.4 m soldered taped"))) if path else ""
        clauses = "; ".join(
            each
            for each in (f"cable {draw(st.sampled_from(CABLES))}", path and f"along {path}", fuse, joint)
            if each
        )
        lines.append(f"{kind} run-{number} from {start} to {end} {{ {clauses} }}")
    return "\n".join(lines)


@settings(max_examples=25, deadline=None)
@given(texts())
def test_any_system_is_drawn_whole_and_readable(text: str) -> None:
    system = installation_of(text)
    sheets = diagram(system)
    assert sorted(name for sheet in sheets for name in runs_of(sheet)) == sorted(
        run.name for run in system.runs
    )
    titles = {each.text for sheet in sheets for each in root_of(sheet).iter() if each.tag.endswith("}title")}
    assert {device.name for device in system.devices} <= titles
    for sheet in (*sheets, *routing(system)):
        assert overlapping(sheet) == [], sheet.name
        assert outside(sheet) == [], sheet.name
        assert struck(sheet) == [], sheet.name

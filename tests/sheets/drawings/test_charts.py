"""Protection curves, the state of charge and the lid of the fuse box."""

from __future__ import annotations

import math
import re

import pytest

from loomwright.analysis.opening import Curve, opens_between
from loomwright.facts.all import __name__ as _facts
from loomwright.facts.limits import load_limits
from loomwright.facts.registry import Ledger
from loomwright.model.things import Fuse, Hub, Installation
from loomwright.sheets.drawings import (
    Cable,
    Faults,
    Slot,
    Spell,
    Surge,
    curve_of,
    energy_chart,
    fuse_chart,
    protection_curve,
    slots_of,
)
from loomwright.sheets.drawings.chart import Frame, Scale, decade, traced
from loomwright.sheets.drawings.protection import BAND

from .conftest import SPECS, installation_of
from .paper import SVG, outside, overlapping, root_of, runs_of, words_of

BLADE = ((1.1, 360000.0, None), (1.35, 0.75, 600.0), (2.0, 0.15, 5.0), (3.5, 0.04, 0.5), (6.0, 0.02, 0.1))


def blade(amps: float) -> tuple[float, float]:
    return opens_between(Curve(BLADE, 15.0), amps)


def curve(**more):  # type: ignore[no-untyped-def]
    return protection_curve("curve-x", "Protection curve of x", 15.0, blade, **more)


@pytest.fixture(scope="module")
def planned() -> Ledger:
    assert _facts
    path = SPECS[-1]
    installation = installation_of(path.read_text(encoding="utf-8"), str(path))
    return Ledger(installation, load_limits("general"))


def fuses_of(installation: Installation) -> list[Fuse]:
    in_runs = [fuse for fuses in installation.fuses_of.values() if isinstance(fuses, tuple) for fuse in fuses]
    return in_runs + [fuse for fuse in installation.fuse_of_way.values() if isinstance(fuse, Fuse)]


def test_decades_stand_evenly_and_are_named() -> None:
    scale = Scale(1.0, 1000.0, 10.0, 310.0, log=True)
    assert [round(scale.at(10.0**n)) for n in range(4)] == [10, 110, 210, 310]
    assert [decade(n) for n in (-2, 0, 3, 4)] == ["0.01", "1", "1000", "10\u202f000"]


def test_a_curve_is_drawn_where_its_figures_are() -> None:
    """1/x² is straight on logarithmic axes: its two ends are enough."""
    frame = Frame(Scale(1, 100, 0, 200, log=True), Scale(1e-4, 1.0, 400, 0, log=True))
    points = traced(lambda x: 1 / x**2, frame)
    assert points[0] == pytest.approx((0, 0), abs=0.1)
    assert points[-1] == pytest.approx((200, 400), abs=0.1)
    assert len(points) < 8


def test_a_jump_is_upright() -> None:
    frame = Frame(Scale(1, 100, 0, 200, log=True), Scale(1e-2, 1e2, 400, 0, log=True))
    points = traced(lambda x: 50.0 if x < 7.77 else 0.5, frame)
    at = frame.x.at(7.77)
    assert sum(abs(x - at) < 0.1 for x, _ in points) >= 2


def test_what_never_ends_leaves_the_frame_at_the_top() -> None:
    frame = Frame(Scale(1, 100, 0, 200, log=True), Scale(1e-2, 1e2, 400, 0, log=True))
    points = traced(lambda x: math.inf if x < 10 else 1.0, frame)
    assert points[0][1] == 0
    assert points[0][0] == pytest.approx(100, abs=0.5)


def test_both_edges_of_the_band_pass_through_the_gates() -> None:
    """At twice its rating this fuse opens between 0.15 s and 5 s (its gates): both points lie on drawn lines."""
    drawing = curve()
    paths = [
        each.attrib["d"]
        for each in root_of(drawing).iter(SVG + "path")
        if "stroke-width" not in each.attrib or each.attrib["stroke-width"] == "1.6"
    ]
    frame = Frame(Scale(10, 1000, 44, 484, log=True), Scale(1e-3, 1e4, 255, 40, log=True))
    for seconds in (0.15, 5.0):
        x, y = frame.point(30.0, seconds)
        points = [
            tuple(map(float, pair)) for d in paths for pair in re.findall(r"[ML](-?[\d.]+) (-?[\d.]+)", d)
        ]
        assert min(math.hypot(px - x, py - y) for px, py in points) < 1.5


def test_everything_asked_for_is_on_the_curve() -> None:
    drawing = curve(
        cables=[Cable("main", lambda amps: (115 * 4 / amps) ** 2)],
        surges=[Surge("pump", 18.0, 0.3)],
        faults=Faults(210.0, 640.0),
    )
    said = [word.text for word in words_of(drawing)]
    for words in (
        "main stands",
        "pump starts: 18 A, 0.3 s",
        "least fault 210 A",
        "greatest fault 640 A",
        "rating 15 A",
    ):
        assert words in said
    assert runs_of(drawing) == ["main"]
    assert BAND in drawing.svg
    assert overlapping(drawing) == []
    assert outside(drawing) == []


def test_unknown_faults_and_cables_are_left_out() -> None:
    said = " ".join(word.text for word in words_of(curve()))
    assert "fault" not in said
    assert "stands" not in said


def test_cables_that_stand_the_same_share_a_line_with_both_names() -> None:
    cables = [Cable(name, lambda amps: (460 / amps) ** 2) for name in ("one", "two")]
    drawing = curve(cables=cables)
    assert "one, two stand" in [word.text for word in words_of(drawing)]
    assert runs_of(drawing) == ["one", "two"]


def test_every_fuse_of_a_spec_has_a_curve_with_its_own_name(planned: Ledger) -> None:
    drawings = [curve_of(planned, fuse) for fuse in fuses_of(planned.installation)]
    assert len({drawing.name for drawing in drawings}) == len(drawings) == 8
    for drawing in drawings:
        assert overlapping(drawing) == [], drawing.name
        assert outside(drawing) == [], drawing.name


def test_the_band_is_that_of_the_facts(planned: Ledger, monkeypatch: pytest.MonkeyPatch) -> None:
    seen = {}
    monkeypatch.setattr(
        "loomwright.sheets.drawings.protection.protection_curve",
        lambda _name, _title, _rating, band, *_rest: seen.setdefault("band", band),
    )
    (fuse,) = (fuse for fuse in fuses_of(planned.installation) if fuse.name == "main")
    curve_of(planned, fuse)
    for amps in (70.0, 85.0, 150.0, 400.0):
        expected = planned.get(fuse, "holds-for", amps), planned.get(fuse, "opens-by", amps)
        assert seen["band"](amps) == pytest.approx(expected)


def test_the_state_of_charge_is_drawn_to_scale_with_its_lowest_point() -> None:
    drawing = energy_chart(
        "energy-day",
        "A day",
        [0, 6, 12, 24],
        [80, 30, 60, 75],
        20,
        [Spell("night", 0, 6), Spell("day", 6, 24)],
    )
    said = [word.text for word in words_of(drawing)]
    assert "lowest 30 % at 6 h" in said
    assert "reserve 20 %" in said
    assert {"night", "day"} <= set(said)
    dots = list(root_of(drawing).iter(SVG + "circle"))
    assert float(dots[0].attrib["cx"]) == pytest.approx(40 + 440 * 6 / 24, abs=0.1)
    assert float(dots[0].attrib["cy"]) == pytest.approx(22 + 190 * 0.7, abs=0.1)
    assert overlapping(drawing) == []


@pytest.mark.parametrize(
    ("hours", "state"), [([0.0], [50.0]), ([0.0, 1.0], [50.0]), ([1.0, 0.0], [50.0, 40.0])]
)
def test_a_state_of_charge_that_makes_no_line_is_refused(hours: list[float], state: list[float]) -> None:
    with pytest.raises(ValueError, match="hours"):
        energy_chart("energy", "A day", hours, state)


def test_the_lid_has_a_row_for_each_way_in_the_colour_of_its_fuse(planned: Ledger) -> None:
    """ISO 8820-3 type C: 15 A blue, 10 A red, 5 A tan."""
    (hub,) = (each for each in planned.installation.devices if isinstance(each, Hub))
    slots = slots_of(planned, hub)
    assert [slot.way for slot in slots] == ["1", "2", "3", "4"]
    assert [slot.colour for slot in slots] == ["blue", "red", "blue", "tan"]
    assert [slot.runs for slot in slots] == [("incubator-feed",), ("lights",), ("pump",), ("radio-feed",)]
    drawing = fuse_chart("fuses-ways", "The lid of ways", slots)
    said = [word.text for word in words_of(drawing)]
    assert said.count("blue") == 2
    assert "10 A blade" in said
    assert overlapping(drawing) == []


def test_long_names_that_begin_alike_are_told_apart_in_the_lid() -> None:
    names = [f"FORWARD WORKSHOP BENCH AND CABINET LIGHTING CIRCUIT NUMBER {n}" for n in (1, 2)]
    slots = [Slot(str(n), "10 A", "red", name, "lamps", "1 A") for n, name in enumerate(names, 1)]
    told = [word.text for word in words_of(fuse_chart("fuses-x", "Lid", slots))]
    assert any(word.endswith("NUMBER 1") for word in told)
    assert any(word.endswith("NUMBER 2") for word in told)


def test_a_spare_way_says_so() -> None:
    drawing = fuse_chart("fuses-x", "Lid", [Slot("1", "", "", "", "", "")])
    assert {"spare", "no fuse"} <= {word.text for word in words_of(drawing)}


HOSTILE = "<script>alert('1')</script> & \"x\" \u05e9\u05dc\u05d5\u05dd \U0001f41d"


def test_hostile_words_stay_words() -> None:
    drawings = [
        fuse_chart("fuses-x", HOSTILE, [Slot("1", "10 A", "red", HOSTILE, HOSTILE, "1 A", (HOSTILE,))]),
        energy_chart("energy", HOSTILE, [0, 1], [50, 40], spells=[Spell(HOSTILE, 0, 1)]),
        curve(cables=[Cable(HOSTILE, lambda amps: 1e4 / amps)]),
    ]
    for drawing in drawings:
        root = root_of(drawing)
        assert not [each for each in root.iter() if each.tag.endswith("script")]
        assert any("<script>" in (each.text or "") for each in root.iter())

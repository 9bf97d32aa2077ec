"""The complete systems come out as they read: ends, fuses, legs, stretches, and what a stage leaves open."""

from __future__ import annotations

import pytest

from loomwright.model.things import (
    Battery,
    Cable,
    Circuit,
    Contact,
    End,
    Fuse,
    Hub,
    Installation,
    Load,
    Multicore,
    Run,
    Sensor,
    Solar,
    Terminal,
    Unknown,
)


def run(installation: Installation, name: str, role: str = "feed") -> Run:
    return next(each for each in installation.runs if each.name == name and each.role == role)


def words(end: End) -> tuple[object, ...]:
    """What is said of an end, `?` where it is unknown."""
    values = (end.fitting, end.lug_size, end.lug_thread, end.made, end.cover, end.held)
    return tuple("?" if isinstance(each, Unknown) else getattr(each, "text", each) for each in values)


def test_the_planned_system_has_every_thing_of_its_text(planned: Installation) -> None:
    assert planned.fitout.name == "Orchard Bees flatbed"
    assert (planned.fitout.stage, planned.fitout.limits, planned.fitout.system.text) == (
        "planned",
        "general",
        "12 V",
    )
    assert [place.name for place in planned.places][:3] == ["engine-bay", "firewall", "rail-inside"]
    assert len(planned.devices) == 12
    assert len(planned.circuits) == 4
    assert len(planned.runs) == 11 + 2 * 4
    assert planned.site is not None
    assert planned.site.month == "november"


def test_a_run_knows_both_its_ends_and_the_two_sides_of_its_fuse(planned: Installation) -> None:
    main = run(planned, "main")
    assert (main.start.name, main.end.name) == ("crank.pos", "dcdc.in")
    ends = planned.ends_of[main]
    assert [end.side for end in ends] == ["start", "fuse-in", "fuse-out", "end"]
    assert words(ends[0]) == ("lug", "8 B&S", "M8", "crimped", "sealed", "tight")
    assert words(ends[1]) == ("?", "?", "?", "crimped", "sealed", "tight")
    assert words(ends[3]) == ("lug", "8 B&S", "M6", "crimped", "sealed", "tight")
    assert isinstance(ends[1].point, Fuse)
    assert ends[0].span.text.startswith("end    crank.pos")


def test_a_fuse_knows_where_it_sits_along_the_run(planned: Installation) -> None:
    at = {}
    for name in ("main", "charge", "gen-link"):
        fuses = planned.fuses_of[run(planned, name)]
        assert not isinstance(fuses, Unknown)
        (fuse,) = fuses
        assert fuse.place is not None
        at[name] = (fuse.from_start_m, fuse.place.name, fuse.rating.text)
    assert at["main"] == (pytest.approx(0.15), "engine-bay", "60 A")
    assert at["charge"] == (
        pytest.approx(0.5),
        "toolbox",
        "50 A",
    )  # 0.1 m from house.pos, at the far end of 0.6 m
    assert at["gen-link"] == (pytest.approx(0.5), "engine-bay", "150 A")


def test_the_length_of_a_run_is_the_sum_of_its_path_and_openings_have_none(planned: Installation) -> None:
    stretches = planned.stretches_of[run(planned, "main")]
    assert not isinstance(stretches, Unknown)
    assert [(each.place.name, each.start_m, each.stop_m) for each in stretches] == [
        ("engine-bay", 0, pytest.approx(0.7)),
        ("firewall", pytest.approx(0.7), pytest.approx(0.7)),
        ("rail-inside", pytest.approx(0.7), pytest.approx(3.8)),
        ("headboard", pytest.approx(3.8), pytest.approx(4.7)),
        ("toolbox", pytest.approx(4.7), pytest.approx(5.1)),
    ]
    assert stretches[1].length is None
    assert {each.sleeve for each in stretches} == {"split-tube"}
    assert {getattr(each.clips, "text", None) for each in stretches} == {"0.25 m"}


def test_a_circuit_is_two_runs_and_returns_to_the_negatives_of_its_hub(planned: Installation) -> None:
    circuit = planned.named["lights"]
    assert isinstance(circuit, Circuit)
    feed, earth = planned.legs_of[circuit]
    assert (feed.role, feed.start.name, feed.end.name) == ("feed", "ways.2", "work-lights.pos")
    assert (earth.role, earth.start.name, earth.end.name) == ("earth", "work-lights.neg", "ways.neg")
    assert feed.circuit is earth.circuit is circuit
    assert feed.cable is not None
    assert isinstance(feed.cable, Cable)
    assert feed.cable.twin
    back = planned.stretches_of[earth]
    assert not isinstance(back, Unknown)
    assert [(each.place.name, each.start_m) for each in back] == [("tray-edge", 0), ("toolbox", 3.5)]
    assert planned.fuses_of[feed] == planned.fuses_of[earth] == ()
    fittings = [words(end)[0] for leg in (feed, earth) for end in planned.ends_of[leg]]
    assert fittings == ["blade-terminal"] * 3 + ["lug"]  # the return has a stud of its own


def test_a_way_of_a_hub_has_its_protection(planned: Installation) -> None:
    hub = planned.named["ways"]
    assert isinstance(hub, Hub)
    ways = planned.ways_of[hub]
    assert [way.name for way in ways] == ["ways.1", "ways.2", "ways.3", "ways.4"]
    fuse = planned.fuse_of_way[ways[1]]
    assert isinstance(fuse, Fuse)
    assert (fuse.kind, fuse.rating.text, fuse.way, fuse.run) == ("blade", "10 A", ways[1], None)
    assert [way.control for way in ways] == [None, "switched", "switched", None]


def test_all_that_lands_on_a_bare_busbar_lands_on_one_point(planned: Installation) -> None:
    common = planned.terminals["common"]
    assert common.label == ""
    assert {end.run.name for end in planned.landing_on[common]} == {
        "main-return", "dcdc-return", "house-return", "hub-return",
    }  # fmt: skip
    assert common.thread == "M8"


def test_a_terminal_knows_its_stud_or_what_to_look_at(planned: Installation) -> None:
    assert planned.terminals["dcdc.in"].thread == "M6"
    stud = planned.terminals["syrup-pump.pos"].thread
    assert isinstance(stud, Unknown)
    assert stud.what == "the stud of syrup-pump.pos"


# ---------------------------------------------------------------- as found


def test_what_an_as_found_file_leaves_out_is_unknown_and_named_in_trade_words(as_found: Installation) -> None:
    house, gen = as_found.named["house"], as_found.named["gen"]
    assert isinstance(house, Battery)
    assert isinstance(house.held_down, Unknown)
    assert house.held_down.what == "whether house is held down"
    assert house.held_down.span == house.span
    assert gen.place_of("regulation") == gen.span
    assert isinstance(as_found.fuses_of[run(as_found, "gen-link")], tuple)
    pump = run(as_found, "pump")
    assert isinstance(pump.cable, Unknown)
    assert pump.cable.what == "the cable size of pump"
    assert pump.cable.span.text.startswith("cable  unknown")


def test_none_is_a_finding_of_somebody_who_looked(as_found: Installation) -> None:
    main = run(as_found, "main")
    assert as_found.fuses_of[main] == ()
    stretches = as_found.stretches_of[main]
    assert not isinstance(stretches, Unknown)
    assert {(each.sleeve, each.clips) for each in stretches} == {(None, None)}
    assert [(each.distance.text, each.hazard) for each in main.clearances] == [("0 mm", "wheel")]


def test_twisted_ends_have_no_lug_and_unknown_ends_have_no_words(as_found: Installation) -> None:
    lights, pump = run(as_found, "lights"), run(as_found, "pump")
    assert words(as_found.ends_of[lights][0]) == ("?", None, None, "twisted", "taped", "?")
    assert words(as_found.ends_of[pump][0]) == ("?",) * 6


def test_a_circuit_from_a_way_needs_no_fuse_even_as_found(as_found: Installation) -> None:
    assert as_found.fuses_of[run(as_found, "lights")] == ()
    assert as_found.fuses_of[run(as_found, "lights", "earth")] == ()


def test_the_circuits_of_a_hub_return_to_its_neg_where_nobody_says_otherwise(as_found: Installation) -> None:
    assert run(as_found, "lights", "earth").end is as_found.terminals["box.neg"]


# ---------------------------------------------------------------- the trailer


def test_cores_take_size_and_path_from_their_multicore(marsh_lab: Installation) -> None:
    sense = run(marsh_lab, "sense-trailer", "signal")
    cable = marsh_lab.named["trailer-tail"]
    assert isinstance(cable, Multicore)
    assert sense.multicore is cable
    assert cable.cores == 4
    assert isinstance(sense.cable, Cable)
    assert (sense.cable.size.text, sense.cable.colour, sense.core) == ("1.5 mm2", "white", "white")
    stretches = marsh_lab.stretches_of[sense]
    assert not isinstance(stretches, Unknown)
    assert [(each.place.name, each.sleeve) for each in stretches] == [
        ("drawbar", "conduit"), ("locker-gland", "split-tube"), ("locker", "split-tube"),
    ]  # fmt: skip
    assert [each.slack.text if each.slack else None for each in stretches] == ["300 mm", None, None]


def test_a_loom_stands_over_practice_and_under_the_run(marsh_lab: Installation) -> None:
    cooler = run(marsh_lab, "cooler-feed")
    stretches = marsh_lab.stretches_of[cooler]
    assert not isinstance(stretches, Unknown)
    assert cooler.loom is marsh_lab.named["locker-loom"]
    assert {getattr(each.clips, "text", None) for each in stretches} == {"0.2 m"}


def test_a_circuit_from_a_splice_returns_where_it_says(marsh_lab: Installation) -> None:
    pump = run(marsh_lab, "pump-feed", "earth")
    assert (pump.start.name, pump.end.name) == ("sample-pump.neg", "bench-minus")
    assert words(marsh_lab.ends_of[pump][-1])[0] == "ferrule"
    assert words(marsh_lab.ends_of[pump][0])[0] == "blade-terminal"


def test_parts_counts_and_kinds_come_through(marsh_lab: Installation) -> None:
    panels, lamps, probe = (marsh_lab.named[name] for name in ("roof-panels", "lamps", "tank-probe"))
    assert isinstance(panels, Solar)
    assert isinstance(lamps, Load)
    assert isinstance(probe, Sensor)
    assert (panels.part, panels.count, panels.arrangement) == ("panel-160", 2, "series")
    assert panels.open.text == "22.4 V"  # type: ignore[union-attr]
    assert (lamps.count, lamps.spaced.text if lamps.spaced else None) == (4, "0.9 m")
    assert probe.measures == "level"
    assert [each.name for each in marsh_lab.terminals_of[marsh_lab.named["aux"]]][:3] == [  # type: ignore[index]
        "aux.1-a", "aux.1-b", "aux.2-a",
    ]  # fmt: skip


def test_modes_days_and_notes_refer_to_things(marsh_lab: Installation) -> None:
    sampling = next(mode for mode in marsh_lab.modes if mode.name == "sampling")
    assert [device.name for device in sampling.opened] == ["split"]
    assert isinstance(sampling.closed[0], Contact)
    assert {each.thing.name: each.level.text if each.level else None for each in sampling.on} == {
        "sample-cooler": None, "sample-pump": None, "vent-fan": None, "lamps": "50 %", "bench-power": "60 W",
    }  # fmt: skip
    hours = [(mode.name, length.text) for mode, length in marsh_lab.days[0].hours]
    assert hours == [("towing", "3 h"), ("sampling", "6 h"), ("overnight", "15 h")]
    assert marsh_lab.notes["Marsh Lab survey trailer"][0].startswith("The trailer frame")


@pytest.mark.parametrize("name", ["planned", "as_found", "marsh_lab"])
def test_every_end_of_every_run_lands_somewhere(name: str, request: pytest.FixtureRequest) -> None:
    installation: Installation = request.getfixturevalue(name)
    for each in installation.runs:
        ends = installation.ends_of[each]
        assert ends[0].point is each.start
        assert ends[-1].point is each.end
        assert ends[0] in installation.landing_on[each.start]
        assert ends[-1] in installation.landing_on[each.end]
    for name_of, terminal in installation.terminals.items():
        assert isinstance(terminal, Terminal)
        assert terminal.name == name_of
        assert terminal in installation.terminals_of[terminal.device]

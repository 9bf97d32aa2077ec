"""What a clause that is left out means, by stage; and how practice, looms, parts and ends add up."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from loomwright.model.things import Battery, Charger, Fuse, Installation, Load, Relay, Run, Unknown

Built = Callable[..., Installation]
PATH = "along bay 1 m, wall, box 1 m"


def run(installation: Installation, role: str, name: str = "r") -> Run:
    return next(each for each in installation.runs if each.role == role and each.name == name)


def stretches(installation: Installation, role: str = "feed") -> list[Any]:
    found = installation.stretches_of[run(installation, role)]
    assert not isinstance(found, Unknown)
    return list(found)


@pytest.mark.parametrize("stage", ["planned", "installed"])
def test_fuse_sleeve_and_clips_left_out_of_a_plan_are_none(built: Built, stage: str) -> None:
    installation = built(f"feed r from crank.pos to ways.in {{ {PATH} }}", stage)
    assert installation.fuses_of[run(installation, "feed")] == ()
    assert {(each.sleeve, each.clips) for each in stretches(installation)} == {(None, None)}


def test_everything_left_out_as_found_is_unknown(built: Built) -> None:
    installation = built(f"feed r from crank.pos to ways.in {{ {PATH} }}", "as-found")
    fuses = installation.fuses_of[run(installation, "feed")]
    joints = installation.joints_of[run(installation, "feed")]
    assert isinstance(fuses, Unknown)
    assert fuses.what == "the fuses of r"
    assert isinstance(joints, Unknown)
    assert joints.what == "whether r has joins in mid-run"
    first = stretches(installation)[0]
    assert first.sleeve.what == "the sleeve of r in bay"
    assert first.clips.what == "the clip spacing of r in bay"


@pytest.mark.parametrize("stage", ["planned", "installed"])
def test_a_plan_means_stranded_copper_and_leaves_bends_first_clips_and_ways_in_to_the_fitter(
    built: Built, stage: str
) -> None:
    installation = built(f"feed r from crank.pos to ways.in {{ {PATH} }}", stage)
    made = run(installation, "feed")
    assert (made.conductor.strands, made.conductor.metal, made.conductor.use) == (
        "stranded",
        "copper",
        "vehicle-cable",
    )
    assert (made.bend, made.diameter) == (None, None)
    assert {(end.clip, end.entry) for end in installation.ends_of[made]} == {(None, None)}


def test_as_found_they_are_one_thing_each_to_look_at_for_the_whole_spec(built: Built) -> None:
    installation = built(
        f"feed r from crank.pos to ways.in {{ {PATH} }}\nfeed q from crank.pos to ways.in {{ {PATH} }}",
        "as-found",
    )
    runs = [run(installation, "feed", name) for name in ("r", "q")]
    ends = [end for each in runs for end in installation.ends_of[each]]
    for found in (
        [each.conductor.metal for each in runs],
        [each.bend for each in runs],
        [end.clip for end in ends],
        [end.entry for end in ends],
    ):
        assert all(isinstance(each, Unknown) for each in found)
        assert len({(each.what, each.span.order()) for each in found if isinstance(each, Unknown)}) == 1
    assert all(each.conductor.doubted is None for each in runs)


def test_words_of_a_conductor_add_up_and_unknown_hides_what_lies_beneath(built: Built) -> None:
    installation = built(
        "practice { conductor stranded copper vehicle-cable }\n"
        f"feed r from crank.pos to ways.in {{ {PATH}; conductor copper-clad }}\n"
        f"feed q from crank.pos to ways.in {{ {PATH}; conductor unknown }}",
        "as-found",
    )
    clad, hidden = (run(installation, "feed", name).conductor for name in ("r", "q"))
    assert (clad.strands, clad.metal, clad.use) == ("stranded", "copper-clad", "vehicle-cable")
    assert isinstance(hidden.metal, Unknown)
    assert hidden.doubted is hidden.metal
    assert hidden.metal.span.text == "conductor unknown"


def test_an_end_adds_its_first_clip_and_its_way_in_to_what_practice_says(built: Built) -> None:
    installation = built(
        "practice { ends crimped sealed tight clip 0.1 m }\n"
        "feed r from crank.pos to ways.in { end ways.in clip 0.2 m looped }"
    )
    start, end = installation.ends_of[run(installation, "feed")]
    assert [each.clip.text for each in (start, end)] == ["0.1 m", "0.2 m"]  # type: ignore[union-attr]
    assert (start.entry, end.entry, end.held) == (None, "looped", "tight")


@pytest.mark.parametrize("stage", ["planned", "installed", "as-found"])
@pytest.mark.parametrize(
    ("role", "ends"), [("earth", "crank.neg to chassis"), ("signal", "ways.1 to lamp.pos")]
)
def test_a_fuse_left_out_of_an_earth_or_signal_is_none_in_every_stage(
    built: Built, stage: str, role: str, ends: str
) -> None:
    installation = built(f"practice {{ fuse blade 5 A at 0.1 m }}\n{role} r from {ends}", stage)
    assert installation.fuses_of[run(installation, role)] == ()


@pytest.mark.parametrize("stage", ["planned", "installed", "as-found"])
def test_cable_path_and_ends_left_out_are_unknown_in_every_stage(built: Built, stage: str) -> None:
    installation = built("feed r from crank.pos to ways.in", stage)
    made = run(installation, "feed")
    path = installation.stretches_of[made]
    assert isinstance(made.cable, Unknown)
    assert made.cable.what == "the cable size of r"
    assert made.cable.span == made.span
    assert isinstance(path, Unknown)
    assert path.what == "the path and length of r"
    whats = [end.lug_size.what for end in installation.ends_of[made] if isinstance(end.lug_size, Unknown)]
    assert whats == ["the lug of r at crank.pos", "the lug of r at ways.in"]


def test_unknown_written_points_at_the_word(built: Built) -> None:
    installation = built("feed r from crank.pos to ways.in { fuse unknown; along unknown; sleeve unknown }")
    fuses = installation.fuses_of[run(installation, "feed")]
    assert isinstance(fuses, Unknown)
    assert fuses.span.text == "fuse unknown"


def test_a_way_without_words_is_unknown_and_none_is_none(built: Built) -> None:
    installation = built("hub h in box { way 1 unknown; way 2 none }")
    found = [fuse for way, fuse in installation.fuse_of_way.items() if way.hub.name == "h"]
    assert isinstance(found[0], Unknown)
    assert found[0].what == "the protection of h.1"
    assert found[1] is None


def test_cable_and_fuse_that_are_still_to_be_sized(built: Built) -> None:
    installation = built("feed r from crank.pos to ways.in { cable auto; fuse auto }")
    made = run(installation, "feed")
    assert (made.auto_cable, made.auto_fuse) == (True, True)
    assert isinstance(made.cable, Unknown)
    assert isinstance(installation.fuses_of[made], Unknown)


# ---------------------------------------------------------------- adding up


def test_words_of_one_kind_replace_one_another_and_others_add_up(built: Built) -> None:
    installation = built(
        "practice { ends crimped sealed tight; end fuse lug 6 B&S M5 }\n"
        "feed r from crank.pos to ways.in {\n"
        "  ends taped\n"
        "  fuse strip 30 A at 0.1 m\n"
        "  end crank.pos lug 8 B&S M8 loose\n"
        "  end ways.in ferrule\n"
        "  end fuse soldered\n"
        "}"
    )
    start, fuse_in, fuse_out, end = installation.ends_of[run(installation, "feed")]
    assert (start.fitting, start.made, start.cover, start.held) == ("lug", "crimped", "taped", "loose")
    assert (end.fitting, end.lug_size, end.lug_thread, end.held) == ("ferrule", None, None, "tight")
    for side in (fuse_in, fuse_out):
        assert (side.fitting, side.lug_thread, side.made, side.cover) == ("lug", "M5", "soldered", "taped")


def test_ends_unknown_wipes_what_practice_said(built: Built) -> None:
    installation = built(
        "practice { ends crimped sealed tight }\nfeed r from crank.pos to ways.in { ends unknown; end ways.in tight }"
    )
    start, end = installation.ends_of[run(installation, "feed")]
    assert isinstance(start.made, Unknown)
    assert (end.held, isinstance(end.made, Unknown)) == ("tight", True)


def test_a_runs_clause_replaces_the_same_clause_of_loom_and_practice(built: Built) -> None:
    installation = built(
        "practice { sleeve braid; sleeve conduit in bay; clips 0.3 m; maker }\n"
        "loom spine { clips 0.2 m; clips none in wall }\n"
        f"feed r from crank.pos to ways.in {{ {PATH}; loom spine; sleeve spiral; sleeve none in box }}"
    )
    found = [(each.sleeve, each.clips.text if each.clips else None) for each in stretches(installation)]
    assert found == [("spiral", "0.2 m"), ("spiral", None), (None, "0.2 m")]
    assert run(installation, "feed").maker


def test_a_place_of_practice_gives_way_to_the_rest_of_the_practice_only_there(built: Built) -> None:
    installation = built(
        "practice { sleeve braid; sleeve conduit in bay }\n"
        f"feed r from crank.pos to ways.in {{ {PATH}; clips 0.2 m in box }}"
    )
    assert [each.sleeve for each in stretches(installation)] == ["conduit", "braid", "braid"]
    assert [each.clips.text if each.clips else None for each in stretches(installation)] == [
        None,
        None,
        "0.2 m",
    ]


def test_a_device_takes_over_its_part_and_replaces_what_it_says_itself(built: Built) -> None:
    installation = built(
        "part battery agm-75 { chemistry agm; capacity 75 Ah; stud M8; stud neg M6; sealed }\n"
        "battery aux in box is agm-75 { capacity 80 Ah; stud M10; vented }"
    )
    aux = installation.named["aux"]
    assert isinstance(aux, Battery)
    assert (aux.part, aux.chemistry, aux.sealed) == ("agm-75", "agm", False)
    assert aux.capacity.text == "80 Ah"  # type: ignore[union-attr]
    assert dict(aux.threads) == {"": "M10", "neg": "M6"}
    assert installation.terminals["aux.neg"].thread == "M6"
    assert set(aux.clauses) == {"capacity", "stud", "vented"}  # only its own have a place in it


def test_two_fuses_lie_in_order_and_either_may_be_measured_from_the_far_end(built: Built) -> None:
    installation = built(
        f"feed r from crank.pos to ways.in {{ {PATH}\n"
        "  fuse strip 40 A at 0.1 m from ways.in\n  fuse strip 30 A at 0.2 m\n}"
    )
    fuses = installation.fuses_of[run(installation, "feed")]
    assert not isinstance(fuses, Unknown)
    assert [
        (fuse.rating.text, fuse.from_start_m, fuse.place.name if fuse.place else None) for fuse in fuses
    ] == [
        ("30 A", pytest.approx(0.2), "bay"),
        ("40 A", pytest.approx(1.9), "box"),
    ]
    sides = [
        end.point.rating.text
        for end in installation.ends_of[run(installation, "feed")][1:5]
        if isinstance(end.point, Fuse)
    ]
    assert sides == ["30 A", "30 A", "40 A", "40 A"]


def test_a_fuse_measured_from_the_far_end_of_an_unknown_length_sits_nobody_knows_where(built: Built) -> None:
    installation = built("feed r from crank.pos to ways.in { fuse strip 40 A at 0.1 m from ways.in }")
    fuses = installation.fuses_of[run(installation, "feed")]
    assert not isinstance(fuses, Unknown)
    assert isinstance(fuses[0].from_start_m, Unknown)


def test_a_circuit_without_twin_is_two_singles_and_shares_its_path(built: Built) -> None:
    installation = built(f"circuit r from ways.1 to lamp {{ cable 2.5 mm2; {PATH}; return chassis }}")
    feed, earth = run(installation, "feed"), run(installation, "earth")
    assert earth.end is installation.structures[0]
    assert feed.cable == earth.cable
    assert [each.place.name for each in stretches(installation, "earth")] == ["box", "wall", "bay"]


# ---------------------------------------------------------------- defaults of kinds


@pytest.mark.parametrize(
    ("link", "serves"),
    [
        ("maker", {"start": "cranking", "other": "house"}),
        ("", {"start": "house", "other": "house"}),
    ],
)
def test_the_battery_that_the_maker_has_joined_to_the_alternator_is_cranking(
    built: Built, link: str, serves: dict[str, str]
) -> None:
    installation = built(
        base="place bay\nalternator gen in bay\nbusbar bar in bay\nbattery other in bay\nbattery start in bay\n"
        f"feed a from gen.pos to bar {{ {link} }}\nfeed b from bar to start.pos {{ {link} }}\n"
        "feed c from start.pos to other.pos"
    )
    found = {each.name: each.serves for each in installation.devices if isinstance(each, Battery)}
    assert found == serves


def test_a_relay_is_worked_by_its_coil_or_by_the_voltage_it_senses(built: Built) -> None:
    installation = built("relay a in box { coil 150 mA }\nrelay b in box { closes 13.3 V }\nrelay c in box")
    a, b, c = (installation.named[name] for name in "abc")
    assert isinstance(a, Relay)
    assert isinstance(b, Relay)
    assert isinstance(c, Relay)
    assert (a.closes, a.opens) == (None, None)
    assert b.coil is None
    assert isinstance(b.opens, Unknown)
    assert isinstance(c.coil, Unknown)


def test_a_charger_without_a_threshold_has_none(built: Built) -> None:
    charger = built("charger dcdc in box").named["dcdc"]
    assert isinstance(charger, Charger)
    assert (charger.starts, charger.stops) == (None, None)
    assert isinstance(charger.output_amps, Unknown)
    assert charger.output_amps.what == "the output current of dcdc"


def test_flags_and_counts_of_loads(built: Built) -> None:
    load = built("load l in box { count 4; spaced 0.5 m; surge none; critical }").named["l"]
    assert isinstance(load, Load)
    assert (load.count, load.surge, load.surge_time, load.critical, load.duty) == (4, None, None, True, None)
    assert isinstance(load.draws, Unknown)


def test_terminals_of_plugs_splices_and_busbars(built: Built) -> None:
    installation = built(
        "plug p in box\nplug q in box { poles 3 }\nsplice s in box\nbusbar b in box { studs 2 x M6 }\nload l in box { terminals dim, 2-b }\n"
        "feed x from crank.pos to s.2\nfeed y from s.10 to lamp.pos\nfeed z from s to pump.pos"
    )
    names = {
        each.name: list(each.terminal_names)
        for each in installation.devices
        if each.name in ("p", "q", "s", "b", "l")
    }
    assert names == {
        "p": ["pos-a", "pos-b", "neg-a", "neg-b"],
        "q": ["1-a", "1-b", "2-a", "2-b", "3-a", "3-b"],
        "s": ["", "2", "10"],
        "b": ["", "1", "2"],
        "l": ["pos", "neg", "dim", "2-b"],
    }

"""The work order: its order, its keys, its quantities, and the cautions before its steps."""

from __future__ import annotations

import datetime
import re
from itertools import pairwise
from pathlib import Path
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from syrupy.assertion import SnapshotAssertion
from tests.sheets.job import ALL, PLANNED, SPECS, job_at, job_in, made, markdown_of
from tests.sheets.test_papers import small

from loomwright.model import things as t
from loomwright.sheets.cords import Cord, bundles, cords
from loomwright.sheets.cut_list import lots
from loomwright.sheets.document import Step, Steps, plain
from loomwright.sheets.job import Job, job_of
from loomwright.sheets.laying import Closing, laying_order, places_of, with_closings
from loomwright.sheets.order.section import fuse_key
from loomwright.sheets.owner_card import fuses_of
from loomwright.sheets.record.reading import depth
from loomwright.sheets.work_order import sections

MARSH = SPECS / "marsh-lab" / "planned.fitout"
BUILT = [path for path in ALL if path.stem != "as-found"]
each_spec = pytest.mark.parametrize("path", BUILT, ids=lambda path: f"{path.parent.name}-{path.stem}")


def steps(job: Job) -> list[Step]:
    return [
        step for block in made("work-order", job).blocks if isinstance(block, Steps) for step in block.steps
    ]


def stages(job: Job) -> list[str]:
    """The kind of each step in turn; tests by their own number."""
    return [step.key if step.key.startswith("test-") else step.key.split("-")[0] for step in steps(job)]


def test_the_work_order_of_the_planned_example_reads_so(snapshot: SnapshotAssertion) -> None:
    assert markdown_of(made("work-order", job_at(PLANNED))) == snapshot


# ---------------------------------------------------------------- the order of the parts


@each_spec
def test_nothing_is_touched_before_it_is_dead_and_nothing_fused_before_it_is_tested(path: Path) -> None:
    found = stages(job_at(path))
    last = {stage: number for number, stage in enumerate(found)}
    order = ["isolate", "fix", "lay", "end", "test-T1", "test-T3", "test-E2", "test-E7", "test-T16", "hand"]
    for earlier, later in pairwise(order):
        assert last[earlier] < last[later]
    assert last["isolate"] < min(found.index(stage) for stage in ("fix", "lay", "end"))
    assert max(last[stage] for stage in ("test-T3", "test-T7", "test-T8", "test-T13")) < found.index("join")
    assert found.index("join") < found.index("fuse")
    assert last["test-E2"] < found.index("fuse")


@each_spec
def test_steps_are_numbered_through_and_each_says_by_whom(path: Path) -> None:
    blocks = [block for block in made("work-order", job_at(path)).blocks if isinstance(block, Steps)]
    first = 1
    for block in blocks:
        assert block.first == first
        first += len(block.steps)
        assert {step.person for step in block.steps} <= {
            "fitter",
            "apprentice",
            "tester",
            "licensed electrician",
        }


def test_keys_do_not_change_when_something_is_added_before_them() -> None:
    text = small()
    more = text.replace("load lamp in", "load horn in bay { draws 4 A }\nload lamp in").replace(
        "feed lamp-feed",
        """circuit horn-feed from crank.pos to horn { cable twin 4 mm2; along bay 3 m; fuse blade 7.5 A at 0.1 m; clips 0.2 m
           ends blade-terminal crimped sealed tight; end crank.pos lug 4 mm2 M8; end crank.neg lug 4 mm2 M8; return crank.neg }
        feed lamp-feed""",
    )
    before, after = (steps(job_in(each)) for each in (text, more))
    keys = {step.key for step in after}
    assert {step.key for step in before} <= keys
    assert len(keys) > len(before)


@each_spec
def test_a_fuse_goes_in_after_those_that_it_is_fed_through(path: Path) -> None:
    job = job_at(path)
    names = {fuse_key(fuse, job) for fuse in fuses_of(job)}
    keys = [step.key for step in steps(job) if step.key in names]
    assert len(keys) == len(fuses_of(job))
    section = next(one for one in sections(job) if one.title == "Insert the fuses")
    order = [step.key for step in section.steps]
    main = [key for key in order if key in names]
    depths = sorted(depth(fuse, job) for fuse in fuses_of(job))
    switched = [number for number, key in enumerate(order) if key.startswith("on-")]
    assert len(main) == len(depths)
    if switched:
        assert min(switched) == depths.count(0)


def test_the_positive_of_a_battery_is_joined_before_its_negative_and_panels_last() -> None:
    keys = [step.key for step in steps(job_at(PLANNED)) if step.key.startswith("join-")]
    assert keys == [
        "join-out",
        "join-crank-pos",
        "join-crank-neg",
        "join-house-pos",
        "join-house-neg",
        "join-roof-panel",
    ]


@each_spec
def test_a_panel_is_measured_and_joined_when_all_that_leads_to_its_battery_is_in_and_on(path: Path) -> None:
    """A controller sees its battery first (caution W4; IEC 62446-1 tests the open string before it is joined)."""
    job = job_at(path)
    keys = [step.key for step in steps(job)]
    joined = [
        keys.index(f"join-{device.name}")
        for device in job.installation.devices
        if isinstance(device, t.Solar)
    ]
    assert joined
    before = [
        key for key in keys if key in {fuse_key(fuse, job) for fuse in fuses_of(job)} or key.startswith("on-")
    ]
    assert max(keys.index(key) for key in before) < keys.index("test-T30") < min(joined)
    assert keys.count("test-T30") == 1


# ---------------------------------------------------------------- what flows when a fuse goes in


def details(key: str, path: Path = PLANNED) -> str:
    return " ".join(
        plain(detail) for step in steps(job_at(path)) if step.key == key for detail in step.details
    )


@each_spec
def test_each_fuse_that_no_other_stands_before_goes_in_through_the_lamp(path: Path) -> None:
    job = job_at(path)
    for fuse in fuses_of(job):
        first = "Through the lamp first" in details(fuse_key(fuse, job), path)
        assert first == (depth(fuse, job) == 0), fuse.name


def test_a_fuse_step_promises_only_what_can_flow_with_the_engine_off_and_what_is_in_by_then() -> None:
    charged = details("fuse-main-feed-1")
    assert "Next to nothing yet: it carries charge. 33.6 A in mode driving" in charged
    feeding = details("fuse-hub-feed-feed-1")
    assert "Nothing yet: the fuses behind it are out. 11 A in mode working" in feeding
    assert "Expect 3.48 A in mode night" in details("fuse-ways.1")
    assert "hub-feed, 0.1 m from house.pos 11 A" in details("fuses-all-on")
    assert "main, 0.15 m from crank.pos 33.6 A" in details("fuses-charging")


def test_what_a_mode_turns_down_is_said_with_its_amps() -> None:
    assert "Expect 1.2 A in mode sampling" in details("fuse-ways.2", MARSH)
    assert "lamps at 50 %" in details("fuse-ways.2", MARSH)
    assert "Expect 4 mA" in details("fuse-ways.4", MARSH)  # a sensor
    assert "Expect" not in details(
        "fuse-charge-sense-signal-1", MARSH
    )  # a sense wire carries nothing to read


def test_an_inverter_with_no_fuse_of_its_own_is_told_where_its_isolator_goes_on() -> None:
    order = steps(job_at(MARSH))
    told = {one.number: step.key for step in order for one in step.cautions}
    assert told["W43"] == "on-house-iso"
    assert details("on-house-iso", MARSH).startswith("bench-power (inverter): no other fuse stands before it")
    assert details("on-house-iso") == "Nothing may happen: no fuse behind it is in."


# ---------------------------------------------------------------- what is said


@each_spec
def test_a_cable_is_cut_into_the_pieces_of_the_cut_list(path: Path) -> None:
    job = job_at(path)
    pieces: dict[str, list[str]] = {}
    for lot in lots(job):
        for piece in lot.pieces:
            pieces.setdefault(piece.cord.name, []).append(f"{piece.cut_mm / 1000:.2f} m")
    order = {step.key: plain(step.words) for step in steps(job)}
    for name, cut in pieces.items():
        assert re.findall(r"\d\.\d\d m", order[f"lay-{name}"].partition("cut ")[2]) == cut


@each_spec
def test_what_does_not_open_lies_before_its_cable_and_goes_on_no_more_when_the_place_is_closed(
    path: Path,
) -> None:
    job = job_at(path)
    order = steps(job)
    keys = [step.key for step in order]
    for bundle in bundles(cords(job.ledger)):
        if bundle.sleeve in ("conduit", "braid") and bundle.length_m:
            ready = keys.index(f"sleeve-{bundle.name}-{bundle.place.name}")
            assert ready < min(keys.index(f"lay-{cord.name}") for cord in bundle.cords)
    for step in order:
        if step.key.startswith("close-") and "sleeves on" in plain(step.words):
            assert any("sleeve s" in plain(detail) for detail in step.details)  # split-tube or spiral


def test_conduit_is_only_on_the_marsh_trailer_and_its_drawbar_gets_no_sleeve_on_closing() -> None:
    words = {step.key: plain(step.words) for step in steps(job_at(MARSH))}
    assert words["close-drawbar"] == "Close the drawbar: clips shut."
    assert words["sleeve-drawbar-feed-drawbar"].startswith(
        "Lay ready the conduit 13 mm in the drawbar: 1.80 m"
    )


@each_spec
def test_the_holder_of_every_fuse_in_a_cable_is_fixed_where_the_fuse_is(path: Path) -> None:
    job = job_at(path)
    found = {step.key: step for step in steps(job)}
    for fuse in fuses_of(job):
        if fuse.run is not None and fuse.place is not None:
            assert found[fuse_key(fuse, job, "fix-fuse")].place == fuse.place.name
    assert plain(found["fix-fuse-charge-feed-1"].words).startswith("Fix the holder of charge: strip fuse ")


@each_spec
def test_every_cable_is_laid_and_every_end_is_made(path: Path) -> None:
    job = job_at(path)
    installation = job.installation
    same = {run.name for run in installation.runs if run.maker}
    laid = {step.run for step in steps(job) if step.key.startswith("lay-")}
    in_cords = {cord.run.name for cord in cords(job.ledger)}
    assert laid == in_cords - same
    ends = [end for run in installation.runs if not run.maker for end in installation.ends_of[run]]
    assert len([step for step in steps(job) if step.key.startswith("end-")]) == len(ends)


def test_an_end_says_all_that_the_bench_needs() -> None:
    step = next(step for step in steps(job_at(PLANNED)) if plain(step.words).startswith("main at dcdc.in"))
    assert plain(step.words) == "main at dcdc.in: lug 8 B&S × M6."
    said = [plain(detail) for detail in step.details]
    assert said[0].startswith("Strip 11 mm of 8 B&S; crimp: ")
    assert said[1] == "Heat-shrink red 9.5 mm 3:1, cut 30 mm."
    assert said[2] == "Tighten to 3–5 N m, then mark nut and stud."


def test_a_first_clip_and_a_way_in_that_the_spec_states_stand_with_their_end() -> None:
    stated = PLANNED.read_text(encoding="utf-8").replace(
        "tray-edge 3.5 m\n    ends   blade-terminal crimped sealed tight",
        "tray-edge 3.5 m\n    ends   blade-terminal crimped sealed tight clip 90 mm looped",
    )
    [step] = [
        step for step in steps(job_in(stated)) if plain(step.words).startswith("lights + at work-lights.pos")
    ]
    told = [plain(detail) for detail in step.details]
    assert told[-2:] == ["First clip 90 mm from the end.", "Hang a drip loop below the entry."]


def test_a_measured_diameter_is_what_sleeves_and_bends_are_reckoned_with() -> None:
    text = PLANNED.read_text(encoding="utf-8")
    thick = text.replace("cable  twin 4 mm auto 90 degC", "cable  twin 4 mm auto 90 degC\n    diameter 14 mm")
    for spec, bend, sleeve in ((text, "56 mm", "split-tube 13 mm"), (thick, "140 mm", "split-tube 17 mm")):
        job = job_in(spec)
        [step] = [step for step in steps(job) if step.key == "lay-lights"]
        assert f"Bend it no tighter than {bend} radius." in [plain(detail) for detail in step.details]
        row = next(
            line for line in markdown_of(made("run-schedule", job)).splitlines() if "| lights + |" in line
        )
        assert sleeve in row


def test_a_stud_is_tightened_when_its_last_lug_is_on() -> None:
    told = [
        plain(step.details[-1])
        for step in steps(job_at(PLANNED))
        if step.key.startswith("end-") and "at dcdc.neg" in plain(step.words)
    ]
    assert told[:-1] == ["Leave the nut loose: 2 lugs go on this stud, the last with the run panel-return."]
    assert told[-1].startswith("Tighten to ")


@each_spec
def test_every_stud_that_lugs_go_on_is_tightened_once_with_the_last_of_them(path: Path) -> None:
    """A nut left loose is one that nobody comes back to: each stud but those of batteries and fuses ends tight."""
    job = job_at(path)
    told: dict[str, list[str]] = {}
    for step in steps(job):
        if step.key.startswith("end-") and ": lug " in plain(step.words):
            name, _, at = plain(step.words).partition(": lug ")[0].partition(" at ")
            circuit = next(run.circuit for run in job.installation.runs if run.name == name.rstrip(" +−"))
            stud = f"{at}, {name}" if circuit and at.endswith(".neg") else at
            nuts = [
                word for word in map(plain, step.details) if word.startswith(("Tighten", "Leave the nut"))
            ]
            told.setdefault(stud, []).append(nuts[0].split(" ")[0] if nuts else "")
    bars = {device.name for device in job.installation.devices if isinstance(device, t.Busbar)}
    for stud, words in told.items():
        assert words[-1] == "Tighten" or stud.startswith(("fuse ", "house.", "crank.")), stud
        if stud not in bars and words[-1] == "Tighten":
            assert words.count("Tighten") == 1, stud


def test_each_return_of_a_circuit_has_a_stud_of_its_own_on_a_hub_and_a_blade_terminal_has_no_nut() -> None:
    ends = {plain(step.words): step for step in steps(job_at(PLANNED)) if step.key.startswith("end-")}
    own = ends["radio-feed − at ways.neg: lug 1 mm² × M4."]
    assert plain(own.details[-1]).startswith("Tighten to ")
    main = ends["hub-return at ways.neg: lug 6 B&S × M6."]
    assert plain(main.details[-1]).startswith("Tighten to ")
    loose = PLANNED.read_text(encoding="utf-8").replace("    end    ways.neg lug 1 mm2 M4\n", "")
    blade = next(
        step
        for step in steps(job_in(loose))
        if plain(step.words).startswith("radio-feed − at ways.neg: blade terminal")
    )
    assert not any("nut" in plain(detail) for detail in blade.details)


def test_what_stays_from_the_old_system_gets_no_step(tmp_path: Path) -> None:
    spec = tmp_path / "new.fitout"
    old = tmp_path / "as-found.fitout"
    old.write_text(small().replace("stage planned", "stage as-found"))
    spec.write_text(small().replace("fuse blade 10 A", "fuse blade 15 A"))
    job = job_of(spec.read_text(), str(spec), datetime.date(2026, 1, 1))
    keys = [step.key for step in steps(job)]
    assert "lay-lamp-back" not in keys
    assert "lay-lamp-feed" in keys  # its fuse is altered


def test_a_caution_stands_before_the_first_step_that_it_is_about() -> None:
    order = steps(job_at(PLANNED))
    told = {one.number: step.key for step in reversed(order) for one in step.cautions}
    assert told["W1"] == "isolate-park"
    assert told["W2"] == "isolate-crank"
    assert told["W4"] == "test-T30"  # at its open plug
    assert told["W47"] == next(step.key for step in order if step.key.startswith("fuse-"))
    assert "W43" not in told  # there is no inverter
    assert "W40" not in told  # there is no gas


# ---------------------------------------------------------------- no cable is lifted again


def is_sound(order: list[Cord]) -> None:
    """Of two cables that share a place none lies under one that was laid before it: the one whose way has more places, or the
    same places and more length, is laid first. So what branches off a way always lies on top of what goes on along it."""
    for number, first in enumerate(order):
        for second in order[number + 1 :]:
            mine, others = set(places_of(first)), set(places_of(second))
            if mine & others:
                assert not mine < others, f"{second.name} would have to go under {first.name}"
                assert len(mine) >= len(others)
                if mine == others:
                    assert (first.metres or 0) >= (second.metres or 0)


@each_spec
def test_no_cable_is_laid_before_one_that_it_branches_off(path: Path) -> None:
    job = job_at(path)
    is_sound(list(laying_order(cords(job.ledger), job.installation.places)))


@each_spec
def test_a_place_is_closed_once_and_nothing_is_laid_through_it_afterwards(path: Path) -> None:
    job = job_at(path)
    places = job.installation.places
    closed: list[t.Place] = []
    for each in with_closings(laying_order(cords(job.ledger), places), places):
        if isinstance(each, Closing):
            assert each.place not in closed
            closed.append(each.place)
        else:
            assert not set(places_of(each)) & set(closed)
    assert set(closed) == {place for cord in cords(job.ledger) for place in places_of(cord)}


paths = st.lists(
    st.lists(st.sampled_from("abcdef"), min_size=1, max_size=5, unique=True), min_size=1, max_size=8
)


@given(paths, st.randoms(use_true_random=False))
@settings(max_examples=25, deadline=None)
def test_the_order_is_sound_for_any_paths(ways: list[list[str]], random: Random) -> None:
    places = "".join(f"place {name} {{ ambient 30 degC }}\n" for name in "abcdef")
    runs = "".join(
        f"feed run{n} from crank.pos to load{n}.pos {{ cable 4 mm2; along "
        + ", ".join(f"{name} {(n * 7 + k * 3) % 9 + 1} m" for k, name in enumerate(way))
        + "; fuse blade 10 A at 0.1 m }\n"
        for n, way in enumerate(ways)
    )
    loads = "".join(f"load load{n} in a {{ draws 1 A }}\n" for n in range(len(ways)))
    head = 'fitout "Any" { stage planned; system 12 V }\n'
    battery = "battery crank in a { chemistry lead-acid; capacity 70 Ah; stud M8 }\n"
    job = job_in(head + places + battery + loads + runs)
    shuffled = list(cords(job.ledger))
    random.shuffle(shuffled)
    order = list(laying_order(shuffled, job.installation.places))
    assert sorted(cord.name for cord in order) == sorted(cord.name for cord in shuffled)
    is_sound(order)


def test_a_cable_whose_path_is_not_known_comes_last_and_says_so() -> None:
    job = job_in(small().replace("along bay 2.0 m; fuse", "fuse"))
    order = [step for step in steps(job) if step.key.startswith("lay-")]
    assert [step.key for step in order] == ["lay-lamp-back", "lay-lamp-feed"]
    assert "Its path is not written down" in plain(order[-1].details[0])


def test_details_stay_in_the_list_of_their_step_in_markdown_whatever_its_number() -> None:
    """CommonMark 5.2: what belongs to an item is indented as far as its text, of `10. ` four and of `100. ` five."""
    rows = markdown_of(made("work-order", job_at(PLANNED))).splitlines()
    wide, seen = 0, set()
    for row in rows:
        if number := re.match(r"(\d+)\. ", row):
            wide = len(number.group())
        elif detail := re.match(r" +(?=- )", row):
            assert len(detail.group()) == wide, row
            seen.add(wide)
        elif row and not row.startswith(" "):
            wide = 0
    assert {3, 4} <= seen

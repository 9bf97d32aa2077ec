"""What a comparison finds, thing by thing; and that it finds no less and no more than there is."""

from __future__ import annotations

import random
import re
from collections.abc import Callable
from functools import cache
from pathlib import Path

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from loomwright.model.load import load
from loomwright.review import changes as ch
from loomwright.review.compare import Comparison, compare
from loomwright.review.items import Data, say
from loomwright.review.reading import data_of
from loomwright.review.sides import Side

from .laws import apply, changes_mirrored, mirrored

Van = Callable[..., Side]
VAN = (Path(__file__).parent / "van.fitout").read_text("utf-8")
SPECS = Path(__file__).parents[2] / "specs"


def told(comparison: Comparison) -> list[tuple[str, str, str, str]]:
    """Thing, field, old and new of every change."""
    return [
        (f"{each.kind} {each.name}", change.field, say(change.old), say(change.new))
        for each in comparison.changes.changed
        for change in each.changes
    ]


def renames(comparison: Comparison) -> list[tuple[str, str]]:
    return [(each.old.name, each.new.name) for each in comparison.changes.changed if each.renamed]


# ---------------------------------------------------------------- what is told


def test_what_a_cable_is_made_of_and_how_it_lies_is_told_where_it_is_written(van: Van) -> None:
    words = "conductor copper-clad; bend 90 mm; diameter 9 mm; sleeve split-tube; clips 0.25 m"
    change = compare(van(), van(("sleeve split-tube; clips 0.25 m", words)))
    assert told(change) == [
        ("feed main", "conductor", "none", "stranded copper-clad vehicle-cable"),
        ("feed main", "bend", "none", "90 mm"),
        ("feed main", "diameter", "none", "9 mm"),
    ]


def test_a_changed_value_is_told_with_its_unit(van: Van) -> None:
    change = compare(van(), van(("16 mm2 red 105 degC", "25 mm2 red 105 degC"), ("75 Ah", "95 Ah")))
    assert told(change) == [
        ("battery crank", "capacity", "75 Ah", "95 Ah"),
        ("feed main", "cable", "16 mm² red 105 °C", "25 mm² red 105 °C"),
    ]


def test_the_same_quantity_in_another_unit_is_no_change(van: Van) -> None:
    assert compare(
        van(), van(("at 0.15 m", "at 150mm"), ("0.6 m", "60 cm"), ("60 A at", "0.06 kA at"))
    ).is_empty


def test_order_comments_and_layout_are_no_change(van: Van) -> None:
    lines = VAN.replace("{\n    ", "{ ").replace("\n    ", "; ").replace("\n}", " }").splitlines()
    head, rest = lines[0], lines[1:]
    assert compare(van(), van(text="\n".join([head, "# turned round", *reversed(rest)]))).is_empty


def test_what_practice_says_for_all_runs_is_told_of_each_run(van: Van) -> None:
    practice = ("place bay", "practice { loom spine }\nloom spine { sleeve braid }\nplace bay")
    change = compare(van(), van(practice))
    assert [row[:2] for row in told(change) if row[1] == "loom"] == [
        (thing, "loom") for thing in ("feed main", "earth back", "circuit light", "circuit water")
    ]


def test_a_run_with_another_name_that_joins_the_same_terminals_is_the_same_run(van: Van) -> None:
    change = compare(van(), van(("feed main", "feed hub-feed"), ("60 A at", "50 A at")))
    assert renames(change) == [("main", "hub-feed")]
    assert [row[:2] for row in told(change)] == [("feed hub-feed", "fuse")]
    assert not change.changes.added
    assert not change.changes.removed


def test_a_device_with_another_name_takes_its_terminals_and_runs_along(van: Van) -> None:
    change = compare(
        van(),
        van(
            ("crank", "starter"),
            ("load pump", "load shower"),
            ("to pump", "to shower"),
            ("lamp, pump", "lamp, shower"),
            ("startering", "cranking"),
        ),
    )
    assert renames(change) == [("crank", "starter"), ("pump", "shower")]
    assert told(change) == []


def test_a_whole_vehicle_with_other_names_is_the_same_vehicle(van: Van) -> None:
    text = re.sub(r"\b(ways|lamp|pump|main|back|light|water|night|chassis|box|bay|wall)\b", r"my-\1", VAN)
    change = compare(van(), van(text=text))
    assert told(change) == []
    assert not change.changes.added
    assert len(renames(change)) == 12


def test_two_that_could_both_be_meant_are_told_as_gone_and_new(van: Van) -> None:
    twins = (
        "load lamp in box { draws 2 A }",
        "load a in box { draws 9 A }\nload b in box { draws 9 A }\nload lamp in box { draws 2 A }",
    )
    others = (
        "load lamp in box { draws 2 A }",
        "load c in box { draws 9 A }\nload d in box { draws 9 A }\nload lamp in box { draws 2 A }",
    )
    change = compare(van(twins), van(others))
    assert renames(change) == []
    assert [item.name for item in change.changes.removed] == ["a", "b"]
    assert [item.name for item in change.changes.added] == ["c", "d"]


def test_a_moved_device_keeps_its_name_and_tells_its_place(van: Van) -> None:
    change = compare(van(), van(("load pump in box", "load pump in bay")))
    assert told(change) == [("load pump", "in", "box", "bay")]


def test_a_name_that_passes_to_another_kind_of_thing_is_another_thing(van: Van) -> None:
    change = compare(
        van(),
        van(
            (
                "load lamp in box { draws 2 A }",
                "sensor lamp in box { draws 20 mA }\nload bulb in box { draws 2 A }",
            ),
            ("to lamp", "to bulb"),
            ("on lamp", "on bulb"),
        ),
    )
    assert [(item.kind, item.name) for item in change.changes.added] == [("sensor", "lamp")]
    assert renames(change) == [("lamp", "bulb")]


# ---------------------------------------------------------------- properties


@cache
def texts() -> tuple[str, ...]:
    return (
        VAN,
        *(
            path.read_text("utf-8")
            for path in sorted(SPECS.rglob("*.fitout"))
            if "include" not in path.read_text("utf-8")
        ),
    )


def data(text: str) -> Data | None:
    installation = load(text, "generated.fitout").installation
    return data_of(installation) if installation else None


def statements(text: str) -> list[str]:
    """The statements of a text, each with the lines that belong to it."""
    found: list[str] = []
    depth = 0
    for line in re.sub(r"#[^\n\"]*$", "", text, flags=re.MULTILINE).splitlines():
        if depth == 0 and line.strip():
            found.append("")
        if found:
            found[-1] += line + "\n"
        depth += line.count("{") - line.count("}")
    return found


def edit(text: str, chance: random.Random) -> str:
    """One change as people make them: a number, a word, a name, a statement gone or doubled, another order."""
    rows = statements(text)
    kind = chance.choice(("number", "number", "name", "name", "gone", "double", "order", "word"))
    if kind == "number":
        places = list(re.finditer(r"(?<![\w.-])\d+(?:\.\d+)?(?= (?:m|A|W|Ah|degC|mm2|mohm|%)\b)", text))
        at = chance.choice(places)
        return f"{text[: at.start()]}{float(at[0]) * chance.choice((0.5, 1.5, 2)):g}{text[at.end() :]}"
    if kind == "name":
        heads = re.findall(
            r"^(?:battery|hub|load|busbar|charger|feed|earth|circuit|place|mode|structure) ([a-z][a-z0-9-]*)",
            text,
            re.MULTILINE,
        )
        name = chance.choice(heads)
        return re.sub(rf"(?<![\w.-]){re.escape(name)}(?![\w-])", f"new-{name}"[:30], text)
    if kind in ("gone", "double"):
        runs = [row for row in rows if row.startswith(("feed", "earth", "circuit", "mode", "concession"))]
        row = chance.choice(runs)
        again = re.sub(r"^(\w+) ([a-z0-9-]+)", r"\1 \2-too", row)
        return text.replace(row, "") if kind == "gone" else f"{text}\n{again}"
    if kind == "order":
        chance.shuffle(rows)
        return "".join(rows)
    old, new = chance.choice(
        (
            ("crimped", "soldered"),
            ("sealed", "taped"),
            ("split-tube", "braid"),
            ("agm", "gel"),
            ("vibration", "spray"),
            ("red", "orange"),
        )
    )
    return text.replace(old, new, 1)


@st.composite
def pairs(draw: st.DrawFn) -> tuple[Data, Data]:
    """Two specs of which each is a few edits away from a common one."""
    base = draw(st.sampled_from(texts()))
    sides = []
    for _ in range(2):
        text, chance = base, random.Random(draw(st.integers(0, 2**32)))
        for _ in range(draw(st.integers(0, 4))):
            edited = edit(text, chance)
            text = edited if data(edited) is not None else text
        found = data(text)
        assume(found is not None)
        sides.append(found)
    return sides[0], sides[1]  # type: ignore[return-value]


PATIENT = settings(
    max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large]
)


@given(pairs())
@PATIENT
def test_applying_what_is_told_to_the_first_spec_gives_the_second(pair: tuple[Data, Data]) -> None:
    a, b = pair
    assert apply(ch.changes_of(a, b), a) == b


@given(pairs())
@PATIENT
def test_the_other_way_round_the_opposite_is_told(pair: tuple[Data, Data]) -> None:
    a, b = pair
    assert ch.changes_of(b, a) == changes_mirrored(ch.changes_of(a, b))


@given(pairs())
@PATIENT
def test_nothing_is_told_exactly_where_nothing_differs(pair: tuple[Data, Data]) -> None:
    a, b = pair
    assert not ch.changes_of(a, a)
    assert bool(ch.changes_of(a, b)) == (a != b)


@pytest.mark.parametrize(
    "old", sorted(SPECS.rglob("*.fitout")), ids=lambda path: f"{path.parent.name}-{path.stem}"
)
def test_between_any_two_complete_systems_the_way_there_and_back_is_whole(old: Path) -> None:
    a = data_of_file(old)
    for new in sorted(SPECS.rglob("*.fitout")):
        b = data_of_file(new)
        changes = ch.changes_of(a, b)
        assert apply(changes, a) == b
        assert ch.changes_of(b, a) == changes_mirrored(changes)


def data_of_file(path: Path) -> Data:
    installation = load(path.read_text("utf-8"), str(path)).installation
    assert installation is not None
    return data_of(installation)


def test_a_whole_comparison_mirrors_too(van: Van) -> None:
    a = van()
    b = van(
        ("feed main", "feed hub-feed"),
        ("16 mm2 red", "2.5 mm2 red"),
        ("draws 5 A", "draws 20 A"),
        ("mode night", "mode dark"),
    )
    there = compare(a, b)
    assert compare(b, a) == mirrored(there)
    assert mirrored(mirrored(there)) == there
    assert compare(a, a).is_empty

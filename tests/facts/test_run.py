"""What a run carries where it lies, and how its derivation reads."""

from __future__ import annotations

from collections.abc import Callable
from math import inf

import pytest

from loomwright.facts.registry import Entry, Ledger, Missing, Note
from loomwright.model.things import Run

Make = Callable[[str], Ledger]

SPEC = """
fitout "Runs" {{ stage {stage}; system 12 V }}
place cold {{ ambient 30 degC }}
place warm {{ ambient 50 degC }}
place hole {{ opening grommet }}
battery house in cold {{ serves house; chemistry agm; capacity 100 Ah; internal 9 mohm; stud M8 }}
load lamp in cold {{ draws 3 A }}
load fan in cold {{ draws 24 W; count 2 }}
busbar plus in cold {{ studs 6 x M8; rated 100 A }}
{runs}
"""


def spec(*runs: str, stage: str = "planned") -> str:
    return SPEC.format(stage=stage, runs="\n".join(runs))


def main(cable: str = "8 AWG 105 degC", along: str = "cold 1 m") -> str:
    return f"feed main from house.pos to plus {{ cable {cable}; along {along}; fuse strip 40 A at 0.1 m }}"


def run_of(ledger: Ledger, name: str = "main") -> Run:
    return next(run for run in ledger.installation.runs if run.name == name)


def ask(make: Make, text: str, fact: str, *arguments: float, name: str = "main") -> object:
    ledger = make(text)
    return ledger.get(run_of(ledger, name), fact, *arguments)


def notes(entry: Entry) -> list[tuple[str, str]]:
    own = [(part.text, part.source) for part in entry.inputs if isinstance(part, Note)]
    return own + [line for part in entry.inputs if isinstance(part, Entry) for line in notes(part)]


@pytest.mark.parametrize(
    ("cable", "amps"),
    [
        ("18 AWG 60 degC", 10), ("16 AWG 105 degC", 25), ("8 AWG 105 degC", 80), ("8 AWG 75 degC", 65), ("2 AWG 90 degC", 180),
        ("2 B&S 105 degC", 210), ("2/0 AWG 105 degC", 330), ("4/0 AWG 200 degC", 510),
    ],
)  # fmt: skip
def test_a_gauge_by_itself_in_30_degrees_carries_what_33_cfr_183_425_table_5_says(
    ledger_of: Make, cable: str, amps: float
) -> None:
    assert ask(ledger_of, spec(main(cable)), "carries") == pytest.approx(amps)


@pytest.mark.parametrize(
    ("celsius", "factor"), [(60, 0.58), (75, 0.75), (80, 0.78), (90, 0.82), (105, 0.85), (125, 0.89)]
)
def test_at_50_degrees_it_carries_what_note_1_leaves_of_it(
    ledger_of: Make, celsius: float, factor: float
) -> None:
    """33 CFR 183.425 Table 5 note 1, engine spaces (from memory); the formula gives 0.856 where it prints 0.85 for 105 °C."""
    found = ask(ledger_of, spec(main(f"8 AWG {celsius} degC", "warm 1 m")), "ambient-factor")
    assert found == pytest.approx(factor, abs=0.0075)


def test_the_hottest_place_counts_and_an_opening_has_no_temperature(ledger_of: Make) -> None:
    text = spec(main(along="cold 1 m, hole, warm 0.2 m"))
    assert ask(ledger_of, text, "hottest") == 50
    assert ask(ledger_of, text, "length") == pytest.approx(1.2)


def test_an_8_bs_cable_serves_a_charge_lead_of_40_a_and_a_2_bs_cable_carries_about_190_a(
    ledger_of: Make,
) -> None:
    """Common practice, no source: in a warm engine bay (40 °C) with 105 °C insulation."""
    warm = spec().replace("30 degC", "40 degC")
    assert ask(ledger_of, warm + main("8 B&S 105 degC"), "carries") > 40  # type: ignore[operator]
    assert ask(ledger_of, warm + main("2 B&S 105 degC"), "carries") == pytest.approx(190, rel=0.1)


def test_an_unnamed_class_is_assumed_and_said_to_be(ledger_of: Make) -> None:
    ledger = ledger_of(spec(main("8 AWG")))
    run = run_of(ledger)
    assert ledger.get(run, "carries") == pytest.approx(65)
    assert ledger.get(run, "assumed") == " (75 °C insulation assumed)"
    assert ask(ledger_of, spec(main("8 AWG 75 degC")), "assumed") == ""


def test_the_derivation_names_the_row_and_the_factors_with_their_sources(ledger_of: Make) -> None:
    ledger = ledger_of(spec(main("8 AWG 105 degC", "warm 1 m")))
    lines = notes(ledger.entry(run_of(ledger), "carries"))
    assert ("80 A", "33 CFR 183.425 Table 5, 8 AWG, 105 degC") in lines
    assert any(text == "warm 50 degC" for text, _ in lines)


def test_a_bundle_s_factor_is_marked_as_from_memory(ledger_of: Make) -> None:
    loom = (
        circuit("one", "lamp", more="loom rear"),
        circuit("two", "fan", more="loom rear"),
        "loom rear { sleeve braid }",
    )
    ledger = ledger_of(spec(*loom))
    lines = notes(ledger.entry(run_of(ledger, "one"), "carries"))
    assert ("4 loaded conductors in loom rear", "") in lines
    assert ("× 0.6", "33 CFR 183.425 Table 5 note 2, 4 loaded (from memory)") in lines


def test_what_nobody_has_looked_at_is_named(ledger_of: Make) -> None:
    text = spec("feed main from house.pos to plus { cable unknown; along warm 1 m }", stage="as-found")
    with pytest.raises(Missing) as missing:
        ask(ledger_of, text, "carries")
    assert [reason.what for reason in missing.value.reasons] == ["the cable size of main"]


# ---------------------------------------------------------------- company


LAMP = "circuit {name} from plus to {load} {{ return house.neg; cable {cable}; along {along}; {more} }}"


def circuit(
    name: str, load: str, cable: str = "twin 2.5 mm2 105 degC", along: str = "cold 1 m", more: str = ""
) -> str:
    return LAMP.format(name=name, load=load, cable=cable, along=along, more=more)


@pytest.mark.parametrize(
    ("runs", "together", "factor"),
    [
        ([circuit("one", "lamp")], 2, 1.0),
        ([circuit("one", "lamp", cable="2.5 mm2 105 degC")], 1, 1.0),
        ([circuit("one", "lamp"), circuit("two", "fan")], 2, 1.0),
        ([circuit("one", "lamp", more="loom rear"), circuit("two", "fan", more="loom rear"), "loom rear { sleeve braid }"], 4, 0.6),
        ([circuit("one", "lamp", more="loom rear"), circuit("two", "fan", along="warm 1 m", more="loom rear"),
          "loom rear { sleeve braid }"], 2, 1.0),
        ([circuit("one", "lamp", cable="2.5 mm2 105 degC", more="loom rear"), "loom rear { sleeve braid }",
          "signal sense from house.pos to plus { cable 1 mm2; along cold 1 m; loom rear }"], 2, 1.0),
    ],
    ids=["twin", "two singles", "no loom", "one loom", "one loom, other places", "a signal carries nothing"],
)  # fmt: skip
def test_bundling_counts_loaded_conductors_that_share_a_sleeve_in_one_place(
    ledger_of: Make, runs: list[str], together: int, factor: float
) -> None:
    """33 CFR 183.425 Table 5 note 2 (from memory): 0.7 from three conductors, 0.6 from four."""
    ledger = ledger_of(spec(*runs))
    run = run_of(ledger, "one")
    assert ledger.get(run, "bundled") == together
    assert ledger.get(run, "bundling-factor") == factor


def test_the_cores_of_a_multicore_count_together(ledger_of: Make) -> None:
    text = spec(
        "multicore tail { cable 5 x 1.5 mm2 105 degC; along cold 2 m }",
        'feed one from plus to lamp.pos { core tail "white" }',
        'earth back from lamp.neg to house.neg { core tail "black" }',
        'feed extra from plus to fan.pos { core tail "red" }',
    )
    ledger = ledger_of(text)
    assert ledger.get(run_of(ledger, "extra"), "bundled") == 3
    assert ledger.get(run_of(ledger, "extra"), "bundling-factor") == 0.7


# ---------------------------------------------------------------- short circuits and what hangs on it


def test_the_cable_withstands_by_k_and_area_and_without_end_what_it_carries(ledger_of: Make) -> None:
    """(k S / I)², k = 226 sqrt(ln((234.5 + 160) / (234.5 + 105))): IEC 60364-5-54 annex A, PVC from 105 °C."""
    ledger = ledger_of(spec(main("10 mm2 105 degC")))
    run = run_of(ledger)
    assert ledger.get(run, "withstands", ledger.get(run, "carries")) == inf
    assert ledger.get(run, "withstands", 2000.0) == pytest.approx((87.6 * 10 / 2000) ** 2, rel=0.01)


def test_loads_are_found_through_bars_and_draw_at_nominal_voltage(ledger_of: Make) -> None:
    ledger = ledger_of(spec(main(), circuit("one", "lamp"), circuit("two", "fan")))
    run = run_of(ledger)
    assert [load.name for load in ledger.get(run, "loads")] == ["lamp", "fan"]
    assert ledger.get(run, "loads-current") == pytest.approx(3 + 2 * 24 / 12)


def test_cables_side_by_side_know_each_other(ledger_of: Make) -> None:
    twin = main().replace("feed main", "feed twin").replace("cold 1 m", "cold 1.2 m")
    ledger = ledger_of(spec(main(), twin))
    first, second = run_of(ledger), run_of(ledger, "twin")
    assert ledger.get(first, "parallels") == (second,)
    assert ledger.get(first, "parallel-spread") == pytest.approx(0.2)
    assert (ledger.get(first, "leads-parallels"), ledger.get(second, "leads-parallels")) == (True, False)

"""Sizing whole specs: what it chooses holds the rule book, nothing smaller does, and only sizes change in the text."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from loomwright.report.check import check
from loomwright.rulebook.finding import SEVERITIES, Finding
from loomwright.sizing.size import Sized, size
from loomwright.sizing.slots import rendered, slots_of
from loomwright.sizing.task import RULES, NoChoice
from loomwright.sizing.telling import FORMS
from loomwright.stock import conductors, fuses, lugs

from .generated import many_loads

PLANNED = ("orchard-bees/planned.fitout", "marsh-lab/planned.fitout")


def of_sizes(text: str) -> list[Finding]:
    """The findings of a text that a size could mend, and nobody concedes."""
    report = check(text, "sized.fitout")
    assert not report.errors
    return [f for f in report.findings if f.rule in RULES and f.severity in SEVERITIES and not f.conceded]


@pytest.fixture(scope="module")
def orchard(specs: Path) -> Sized:
    return size((specs / PLANNED[0]).read_text(encoding="utf-8"), "orchard.fitout", everything=True)


def test_no_single_step_down_in_any_size_holds_every_rule(orchard: Sized) -> None:
    """Local minimality by brute force: every size and rating of the answer one step smaller, each judged by the whole rule book."""
    slots = slots_of(orchard.text, "orchard.fitout")
    tried = 0
    for key, slot in slots.items():
        smaller = step_down(slot.what, slot.kind or "", slot.written or "")
        if smaller is None or slot.owner == "gen-link":  # the maker's own
            continue
        tried += 1
        text, _ = rendered(orchard.text, slots, {key: smaller})
        assert of_sizes(text), f"{key} may be {smaller}"
    assert tried >= 8


def step_down(what: str, kind: str, written: str) -> str | None:
    if what == "fuse":
        made = [f"{kind} {amps:g} A" for amps in fuses.kind(kind).ratings]
    else:
        made = [one.label for one in conductors.sizes(kind) if one.area_mm2 >= 0.5]
    index = made.index(written.replace("mm2", "mm²"))
    return made[index - 1] if index else None


@pytest.mark.parametrize("name", PLANNED)
def test_a_planned_spec_has_no_finding_on_sizes_once_sized_and_sizing_again_changes_nothing(
    name: str, specs: Path, orchard: Sized
) -> None:
    text = (specs / name).read_text(encoding="utf-8")
    sized = orchard if name == PLANNED[0] else size(text, "spec.fitout", everything=True)
    assert sized.rows
    assert of_sizes(sized.text) == []
    assert sized.cost <= sum(row.old_cost or 0.0 for row in sized.rows)
    again = size(sized.text, "spec.fitout", everything=True)
    assert again.text == sized.text
    assert [row.new for row in again.rows] == [row.new for row in sized.rows]


def test_sixty_loads_are_sized_and_hold() -> None:
    """The time it takes is measured in tests/bench/bench_size.py."""
    sized = size(many_loads(60), "many.fitout")
    assert len(sized.rows) == 60 * 2 + 8 * 3 + 3
    assert "auto" not in re.sub(r"#.*|mm auto", "", sized.text)
    assert of_sizes(sized.text) == []
    assert sized.proven
    assert sized.standing == ()


def test_only_the_sizes_the_ratings_and_their_lugs_change_in_the_text(orchard: Sized, specs: Path) -> None:
    before = (specs / PLANNED[0]).read_text(encoding="utf-8").splitlines()
    after = orchard.text.splitlines()
    assert len(before) == len(after)
    value = r"[0-9.]+ ?(?:B&S|AWG|mm2|mm²|A\b|mm auto)"
    changed = 0
    for old, new in zip(before, after, strict=True):
        assert re.sub(value, "…", old) == re.sub(value, "…", new)
        changed += old != new
    assert changed > 15


def test_a_lug_that_fitted_auto_cable_is_changed_for_one_that_fits_the_new(orchard: Sized) -> None:
    """No lug is marked by auto cable's diameter: its mark is an area (DIN 46234), or a gauge where no area takes the copper."""
    assert lugs.takes(conductors.conductor("awg", "12"), 2.9)  # the pump's, before
    assert "    end    ways.neg lug 12 AWG M4" not in orchard.text
    assert not [finding for finding in of_sizes(orchard.text) if "lug" in finding.rule]


def test_a_lug_that_named_the_old_size_follows_and_another_stays() -> None:
    text = BENCH.format(
        cable="cable 16 mm2 105 degC",
        fuse="fuse strip 100 A at 0.1 m",
        lugs="end b.pos lug 16 mm2 M8; end lamp.pos lug 10 mm2 M5",
        amps=9,
    )
    sized = size(text, "x", everything=True)
    new = next(row.new for row in sized.rows if row.owner == "f" and row.what == "cable").replace(
        "mm²", "mm2"
    )
    assert new != "16 mm2"
    assert f"end b.pos lug {new} M8; end lamp.pos lug 10 mm2 M5" in sized.text


BENCH = """fitout "Bench" {{ stage planned; system 12 V }}
practice {{ sleeve split-tube; clips 0.25 m; ends crimped sealed tight }}
place shed {{ ambient 30 degC }}
battery b in shed {{ serves house; chemistry lifepo4; capacity 100 Ah; internal 10 mohm; stud M8 }}
load lamp in shed {{ draws {amps} A; critical; stud M5 }}
feed f from b.pos to lamp.pos {{ {cable}; along shed 4 m; {fuse}; {lugs} }}   # kept
earth e from lamp.neg to b.neg {{ {cable}; along shed 4 m; end lamp.neg lug auto M5; end b.neg lug auto M8 }}
mode on {{ engine off; on lamp }}
"""


def test_an_open_fuse_of_which_nothing_is_written_gets_kind_rating_and_place() -> None:
    text = BENCH.format(cable="cable auto red 105 degC", fuse="fuse auto", lugs="ends lug auto M8", amps=9)
    sized = size(text, "x")
    assert re.search(r"fuse (blade|strip) [0-9.]+ A at 0\.15 m", sized.text)
    assert "# kept" in sized.text
    assert of_sizes(sized.text) == []


def test_the_binding_limit_of_a_long_critical_run_is_its_voltage_drop() -> None:
    text = BENCH.format(
        cable="cable auto red 105 degC", fuse="fuse strip auto at 0.1 m", lugs="ends lug auto M8", amps=20
    )
    rows = {(row.owner, row.what): row for row in size(text, "x").rows}
    assert rows["f", "cable"].binding.text == "voltage-drop-high: 3 % for lamp in mode on"
    # 2 × 4 m × 20 A × 0.0175 Ω·mm²/m ÷ 0.36 V = 7.8 mm² cold, with nothing for warmth and joints (R = ρ L / A)
    assert conductors_area(rows["f", "cable"].new) > 7.8


CHARGED = """fitout "Bench" { stage planned; system 12 V }
practice { sleeve split-tube; clips 0.25 m; ends crimped sealed tight }
place shed { ambient 30 degC; inside }
battery crank in shed { serves cranking; chemistry lead-acid; capacity 80 Ah; internal 6 mohm; stud M8; sealed; held-down }
alternator gen in shed { rated 90 A; holds 14.2 V; regulation fixed; maker }
feed gen-link from gen.pos to crank.pos { maker; cable 35 mm2 red; along shed 0.6 m }
battery house in shed { serves house; chemistry agm; capacity 100 Ah; internal 5 mohm; stud M8; sealed; held-down }
earth link from crank.neg to house.neg { cable 25 mm2 black 105 degC; along shed 1 m; ends lug 25 mm2 M8 }
charger dcdc in shed { input 28 A max; cuts-out 11 V; output 20 A at 14.4 V; efficiency 90 %; suits agm; stud M6 }
feed into from crank.pos to dcdc.in {
    cable 10 mm2 red 105 degC; along shed 2 m; fuse strip 40 A at 0.1 m; end crank.pos lug 10 mm2 M8; end dcdc.in lug 10 mm2 M6
}
feed out from dcdc.out to house.pos {
    cable auto red 105 degC; along shed 9 m; fuse strip auto at 8.9 m; end dcdc.out lug auto M6; end house.pos lug auto M8
}
earth back from dcdc.neg to crank.neg { cable 25 mm2 black 105 degC; along shed 1 m; end dcdc.neg lug 25 mm2 M6; end crank.neg lug 25 mm2 M8 }
mode driving { engine running; charge 50 % }
"""


def test_the_binding_limit_of_a_long_line_from_a_charger_is_what_a_charging_line_may_lose() -> None:
    """20 A over 9 m and back over 2 m of 25 mm²: cold copper (IEC 60228 class 5) loses 20 · (9 · 1.21 + 2 · 0.78) mΩ = 0.249 V with
    16 mm² and 20 · (9 · 0.78 + 2 · 0.78) mΩ = 0.172 V with 25 mm². The 30 A fuse and the joints take 20 · 3.3 mΩ = 0.066 V more."""
    rows = {(row.owner, row.what): row for row in size(CHARGED, "x").rows}
    assert 0.172 + 0.066 < 0.3 < 0.249 + 0.066
    assert rows["out", "cable"].new == "25 mm²"
    assert rows["out", "cable"].binding.text == "charge-line-drop: 0.3 V from dcdc to house in mode driving"


FRIDGE = """fitout "Bench" { stage planned; system 12 V }
practice { sleeve split-tube; clips 0.25 m; ends crimped sealed tight }
place shed { ambient 30 degC; inside }
battery house in shed { serves house; chemistry agm; capacity 100 Ah; internal 5 mohm; stud M8; sealed; held-down }
load fridge in shed { draws 8 A; cuts-out 11.7 V; stud M5 }
feed f from house.pos to fridge.pos { cable auto red 105 degC; along shed 6 m; fuse strip 30 A at 0.1 m; end house.pos lug auto M8; end fridge.pos lug auto M5 }
earth e from fridge.neg to house.neg { cable 4 mm2 black 105 degC; along shed 1 m; end fridge.neg lug 4 mm2 M5; end house.neg lug 4 mm2 M8 }
mode parked { engine off; on fridge; charge 50 % }
"""


def test_the_binding_limit_of_a_fridge_that_cuts_out_early_is_the_margin_above_it() -> None:
    """An AGM battery rests at 12.30 V half full (stocked table): 8 A may lose 0.30 V down to 0.3 V above 11.7 V, of which 5 mΩ within the
    battery take 0.04 V. That is far less than the 5 % (0.6 V) of its drop, so a higher cut-out asks for thicker cable."""
    early = size(FRIDGE, "x").rows[0]
    late = size(FRIDGE.replace("cuts-out 11.7 V", "cuts-out 10.5 V"), "x").rows[0]
    lost = {
        label: 8 * (0.005 + 6 * out + 1 * 4.95e-3) for label, out in (("4 mm²", 4.95e-3), ("6 mm²", 3.30e-3))
    }
    assert (
        lost["6 mm²"] < 0.27 < 0.3 < lost["4 mm²"]
    )  # copper at 20 °C, IEC 60228 class 5; joints and fuse take 0.03 V
    assert early.new == "6 mm²"
    assert early.binding.text == "cut-out-margin: 0.3 V above the cut-out of fridge in mode parked"
    assert conductors_area(early.new) > conductors_area(late.new)
    assert late.binding.rule != "cut-out-margin"


def conductors_area(label: str) -> float:
    return next(
        one.area_mm2 for kind in conductors.KINDS for one in conductors.sizes(kind) if one.label == label
    )


def test_where_nothing_in_stock_will_do_it_says_which_limit_would_have_to_be_what() -> None:
    text = BENCH.format(
        cable="cable auto red 105 degC", fuse="fuse strip auto at 0.1 m", lugs="ends lug auto M8", amps=150
    )
    text = text.replace("along shed 4 m", "along shed 14 m").replace("M5", "M8")
    with pytest.raises(NoChoice) as none:
        size(text, "x")
    told = "; ".join(none.value.lines)
    assert "lamp: voltage-drop-high (3 % for lamp in mode on)" in told
    assert re.search(r"drop-critical would have to be 1[0-9]\.[0-9] %", told)


def test_a_current_that_no_cable_carries_names_the_run_and_the_thickest() -> None:
    text = BENCH.format(
        cable="cable auto red 105 degC",
        fuse="fuse strip-large auto at 0.1 m",
        lugs="ends lug auto M8",
        amps=390,
    )
    with pytest.raises(NoChoice, match=r"f: cable-overloaded \(390 A in mode on\): 00 B&S carries 330 A"):
        size(text.replace("4 m", "0.4 m"), "x")


def test_no_cable_is_chosen_whose_lug_is_not_made_for_the_stud() -> None:
    """DIN 46234 and DIN 46235 (from memory): no lug below 10 mm² has a hole for M12, none from 35 mm² one for M5."""
    text = BENCH.format(cable="cable auto red 105 degC", fuse="fuse auto", lugs="ends lug auto M12", amps=1)
    sized = size(text.replace("stud M8; ", "stud M12; ").replace("M5", "M12"), "x")
    feed = next(row for row in sized.rows if row.owner == "f" and row.what == "cable")
    assert feed.new == "8 B&S"
    assert feed.binding.rule == "lug-not-made"
    assert not [one for one in of_sizes(sized.text) if one.rule == "lug-not-made"]
    text = BENCH.format(
        cable="cable auto red 105 degC", fuse="fuse strip auto at 0.1 m", lugs="ends lug auto M5", amps=150
    )
    with pytest.raises(NoChoice, match=r"lug-not-made \(a lug with a hole for M5 at "):
        size(text, "x")


def test_no_cable_is_chosen_that_a_blade_terminal_is_not_made_for() -> None:
    """The colours of insulated terminals end with yellow, for 6 mm² (DIN 46237, from memory)."""
    text = BENCH.format(
        cable="cable auto red 105 degC", fuse="fuse strip auto at 0.1 m", lugs="ends blade-terminal", amps=90
    )
    with pytest.raises(
        NoChoice, match=r"f: cable-over.*6 mm² carries.*blade-terminal-mismatch \(.* for 0.5 to 6.3 mm²\)"
    ):
        size(text.replace("M5", "M8"), "x")


def test_a_concession_lets_a_run_off_its_rule() -> None:
    text = BENCH.format(
        cable="cable auto red 105 degC", fuse="fuse strip auto at 0.1 m", lugs="ends lug auto M8", amps=20
    )
    let_off = text + 'concession voltage-drop-high on lamp { reason "it is only a lamp"; by "RM" }\n'
    assert size(let_off, "x").copper_kg < size(text, "x").copper_kg


def test_the_price_list_of_the_project_is_what_cost_means(tmp_path: Path) -> None:
    text = BENCH.format(
        cable="cable auto red 105 degC", fuse="fuse strip auto at 0.1 m", lugs="ends lug auto M8", amps=9
    )
    text = text.replace("M5", "M8")
    spec = tmp_path / "x.fitout"
    spec.write_text(text)
    (tmp_path / "loomwright.toml").write_text('prices = "prices.csv"\n')
    (tmp_path / "prices.csv").write_text(
        'code,description,unit,price\n,"16 mm², red, 105 °C",m,9.00\n,"8 B&S, red, 105 °C",m,3.00\n,"2 B&S, red, 105 °C",m,1.50\n'
    )
    rows = {(row.owner, row.what): row for row in size(text, str(spec)).rows}
    assert rows["f", "cable"].new == "2 B&S"  # the cheapest on the list, though the thickest
    assert rows["f", "cable"].cost == pytest.approx(4 * 1.50)


TORN = """fitout "Bench" { stage planned; system 12 V }
practice { sleeve split-tube; clips 0.25 m; ends crimped sealed tight }
place shed { ambient 30 degC; inside }
battery house in shed { serves house; chemistry agm; capacity 100 Ah; internal 60 mohm; stud M8; sealed; held-down }
busbar plus in shed { studs 4 x M8; rated 200 A }
load heater in shed { draws 20 A; DUTYstud M5 }
feed f from house.pos to plus { cable auto red 105 degC; along shed 3 m; fuse strip auto at 0.1 m; end house.pos lug auto M8; end plus lug auto M8 }
feed g from plus to heater.pos { cable auto red 105 degC; along shed 1 m; fuse strip auto at 0.1 m; end plus lug auto M8; end heater.pos lug auto M5 }
earth e from heater.neg to house.neg { cable auto black 105 degC; along shed 3 m; end heater.neg lug auto M5; end house.neg lug auto M8 }
mode on { engine off; on heater; charge 50 % }
"""


def test_where_two_rules_pull_a_fuse_apart_both_are_named_and_what_either_limit_would_have_to_be(
    tmp_path: Path,
) -> None:
    """A tired battery behind 60 mΩ: f must be 160 % of the 30 A of g, and no far-end fault opens a fuse of 50 A in time. Each of the two
    limits that are named, relaxed to what is said, takes the finding away."""
    text = TORN.replace("DUTY", "")
    spec = tmp_path / "x.fitout"
    spec.write_text(text)
    sized = size(text, str(spec))
    (finding,), (relaxing,) = sized.standing, sized.relaxing
    assert finding.rule == "fuse-never-blows"
    assert "no-selectivity a larger one (160 % of the 30 A fuse of g behind it)" in relaxing
    seconds = re.search(r"fault-clears-within would have to be ([0-9.]+) s for 50 A", relaxing)
    ratio = re.search(r"selectivity would have to be ([0-9]+) % for 30 A", relaxing)
    assert seconds
    assert ratio
    for limit, value in (
        ("fault-clears-within", f"{float(seconds[1]) + 0.1:.1f} s"),
        ("selectivity", f"{ratio[1]} %"),
    ):
        (tmp_path / "loomwright.toml").write_text(f'[limits]\n{limit} = "{value}"\n')
        assert size(text, str(spec)).standing == ()
    assert f"    {relaxing}\n" in FORMS["text"](sized)


def test_a_load_of_low_duty_is_sized_as_if_it_lasted() -> None:
    """No source says how much thinner its cable may be (docs/outputs.md)."""
    full, short = (size(TORN.replace("DUTY", duty), "x") for duty in ("", "duty 2 %; "))
    assert [row.new for row in short.rows] == [row.new for row in full.rows]

"""The figures of a spec as data, as a table and as CSV."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path
from typing import Any

import pytest

import loomwright.facts.all  # noqa: F401  registers every fact
from loomwright.facts.limits import load_limits
from loomwright.facts.registry import Ledger
from loomwright.model.load import load
from loomwright.report.figures import NoSuchMode, figures, figures_csv, figures_text


def ledger(path: Path) -> Ledger:
    loaded = load(path.read_text(encoding="utf-8"), str(path))
    assert loaded.installation is not None, loaded.problems
    return Ledger(loaded.installation, load_limits(loaded.installation.fitout.limits))


@pytest.fixture(scope="module")
def planned(specs: Path) -> Ledger:
    return ledger(specs / "orchard-bees" / "planned.fitout")


@pytest.fixture(scope="module")
def data(planned: Ledger) -> dict[str, Any]:
    return figures(planned)


@pytest.fixture(scope="module")
def as_found(specs: Path) -> dict[str, Any]:
    return figures(ledger(specs / "orchard-bees" / "as-found.fitout"))


def test_it_has_the_form_that_other_programs_rely_on(data: dict[str, Any]) -> None:
    assert data["version"] == 1
    assert data["file"].endswith("planned.fitout")
    assert list(data["modes"]) == ["driving", "working", "night"]
    for mode in data["modes"].values():
        assert {
            "volts",
            "structure_volts",
            "runs",
            "loads",
            "sources",
            "converged",
            "iterations",
        } <= mode.keys()
        assert mode["converged"] is True
        assert mode["iterations"] > 0
        for run in mode["runs"].values():
            assert set(run) == {"amps", "drop_volts", "loss_watts", "celsius", "carries_amps"}
        for load_figures in mode["loads"].values():
            assert set(load_figures) == {"volts", "amps", "watts", "drop_percent"}
    for fault in data["faults"].values():
        assert {"start_amps", "end_amps", "fuses", "withstands_s"} <= fault.keys()
        for fuse in fault["fuses"]:
            assert {"kind", "rating_amps", "opens_between_s"} <= fuse.keys()
    json.dumps(data, allow_nan=False)


def test_the_incubator_draws_its_power_at_its_volts(data: dict[str, Any]) -> None:
    for mode in data["modes"].values():
        incubator = mode["loads"]["incubator"]
        assert incubator["watts"] == pytest.approx(45.0, abs=1e-6)
        assert incubator["amps"] * incubator["volts"] == pytest.approx(45.0, abs=1e-6)
        assert 12.5 < incubator["volts"] < 14.0


def test_a_circuit_is_one_entry_whose_drop_counts_both_legs(data: dict[str, Any]) -> None:
    night = data["modes"]["night"]
    legs = (
        night["volts"]["ways.2"]
        - night["volts"]["work-lights.pos"]
        + night["volts"]["work-lights.neg"]
        - night["volts"]["ways.neg"]
    )
    assert night["runs"]["lights"]["drop_volts"] == pytest.approx(legs, abs=1e-7)
    assert night["runs"]["lights"]["loss_watts"] == pytest.approx(legs * 1.6, abs=1e-6)


def test_a_drop_in_percent_is_of_the_nominal_volts_from_the_source_to_the_load(data: dict[str, Any]) -> None:
    night = data["modes"]["night"]
    for load_figures in night["loads"].values():
        lost = night["sources"]["house"]["volts"] - load_figures["volts"]
        assert load_figures["drop_percent"] == pytest.approx(lost / 12.0 * 100.0, abs=1e-5)


def test_what_the_sources_give_is_what_loads_runs_and_charging_take(data: dict[str, Any]) -> None:
    """Conservation from the printed figures alone: at night one battery feeds everything, contacts apart."""
    night = data["modes"]["night"]
    house = night["sources"]["house"]
    taken = sum(each["watts"] for each in night["loads"].values()) + sum(
        run["loss_watts"] for run in night["runs"].values()
    )
    ways = sum(amps**2 for amps in (night["loads"]["incubator"]["amps"], 1.6))
    contacts = house["amps"] * house["volts"] - taken
    assert 0.0 < contacts < 0.02 * ways + 0.001 * house["amps"] ** 2


def test_the_charger_gives_its_thirty_amps_while_the_engine_runs(data: dict[str, Any]) -> None:
    driving = data["modes"]["driving"]
    assert driving["sources"]["dcdc"]["amps"] == pytest.approx(30.0)
    assert driving["runs"]["charge"]["amps"] == pytest.approx(30.0)
    volts = driving["sources"]["dcdc"]["volts"]
    inlet = driving["volts"]["dcdc.in"] - driving["volts"]["dcdc.neg"]
    assert driving["runs"]["main"]["amps"] == pytest.approx(30.0 * volts / 0.92 / inlet, rel=1e-7)


def test_a_battery_post_shorted_gives_its_voltage_over_its_resistance_and_the_alternators_rating(
    data: dict[str, Any],
) -> None:
    assert data["faults"]["main"]["start_amps"] == pytest.approx(12.65 / 0.007 + 110.0, rel=0.01)


def test_a_fuse_is_told_at_what_goes_through_it(data: dict[str, Any]) -> None:
    """The fuse at the house end of the charge run is told of a fault at the charger: the other end's comes past it."""
    charge, gen = data["faults"]["charge"], data["faults"]["gen-link"]
    assert charge["fuses"][0]["amps"] == pytest.approx(charge["start_amps"] - 30.0, rel=1e-6)
    assert charge["far_amps"] == charge["fuses"][0]["amps"]
    assert gen["fuses"][0]["amps"] == pytest.approx(gen["start_amps"] - 110.0, rel=1e-6)


def test_a_run_without_a_fuse_is_told_of_the_one_before_it(data: dict[str, Any]) -> None:
    [fuse] = data["faults"]["iso-hub"]["fuses"]
    assert (fuse["of"], fuse["rating_amps"]) == ("hub-feed", 80.0)
    assert fuse["amps"] == pytest.approx(data["faults"]["iso-hub"]["end_amps"], rel=1e-6)
    assert 0.0 < fuse["opens_between_s"][0] < fuse["opens_between_s"][1] < 1.0
    assert [each["of"] for each in data["faults"]["pump"]["fuses"]] == [None]


TWO = """
fitout "Two batteries" { stage planned; system 12 V }
practice { ends lug 16 mm2 M8 crimped tight }
place fore { ambient 30 degC }
place aft { ambient 30 degC }
battery one in fore { chemistry agm; capacity 100 Ah; internal 8 mohm; serves cranking; stud M8 }
battery two in aft { chemistry agm; capacity 100 Ah; internal 16 mohm; serves house; stud M8 }
feed link from one.pos to two.pos { cable 16 mm2 105 degC; along fore 2 m, aft 2 m; fuse strip 80 A at 0.1 m; fuse strip 60 A at 0.1 m from two.pos }
earth back from two.neg to one.neg { cable 16 mm2 105 degC; along aft 2 m, fore 2 m }
"""


def of_text(text: str) -> Ledger:
    loaded = load(text, "test.fitout")
    assert loaded.installation is not None, loaded.problems
    return Ledger(loaded.installation, load_limits())


def test_each_fuse_of_a_link_is_told_at_its_own_batterys_share() -> None:
    """Agm stands at 12.85 V when full (the stocked table): 16 mΩ of battery two feed the fault at its end past the link."""
    fault = figures(of_text(TWO))["faults"]["link"]
    near, far = fault["fuses"]
    assert near["amps"] == pytest.approx(fault["end_amps"] - 12.85 / 0.016, rel=1e-3)
    assert far["amps"] == pytest.approx(fault["start_amps"] - 12.85 / 0.008, rel=1e-3)
    assert fault["far_amps"] == max(near["amps"], far["amps"])
    # 646 A is 8.1 times 80 A: beyond the last gate of the strip fuse at constant I²t.
    assert near["opens_between_s"][1] == pytest.approx(0.55, rel=0.02)


def test_what_is_not_known_and_what_has_no_end_are_told_apart(planned: Ledger, specs: Path) -> None:
    text = (specs / "orchard-bees" / "planned.fitout").read_text(encoding="utf-8")
    hidden = of_text(text.replace("place toolbox       { ambient 40 degC }", "place toolbox"))
    row = figures(hidden)["faults"]["hub-feed"]
    assert row["withstands_s"] is None
    assert row["fuses"][0]["opens_between_s"] == [None, None]
    assert any("toolbox" in reason for reason in row["missing"]["withstands_s"])
    assert row["fuses"][0]["missing"].keys() == {"opens_between_s"}
    panel = figures(planned)["faults"]["panel"]
    assert (panel["withstands_s"], panel["missing"]) == (None, {})

    def bears(ledger: Ledger, run: str) -> tuple[str, str]:
        line = next(
            line for line in figures_text(ledger).split("Faults")[1].splitlines() if f" {run} " in line
        )
        rows = csv.DictReader(io.StringIO(figures_csv(ledger)))
        cell = next(r["value"] for r in rows if (r["name"], r["figure"]) == (run, "withstands_s"))
        return line, cell

    line, cell = bears(hidden, "hub-feed")
    assert "  ?  strip 80 A ?" in line
    assert "no end" not in line
    assert cell == ""
    line, cell = bears(planned, "panel")
    assert "  no end  -" in line
    assert cell == "inf"


def test_the_load_that_leaves_no_operating_point_is_named(specs: Path) -> None:
    text = (specs / "orchard-bees" / "planned.fitout").read_text(encoding="utf-8")
    thin = text.replace("draws    45 W", "draws   120 W").replace(
        "cable  twin 4 mm2 105 degC", "cable  twin 0.05 mm2 105 degC"
    )
    ledger = of_text(thin)
    night = figures(ledger, ["night"])["modes"]["night"]
    assert night["converged"] is False
    assert night["starved"]["incubator"]["asked_watts"] == pytest.approx(120.0)
    assert 0.0 < night["starved"]["incubator"]["at_most_watts"] < 60.0
    said = figures_text(ledger, ["night"])
    assert "incubator asks for 120 W and can be given" in said
    assert max(map(len, said.splitlines())) <= 100


def test_what_hangs_on_an_unknown_cable_is_null_and_the_rest_is_not(as_found: dict[str, Any]) -> None:
    night = as_found["modes"]["night"]
    assert night["loads"]["syrup-pump"]["amps"] is None
    assert night["runs"]["pump"]["drop_volts"] is None
    assert night["loads"]["incubator"]["volts"] == pytest.approx(11.0, abs=0.3)
    assert as_found["faults"]["pump"]["end_amps"] is None


def test_a_house_battery_on_an_isolated_earth_is_never_charged(as_found: dict[str, Any]) -> None:
    driving = as_found["modes"]["driving"]
    assert driving["runs"]["main"]["amps"] == 0.0
    assert driving["sources"]["house"]["amps"] > 0.0


def test_the_table_fits_a_page_of_100_columns(planned: Ledger) -> None:
    text = figures_text(planned)
    assert max(map(len, text.splitlines())) <= 100
    for word in ("Mode driving", "incubator", "crank.pos", "Faults"):
        assert word in text
    assert "-0.000" not in text


def test_modes_can_be_chosen(planned: Ledger) -> None:
    assert list(figures(planned, ["night"])["modes"]) == ["night"]
    with pytest.raises(NoSuchMode, match="driving, working, night"):
        figures(planned, ["noon"])


def test_the_lines_of_the_csv_hold_the_same_figures(planned: Ledger, data: dict[str, Any]) -> None:
    rows = list(csv.DictReader(io.StringIO(figures_csv(planned))))
    found = {(row["mode"], row["kind"], row["name"], row["figure"]): row["value"] for row in rows}
    assert len(found) == len(rows)
    assert float(found["night", "load", "incubator", "volts"]) == pytest.approx(
        data["modes"]["night"]["loads"]["incubator"]["volts"], rel=1e-8
    )
    assert float(found["driving", "terminal", "crank.pos", "volts"]) == pytest.approx(
        data["modes"]["driving"]["volts"]["crank.pos"], rel=1e-8
    )
    assert float(found["", "fault", "main", "end_amps"]) == pytest.approx(
        data["faults"]["main"]["end_amps"], rel=1e-8
    )


def test_the_same_spec_gives_the_same_bytes(specs: Path) -> None:
    path = specs / "orchard-bees" / "planned.fitout"
    assert figures_text(ledger(path)) == figures_text(ledger(path))
    assert json.dumps(figures(ledger(path))) == json.dumps(figures(ledger(path)))

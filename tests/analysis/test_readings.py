"""Where an excess resistance sits: what can be said by hand. Random networks read by ngspice stand in tests/outside."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest

from loomwright.analysis.network import Network
from loomwright.analysis.readings import Diagnosis, locate

BOOK: dict[str, Any] = tomllib.loads(
    Path(__file__).parents[1].joinpath("outside/data/circuit_examples.toml").read_text("utf-8")
)


def a_pump() -> Network:
    """A battery, a fused feed in two pieces, a pump of constant power, its return; a lamp on the middle of the feed."""
    network = Network()
    network.battery("battery", "earth", 12.8, 0.006, name="battery")
    network.resistor("battery", "fuse", 0.008, name="feed")
    network.resistor("fuse", "box", 0.004, name="fuse")
    network.resistor("box", "pump", 0.020, name="drop lead")
    network.constant_power("pump", "back", 180.0, name="pump")
    network.resistor("back", "earth", 0.015, name="return")
    network.constant_current("box", "earth", 3.0, name="lamp")
    return network


def built(design: Network, **extra: float) -> dict[str, float]:
    """Volts of the network with more ohms in some elements; spaces are written as underlines."""
    ohms = {name.replace("_", " "): more for name, more in extra.items()}
    return dict(
        design.with_values(ohms={n: design.elements[n].ohms + more for n, more in ohms.items()})
        .solve("earth")
        .volts
    )


def shown(volts: dict[str, float], *nodes: str, step: float = 0.001) -> dict[str, float]:
    return {node: round(volts[node] / step) * step for node in nodes or volts}


def test_corrosion_of_a_starters_connections_is_found_from_the_motors_volts_of_the_textbook() -> None:
    page = BOOK["starter"]
    network = Network()
    network.battery("pos", "neg", page["emf_v"], page["internal_ohm"], name="battery")
    network.resistor("pos", "motor", 0.0, name="connections")
    network.resistor("motor", "neg", page["motor_ohm"], name="motor")
    terminals = page["emf_v"] - page["internal_ohm"] * page["corroded"]["amps"]
    found = locate(network, {"pos": terminals, "motor": page["corroded"]["motor_v"]}, "neg", meter_step=0.01)
    assert found.suspects[0].elements == ("connections",)
    assert found.suspects[0].extra_ohms == pytest.approx(page["corrosion_ohm"], rel=0.005)


def test_with_the_motors_volts_alone_the_battery_may_be_to_blame_and_its_terminals_tell() -> None:
    page = BOOK["starter"]
    network = Network()
    network.battery("pos", "neg", page["emf_v"], page["internal_ohm"], name="battery")
    network.resistor("pos", "motor", 0.0, name="connections")
    network.resistor("motor", "neg", page["motor_ohm"], name="motor")
    found = locate(network, {"motor": page["corroded"]["motor_v"]}, "neg", meter_step=0.01)
    assert found.suspects[0].elements == ("battery", "connections")
    assert found.next_reading == "pos"


def test_the_internal_resistance_of_the_textbooks_battery_is_found_from_its_one_reading() -> None:
    page = BOOK["one_reading"]
    network = Network()
    network.battery("pos", "neg", page["emf_v"], 0.0, name="battery")
    network.constant_current("pos", "neg", page["amps"])
    found = locate(network, {"pos": page["terminal_v"]}, "neg", meter_step=0.01)
    assert found.suspects[0].elements == ("battery",)
    assert found.suspects[0].extra_ohms == pytest.approx(page["internal_ohm"], rel=page["tolerance"])


def test_the_textbooks_aged_battery_is_found_from_its_terminals_under_the_heavy_load() -> None:
    page = BOOK["terminal_voltage"]
    network = Network()
    network.battery("pos", "neg", page["emf_v"], page["internal_ohm"][1], name="battery")
    network.resistor("pos", "neg", page["load_ohm"][2], name="load")
    found = locate(network, {"pos": page["terminal_v"][2]}, "neg", meter_step=0.01)
    assert found.suspects[0].elements == ("battery",)
    aged = page["internal_ohm"][2] - page["internal_ohm"][1]
    assert found.suspects[0].extra_ohms == pytest.approx(aged, abs=found.suspects[0].extra_ohms_error)


def test_readings_that_round_to_the_design_say_nothing() -> None:
    design = a_pump()
    assert locate(design, shown(built(design), step=0.01), "earth", meter_step=0.01) == Diagnosis(True)


@pytest.mark.parametrize("element", ["battery", "feed", "fuse", "drop lead", "return"])
def test_with_every_node_read_each_element_is_told_from_all_others(element: str) -> None:
    design = a_pump()
    found = locate(design, shown(built(design, **{element: 0.012})), "earth")
    suspect = found.suspects[0]
    assert suspect.elements == (element,)
    assert suspect.extra_ohms == pytest.approx(0.012, abs=suspect.extra_ohms_error)
    assert suspect.extra_ohms_error < 0.0002
    assert not found.doubtful
    assert found.next_reading is None


def test_pieces_with_nothing_between_them_that_was_read_are_one_group_until_the_next_reading() -> None:
    design = a_pump()
    there = built(design, feed=0.012)
    few = shown(there, "battery", "box", "pump", "back")
    found = locate(design, few, "earth")
    assert found.suspects[0].elements == ("feed", "fuse")
    assert found.next_reading == "fuse"
    told = locate(design, {**few, **shown(there, "fuse")}, "earth")
    assert told.suspects[0].elements == ("feed",)


def test_a_coarser_meter_is_less_sure_of_the_ohms() -> None:
    design = a_pump()
    there = built(design, **{"return": 0.02})
    fine, coarse = (
        locate(design, shown(there, step=step), "earth", meter_step=step).suspects[0]
        for step in (0.001, 0.01)
    )
    assert coarse.extra_ohms_error > 3 * fine.extra_ohms_error
    assert abs(coarse.extra_ohms - 0.02) <= coarse.extra_ohms_error
    assert abs(fine.extra_ohms - 0.02) <= fine.extra_ohms_error


def test_a_drop_between_two_nodes_is_a_reading_too_and_each_may_have_its_own_step() -> None:
    design = a_pump()
    there = built(design, fuse=0.012)
    volts = {"pump": round(there["pump"], 2), ("battery", "box"): round(there["battery"] - there["box"], 3)}
    found = locate(design, volts, "earth", {"pump": 0.01, ("battery", "box"): 0.001})
    assert found.suspects[0].elements == ("feed", "fuse")
    assert found.suspects[0].extra_ohms == pytest.approx(0.012, abs=found.suspects[0].extra_ohms_error)
    assert found.suspects[0].extra_ohms_error < 0.0001


def test_two_faults_are_told_as_two_and_neither_is_blamed_alone() -> None:
    design = a_pump()
    found = locate(design, shown(built(design, feed=0.012, **{"return": 0.025})), "earth")
    assert "two do together: feed, and return" in found.doubtful
    ohms = {suspect.elements: suspect.extra_ohms for suspect in found.together}
    assert ohms == {("feed",): pytest.approx(0.012, abs=2e-4), ("return",): pytest.approx(0.025, abs=2e-4)}


def test_a_design_that_is_wrong_is_not_explained_away_by_resistance() -> None:
    design = a_pump()
    there = design.with_values(watts={"pump": 90.0}).solve("earth").volts
    found = locate(design, shown(dict(there)), "earth")
    assert not found.nothing_wrong
    assert found.doubtful.startswith("No one or two of the elements explain the readings")


def test_an_element_without_current_is_never_suspected() -> None:
    design = a_pump()
    design.resistor("box", "spare", 0.01, name="spare lead")
    found = locate(design, shown(built(design, feed=0.012), "box", "pump", "spare"), "earth")
    assert not any("spare lead" in suspect.elements for suspect in found.suspects)


def test_a_reading_of_a_node_that_is_not_there_is_an_error_that_names_it() -> None:
    with pytest.raises(ValueError, match="no node is named pmup"):
        locate(a_pump(), {"pmup": 12.0}, "earth")
    with pytest.raises(ValueError, match="no readings"):
        locate(a_pump(), {}, "earth")
    with pytest.raises(ValueError, match="step must be above 0 V"):
        locate(a_pump(), {"pump": 12.0}, "earth", meter_step=0.0)
    with pytest.raises(ValueError, match="pump must be a number"):
        locate(a_pump(), {"pump": float("nan")}, "earth")

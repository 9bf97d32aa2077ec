"""Worked circuit examples of textbooks; every number and its source stand in data/circuit_examples.toml."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest

from loomwright.analysis.network import Network

BOOK: dict[str, Any] = tomllib.loads(
    Path(__file__).with_name("data").joinpath("circuit_examples.toml").read_text("utf-8")
)


def close(page: dict[str, Any], expected: float) -> Any:
    return pytest.approx(expected, rel=page["tolerance"])


@pytest.mark.parametrize("state", ["clean", "corroded"])
def test_a_starter_with_clean_and_with_corroded_connections(state: str) -> None:
    page = BOOK["starter"]
    network = Network()
    network.battery("pos", "neg", page["emf_v"], page["internal_ohm"])
    network.resistor("pos", "motor", page["corrosion_ohm"] if state == "corroded" else 0.0)
    network.resistor("motor", "neg", page["motor_ohm"], name="motor")
    solution = network.solve("neg")
    answer = page[state]
    assert solution.amps["motor"] == close(page, answer["amps"])
    assert solution.volts["motor"] == close(page, answer["motor_v"])
    assert solution.volts["motor"] * solution.amps["motor"] == close(page, answer["motor_w"])


@pytest.mark.parametrize("sign", [1, -1])
def test_a_battery_charged_and_discharged(sign: int) -> None:
    page = BOOK["charging"]
    network = Network()
    network.battery("pos", "neg", page["emf_v"], page["internal_ohm"], name="battery")
    network.constant_current("neg", "pos", sign * page["amps"])
    solution = network.solve("neg")
    volts = page["charging_terminal_v"] if sign > 0 else page["discharging_terminal_v"]
    amps = solution.amps["battery"]
    assert solution.volts["pos"] == close(page, volts)
    assert amps**2 * page["internal_ohm"] == close(page, page["heat_w"])
    assert -sign * amps * page["emf_v"] == close(page, page["chemical_w"])


@pytest.mark.parametrize("case", range(3))
def test_terminal_voltage_for_light_load_heavy_load_and_an_aged_battery(case: int) -> None:
    page = BOOK["terminal_voltage"]
    network = Network()
    network.battery("pos", "neg", page["emf_v"], page["internal_ohm"][case], name="battery")
    network.resistor("pos", "neg", page["load_ohm"][case])
    solution = network.solve("neg")
    assert solution.amps["battery"] == close(page, page["amps"][case])
    assert solution.volts["pos"] == close(page, page["terminal_v"][case])


def test_one_reading_fits_the_internal_resistance_that_it_gives() -> None:
    page = BOOK["one_reading"]
    network = Network()
    network.battery("pos", "neg", page["emf_v"], page["internal_ohm"], name="battery")
    network.resistor("pos", "neg", page["load_ohm"])
    solution = network.solve("neg")
    assert solution.volts["pos"] == close(page, page["terminal_v"])
    assert solution.amps["battery"] == close(page, page["amps"])


def test_two_unequal_batteries_share_a_load() -> None:
    page = BOOK["two_batteries"]
    network = Network()
    for k in (0, 1):
        network.battery("pos", "neg", page["emf_v"][k], page["internal_ohm"][k], name=str(k))
    network.resistor("pos", "neg", page["load_ohm"])
    solution = network.solve("neg")
    assert solution.volts["pos"] == close(page, page["terminal_v"])
    assert [solution.amps["0"], solution.amps["1"]] == [close(page, amps) for amps in page["amps"]]


def test_two_opposed_sources_drive_the_current_against_the_direction_drawn() -> None:
    page = BOOK["two_sources"]
    network = Network()
    network.battery("a", "d", page["emf_v"][0], 0.0, name="first")
    network.resistor("a", "b", page["ohms"][0])
    network.battery("b", "c", -page["emf_v"][1], 0.0)
    network.resistor("c", "d", page["ohms"][1])
    assert network.solve("d").amps["first"] == close(page, page["amps"])


def test_headlights_on_a_battery() -> None:
    page = BOOK["headlights"]
    network = Network()
    network.battery("pos", "neg", page["emf_v"], page["internal_ohm"])
    network.resistor("pos", "neg", page["load_ohm"], name="lamps")
    solution = network.solve("neg")
    assert solution.amps["lamps"] == close(page, page["amps"])
    assert solution.volts["pos"] == close(page, page["load_v"])

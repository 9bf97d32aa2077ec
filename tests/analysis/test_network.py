"""The network solver on closed forms, its errors, and what holds in every network."""

from __future__ import annotations

import random
from math import inf, nan, sqrt

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from loomwright.analysis import operating
from loomwright.analysis.network import BrokenConservation, FloatingNodes, Network, NoOperatingPoint

ohms = st.floats(1e-4, 10)


def behind_a_resistance(emf: float, resistance: float, watts: float) -> Network:
    network = Network()
    network.battery("pos", "neg", emf, resistance, name="battery")
    network.constant_power("pos", "neg", watts, name="load")
    return network


@given(st.floats(1, 60), ohms, st.floats(1e-3, 0.9999))
def test_constant_power_behind_a_resistance_runs_at_the_high_voltage(
    emf: float, resistance: float, part: float
) -> None:
    """V = (E + √(E² − 4 P R)) / 2, the larger root of V² − E V + P R = 0."""
    watts = part * emf**2 / (4 * resistance)
    solution = behind_a_resistance(emf, resistance, watts).solve("neg")
    assert solution.volts["pos"] == pytest.approx((emf + sqrt(emf**2 - 4 * watts * resistance)) / 2, rel=1e-9)
    assert solution.amps["battery"] == pytest.approx(watts / solution.volts["pos"])
    assert solution.converged


@given(st.floats(1, 60), ohms, st.floats(1e-3, 0.9999), st.floats(0.0, 0.9999))
def test_from_the_point_of_another_load_the_search_ends_at_the_high_voltage_too(
    emf: float, resistance: float, part: float, before: float
) -> None:
    most = emf**2 / (4 * resistance)
    near = behind_a_resistance(emf, resistance, before * most).solve("neg")
    solution = behind_a_resistance(emf, resistance, part * most).solve("neg", near)
    assert solution.volts["pos"] == pytest.approx(emf * (1 + sqrt(1 - part)) / 2, rel=1e-9)


@given(st.floats(1, 60), ohms, st.floats(1.0001, 1000))
def test_more_than_the_matched_power_has_no_operating_point(
    emf: float, resistance: float, part: float
) -> None:
    """The most is E² / (4 R), at half the voltage (maximum power transfer)."""
    most = emf**2 / (4 * resistance)
    with pytest.raises(NoOperatingPoint, match="load asks for") as error:
        behind_a_resistance(emf, resistance, part * most).solve("neg")
    assert error.value.load == "load"
    assert error.value.asked_watts == part * most
    assert error.value.at_most_watts == pytest.approx(most, rel=1e-6)


@given(st.floats(1, 60), ohms, st.floats(1e-3, 1e4))
def test_power_delivered_into_a_battery_has_a_closed_form_too(
    emf: float, resistance: float, watts: float
) -> None:
    solution = behind_a_resistance(emf, resistance, -watts).solve("neg")
    assert solution.volts["pos"] == pytest.approx((emf + sqrt(emf**2 + 4 * watts * resistance)) / 2, rel=1e-9)


def test_power_delivered_into_a_resistance_alone() -> None:
    network = Network()
    network.constant_power("pos", "neg", -100.0)
    network.resistor("pos", "neg", 1.44)
    assert network.solve("neg").volts["pos"] == pytest.approx(12.0)


@given(st.floats(1, 60), ohms, st.floats(1, 60), ohms, ohms)
def test_two_sources_at_one_node(e1: float, r1: float, e2: float, r2: float, load: float) -> None:
    """Millman: V = (E1/R1 + E2/R2) / (1/R1 + 1/R2 + 1/R)."""
    network = Network()
    network.battery("pos", "neg", e1, r1, name="one")
    network.battery("pos", "neg", e2, r2, name="two")
    network.resistor("pos", "neg", load)
    solution = network.solve("neg")
    volts = (e1 / r1 + e2 / r2) / (1 / r1 + 1 / r2 + 1 / load)
    assert solution.volts["pos"] == pytest.approx(volts)
    assert solution.amps["one"] == pytest.approx((e1 - volts) / r1, abs=1e-8)


def test_thevenin_of_a_divider() -> None:
    network = Network()
    network.battery("top", "neg", 12.0, 0.0)
    network.resistor("top", "tap", 3.0)
    network.resistor("tap", "neg", 6.0)
    assert network.solve("neg").thevenin("tap", "neg") == (pytest.approx(8.0), pytest.approx(2.0))


def test_thevenin_at_a_loaded_point_counts_the_slope_of_a_constant_power_load() -> None:
    network = behind_a_resistance(12.0, 0.1, 100.0)
    solution = network.solve("neg")
    volts = solution.volts["pos"]
    seen, resistance = solution.thevenin("pos", "neg")
    assert seen == volts
    assert resistance == pytest.approx(1 / (1 / 0.1 - 100.0 / volts**2))
    step = 1e-4
    network.constant_current("pos", "neg", step)
    assert (volts - network.solve("neg").volts["pos"]) / step == pytest.approx(resistance, rel=1e-4)


@pytest.mark.parametrize(
    ("battery", "amps"),
    [(15.0, 0.0), (14.1, 1.6666666666666667), (13.0, 20.0)],
    ids=["never takes current", "on its slope", "at its limit"],
)
def test_the_three_pieces_of_a_regulated_source(battery: float, amps: float) -> None:
    network = Network()
    network.battery("pos", "neg", battery, 0.05, name="battery")
    network.regulator("pos", "neg", 14.2, 0.01, 20.0, name="alternator")
    assert network.solve("neg").amps["alternator"] == pytest.approx(amps)


def test_a_regulator_at_its_limit_gives_a_load_no_more_than_limit_times_volts() -> None:
    network = Network()
    network.regulator("pos", "neg", 14.0, 0.01, 50.0)
    network.constant_power("pos", "neg", 900.0, name="inverter")
    with pytest.raises(NoOperatingPoint) as error:
        network.solve("neg")
    assert error.value.load == "inverter"
    assert error.value.at_most_watts == pytest.approx(50.0 * 13.5, rel=1e-4)
    assert network.with_values(watts={"inverter": 600.0}).solve("neg").amps["inverter"] < 50.0


def test_fixed_currents_beyond_every_limit_name_the_largest() -> None:
    network = Network()
    network.regulator("pos", "neg", 14.0, 0.01, 50.0)
    network.constant_current("pos", "neg", 10.0, name="lamp")
    network.constant_current("pos", "neg", 60.0, name="winch")
    with pytest.raises(NoOperatingPoint, match="winch"):
        network.solve("neg")


def test_the_load_behind_the_weak_feed_is_the_one_at_fault() -> None:
    network = Network()
    network.battery("bus", "neg", 12.8, 0.005)
    network.resistor("bus", "far", 0.1, name="thin")
    network.constant_power("far", "neg", 600.0, name="kettle")
    network.constant_power("bus", "neg", 900.0, name="winch")
    with pytest.raises(NoOperatingPoint) as error:
        network.solve("neg")
    assert error.value.load == "kettle"
    most = error.value.at_most_watts
    assert network.with_values(watts={"kettle": most * (1 - 1e-6)}).solve("neg").converged
    with pytest.raises(NoOperatingPoint):
        network.with_values(watts={"kettle": most * (1 + 1e-6)}).solve("neg")


def test_a_load_wired_the_wrong_way_round_gets_nothing() -> None:
    network = Network()
    network.battery("pos", "neg", 12.8, 0.005)
    network.constant_power("neg", "pos", 10.0, name="pump")
    with pytest.raises(NoOperatingPoint) as error:
        network.solve("neg")
    assert (error.value.load, error.value.at_most_watts) == ("pump", 0.0)


def test_parts_that_float_are_named() -> None:
    network = behind_a_resistance(12.0, 0.1, 10.0)
    network.resistor("p", "q", 1.0)
    network.constant_power("q", "neg", 1.0)
    network.constant_current("pos", "r", 1.0)
    with pytest.raises(FloatingNodes, match="p, q, r to neg") as error:
        network.solve("neg")
    assert set(error.value.nodes) == {"p", "q", "r"}


@pytest.mark.parametrize("bad", [-1.0, nan, inf])
def test_resistances_that_mean_nothing_are_refused(bad: float) -> None:
    network = Network()
    with pytest.raises(ValueError, match="ohms"):
        network.resistor("a", "b", bad)
    with pytest.raises(ValueError, match="ohms"):
        network.battery("a", "b", 12.0, bad)
    with pytest.raises(ValueError, match="watts"):
        network.constant_power("a", "b", nan)
    assert not network.elements


def test_names_and_nodes_must_make_sense() -> None:
    network = Network()
    assert network.resistor("a", "b", 1.0, name="feed") == "feed"
    assert network.resistor("a", "b", 1.0) == "resistor-2"
    with pytest.raises(ValueError, match="two elements"):
        network.resistor("a", "b", 1.0, name="feed")
    with pytest.raises(ValueError, match="both ends"):
        network.resistor("a", "a", 1.0)
    with pytest.raises(ValueError, match="no node"):
        network.solve("earth")
    with pytest.raises(ValueError, match="no element"):
        network.with_values(ohms={"back": 1.0})
    with pytest.raises(ValueError, match="no watts"):
        network.with_values(watts={"feed": 1.0})


def test_joints_of_no_resistance_carry_what_arrives_and_share_equally() -> None:
    network = Network()
    network.battery("pos", "neg", 12.0, 0.01)
    for k in range(3):
        network.resistor("pos", "bar", 0.0, name=f"joint {k}")
    network.resistor("bar", "lug", 0.0, name="lug")
    network.resistor("lug", "neg", 0.11, name="lamp")
    solution = network.solve("neg")
    # 1e-10 Ω each beside 0.12 Ω: a few parts in 1e9.
    assert solution.amps["lug"] == pytest.approx(100.0, rel=3e-9)
    assert [solution.amps[f"joint {k}"] for k in range(3)] == [pytest.approx(100 / 3, rel=3e-9)] * 3
    assert solution.volts["pos"] - solution.volts["lug"] < 1e-7


def test_other_values_on_the_same_shape_solve_as_a_new_network_would() -> None:
    first = behind_a_resistance(12.0, 0.1, 100.0)
    first.solve("neg")
    changed = first.with_values(ohms={"battery": 0.05}, volts={"battery": 13.0}, watts={"load": 50.0})
    assert changed.solve("neg").volts == behind_a_resistance(13.0, 0.05, 50.0).solve("neg").volts
    changed.resistor("pos", "neg", 1.0)
    assert len(first.elements) == 2
    assert first.solve("neg").volts["pos"] < 12.0


def a_system(seed: int, size: int = 25) -> Network:
    rng = random.Random(seed)
    network = Network()
    network.battery("bus", "n0", rng.uniform(12, 13), 0.01, name="house")
    network.regulator("bus", "n0", 14.0, 0.02, rng.choice([10.0, 30.0, None]), name="charger")
    for k in range(1, size):
        back, ahead = f"n{rng.randrange(k)}", rng.choice(["bus", *(f"p{j}" for j in range(1, k))])
        network.resistor(ahead, f"p{k}", 10 ** rng.uniform(-4, -1), name=f"feed {k}")
        network.resistor(f"n{k}", back, 10 ** rng.uniform(-4, -1), name=f"return {k}")
        kind = rng.choice([network.constant_power, network.constant_current])
        kind(f"p{k}", f"n{k}", rng.uniform(-3, 3), name=f"load {k}")
    return network


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 10**6))
def test_currents_meet_and_power_balances(seed: int) -> None:
    """Kirchhoff's current law and sources = loads + losses within 1e-9, computed here from the answer alone."""
    network = a_system(seed)
    solution = network.solve("n3")
    v, i = solution.volts, solution.amps
    arriving = dict.fromkeys(v, 0.0)
    given_watts = taken = 0.0
    for name, e in network.elements.items():
        out = -i[name] if e.is_source else i[name]
        arriving[e.a] -= out
        arriving[e.b] += out
        if e.kind == "battery":
            given_watts += e.volts * i[name]
            taken += i[name] ** 2 * e.ohms
        elif e.kind == "regulator":
            given_watts += (v[e.a] - v[e.b]) * i[name]
        else:
            taken += i[name] ** 2 * e.ohms if e.kind == "resistor" else (v[e.a] - v[e.b]) * i[name]
        if e.kind == "constant_power":
            assert (v[e.a] - v[e.b]) * i[name] == pytest.approx(e.watts, rel=1e-9)
    assert max(map(abs, arriving.values())) < 1e-9 * max(map(abs, i.values()))
    assert given_watts == pytest.approx(taken, rel=1e-9, abs=1e-9 * abs(i["house"]) * 13)
    assert v["n3"] == 0.0


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 10**6))
def test_sensitivities_are_the_slopes_of_the_volts(seed: int) -> None:
    network = a_system(seed, 12)
    name = random.Random(seed).choice(
        [n for n, e in network.elements.items() if e.kind in ("resistor", "battery")]
    )
    solution = network.solve("n0")
    resistance = network.elements[name].ohms
    step = 1e-4 * resistance
    charger = solution.amps["charger"]
    assume(charger > 1e-3)
    up, down = (network.with_values(ohms={name: resistance + d}).solve("n0").volts for d in (step, -step))
    found = solution.sensitivity(name)
    largest = max(map(abs, found.values()))
    for node in solution.volts:
        assert found[node] == pytest.approx(
            (up[node] - down[node]) / (2 * step), rel=1e-4, abs=1e-5 * largest + 1e-7
        )


def test_a_load_has_no_sensitivity() -> None:
    with pytest.raises(ValueError, match="no resistance"):
        behind_a_resistance(12.0, 0.1, 10.0).solve("neg").sensitivity("load")


def test_where_it_is_counted_from_changes_no_difference_of_volts() -> None:
    network = a_system(11)
    one, other = network.solve("n0"), network.solve("p5")
    for node in one.volts:
        assert one.volts[node] - one.volts["p5"] == pytest.approx(other.volts[node], abs=1e-9)


def test_a_solution_that_breaks_conservation_is_never_returned(monkeypatch: pytest.MonkeyPatch) -> None:
    refined = operating._refined

    def spoilt(*given: object) -> operating.Point | None:
        point = refined(*given)  # type: ignore[arg-type]
        if point is not None:
            point.branch_amps[0] *= 1 + 1e-8
        return point

    monkeypatch.setattr(operating, "_refined", spoilt)
    with pytest.raises(BrokenConservation, match="unaccounted"):
        behind_a_resistance(12.0, 0.1, 100.0).solve("neg")


def test_ten_thousand_runs_take_no_more_steps_than_a_hundred() -> None:
    def of(runs: int) -> Network:
        network = Network()
        network.battery("bus", "earth", 12.8, 1e-4)
        for k in range(runs):
            network.resistor(
                f"box {k // 100}" if k % 100 else "bus", f"end {k}" if k % 100 else f"box {k // 100}", 0.01
            )
            if k % 100:
                network.constant_power(f"end {k}", "earth", 0.2)
        return network

    small, large = of(100).solve("earth"), of(10_000).solve("earth")
    assert large.iterations <= small.iterations + 2
    assert of(10_000).layout("earth").plan.slot_count < 3 * 10_000


def test_a_regulator_that_the_other_holds_off_does_not_keep_the_point_from_being_found() -> None:
    network = Network()
    network.regulator("battery", "earth", 12.65, 0.007, None, name="full battery")
    network.battery("battery", "earth", 12.65, 2.0, name="its tail")
    network.regulator("gen", "earth", 14.2, 0.001, 91.0, name="alternator")
    network.resistor("gen", "battery", 0.0015, name="link")
    network.constant_power("battery", "earth", 50.0, name="cooler")
    solution = network.solve("earth")
    volts = solution.volts["battery"]
    drawn = 50.0 / volts + (volts - 12.65) / 2.0
    assert solution.amps["full battery"] == pytest.approx(0.0, abs=1e-12)
    assert solution.amps["alternator"] == pytest.approx(drawn, rel=1e-9)
    assert volts == pytest.approx(14.2 - drawn * 0.0025, rel=1e-9)


def test_a_power_beyond_a_regulators_limit_is_found_where_the_next_source_takes_over() -> None:
    network = Network()
    network.regulator("battery", "earth", 12.65, 0.007, None, name="full battery")
    network.battery("battery", "earth", 12.65, 2.0, name="its tail")
    network.regulator("gen", "earth", 14.2, 0.001, 65.0, name="alternator")
    network.resistor("gen", "battery", 0.0015, name="link")
    network.resistor("battery", "charger", 0.0064, name="main")
    network.constant_power("charger", "earth", 900.0, name="charger")
    solution = network.solve("earth")
    amps = solution.amps["charger"]
    assert solution.amps["alternator"] == pytest.approx(65.0)
    assert amps == pytest.approx(900.0 / solution.volts["charger"], rel=1e-9)
    by_battery = (12.65 - solution.volts["battery"]) * (1 / 0.007 + 1 / 2.0)
    assert by_battery == pytest.approx(amps - 65.0, rel=1e-7)

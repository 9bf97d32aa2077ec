"""Bolted faults on circuits that can be worked by hand, and many at once."""

from __future__ import annotations

import pytest

from loomwright.analysis.circuit import Regulated
from loomwright.analysis.faults import _bent_back
from loomwright.analysis.network import Network


def two_batteries() -> Network:
    """House and cranking battery, joined by a link, each with its fuse; a run to a pump."""
    network = Network()
    network.battery("house", "earth", 12.8, 0.006, name="house battery")
    network.battery("crank", "earth", 12.6, 0.004, name="cranking battery")
    network.resistor("house", "bus", 0.001, name="house fuse")
    network.resistor("crank", "bus", 0.006, name="crank fuse")
    network.resistor("bus", "pump", 0.04, name="pump feed")
    network.constant_power("pump", "earth", 60, name="pump")
    return network


def test_two_batteries_feed_one_fault_each_through_its_own_fuse() -> None:
    fault = two_batteries().solve("earth").fault("bus", "earth")
    house, crank = 12.8 / 0.007, 12.6 / 0.010
    assert fault.amps == pytest.approx(house + crank)
    assert fault.shares == {"house battery": pytest.approx(house), "cranking battery": pytest.approx(crank)}
    assert fault.through("house fuse") == pytest.approx(house)
    assert fault.through("crank fuse") == pytest.approx(crank)
    assert fault.through("pump feed") == pytest.approx(0.0, abs=1e-6)
    assert fault.through("pump") == 0.0


def test_a_fault_at_the_far_end_meets_the_whole_way() -> None:
    fault = two_batteries().faults("earth").fault("pump", "earth")
    behind = 1 / (1 / 0.007 + 1 / 0.010)
    emf = behind * (12.8 / 0.007 + 12.6 / 0.010)
    assert fault.amps == pytest.approx(emf / (behind + 0.04))
    assert fault.through("pump feed") == pytest.approx(fault.amps)
    assert sum(fault.shares.values()) == pytest.approx(fault.amps)


def test_the_sign_follows_the_direction_asked_for_and_loads_change_nothing() -> None:
    network = two_batteries()
    one, other = network.solve("earth").fault("pump", "earth"), network.solve("pump").fault("earth", "pump")
    assert one.amps == pytest.approx(-other.amps)
    heavy = network.with_values(watts={"pump": 200.0})
    assert heavy.solve("earth").fault("pump", "earth").amps == one.amps


@pytest.mark.parametrize("limit", [80.0, None])
def test_a_regulator_feeds_a_fault_up_to_its_limit(limit: float | None) -> None:
    network = Network()
    network.battery("bus", "earth", 12.8, 0.01, name="battery")
    network.regulator("bus", "earth", 14.4, 0.02, limit, name="alternator")
    fault = network.faults("earth").fault("bus", "earth")
    assert fault.shares == {
        "battery": pytest.approx(1280),
        "alternator": pytest.approx(80 if limit else 14.4 / 0.02),
    }
    assert fault.amps == pytest.approx(sum(fault.shares.values()))


def test_a_regulator_behind_a_long_cable_stays_below_its_limit() -> None:
    network = Network()
    network.battery("bus", "earth", 12.8, 0.01)
    network.regulator("far", "earth", 14.4, 0.01, 80.0, name="charger")
    network.resistor("far", "bus", 0.35)
    fault = network.faults("earth").fault("bus", "earth")
    assert fault.through("charger") == pytest.approx(14.4 / 0.36)


def test_a_regulator_that_stands_off_a_higher_battery_feeds_once_the_fault_pulls_it_down() -> None:
    network = Network()
    network.battery("bus", "earth", 14.6, 0.01)
    network.regulator("bus", "earth", 13.8, 0.02, 30.0, name="charger")
    network.resistor("bus", "near", 0.1)
    network.resistor("bus", "far", 10.0)
    study = network.faults("earth")
    # At the bus (14.6/0.01 + 13.8/0.02) / (1/0.01 + 1/0.02 + 1/0.1) = 13.4375 V.
    assert study.fault("near", "earth").through("charger") == pytest.approx((13.8 - 13.4375) / 0.02)
    assert study.fault("bus", "earth").through("charger") == pytest.approx(30.0)
    assert study.fault("far", "earth").through("charger") == pytest.approx(0.0, abs=1e-9)


def test_regulators_alone_hold_their_limits_into_a_fault() -> None:
    network = Network()
    network.regulator("bus", "earth", 14.4, 0.01, 40.0, name="one")
    network.regulator("bus", "earth", 13.8, 0.01, 10.0, name="two")
    network.resistor("bus", "end", 0.02)
    fault = network.faults("earth").fault("end", "earth")
    assert fault.amps == pytest.approx(50.0)
    assert fault.shares == {"one": pytest.approx(40.0), "two": pytest.approx(10.0)}


def test_a_fault_may_have_a_resistance_of_its_own() -> None:
    network = two_batteries()
    bolted = network.faults("earth").fault("pump", "earth")
    behind = 1 / (1 / 0.007 + 1 / 0.010) + 0.04
    arcing = network.faults("earth").fault("pump", "earth", fault_ohms=behind)
    assert arcing.amps == pytest.approx(bolted.amps / 2)


def test_a_fault_from_a_node_to_itself_or_to_nowhere_is_refused() -> None:
    study = two_batteries().faults("earth")
    with pytest.raises(ValueError, match="both ends"):
        study.fault("bus", "bus")
    with pytest.raises(ValueError, match="no node"):
        study.fault("bus", "moon")


def test_a_fault_changes_no_answer_of_the_next() -> None:
    study = two_batteries().faults("earth")
    first = study.fault("bus", "earth").shares
    study.fault("pump", "earth")
    assert study.fault("bus", "earth").shares == first


def test_a_regulator_between_off_and_at_its_limit_is_found() -> None:
    """Two stiff regulators whose ties to one another are strong: off overshoots to the limit, and the limit back to off."""
    sources = [Regulated(0, 1, 0, 14.2, 1000.0, 140.0), Regulated(2, 1, 1, 14.4, 1000.0, 25.0)]
    spans = [14.28142353083972, 10.30151350585274]
    ties = [[0.0008896449354021675, 1.5541780067899702e-05], [1.5541780067899702e-05, 0.0006774038531289508]]
    extra = _bent_back(sources, spans, ties)
    for r, source in enumerate(sources):
        volts = spans[r] + sum(tie * amps for tie, amps in zip(ties[r], extra, strict=True))
        straight = (source.emf - volts) * source.siemens
        assert straight + extra[r] == pytest.approx(min(source.limit, max(0.0, straight)), abs=1e-6)

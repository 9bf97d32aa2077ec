"""Networks of every element kind against ngspice (Debian package ngspice): volts within 1 µV, faults and shares likewise."""

from __future__ import annotations

import random

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from loomwright.analysis.network import Network, NoOperatingPoint

from . import ngspice

MICROVOLT = 1e-6
SLOW = settings(max_examples=25, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))

pytestmark = [pytest.mark.program("ngspice"), pytest.mark.usefixtures("_ngspice")]


@pytest.fixture
def _ngspice() -> None:
    ngspice.need_ngspice()


def an_installation(seed: int, size: int) -> Network:
    """A random vehicle-like network: a few supplies on busbars, branches that grow as trees, some meshes, wired returns, and
    every element kind. Loads are small beside what the network can give, so that an operating point exists."""
    rng = random.Random(seed)
    network = Network()
    network.battery("bus", "earth", rng.uniform(11.8, 13.4), rng.uniform(0.004, 0.03), name="house")
    network.resistor("earth", "frame", rng.uniform(1e-4, 2e-3), name="strap")
    network.battery("crank", "frame", rng.uniform(12.0, 12.8), rng.uniform(0.004, 0.02), name="crank")
    network.regulator(
        "crank", "frame", 14.3, rng.uniform(0.005, 0.05), rng.choice([40.0, 90.0, None]), name="alternator"
    )
    network.resistor("crank", "bus", rng.uniform(0.004, 0.1), name="link")
    network.regulator(
        "bus", "earth", rng.choice([12.4, 13.8, 14.6]), 0.03, rng.choice([5.0, 25.0]), name="charger"
    )
    feeds, returns = ["bus", "crank"], ["earth", "frame"]
    while len(feeds) + len(returns) + 2 < size:
        k = len(feeds)
        feed, back = rng.choice(feeds[-30:] + feeds[:2]), rng.choice(returns[-30:] + returns[:2])
        network.resistor(feed, f"f{k}", 10 ** rng.uniform(-4, -1.5), name=f"feed {k}")
        feeds.append(f"f{k}")
        if rng.random() < 0.6:
            network.resistor(f"r{k}", back, 10 ** rng.uniform(-4, -1.5), name=f"return {k}")
            returns.append(f"r{k}")
        kind = rng.random()
        back = returns[-1]
        if kind < 0.4:
            network.constant_power(f"f{k}", back, rng.uniform(0.1, 300 / size), name=f"load {k}")
        elif kind < 0.55:
            network.constant_current(f"f{k}", back, rng.uniform(0.0, 20 / size), name=f"drain {k}")
        elif kind < 0.65:
            network.constant_power(f"f{k}", back, -rng.uniform(0.1, 200 / size), name=f"panel {k}")
        elif kind < 0.75:
            network.resistor(f"f{k}", back, rng.uniform(2, 50), name=f"lamp {k}")
        elif kind < 0.85:
            network.resistor(f"f{k}", rng.choice(feeds[:-1]), 10 ** rng.uniform(-3, -1), name=f"mesh {k}")
    return network


networks = st.builds(
    an_installation, st.integers(0, 10**9), st.one_of(st.integers(6, 60), st.integers(60, 300))
)


@SLOW
@given(networks, st.integers(0, 10**9))
def test_a_search_from_the_point_of_other_copper_ends_at_the_same_volts(network: Network, seed: int) -> None:
    """The operating point that ngspice confirms below, from wherever the search begins."""
    chance = random.Random(seed)
    copper = {
        n: e.ohms * 10 ** chance.uniform(-1, 1) for n, e in network.elements.items() if e.kind == "resistor"
    }
    try:
        near = network.with_values(ohms=copper).solve("earth")
    except NoOperatingPoint:
        return
    here, there = network.solve("earth").volts, network.solve("earth", near).volts
    assert max(abs(here[node] - there[node]) for node in here) < MICROVOLT / 1000


@SLOW
@given(networks)
def test_every_node_is_within_a_microvolt_and_every_current_with_it(network: Network) -> None:
    ours = network.solve("earth")
    theirs = ngspice.solve(network.elements, "earth")
    for node, volts in theirs.volts.items():
        assert ours.volts[node] == pytest.approx(volts, abs=MICROVOLT, rel=0), node
    for name, e in network.elements.items():
        # A microvolt at each end is all that is claimed of a current through a small resistance.
        slack = 1e-6 + (2 * MICROVOLT / e.ohms if e.ohms else 0.0)
        assert ours.amps[name] == pytest.approx(theirs.amps[name], abs=slack, rel=1e-6), name


@SLOW
@given(networks, st.randoms(use_true_random=False))
def test_a_fault_and_the_share_of_each_source(network: Network, rng: random.Random) -> None:
    nodes = sorted({e.a for e in network.elements.values()} | {e.b for e in network.elements.values()})
    a, b = rng.sample(nodes, 2)
    ours = network.faults("earth").fault(a, b)
    theirs = ngspice.solve(network.elements, "earth", fault=(a, b))
    assert theirs.fault_amps is not None
    assert ours.amps == pytest.approx(theirs.fault_amps, rel=1e-6, abs=1e-5)
    for name, e in network.elements.items():
        if e.kind not in ("constant_current", "constant_power"):
            slack = 1e-5 + 2 * MICROVOLT / e.ohms
            assert ours.through(name) == pytest.approx(theirs.amps[name], rel=1e-6, abs=slack), name
    assert ours.shares == {name: ours.through(name) for name, e in network.elements.items() if e.is_source}

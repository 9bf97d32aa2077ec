"""Where an excess resistance sits, from readings that ngspice made (Debian package ngspice): none come from this project's solver.

Random vehicle wiring with one element raised by 2 to 50 mΩ, and the volts of most of its nodes rounded to the meter's step. Counted are
the cases in which the fault moves a reading by more than a step; that the first group holds the culprit, that it is small, and that
nothing is suspected where nothing is wrong.
"""

from __future__ import annotations

import random
from dataclasses import dataclass, replace
from functools import cache

import pytest

from loomwright.analysis.layout import Element
from loomwright.analysis.network import Network
from loomwright.analysis.readings import Diagnosis, locate

from . import ngspice

CASES = 200
AT_ONCE = 20
"""Networks that share the earth of one deck."""

pytestmark = [pytest.mark.program("ngspice"), pytest.mark.usefixtures("_ngspice")]


@pytest.fixture
def _ngspice() -> None:
    ngspice.need_ngspice()


def a_vehicle(rng: random.Random) -> Network:
    """Two batteries with a link, an alternator or a charger at its limit or not, and trees of feeds and returns with loads at the
    tips; resistances are those of real cables with their joints."""
    network = Network()
    network.battery("crank", "earth", rng.uniform(12.2, 12.8), rng.uniform(0.005, 0.012), name="crank")
    network.battery("house", "house-neg", rng.uniform(12.3, 13.3), rng.uniform(0.004, 0.02), name="house")
    network.resistor("crank", "house", rng.uniform(0.004, 0.04), name="link")
    network.resistor("house-neg", "earth", rng.uniform(0.0005, 0.003), name="house return")
    if rng.random() < 0.6:
        network.regulator("crank", "earth", 14.2, 0.01, rng.choice([60.0, 110.0]), name="alternator")
    elif rng.random() < 0.7:
        network.regulator("house", "house-neg", 14.4, 0.01, rng.choice([10.0, 30.0]), name="charger")
    feeds, returns = ["crank", "house"], ["earth", "house-neg"]
    for k in range(rng.randint(4, 12)):
        network.resistor(rng.choice(feeds), f"feed {k}", 10 ** rng.uniform(-3, -1.6), name=f"to {k}")
        network.resistor(f"back {k}", rng.choice(returns), 10 ** rng.uniform(-3, -1.6), name=f"from {k}")
        feeds.append(f"feed {k}")
        returns.append(f"back {k}")
        kind = rng.random()
        if kind < 0.4:
            network.constant_power(f"feed {k}", f"back {k}", rng.uniform(5.0, 100.0), name=f"load {k}")
        elif kind < 0.7:
            network.constant_current(f"feed {k}", f"back {k}", rng.uniform(0.5, 10.0), name=f"load {k}")
        else:
            network.resistor(f"feed {k}", f"back {k}", rng.uniform(1.5, 12.0), name=f"load {k}")
    return network


@dataclass(frozen=True)
class Case:
    design: Network
    culprit: str  # empty where nothing is wrong
    built: Network
    read: tuple[str, ...]


def a_case(seed: int, faulty: bool) -> Case:
    """The culprit is a battery or a cable with its joints; the meter is put on few of the nodes or on all."""
    rng = random.Random(seed)
    design = a_vehicle(rng)
    wiring = [
        n
        for n, e in design.elements.items()
        if e.kind == "battery" or (e.kind == "resistor" and "load" not in n)
    ]
    culprit = rng.choice(wiring) if faulty else ""
    nodes = dict.fromkeys(node for e in design.elements.values() for node in (e.a, e.b) if node != "earth")
    share = rng.uniform(0.3, 1.0)
    read = tuple(node for node in nodes if rng.random() < share) or tuple(nodes)
    if not culprit:
        return Case(design, culprit, design, read)
    raised = {culprit: design.elements[culprit].ohms + rng.uniform(0.002, 0.050)}
    return Case(design, culprit, design.with_values(ohms=raised), read)


def shown_by_ngspice(cases: list[Case]) -> list[dict[str, float]]:
    """The volts of the nodes that are read, exactly; many networks in one deck, joined at the earth only."""
    shown: list[dict[str, float]] = []
    for start in range(0, len(cases), AT_ONCE):
        some = cases[start : start + AT_ONCE]
        deck = {
            f"{k} {name}": Element(e.kind, _in(k, e.a), _in(k, e.b), e.volts, e.ohms, e.amps, e.watts)
            for k, case in enumerate(some)
            for name, e in case.built.elements.items()
        }
        volts = ngspice.solve(deck, "earth").volts
        shown += [{node: volts[_in(k, node)] for node in case.read} for k, case in enumerate(some)]
    return shown


def _in(k: int, node: str) -> str:
    return node if node == "earth" else f"{k} {node}"


def diagnosed(case: Case, shown: dict[str, float], step: float) -> Diagnosis:
    rounded = {node: round(volts / step) * step for node, volts in shown.items()}
    return locate(case.design, rounded, "earth", meter_step=step)


def is_above_the_step(case: Case, shown: dict[str, float], step: float) -> bool:
    """Whether the fault moves a reading by more than a step."""
    design = case.design.solve("earth").volts
    return any(abs(volts - design[node]) > step for node, volts in shown.items())


@cache
def cases_and_readings(faulty: bool) -> list[tuple[Case, dict[str, float]]]:
    cases = [a_case(seed, faulty) for seed in range(CASES)]
    return list(zip(cases, shown_by_ngspice(cases), strict=True))


@pytest.mark.parametrize("step", [0.001, 0.01])
def test_the_first_group_holds_the_element_at_fault_and_little_else(step: float) -> None:
    told = [
        (case, diagnosed(case, shown, step))
        for case, shown in cases_and_readings(True)
        if is_above_the_step(case, shown, step)
    ]
    assert len(told) > CASES / 2
    held = [
        (case, d.suspects[0]) for case, d in told if d.suspects and case.culprit in d.suspects[0].elements
    ]
    assert len(held) >= 0.95 * len(told)
    sizes = sorted(len(suspect.elements) for _, suspect in held)
    assert sizes[len(sizes) // 2] == 1
    assert sum(sizes) < 2 * len(sizes)
    alone = [(case, suspect) for case, suspect in held if len(suspect.elements) == 1]
    right = [
        1 for case, suspect in alone if abs(extra_ohms(case) - suspect.extra_ohms) <= suspect.extra_ohms_error
    ]
    assert len(right) >= 0.98 * len(alone)


def extra_ohms(case: Case) -> float:
    return case.built.elements[case.culprit].ohms - case.design.elements[case.culprit].ohms


@pytest.mark.parametrize("step", [0.001, 0.01])
def test_nothing_is_suspected_where_nothing_is_wrong(step: float) -> None:
    told = [diagnosed(case, shown, step) for case, shown in cases_and_readings(False)]
    silent = [d for d in told if d.nothing_wrong and not d.suspects and not d.doubtful]
    assert len(silent) >= 0.99 * len(told)


def test_the_reading_to_take_next_parts_the_first_group() -> None:
    asked = [
        (case, shown, first)
        for case, shown in cases_and_readings(True)
        if (first := diagnosed(case, shown, 0.001)).next_reading and is_above_the_step(case, shown, 0.001)
    ]
    assert len(asked) > CASES / 20
    again = shown_by_ngspice([replace(case, read=(*case.read, str(d.next_reading))) for case, _, d in asked])
    parted = 0
    for (case, _, first), more in zip(asked, again, strict=True):
        told = diagnosed(case, more, 0.001)
        assert case.culprit in told.suspects[0].elements
        parted += len(told.suspects[0].elements) < len(first.suspects[0].elements)
    assert parted >= 0.95 * len(asked)

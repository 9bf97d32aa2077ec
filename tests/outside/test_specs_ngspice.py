"""The specs of `specs/` in every mode, and their faults, against ngspice (Debian package ngspice).

The deck is written from the installation's own network. Nothing couples a charger's two sides in it but their powers as we found
them; that these agree with the volts and amps of ngspice's answer is asserted apart, and so is the warmth of the copper.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path

import pytest

import loomwright.facts.all  # noqa: F401  registers every fact
from loomwright.analysis.layout import Element
from loomwright.facts.electrics.faults import Corner, corner, devices_at, fault_of_run, least_corner, nodes_of
from loomwright.facts.electrics.solve import State, solved
from loomwright.facts.electrics.wiring import run_key
from loomwright.facts.limits import load_limits
from loomwright.facts.registry import Ledger
from loomwright.model import things as t
from loomwright.model.load import load
from loomwright.stock.conductors import conductor, resistance_per_metre

from . import ngspice

MICROVOLT = 1e-6
SPECS = Path(__file__).parents[2] / "specs"
PATHS = sorted(SPECS.rglob("*.fitout"))

pytestmark = pytest.mark.program("ngspice")


def ledger_of(path: Path) -> Ledger:
    loaded = load(path.read_text(encoding="utf-8"), str(path))
    assert loaded.installation is not None, loaded.problems
    return Ledger(loaded.installation, load_limits(loaded.installation.fitout.limits))


LEDGERS = {path: ledger_of(path) for path in PATHS}
IN_MODES = [
    pytest.param(path, mode, id=f"{path.parent.name}-{path.stem}-{mode.name}")
    for path, ledger in LEDGERS.items()
    for mode in ledger.installation.modes
]
RUNS = [
    pytest.param(path, run, id=f"{path.parent.name}-{path.stem}-{run_key(run)}")
    for path, ledger in LEDGERS.items()
    for run in ledger.installation.runs
    if run.role != "earth"
]


def the_state(path: Path, mode: t.Mode) -> State:
    state = solved(mode, LEDGERS[path])
    assert not state.missing
    assert state.solution is not None
    return state


def answer_of(state: State) -> ngspice.Answer:
    """ngspice's operating point with each regulated source on the piece of its law that we found it on.

    ngspice does not find its way through several current limits by itself. That its own volts put each source on that very
    piece is asserted, so what it answers is an operating point of the whole law.
    """
    assert state.solution is not None
    elements = state.solution.network.elements
    pieces = {name: on_its_piece(e, state.amps[name]) for name, e in elements.items()}
    theirs = ngspice.solve(pieces, state.solution.reference)
    must_keep_the_law(elements, state.amps, theirs)
    return theirs


def must_keep_the_law(
    elements: Mapping[str, Element], amps: Mapping[str, float], theirs: ngspice.Answer
) -> None:
    for name, e in elements.items():
        if e.kind == "regulator":
            law = min(e.amps, max(0.0, (e.volts - theirs.volts[e.a] + theirs.volts[e.b]) / e.ohms))
            assert law == pytest.approx(amps[name], abs=2 * MICROVOLT / e.ohms), name


def on_its_piece(e: Element, amps: float) -> Element:
    if e.kind != "regulator":
        return e
    if amps >= e.amps * (1 - 1e-12):
        return Element("constant_current", e.b, e.a, amps=e.amps)
    # Off: a gigohm keeps the node of a source that nothing draws from at its open voltage.
    return Element("battery", e.a, e.b, volts=e.volts, ohms=e.ohms if amps > 1e-9 else 1e9)


@pytest.mark.parametrize(("path", "mode"), IN_MODES)
def test_every_node_is_within_a_microvolt(path: Path, mode: t.Mode) -> None:
    state = the_state(path, mode)
    theirs = answer_of(state)
    assert set(theirs.volts) == set(state.volts)
    for node, volts in theirs.volts.items():
        assert state.volts[node] == pytest.approx(volts, abs=MICROVOLT, rel=0), node


@pytest.mark.parametrize(("path", "mode"), IN_MODES)
def test_what_goes_into_a_charger_comes_out_over_its_efficiency(path: Path, mode: t.Mode) -> None:
    state = the_state(path, mode)
    theirs = answer_of(state)
    for name, charging in state.charging.items():
        assert state.bench is not None
        back = theirs.volts[f"{name}.neg"]
        given = (theirs.volts[f"{name}.out"] - back) * abs(theirs.amps[f"{name} out"])
        taken = sum(
            (theirs.volts[f"{name}.{side}"] - back) * theirs.amps[f"{name} {side}"]
            for side in ("in", "solar")
            if f"{name} {side}" in theirs.amps
        )
        lost = 1.0 - state.bench.plates[name].efficiency
        assert given == pytest.approx(taken * (1.0 - lost), rel=1e-6, abs=1e-6), charging


@pytest.mark.parametrize(("path", "mode"), IN_MODES)
def test_the_copper_is_as_warm_as_ngspices_currents_make_it(path: Path, mode: t.Mode) -> None:
    """θ = Ta + (Tc − Ta)(I / Iz)² along each place (IEC 60287 principle), IEC 60028 for the resistance."""
    ledger, state = LEDGERS[path], the_state(path, mode)
    theirs = answer_of(state)
    checked = 0
    for run in ledger.installation.runs:
        key = run_key(run)
        stretches = ledger.installation.stretches_of[run]
        if key not in theirs.amps or isinstance(stretches, t.Unknown) or isinstance(run.cable, t.Unknown):
            continue
        size = conductor(run.cable.size.kind, run.cable.size.number)
        cold = resistance_per_metre(size, tinned=run.cable.tinned).value
        copper_at_20 = cold * stretches[-1].stop_m
        warm = sum(
            cold * (s.stop_m - s.start_m) * (1 + 0.00393 * (warmth(run, s, theirs.amps[key], ledger) - 20.0))
            for s in stretches
            if s.stop_m > s.start_m
        )
        at_20 = ledger.get(run, "resistance")
        assert state.ohms[key] == pytest.approx(at_20 - copper_at_20 + warm, rel=1e-7), key
        checked += 1
    assert checked > 3


def warmth(run: t.Run, stretch: t.Stretch, amps: float, ledger: Ledger) -> float:
    class_celsius, around = ledger.get(run, "class"), ledger.known(stretch.place.hottest).quantity.si
    carries = ledger.get(run, "table-current") * ledger.get(run, "bundling-factor")
    carries *= ((class_celsius - around) / (class_celsius - 30.0)) ** 0.5
    return float(around + (class_celsius - around) * (amps / carries) ** 2)


def corners(run: t.Run, ledger: Ledger) -> Iterator[Corner]:
    yield corner(ledger)
    yield least_corner(nodes_of(run), ledger)


@pytest.mark.parametrize(("path", "run"), RUNS)
def test_a_fault_at_each_end_and_the_share_of_each_source(path: Path, run: t.Run) -> None:
    ledger = LEDGERS[path]
    if isinstance(run.cable, t.Unknown):
        assert ledger.entry(run, "end-fault").missing
        return
    for at in corners(run, ledger):
        for side in ("start", "end"):
            ours = fault_of_run(run, side, at)
            if ours is None:
                assert not devices_at(run, side) or not at.is_live(nodes_of(run)[side == "end"])
                continue
            given = {source.name: ours.through(source.name) for source in at.sources}
            pieces = {name: on_its_piece(e, given.get(name, 0.0)) for name, e in at.network.elements.items()}
            ground = next(iter(at.roots.values()))
            pieces["fault itself"] = Element("resistor", ours.a, ours.b, ohms=at.fault_ohms)
            theirs = ngspice.solve(pieces, ground)
            must_keep_the_law(at.network.elements, given, theirs)
            assert ours.amps == pytest.approx(theirs.amps["fault itself"], rel=2e-6, abs=1e-4)
            for source in at.sources:
                slack = 1e-4 + 2 * MICROVOLT / source.ohms
                share = abs(theirs.amps[source.name]) if source.limit else theirs.amps[source.name]
                assert given[source.name] == pytest.approx(share, rel=2e-6, abs=slack), source.name

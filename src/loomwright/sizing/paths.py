"""What the rule book asks of several cables together: the volts that a load, a charging line or a charger's input may lose."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence

from loomwright.facts.electrics import resistances
from loomwright.facts.electrics.solve import solved
from loomwright.facts.electrics.wiring import run_key
from loomwright.facts.registry import Ledger, Missing
from loomwright.facts.wiring import graph
from loomwright.model import things as t
from loomwright.model.links import Fed, Hop
from loomwright.quantity import show
from loomwright.record import Record, replace
from loomwright.sizing.needs import conceded
from loomwright.sizing.slots import Found
from loomwright.stock import ampacity, conductors
from loomwright.stock.conductors import ConductorSize
from loomwright.syntax.tree import Measure

WORKS = "charger-works"
"""No rule, but what every rule takes for granted: thin cable must not be had by what it starves."""

Spend = Callable[[t.Run, float, ConductorSize, Ledger], float]
"""What a run's copper in a size takes of a budget, for its current or share."""


def volts(run: t.Run, amps: float, size: ConductorSize, ledger: Ledger) -> float:
    """Volts along the copper of a run in another size, as warm as the current makes it there."""
    kept: dict[tuple[t.Run, float, str], float] = ledger.index("sizing volts", dict)
    key = run, amps, size.label
    if key not in kept:
        kept[key] = _volts(run, amps, size, ledger)
    return kept[key]


def _volts(run: t.Run, amps: float, size: ConductorSize, ledger: Ledger) -> float:
    assert isinstance(run.cable, t.Cable)
    length, metal = resistances.run_length(run, ledger), resistances.metal_of(run)
    per_metre = conductors.resistance_per_metre(size, tinned=run.cable.tinned, metal=metal).value
    return amps * length * per_metre * _warm(run, amps, size, ledger)


def _warm(run: t.Run, amps: float, size: ConductorSize, ledger: Ledger) -> float:
    """Copper's resistance over that at 20 °C, by the heat balance that the network is solved with."""
    try:
        stretches = [s for s in ledger.known(ledger.installation.stretches_of[run]) if s.stop_m > s.start_m]
        places = [(ledger.known(s.place.hottest).quantity.si, s.stop_m - s.start_m) for s in stretches]
        celsius, bundle = ledger.get(run, "class"), ledger.get(run, "bundling-factor")
        table = ampacity.table_current(size, celsius).value * bundle * ledger.get(run, "metal-factor")
    except (Missing, ampacity.UnknownClass):
        return conductors.copper_temperature_factor(resistances.limit(ledger, "conductor-unstated"))
    mean = sum(ambient * metres for ambient, metres in places) / sum(metres for _, metres in places)
    return conductors.copper_temperature_factor(mean + (celsius - 30.0) * (amps / table) ** 2)


class Budget(Record):
    """Volts that runs may lose together at their present currents: the sum over `ways` of current × copper, plus `fixed` (all
    that no choice of sizes changes), may be `most`. `spend` says what a way costs in some size, if not volts. `limit` is the limit that sets it, `allowed` its value in its `dimension`,
    and `per_volt` how much of the limit one volt is (negative for a margin)."""

    rule: str
    about: str
    words: str
    ways: tuple[tuple[t.Run, float], ...]
    fixed: float
    most: float
    limit: str
    allowed: float
    dimension: str
    per_volt: float
    spend: Spend = volts

    def relaxed(self, least: float) -> str:
        """The limit's value at which `least` volts in all would do, in words."""
        return show(self.allowed + (least - self.most) * self.per_volt, self.dimension)


def budgets(ledger: Ledger, found: Found) -> list[Budget]:
    """All budgets in volts of the present state that a run to be sized has a share in."""
    made = [
        one
        for mode in ledger.installation.modes
        for one in (
            *_drops(mode, ledger),
            *_charge_lines(mode, ledger),
            *_cut_outs(mode, ledger),
            *_stops(mode, ledger),
        )
    ]
    return of_copper(made, ledger, found)


def of_copper(made: Iterable[Budget], ledger: Ledger, found: Found) -> list[Budget]:
    """Those that a run to be sized has a share in and that nobody is let off, freed of what present copper spends of them."""
    let_off = conceded(ledger)
    return [
        _without_present(one, ledger)
        for one in made
        if any(run in found.of_run for run, _ in one.ways) and (one.rule, one.about) not in let_off
    ]


def _without_present(budget: Budget, ledger: Ledger) -> Budget:
    """With `fixed`, so far all that is lost at present, freed of what the copper of the ways loses."""
    spent = 0.0
    for run, amps in budget.ways:
        if isinstance(run.cable, t.Cable):
            size = conductors.conductor(run.cable.size.kind, run.cable.size.number)
            spent += budget.spend(run, amps, size, ledger)
    return replace(budget, fixed=budget.fixed - spent)


def _drops(mode: t.Mode, ledger: Ledger) -> Iterator[Budget]:
    system = ledger.installation.fitout.system.quantity.si
    for load in ledger.installation.devices:
        if not isinstance(load, t.Load) or not ledger.get(load, "runs", mode):
            continue
        name = "drop-critical" if load.critical else "drop-other"
        share = ledger.limit(name)
        words = f"{show(share, 'ratio')} for {load.name} in mode {mode.name}"
        try:
            lost, ways = ledger.get(load, "lost-volts", mode), _to_load(load, mode, ledger)
        except Missing:
            continue
        yield Budget(
            "voltage-drop-high",
            load.name,
            words,
            ways,
            lost,
            share * system,
            name,
            share,
            "ratio",
            1 / system,
        )


def _charge_lines(mode: t.Mode, ledger: Ledger) -> Iterator[Budget]:
    limit = ledger.limit("charge-line-drop")
    for battery in ledger.installation.devices:
        if not isinstance(battery, t.Battery):
            continue
        try:
            lines = ledger.get(battery, "charge-line")
            if not lines or not ledger.get(battery, "charging-current", mode):
                continue
            own = ledger.get(battery, "volts", mode)
            for fed in graph(ledger).feeds_device(battery):
                source = fed.source.device
                if source in lines and ledger.get(source, "amps", mode) > 0.0:
                    lost = float(ledger.get(source, "volts", mode) - own)
                    ways = _along(fed, mode, ledger)
                    words = (
                        f"{show(limit, 'voltage')} from {source.name} to {battery.name} in mode {mode.name}"
                    )
                    yield Budget(
                        "charge-line-drop", battery.name, words, ways, lost, limit, "charge-line-drop", limit, "voltage", 1.0
                    )  # fmt: skip
        except Missing:
            continue


def _cut_outs(mode: t.Mode, ledger: Ledger) -> Iterator[Budget]:
    margin = ledger.limit("cut-out-margin")
    for device in ledger.installation.devices:
        try:
            if ledger.get(device, "cut-out") is None or not ledger.get(device, "wants-volts", mode):
                continue
            spare = ledger.get(device, "volts-to-spare", mode)
            ways = (
                _to_load(device, mode, ledger)
                if isinstance(device, t.Load)
                else _to_terminal(device, "in", mode, ledger)
            )
        except Missing:
            continue
        words = f"{show(margin, 'voltage')} above the cut-out of {device.name} in mode {mode.name}"
        # what may be lost more than now is what is to spare beyond the margin
        yield Budget(
            "cut-out-margin", device.name, words, ways, 0.0, spare - margin, "cut-out-margin", margin, "voltage", -1.0
        )  # fmt: skip


def _stops(mode: t.Mode, ledger: Ledger) -> Iterator[Budget]:
    """A charger that works must go on working: its own current must not pull its input down to where it stops."""
    for charger in ledger.installation.devices:
        if not isinstance(charger, t.Charger) or not isinstance(charger.stops, Measure):
            continue
        try:
            if charger.name not in working(mode, ledger) or ledger.get(charger, "input-amps", mode) <= 0.0:
                continue
            spare = ledger.get(charger, "input-volts", mode) - charger.stops.quantity.si
            ways = _to_terminal(charger, "in", mode, ledger)
        except Missing:
            continue
        words = f"{charger.name} stops at {charger.stops.text} in mode {mode.name}"
        yield Budget(
            WORKS, charger.name, words, ways, 0.0, spare, f"the stops of {charger.name}", charger.stops.quantity.si, "voltage", -1.0
        )  # fmt: skip


def working(mode: t.Mode, ledger: Ledger) -> frozenset[str]:
    """The chargers that work in a mode, and the contacts that are closed."""
    state = solved(mode, ledger)
    return state.working | state.closed


# ---------------------------------------------------------------- ways


def _to_load(load: t.Load, mode: t.Mode, ledger: Ledger) -> tuple[tuple[t.Run, float], ...]:
    """From the source that feeds a load in a mode, out and back."""
    source = ledger.get(load, "fed-by", mode)
    return _from(load, "pos", source, mode, ledger)


def _to_terminal(
    device: t.Device, label: str, mode: t.Mode, ledger: Ledger
) -> tuple[tuple[t.Run, float], ...]:
    """From what gives most current in a mode among the sources that reach a terminal."""
    terminal = ledger.installation.terminals[f"{device.name}.{label}"]
    sources = [feeding.source.device for feeding in graph(ledger).feeds(terminal)]
    giving = [(source_amps(each, mode, ledger), each) for each in sources]
    best = max(giving, default=(0.0, None), key=lambda pair: pair[0])[1]
    return _from(device, label, best, mode, ledger)


def source_amps(source: t.Device, mode: t.Mode, ledger: Ledger) -> float:
    return float(ledger.get(source, "amps", mode))


def _from(
    device: t.Device, label: str, source: t.Device | None, mode: t.Mode, ledger: Ledger
) -> tuple[tuple[t.Run, float], ...]:
    terminal = ledger.installation.terminals.get(f"{device.name}.{label}")
    for feeding in graph(ledger).feeds(terminal) if terminal else ():
        if feeding.source.device is source and terminal:
            return _along(Fed(device, terminal, feeding.source, feeding.path, False), mode, ledger)
    return ()


def _along(fed: Fed, mode: t.Mode, ledger: Ledger) -> tuple[tuple[t.Run, float], ...]:
    back = graph(ledger).returns(fed)
    amps = solved(mode, ledger).amps
    return tuple(_signed((*fed.path, *(back.path if back else ())), amps))


def _signed(hops: Sequence[Hop], amps: Mapping[str, float]) -> Iterator[tuple[t.Run, float]]:
    for hop in hops:
        run = hop.link.by
        if isinstance(run, t.Run):
            along = amps.get(run_key(run), 0.0)
            yield run, along if hop.forward else -along

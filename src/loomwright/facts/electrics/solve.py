"""The operating point of a mode: what is switched, what chargers pass on, how warm conductors are, all agreeing with one another."""

from __future__ import annotations

from collections.abc import Mapping
from math import inf

from loomwright.analysis.network import Network, NoOperatingPoint, Solution
from loomwright.facts.electrics import charging, sources
from loomwright.facts.electrics import resistances as r
from loomwright.facts.electrics.bench import Bench, Switched, on_mains, set_up
from loomwright.facts.electrics.switching import acts_by_itself, closed_contacts, moves
from loomwright.facts.electrics.warmth import warmth_of
from loomwright.facts.electrics.wiring import Wiring, node, wiring
from loomwright.facts.registry import Ledger, Missing
from loomwright.model import things as t
from loomwright.record import Record, made, replace

CLOSE_ENOUGH = 1e-10
MOST_ROUNDS = 60


class State(Record):
    """A mode as solved. `volts` are against the cranking battery's negative (else the first source's), by node; `amps` by element.

    Of what was left out, `omitted` says why by load, `unknown_links` by run (None: it carries nothing), `starved` what a load
    asked and could get at most, `assumed` which loads count with nominal current. `unsteady` relays and chargers would go on
    and off without end. Where nothing can be said, `missing` is not empty and the rest is.
    """

    volts: Mapping[str, float] = made(factory=dict)
    amps: Mapping[str, float] = made(factory=dict)
    ohms: Mapping[str, float] = made(factory=dict)
    closed: frozenset[str] = frozenset()
    working: frozenset[str] = frozenset()
    charging: Mapping[str, charging.Charging] = made(factory=dict)
    input_volts: Mapping[str, float] = made(factory=dict)
    loads: Mapping[str, sources.Draw] = made(factory=dict)
    omitted: Mapping[str, tuple[t.Unknown, ...]] = made(factory=dict)
    unknown_links: Mapping[str, tuple[t.Unknown, ...] | None] = made(factory=dict)
    assumed: tuple[str, ...] = ()
    starved: Mapping[str, tuple[float, float]] = made(factory=dict)
    unsteady: frozenset[str] = frozenset()
    converged: bool = False
    iterations: int = 0
    missing: tuple[t.Unknown, ...] = ()
    bench: Bench | None = None
    solution: Solution | None = None

    def beyond(self, name: str) -> tuple[t.Unknown, ...]:
        """Why a node behind a cable that nobody knows has no volts; empty where it isn't behind one."""
        return self.bench.why_dim(name) if self.bench else ()


def solved(mode: t.Mode, ledger: Ledger) -> State:
    """The mode's state, found once."""
    made: State = ledger.index(f"electrics of mode {mode.name}", lambda: _solve(mode, ledger))
    return made


def _solve(mode: t.Mode, ledger: Ledger) -> State:
    graph = wiring(ledger)
    try:
        return _Search(mode, graph, ledger).run()
    except Missing as missing:
        return State(missing=missing.reasons)


class _Search:
    """Everything on or off is decided first by one solution each; then copper and chargers are carried on until they settle."""

    def __init__(self, mode: t.Mode, graph: Wiring, ledger: Ledger) -> None:
        self.mode, self.graph, self.ledger = mode, graph, ledger
        self.devices = {device.name: device for device in ledger.installation.devices}
        self.nominal = sources.system_volts(ledger)
        self.warmth = {
            link.name: warmth_of(link.of, ledger) for link in graph.links if isinstance(link.of, t.Run)
        }
        self.switched = Switched(closed_contacts(mode, graph, ledger))
        self.by_itself = self._acting()
        self.turned: dict[str, int] = {}
        self.unsteady: set[str] = set()
        self.starved: dict[str, tuple[float, float]] = {}
        self.input_volts: dict[str, float] = {}
        self.ohms: dict[str, float] = {
            link.name: link.copper * self.warmth[link.name].factor(0.0) + link.contacts + link.fuse
            for link in graph.links
            if link.name in self.warmth
        }
        self.charging: dict[str, charging.Charging] = {}
        self.iterations = 0

    def _acting(self) -> list[t.Relay]:
        said = {device.name for device in (*self.mode.closed, *self.mode.opened)}
        relays = [device for device in self.ledger.installation.devices if isinstance(device, t.Relay)]
        return [relay for relay in relays if relay.name not in said and acts_by_itself(relay, self.graph)]

    def run(self) -> State:
        for _ in range(MOST_ROUNDS + 4 * len(self.devices)):
            bench = set_up(self.mode, self.graph, self.switched, self.ohms, self.ledger)
            works = self.switched.working
            self.charging = {
                name: self.charging.get(name) or charging.at_first(plate, name in works, bench.panels[name])
                for name, plate in bench.plates.items()
            }
            try:
                solution = self._settled(bench)
            except NoOperatingPoint as shortfall:
                self._starve(bench, shortfall)
                continue
            if solution is not None:
                return self._state(bench, solution)
        raise Missing(t.Unknown(f"a steady state of mode {self.mode.name}", self.mode.span))

    # -------------------------------------------------------- what is on or off

    def _starve(self, bench: Bench, shortfall: NoOperatingPoint) -> None:
        """Leave out the load that can't be served, so that the others still have figures."""
        name = shortfall.load
        if name.endswith(" in") and name[:-3] in bench.plates:
            self._stop(name[:-3])
            return
        draw = bench.loads.get(name)
        device = draw.device.name if draw else name.removesuffix(" nominal")
        if device in self.starved or device not in self.devices:
            raise Missing(
                t.Unknown(f"an operating point of mode {self.mode.name}", self.mode.span)
            ) from shortfall
        self.starved[device] = (shortfall.asked_watts, shortfall.at_most_watts)
        self.switched = replace(self.switched, starved=frozenset(self.starved))

    def _stop(self, charger: str) -> None:
        self.unsteady.add(charger)
        self.switched = replace(self.switched, working=self.switched.working - {charger})

    def _turn(self, solution: Solution) -> bool:
        """Whether a relay or charger changes at these volts; the state is then another one."""
        volts, before = solution.volts, self.switched
        closed, working = set(before.closed), set(before.working)
        pull_in = r.limit(self.ledger, "relay-pull-in")
        for relay in self.by_itself:
            is_closed = relay.name in closed
            want = moves(relay, is_closed, volts, self.nominal, pull_in)
            if want is not None and want != is_closed and self._may_turn(relay.name):
                closed ^= {relay.name, f"{relay.name} rest"} & {link.name for link in self.graph.links}
        for device in self.devices.values():
            if not isinstance(device, t.Charger):
                continue
            is_on = device.name in working
            want = charging.wants_to_work(device, is_on, volts, self.graph.landed, self.ledger)
            if is_on and not want:
                self.input_volts[device.name] = volts[node(device, "in")] - volts[node(device, "neg")]
            if want != is_on and self._may_turn(device.name):
                working ^= {device.name}
        self.switched = replace(before, closed=frozenset(closed), working=frozenset(working))
        return self.switched != before

    def _may_turn(self, name: str) -> bool:
        """What goes on and off again stays off: it would never come to rest."""
        self.turned[name] = self.turned.get(name, 0) + 1
        if self.turned[name] == 2:
            self.unsteady.add(name)
        return self.turned[name] <= 2

    # -------------------------------------------------------- what settles

    def _settled(self, bench: Bench) -> Solution | None:
        """The solution whose currents warm the copper, and whose chargers pass on, as it was told; None when something switched."""
        network, solution = bench.network, None
        ease, last = 1.0, inf
        for turn in range(MOST_ROUNDS):
            network = network.with_values(**self._values(bench, network))
            solution = network.solve(bench.reference, solution)
            self.iterations += solution.iterations
            off_by = self._carry_on(bench, solution, ease)
            # A current that overheats its copper many times over falls and rises by turns: go half the way then.
            ease, last = (ease / 2 if off_by > 0.9 * last else ease), off_by
            if turn == 0 or off_by < CLOSE_ENOUGH:
                if self._turn(solution):
                    return None
                if off_by < CLOSE_ENOUGH:
                    return solution
        raise Missing(t.Unknown(f"a steady state of mode {self.mode.name}", self.mode.span))

    def _values(self, bench: Bench, network: Network) -> dict[str, dict[str, float]]:
        """What is no longer as the network has it."""
        ohms = {}
        for link in bench.links:
            now = self.ohms.get(link.name)
            if now is not None and abs(now - network.elements[link.name].ohms) > 1e-13 * now:
                ohms[link.name] = now
        amps, watts = {}, {}
        for name, state in self.charging.items():
            amps[f"{name} out"] = state.limit_amps
            if bench.panels[name]:
                ohms[f"{name} solar"] = state.sink_ohms
            if f"{name} in" in bench.network.elements:
                watts[f"{name} in"] = state.input_watts
        return {"ohms": ohms, "amps": amps, "watts": watts}

    def _carry_on(self, bench: Bench, solution: Solution, ease: float) -> float:
        """Set copper (going `ease` of the way) and chargers by this solution; how far off they were at most, relative."""
        off_by = 0.0
        for link in bench.links:
            warmth = self.warmth.get(link.name)
            if warmth is None or not link.copper:
                continue
            was = self.ohms[link.name]
            now = link.copper * warmth.factor(solution.amps[link.name]) + link.contacts + link.fuse
            self.ohms[link.name] = was + ease * (now - was)
            off_by = max(off_by, abs(now - was) / now)
        for name, was_so in self.charging.items():
            state = self._charger_after(bench, name, was_so, solution)
            self.charging[name] = state
            for before, after in (
                (was_so.input_watts, state.input_watts),
                (was_so.limit_amps, state.limit_amps),
                (was_so.sink_ohms, state.sink_ohms),
            ):
                off_by = max(off_by, abs(after - before) / max(1.0, abs(after)))
        return off_by

    def _charger_after(
        self, bench: Bench, name: str, was: charging.Charging, solution: Solution
    ) -> charging.Charging:
        volts, device = solution.volts, self.devices[name]
        assert isinstance(device, t.Charger)
        back = volts[f"{name}.neg"]
        panels = bench.panel_names[name]
        seen = charging.Seen(
            volts.get(f"{name}.in", back) - back,
            volts[f"{name}.out"] - back,
            solution.amps[f"{name} out"],
            volts.get(f"{name}.solar", back) - back,
            solution.amps.get(f"{name} solar", 0.0),
            max((volts[f"{panel}.pos"] - volts[f"{panel}.neg"] for panel in panels), default=0.0),
        )
        fed = f"{name} in" in bench.network.elements
        mains = on_mains(device, self.mode, self.graph)
        return charging.carried_on(bench.plates[name], fed, mains, bench.panels[name], was, seen)

    def _state(self, bench: Bench, solution: Solution) -> State:
        return State(
            volts=solution.volts,
            amps=solution.amps,
            ohms={link.name: self.ohms.get(link.name, link.ohms) for link in bench.links},
            closed=self.switched.closed,
            working=self.switched.working,
            charging=dict(self.charging),
            input_volts=self.input_volts,
            loads=bench.loads,
            omitted=bench.omitted,
            unknown_links=bench.unknown_links,
            assumed=tuple(bench.assumed),
            starved=self.starved,
            unsteady=frozenset(self.unsteady),
            converged=not self.starved,
            iterations=self.iterations,
            bench=bench,
            solution=solution,
        )

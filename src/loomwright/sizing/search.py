"""The search: choose, judge the chosen text by the rule book, learn from its findings, until it has none of sizes.

Each choice is the least cost by an integer program, of what the rules ask in the state before it: a size is allowed for a run only if
it carries its current and its fuse opens before it is harmed at the greatest fault that the network then gives (`needs`); the volts of
load paths and the ohms of the loops of the least faults are sums over runs (`paths`, `clearing`). The choice is judged, and the program is made anew from its
currents and faults, until a choice is its own answer. Then it is the least cost of all that hold those rules at its own
currents, and the answer is called proven. Only where the turns go in a circle, or a finding stands that no sum foresaw, a size
or a rating is learnt to be too small; what comes of that is least by single steps, and says so. Ratings are chosen before, the
smallest that bear their loads: a smaller fuse never asks for thicker cable.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import chain

from loomwright.analysis.sizing import Bound, NoSize, least_cost
from loomwright.facts.earth import served_feeds
from loomwright.facts.electrics.resistances import run_length
from loomwright.facts.registry import Missing
from loomwright.facts.wiring import graph
from loomwright.model import things as t
from loomwright.model.links import runs_of
from loomwright.record import Record
from loomwright.rulebook.finding import Finding
from loomwright.sizing import clearing, paths, ratings
from loomwright.sizing.needs import Need, needs_of
from loomwright.sizing.stock import CableOption
from loomwright.sizing.task import NoChoice, NotSized, State, Task
from loomwright.stock.conductors import conductor

MOST_ROUNDS = 60
FREE_TURNS = 4

LOOP_RULES = {"fuse-never-blows": "slowest-feed", "fuse-slower-than-cable": "strained-feed"}
"""Those that less resistance anywhere in the loop of a fault mends, and the fact that names its feed."""

FUSE_RULES = frozenset(("fuse-below-load", "fuse-trips-on-surge", "feeder-overloaded", "no-selectivity"))
"""Those that a larger fuse mends."""


@dataclass(slots=True)
class Learnt:
    """What findings have taught: sizes (mm²) and ratings (A) by slot that are too small, with the finding that said so."""

    areas: dict[str, float] = field(default_factory=dict)
    amps: dict[str, float] = field(default_factory=dict)
    why: dict[str, Finding] = field(default_factory=dict)
    kinds: dict[str, str] = field(default_factory=dict)  # of open fuses, the kind that is the least from here
    taught: bool = False  # whether a choice was taken that is not its own answer
    barred: set[tuple[str, tuple[str, ...]]] = field(default_factory=set)  # findings that no size mends

    def give_up(self, finding: Finding) -> None:
        """Forget what a finding has taught: no size mends it."""
        self.barred.add(finding.identity)
        for key in [key for key, why in self.why.items() if why.identity == finding.identity]:
            self.areas.pop(key, None)
            self.amps.pop(key, None)
            del self.why[key]


@dataclass(slots=True)
class Model:
    """What is asked of the free slots in one state: needs by slot, budgets, and slots that must be as thick as others."""

    needs: dict[str, list[Need]]
    budgets: list[paths.Budget]
    loops: list[
        paths.Budget
    ]  # of what faults flow through: one that the thickest cables can't hold is told as a finding
    at_least: list[tuple[str, str, str]]  # thick slot, thin slot, the run that asks
    unknown: list[t.Unknown]


def model_of(state: State, task: Task) -> Model:
    """Everything that the rules ask of sizes, at the currents and with the fuses of a state."""
    ledger, found = state.ledger, state.found
    model = Model({key: [] for key in task.cables}, [], [], [], [])
    for key in task.cables:
        for run in found.runs.get(key, ()):
            needs, unknown = needs_of(run, ledger)
            model.needs[key] += needs
            model.unknown += unknown
            model.at_least += _as_thick(run, key, state, task, model)
    model.budgets = paths.budgets(ledger, found)
    model.loops = paths.of_copper(clearing.loops(ledger, found), ledger, found)
    return model


def _as_thick(run: t.Run, key: str, state: State, task: Task, model: Model) -> Iterable[tuple[str, str, str]]:
    """A return as thick as its feeds, and cables side by side alike. What is fixed becomes a need."""
    ledger = state.ledger
    try:
        if run.role == "earth" and not run.maker and not ledger.get(run, "second-leg"):
            for feed in served_feeds(run, ledger):
                other = state.found.of_run.get(feed)
                if other in task.cables:
                    if other != key:
                        yield key, other, run.name
                elif not isinstance(feed.cable, t.Unknown):
                    area = ledger.get(feed, "area")
                    model.needs[key].append(_fixed_area(run, feed, area))
        for other_run in ledger.get(run, "parallels"):
            other = state.found.of_run.get(other_run)
            if other in task.cables and other != key:
                yield key, other, run.name
    except Missing as missing:
        model.unknown += missing.reasons


def _fixed_area(run: t.Run, feed: t.Run, area: float) -> Need:
    return Need(
        "undersized-earth",
        run.name,
        f"as thick as {feed.name}",
        lambda size: size.area_mm2 * (1 + 1e-9) >= area * 1e6,
        lambda size: f"{size.label} has {size.area_mm2:.3g} mm² of {area * 1e6:.3g} mm²",
    )


# ---------------------------------------------------------------- one choice


def choose(state: State, model: Model, task: Task, learnt: Learnt) -> dict[str, str]:
    """The least-cost sizes for a state, proven at its currents and fuses. Raises NoChoice."""
    allowed: dict[str, list[CableOption]] = {}
    lines: list[str] = []
    for key, options in task.cables.items():
        floor = learnt.areas.get(key, 0.0)
        fit = [o for o in options if all(need.met(o.size) for need in model.needs[key])]
        allowed[key] = [o for o in fit if o.size.area_mm2 > floor]
        if not fit:
            lines.append(_no_size(options, model.needs[key]))
        elif not allowed[key]:
            allowed[key] = [fit[-1]]
    if lines:
        raise NoChoice(lines)
    bounds = [_bound(budget, allowed, state) for budget in model.budgets]
    for budget, bound in zip(model.budgets, bounds, strict=True):
        least = sum(min(use) for use in bound.uses.values())
        if least > bound.most + 1e-9 * abs(budget.most):
            at = least - bound.most + budget.most
            lines.append(
                f"{budget.about}: {budget.rule} ({budget.words}) can't be held: with the thickest cables in stock "
                f"{budget.limit} would have to be {budget.relaxed(at)}"
            )
    if lines:
        raise NoChoice(lines)
    loops = [_bound(loop, allowed, state) for loop in model.loops]
    bounds += [loop for loop in loops if sum(map(min, loop.uses.values())) <= loop.most]
    for thick, thin, _ in model.at_least:
        uses = {
            key: [sign * o.size.area_mm2 for o in allowed[key]] for key, sign in ((thin, 1.0), (thick, -1.0))
        }
        bounds.append(Bound("as thick", uses, 0.0))
    try:
        taken = least_cost({key: [o.cost for o in options] for key, options in allowed.items()}, bounds)
    except NoSize as none:
        raise NoChoice([str(none)]) from None
    return {key: allowed[key][index].label for key, index in taken.items()}


def _no_size(options: Sequence[CableOption], needs: Sequence[Need]) -> str:
    """What the size that meets most needs, and of those the thickest, falls short of, and what keeps thicker ones out."""
    best = max(reversed(options), key=lambda option: sum(need.met(option.size) for need in needs)).size
    failed = next(need for need in needs if not need.met(best))
    line = f"{failed.about}: {failed.rule} ({failed.words}): {failed.best(best)}"
    bar = next((need for need in needs if need.met(best) and not need.met(options[-1].size)), None)
    return f"{line}; thicker will not do for {bar.rule} ({bar.words})" if bar else line


def _bound(budget: paths.Budget, allowed: Mapping[str, Sequence[CableOption]], state: State) -> Bound:
    """The budget as the solver takes it: volts by slot and option."""
    uses: dict[str, list[float]] = {}
    fixed = budget.fixed
    for run, amps in budget.ways:
        key = state.found.of_run.get(run)
        if key is None or key not in allowed:
            fixed += _present(run, amps, budget, state)
            continue
        spent = [budget.spend(run, amps, option.size, state.ledger) for option in allowed[key]]
        before = uses.get(key, [0.0] * len(spent))
        uses[key] = [one + other for one, other in zip(before, spent, strict=True)]
    return Bound(budget.words, uses, budget.most - fixed)


def _present(run: t.Run, amps: float, budget: paths.Budget, state: State) -> float:
    if isinstance(run.cable, t.Unknown):
        return 0.0
    size = conductor(run.cable.size.kind, run.cable.size.number)
    return budget.spend(run, amps, size, state.ledger)


# ---------------------------------------------------------------- round by round


class Solved(Record):
    """The choice that stands, the model it was proven in, what sets each fuse, and how many choices were judged."""

    state: State
    model: Model
    calls: Mapping[str, ratings.Call]
    learnt: Learnt
    standing: tuple[Finding, ...]
    thick: State


def solve(task: Task) -> Solved:
    """Choose and judge until a choice is its own answer and the rule book finds nothing in it that a size mends."""
    learnt = Learnt()
    state = task.look(_generous(task))
    hopeless: set[tuple[str, tuple[str, ...]]] = set()
    thick: State | None = None
    seen: set[frozenset[tuple[str, str]]] = set()
    for _ in range(MOST_ROUNDS):
        fuses, calls, unknown, short = ratings.chosen_ratings(
            task.fuses, state.found, state.ledger, learnt.amps, learnt.kinds
        )
        if short:
            raise NoChoice([_too_small(key, call, task) for key, call in short.items()])
        if unknown:
            raise NotSized([one.what for one in unknown])
        fused = {**state.choice, **{key: option.label for key, option in fuses.items()}}
        if fused != state.choice:
            state = task.look(fused)
        if thick is None:  # the thickest cables with sound fuses: what stands here no cable mends
            thick = task.judge(state.choice)
            hopeless |= {one.identity for one in thick.standing if one.rule not in FUSE_RULES}
        elif (
            len(seen) > FREE_TURNS
        ):  # thinner cable weakens faults, and they the kind of fuse: it may go up only
            learnt.kinds = {key: option.kind for key, option in fuses.items()}
        model = model_of(state, task)
        chosen = {**fused, **choose(state, model, task, learnt)}
        if chosen != state.choice:
            tried = task.look(chosen)
            idle = idle_in(tried, thick)
            if idle:
                _thicken(idle, model, tried, task, learnt)
                continue
            state = tried
            met = frozenset(chosen.items())
            if (
                met not in seen
            ):  # at first the model follows the currents by itself; going in a circle, it must be taught
                seen.add(met)
                continue
            learnt.taught = True
            model = model_of(state, task)
        state = task.judge(state.choice)
        if not _learn(state, task, learnt, hopeless):
            standing = tuple(one for one in state.standing if one.identity not in learnt.barred)
            return Solved(state, model, calls, learnt, standing, thick)
    raise NoChoice(["the sizes don't settle: each choice changes the currents that it was made for"])


def idle_in(state: State, thick: State) -> set[str]:
    """The chargers and relays that are on in some mode with the thickest cables, and not in this state."""
    idle: set[str] = set()
    for mode, there in zip(state.ledger.installation.modes, thick.ledger.installation.modes, strict=True):
        idle |= paths.working(there, thick.ledger) - paths.working(mode, state.ledger)
    return idle


def _thicken(idle: set[str], model: Model, tried: State, task: Task, learnt: Learnt) -> None:
    """A step up for all that feeds chargers that a choice would stop."""
    asked = [one for one in model.budgets if one.about in idle] or model.budgets
    names = {run.name for one in asked for run, amps in one.ways if amps > 0.0}
    for key in task.cables:
        if any(run.name in names for run in tried.found.runs.get(key, ())):
            sizes = [option.size.area_mm2 for option in task.cables[key] if option.label == tried.choice[key]]
            learnt.areas[key] = sizes[0]


def _too_small(key: str, call: ratings.Call, task: Task) -> str:
    options = task.fuses[key]
    return f"{call.about}: {call.rule} ({call.words}): {options[-1].label} is the largest fuse of its kind for {task.slots[key].owner}"


def _generous(task: Task) -> dict[str, str]:
    """Thick cable and large fuses to begin with: nothing is starved, and every current is near its last value."""
    start = {key: options[-1].label for key, options in task.cables.items()}
    for key, fuses in task.fuses.items():
        kind = task.slots[key].kind or "strip"
        start[key] = [option for option in fuses if option.kind == kind][-1].label
    return start


def _learn(state: State, task: Task, learnt: Learnt, hopeless: set[tuple[str, tuple[str, ...]]]) -> bool:
    """Take a step up wherever a finding stands that the model did not foresee; False when there is nothing to step up.

    `hopeless` are findings that stood with the thickest cables, or the largest fuses, as well.
    """
    stepped = False
    for finding in state.standing:
        if finding.identity in learnt.barred:
            continue
        if finding.rule in FUSE_RULES:
            generous = task.judge(_generous(task))
            hopeless |= {one.identity for one in generous.standing if one.rule in FUSE_RULES}
        moved = False
        for key in () if finding.identity in hopeless else _concerned(finding, state, task):
            moved = _step(key, finding, state, task, learnt) or moved
        if not moved:
            learnt.give_up(finding)
            stepped = stepped or finding.identity not in hopeless
        stepped = stepped or moved
    return stepped


def _step(key: str, finding: Finding, state: State, task: Task, learnt: Learnt) -> bool:
    label = state.choice[key]
    if key in task.cables:
        areas = {option.label: option.size.area_mm2 for option in task.cables[key]}
        if areas[label] >= max(areas.values()):
            return False
        learnt.areas[key] = areas[label]
    else:
        kind, amps = label.split(" ")[0], float(label.split(" ")[1])
        if not any(option.kind == kind and option.amps > amps for option in task.fuses[key]):
            return False
        learnt.amps[key] = amps
    learnt.why[key] = finding
    return True


def _concerned(finding: Finding, state: State, task: Task) -> list[str]:
    """The slots whose next size up may mend a finding: fuses for those of fuses, else the cables of what it names."""
    names = set(finding.things)
    if finding.rule in FUSE_RULES:
        keys = [
            key for key in task.fuses if any(fuse.name in names for fuse in state.found.fuses.get(key, ()))
        ]
        if keys:
            return keys
    if finding.rule in LOOP_RULES:
        return _best_of_loop(names | _worst_feeds(finding, state), state, task)
    keys = [key for key in task.cables if any(run.name in names for run in state.found.runs.get(key, ()))]
    if keys:
        return keys
    budgets = [budget for budget in paths.budgets(state.ledger, state.found) if budget.about in names]
    runs = dict.fromkeys(run for budget in budgets for run, amps in budget.ways if amps > 0.0)
    found = dict.fromkeys(state.found.of_run[run] for run in runs if run in state.found.of_run)
    return [key for key in found if key in task.cables]


def _worst_feeds(finding: Finding, state: State) -> set[str]:
    """The feeds that a finding about a fuse is about: the worst behind it."""
    ledger, worst = state.ledger, LOOP_RULES[finding.rule]
    fuses = chain(
        *(of for of in ledger.installation.fuses_of.values() if not isinstance(of, t.Unknown)),
        ledger.installation.fuse_of_way.values(),
    )
    entries = [
        ledger.entry(fuse, worst)
        for fuse in fuses
        if isinstance(fuse, t.Fuse) and fuse.name in finding.things
    ]
    return {entry.value.name for entry in entries if not entry.missing and entry.value is not None}


def _best_of_loop(names: set[str], state: State, task: Task) -> list[str]:
    """Of all that a far-end fault flows through, out and back, the slot that takes off most resistance for its cost."""
    wiring = graph(state.ledger)
    loop: dict[t.Run, None] = {}
    for run in state.ledger.installation.runs:
        if run.name not in names or run.role == "earth":
            continue
        for fed in (*wiring.downstream(run), *wiring.downstream(run, False)):
            back = wiring.returns(fed)
            loop.update(dict.fromkeys((*runs_of(fed.path), *(back.runs if back else ()))))
    worth: dict[str, float] = {}
    for key in dict.fromkeys(state.found.of_run[run] for run in loop if run in state.found.of_run):
        sizes = [option.label for option in task.cables.get(key, ())]
        if not sizes or sizes.index(state.choice[key]) + 1 == len(sizes):
            continue
        here, above = (task.cables[key][sizes.index(state.choice[key]) + step] for step in (0, 1))
        metres = sum(run_length(run, state.ledger) for run in loop if state.found.of_run.get(run) == key)
        saved = metres * (1 / here.size.area_mm2 - 1 / above.size.area_mm2)
        worth[key] = saved / max(1e-9, above.cost - here.cost)
    return [max(worth, key=lambda key: worth[key])] if worth else []

"""What keeps each size from being one step smaller; where nothing does, the step is taken."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from loomwright.model.things import Cable, Run
from loomwright.record import Record, replace
from loomwright.sizing.paths import WORKS, Budget
from loomwright.sizing.search import Model, Solved, idle_in, model_of
from loomwright.sizing.stock import CableOption, FuseOption
from loomwright.sizing.task import State, Task
from loomwright.stock.conductors import ConductorSize, conductor

CLEAR = 0.001
"""How far, as a share, a budget must be overdrawn for the reckoning at the present currents to be believed without a trial."""


class Binding(Record):
    """The rule that a step down would break, of what, and in words why. No rule where there is nothing smaller."""

    rule: str
    about: str
    words: str

    @property
    def text(self) -> str:
        return f"{self.rule}: {self.words}" if self.rule else self.words


SMALLEST = Binding("", "", "the smallest in stock")


def settled(solved: Solved, task: Task) -> tuple[Solved, dict[str, Binding]]:
    """The choice after every step down that the rule book lets pass, and what binds each slot there."""
    while True:
        bindings: dict[str, Binding] = {}
        for key in _by_saving(solved.state, task):
            found = _binding(key, solved, task)
            if isinstance(found, Binding):
                bindings[key] = found
            else:
                solved.learnt.taught = True
                solved = replace(solved, state=found, model=model_of(found, task))
                break
        else:
            return solved, {key: bindings[key] for key in (*task.cables, *task.fuses)}


def _by_saving(state: State, task: Task) -> list[str]:
    """The slots whose step down saves most first."""
    saving: dict[str, float] = {}
    for key in (*task.cables, *task.fuses):
        here, below = option_of(key, state, task), _below(key, state, task)
        saving[key] = here.cost - below.cost if below else -1.0
    return sorted(saving, key=lambda key: -saving[key])


def option_of(key: str, state: State, task: Task) -> CableOption | FuseOption:
    """What was chosen at a slot."""
    options: Sequence[CableOption | FuseOption] = task.cables.get(key) or task.fuses[key]
    return next(option for option in options if option.label == state.choice[key])


def _below(key: str, state: State, task: Task) -> CableOption | FuseOption | None:
    """The next smaller of the same way of naming; of a fuse the next smaller of its kind."""
    if key in task.cables:
        sizes = task.cables[key]
        index = [option.label for option in sizes].index(state.choice[key])
        return sizes[index - 1] if index else None
    here = option_of(key, state, task)
    assert isinstance(here, FuseOption)
    smaller = [one for one in task.fuses[key] if one.kind == here.kind and one.amps < here.amps]
    return smaller[-1] if smaller else None


def _binding(key: str, solved: Solved, task: Task) -> Binding | State:
    """What binds a slot, or the state one step down where nothing does."""
    below = _below(key, solved.state, task)
    if below is None:
        return SMALLEST
    if below.cost > option_of(key, solved.state, task).cost:
        return Binding("", "", f"{below.label} costs more")
    if isinstance(below, CableOption):
        known = _of_cable(key, below.size, solved, task)
    else:
        call = solved.calls.get(key)
        known = Binding(call.rule, call.about, call.words) if call and key not in solved.learnt.amps else None
    if known is not None:
        return known
    tried = task.judge({**solved.state.choice, key: below.label})
    idle = idle_in(tried, solved.thick)
    if idle:
        return Binding(WORKS, min(idle), f"{min(idle)} would stop")
    broken = [one for one in tried.standing if one.identity not in solved.learnt.barred]
    if not broken:
        return tried
    first = broken[0]
    return Binding(first.rule, first.things[0] if first.things else "", first.message)


def _of_cable(key: str, size: ConductorSize, solved: Solved, task: Task) -> Binding | None:
    """The first need or budget that a size fails at the present currents."""
    model, state = solved.model, solved.state
    for need in model.needs[key]:
        if not need.met(size):
            return Binding(need.rule, need.about, need.words)
    worst = max(
        ((_overdrawn(budget, key, size, state), budget) for budget in (*model.budgets, *model.loops)),
        key=lambda pair: pair[0],
        default=None,
    )
    if worst and worst[0] > CLEAR:
        return Binding(worst[1].rule, worst[1].about, worst[1].words)
    return _as_thick(key, size, model, state, task)


def _overdrawn(budget: Budget, key: str, size: ConductorSize, state: State) -> float:
    """By what share a size at one slot overdraws a budget; 0 or less where it does not, or has no part in it."""
    more = 0.0
    for run, amps in budget.ways:
        if state.found.of_run.get(run) == key:
            more += budget.spend(run, amps, size, state.ledger)
            more -= budget.spend(run, amps, _present(run), state.ledger)
    if not more:
        return 0.0
    spent = budget.fixed + sum(
        budget.spend(run, amps, _present(run), state.ledger) for run, amps in budget.ways if _known(run)
    )
    return (spent + more - budget.most) / max(abs(budget.most), 1e-9)


def _known(run: object) -> bool:

    return isinstance(run, Run) and isinstance(run.cable, Cable)


def _present(run: object) -> ConductorSize:

    assert isinstance(run, Run)
    assert isinstance(run.cable, Cable)
    return conductor(run.cable.size.kind, run.cable.size.number)


def _as_thick(key: str, size: ConductorSize, model: Model, state: State, task: Task) -> Binding | None:
    areas: Mapping[str, float] = {
        other: option.size.area_mm2
        for other in task.cables
        if isinstance(option := option_of(other, state, task), CableOption)
    }
    for thick, thin, run in model.at_least:
        if thick == key and areas[thin] > size.area_mm2 * (1 + 1e-9):
            return Binding("undersized-earth", run, f"as thick as {task.slots[thin].owner}")
    return None

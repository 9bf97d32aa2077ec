"""`size`: the whole job as one call, from a spec's text to its sizes, what binds them, and the text with them in it."""

from __future__ import annotations

import os

from loomwright.facts.registry import Ledger
from loomwright.model import things as t
from loomwright.record import Record
from loomwright.report.check import Report
from loomwright.rulebook.finding import Finding
from loomwright.rulebook.house import House, house_of
from loomwright.rulebook.load import load_rules
from loomwright.sheets.lists import prices_in
from loomwright.sizing import conflict
from loomwright.sizing.binding import Binding, option_of, settled
from loomwright.sizing.search import Solved, solve
from loomwright.sizing.slots import Found, Slot, rendered, slots_of
from loomwright.sizing.stock import CableOption
from loomwright.sizing.task import RULES, NoChoice, NotSized, State, Task

__all__ = ["NoChoice", "NotSized", "Row", "Sized", "size"]


class Row(Record):
    """One slot before and after. `old` is None where it was open; cost and copper are of all that it sizes, None for what is
    not in stock any more."""

    what: str
    owner: str
    old: str | None
    new: str
    binding: Binding
    cost: float
    old_cost: float | None
    copper_kg: float
    old_copper_kg: float | None
    listed: bool


class Sized(Record):
    """The answer of one spec. `text` is the spec with the sizes in it; `standing` are findings that bear on sizes and that no
    size mends, `relaxing` says of each which two rules pull apart and what would have to give (empty where it is no such case); `proven` says whether the cost is proven least at the final currents and ratings, or least by single steps."""

    path: str
    title: str
    rows: tuple[Row, ...]
    text: str
    standing: tuple[Finding, ...]
    relaxing: tuple[str, ...]
    proven: bool
    judged: int
    prices: str
    report: Report | None = None

    @property
    def cost(self) -> float:
        return sum(row.cost for row in self.rows)

    @property
    def copper_kg(self) -> float:
        return sum(row.copper_kg for row in self.rows)


def size(text: str, path: str, everything: bool = False) -> Sized:
    """The least-cost sizes of all that says `auto`, or of everything that the workshop fits.

    Raises NotSized for a spec with errors or with something unknown that sizes rest on, and NoChoice where nothing in
    stock will do.
    """
    house = house_of(path) if os.path.exists(path) else House()
    slots = slots_of(text, path)
    free = frozenset(key for key, slot in slots.items() if everything or slot.written is None)
    book = load_rules(house.rules)
    own = {rule.name for rule in load_rules().rules}
    rules = RULES | {rule.name for rule in book.rules if rule.name not in own}
    task = Task(text, path, slots, free, rules, prices_in(house.prices))
    first = task.prepare()
    _leave_to_maker(task, first.found)
    if not (task.cables or task.fuses):
        title = first.ledger.installation.fitout.name
        return Sized(path, title, (), text, (), (), True, 1, _priced_by(house), first.report)
    solved, bindings = settled(solve(task), task)
    return _answer(task, solved, bindings, house)


def _leave_to_maker(task: Task, found: Found) -> None:
    """What the vehicle's maker fitted keeps its sizes, and so does what no run or hub takes its size from."""
    for key in list(task.cables):
        runs = found.runs.get(key, [])
        if not runs or any(run.maker for run in runs):
            del task.cables[key]
    for key in list(task.fuses):
        fuses = found.fuses.get(key, [])
        if not fuses or any(_of_maker(fuse) for fuse in fuses):
            del task.fuses[key]


def _of_maker(fuse: t.Fuse) -> bool:
    return fuse.run.maker if fuse.run else bool(fuse.way and fuse.way.hub.maker)


def _answer(task: Task, solved: Solved, bindings: dict[str, Binding], house: House) -> Sized:
    rows = tuple(_row(key, task.slots[key], solved.state, bindings[key], task) for key in bindings)
    choice = {key: solved.state.choice[key] for key in bindings}
    text, _ = rendered(task.text, task.slots, choice)
    standing = tuple(one for one in solved.state.standing if one.identity in solved.learnt.barred)
    relaxing = tuple(conflict.told(one, solved, task) for one in standing)
    ledger: Ledger = solved.state.ledger
    proven = not (solved.learnt.areas or solved.learnt.amps or solved.learnt.taught)
    title = ledger.installation.fitout.name
    return Sized(
        task.path, title, rows, text, standing, relaxing, proven, len(task.judged), _priced_by(house), solved.state.report
    )  # fmt: skip


def _row(key: str, slot: Slot, state: State, binding: Binding, task: Task) -> Row:
    here = option_of(key, state, task)
    options = task.cables.get(key) or task.fuses[key]
    old = next((one for one in options if slot.written and _same(one.label, slot.written)), None)
    copper = here.copper_kg if isinstance(here, CableOption) else 0.0
    old_copper = old.copper_kg if isinstance(old, CableOption) else 0.0 if old else None
    return Row(
        slot.what, slot.owner, slot.written, here.label, binding, here.cost, old.cost if old else None, copper, old_copper, here.listed
    )  # fmt: skip


def _same(label: str, written: str) -> bool:
    return label.replace("²", "2").replace(" ", "") == written.replace("²", "2").replace(" ", "")


def _priced_by(house: House) -> str:
    return house.prices or "prices invented for want of a price list"

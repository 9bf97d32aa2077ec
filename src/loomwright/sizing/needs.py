"""What the rule book asks of each cable by itself, reckoned from the facts of one state: tests that a size passes or fails."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from math import inf

from loomwright.analysis.withstand import withstands_seconds
from loomwright.facts.electrics.shares import clearing, share
from loomwright.facts.end import barrel_of
from loomwright.facts.registry import Ledger, Missing
from loomwright.facts.run import adiabatic_k
from loomwright.model import things as t
from loomwright.quantity import show
from loomwright.record import Record
from loomwright.stock import ampacity, lugs, making
from loomwright.stock.conductors import ConductorSize

CLOSE = 1e-9

Test = Callable[[ConductorSize], bool]


class Need(Record):
    """One thing that the size of a run must be equal to: the rule that asks it, of what, and in words why.

    `best` says in words what a size does for it, for telling how far the thickest is off.
    """

    rule: str
    about: str
    words: str
    met: Test
    best: Callable[[ConductorSize], str]


def conceded(ledger: Ledger) -> frozenset[tuple[str, str]]:
    """The rules that nobody holds a thing to, because somebody answers for it."""
    return frozenset((each.rule, each.name) for each in ledger.installation.concessions)


def needs_of(run: t.Run, ledger: Ledger) -> tuple[list[Need], list[t.Unknown]]:
    """All needs of a run, and what would have to be known for the others."""
    needs: list[Need] = []
    unknown: list[t.Unknown] = []
    for make in (
        _current,
        _idle,
        _protection,
        _far_fault,
        _fault_comes_back,
        _battery_earth,
        _mechanics,
        _fittings,
    ):
        try:
            needs += make(run, ledger)
        except Missing as missing:
            unknown += missing.reasons
    let_off = conceded(ledger)
    return [need for need in needs if (need.rule, need.about) not in let_off], unknown


def carries(run: t.Run, ledger: Ledger) -> Callable[[ConductorSize], float]:
    """What any size carries where the run lies, A."""
    celsius, ambient = ledger.get(run, "class"), ledger.get(run, "hottest")
    together = max(1, ledger.get(run, "bundled"))
    metal = ledger.get(run, "metal-factor")
    return lambda size: ampacity.carries(size, celsius, ambient, together).amps * metal


def _carrying(rule: str, run: t.Run, amps: float, words: str, ledger: Ledger) -> Need:
    able = carries(run, ledger)
    celsius, hottest = ledger.get(run, "class"), ledger.get(run, "hottest")

    def best(size: ConductorSize) -> str:
        if hottest < celsius:
            return f"{size.label} carries {show(able(size), 'current')} of {show(amps, 'current')} there"
        return (
            f"its insulation is of {show(celsius, 'temperature')} and its hottest place has {show(hottest, 'temperature')}, so no size "
            f"carries anything: take insulation of {show(hottest + ledger.limit('insulation-margin'), 'temperature')} or more, or a "
            "cooler way"
        )

    return Need(rule, run.name, words, lambda size: able(size) >= amps * (1 - CLOSE), best)


def _area(rule: str, run: t.Run, least_m2: float, words: str) -> Need:
    return Need(
        rule,
        run.name,
        words,
        lambda size: size.area_mm2 >= least_m2 * 1e6 * (1 - CLOSE),
        lambda size: f"{size.label} has {size.area_mm2:.3g} mm² of {least_m2 * 1e6:.3g} mm²",
    )


# ---------------------------------------------------------------- in use


def _current(run: t.Run, ledger: Ledger) -> Iterator[Need]:
    """The whole current, as if it lasted: for how much less a load of low duty heats a cable no source was found."""
    if ledger.get(run, "exempt"):
        return
    demands = [(ledger.get(run, "demand", mode), mode.name) for mode in ledger.installation.modes]
    amps, mode = max(demands, default=(0.0, ""), key=lambda each: each[0])
    if amps > 0.0:
        words = f"{show(amps, 'current')} in mode {mode}"
        yield _carrying("cable-overloaded", run, amps, words, ledger)


def _idle(run: t.Run, ledger: Ledger) -> Iterator[Need]:
    """What no mode switches on has no current in any; its cable must carry it all the same."""
    on = {each.thing for mode in ledger.installation.modes for each in mode.on}
    loads = ledger.get(run, "loads")
    if loads and not any(load in on for load in loads):
        amps = float(ledger.get(run, "loads-current"))
        words = f"{show(amps, 'current')} of what no mode switches on"
        yield _carrying("cable-overloaded", run, amps, words, ledger)


def _mechanics(run: t.Run, ledger: Ledger) -> Iterator[Need]:
    amps = ledger.get(run, "loads-current")
    if run.maker or (amps is not None and amps < ledger.limit("least-area-exempt-current")):
        return
    sheathed = ledger.get(run, "in-cable")
    least = ledger.limit("least-area-sheathed" if sheathed else "least-area-single")
    words = f"{show(least, 'area')} is the least of {'a sheathed' if sheathed else 'a single'} conductor"
    yield _area("too-thin-for-mechanics", run, least, words)


def _fittings(run: t.Run, ledger: Ledger) -> Iterator[Need]:
    """A lug made for the stud at each end, and a blade terminal made for the copper; of conductors in one barrel see the findings."""
    if run.maker:
        return
    for end in ledger.installation.ends_of[run]:
        if len(barrel_of(end, ledger)) > 1:
            continue
        where = "its fuse" if isinstance(end.point, t.Fuse) else end.point.name
        if end.fitting == "blade-terminal":
            made = making.blade_terminal_range()
            words = f"blade terminals, as at {where}, are made for {made.low:g} to {made.high:g} mm²"
            yield Need(
                "blade-terminal-mismatch",
                run.name,
                words,
                lambda size, made=made: made.holds(size.area_mm2),  # type: ignore[misc]
                lambda size: f"{size.label} has {size.area_mm2:.3g} mm²",
            )
        elif end.fitting == "lug" and isinstance(end.lug_thread, str):
            yield _lug_made(run, end.lug_thread, where)


def _lug_made(run: t.Run, thread: str, where: str) -> Need:
    def made_for(size: ConductorSize) -> tuple[str, ...] | None:
        mark = lugs.to_fit(size, size.area_mm2)
        found = lugs.studs_made(mark) if mark else None
        return found.value if found else None

    def met(size: ConductorSize) -> bool:
        threads = made_for(size)
        return threads is None or thread in threads

    return Need(
        "lug-not-made",
        run.name,
        f"a lug with a hole for {thread} at {where}",
        met,
        lambda size: f"lugs for {size.label} are made for {', '.join(made_for(size) or ())}",
    )


# ---------------------------------------------------------------- in a fault


def _protection(run: t.Run, ledger: Ledger) -> Iterator[Need]:
    """What the fuses or the source let through for good: above it the cable would be the fuse."""
    if run.role == "earth" or ledger.get(run, "exempt"):
        return
    amps = ledger.get(run, "let-through")
    if amps is None:
        return
    guard = ledger.get(run, "guard")
    if guard is None:
        words = f"{show(amps, 'current')} that its source gives"
        yield _carrying("unfused-feed", run, amps, words, ledger)
        return
    rule = "fuse-above-cable" if ledger.get(run, "own-guard") else "step-down-unfused"
    words = f"the {guard.rating.text} fuse of {guard.name}"
    yield _carrying(rule, run, amps / ledger.limit("fuse-over-cable"), words, ledger)


def _far_fault(run: t.Run, ledger: Ledger) -> Iterator[Need]:
    """Each fuse that must end the greatest fault at the far end must have done so before the cable is harmed; of the least see
    `clearing`."""
    if run.role != "feed" or ledger.get(run, "exempt"):
        return
    able, k = carries(run, ledger), adiabatic_k(run, ledger).value

    def bears(size: ConductorSize, amps: float) -> float:
        steady = able(size)
        if amps <= steady:
            return inf
        return withstands_seconds(amps, size.area_mm2, k, steady) if steady > 0.0 else 0.0

    def used(size: ConductorSize, cable: tuple[tuple[float, float], ...]) -> float:
        borne = [(bears(size, amps), seconds) for amps, seconds in cable if seconds > 0.0]
        return sum((s / longest if longest > 0.0 else inf) for longest, s in borne if longest < inf)

    for fuse in clearing(run, ledger):
        fault = share(fuse, run, ledger, least=False)
        words = f"a far-end fault of {show(fault.run_amps, 'current')}"
        yield Need(
            "fuse-slower-than-cable",
            fuse.name,
            f"{words} that the {fuse.rating.text} fuse clears in {show(fault.seconds, 'time')}",
            lambda size, cable=fault.cable: used(size, cable) <= 1.0,  # type: ignore[misc]
            lambda size, amps=fault.run_amps: f"{size.label} bears it for {show(bears(size, amps), 'time')}",  # type: ignore[misc]
        )


def _fault_comes_back(run: t.Run, ledger: Ledger) -> Iterator[Need]:
    if run.role != "earth" or run.maker or ledger.get(run, "second-leg"):
        return
    amps = ledger.get(run, "fault-fuse")
    if amps is not None:
        words = f"a fault behind a {show(amps, 'current')} fuse comes back through it"
        yield _carrying("undersized-earth", run, amps, words, ledger)


def _battery_earth(run: t.Run, ledger: Ledger) -> Iterator[Need]:
    if run.role == "earth" and not run.maker and ledger.get(run, "grounded-battery") is not None:
        least = ledger.limit("least-area-battery-earth")
        yield _area(
            "undersized-earth", run, least, f"{show(least, 'area')} is the least of a battery's earth"
        )

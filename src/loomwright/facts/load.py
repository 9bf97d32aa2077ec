"""Facts of loads as their labels give them; what they really take in a mode is solved in `electrics`."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from loomwright.analysis import ambient
from loomwright.facts.attribute import attributes
from loomwright.facts.registry import Ledger, fact
from loomwright.model import things as t


def written(load: t.Load, clause: str, value: Any) -> Any:
    """A property that few loads have: where nothing is written it has none, where `unknown` is written it may have."""
    return None if isinstance(value, t.Unknown) and clause not in load.clauses else value


attributes(
    "load",
    ("critical", "yes-no", "Whether something is lost when it stops.", lambda load: load.critical),
    (
        "surge-time",
        "time",
        "How long the start-up surge lasts; none where none is written.",
        lambda load: written(load, "surge", load.surge_time),
    ),
    (
        "cuts-out",
        "voltage",
        "The voltage below which it switches itself off; none where none is written.",
        lambda load: written(load, "cuts-out", load.cuts_out),
    ),
    ("count", "count", "How many alike.", lambda load: load.count),
)


@fact(
    "load",
    "duty",
    "ratio",
    "The share of the time that it draws while it is on: the greatest in the ambient of its place where it follows the warmth, "
    "100 % where none is written.",
)
def duty(load: t.Load, ledger: Ledger) -> float:
    """What cables, fuses and alternators are judged by. One ambient alone says how hot it gets, and nothing of the cold."""
    points = duty_points(load, ledger)
    if points is None:
        return _steady(load, ledger)
    high = float(ledger.known(load.place.hottest, load.place.name).quantity.si)
    low = float(ledger.known(load.place.coolest, load.place.name).quantity.si)
    return ambient.greatest_duty(points, low, high)


def duty_points(load: t.Load, ledger: Ledger) -> list[tuple[float, float]] | None:
    """Its (temperature in °C, share) pairs, coolest first; None where its duty does not follow the warmth."""
    found = ledger.known(load.duty, "duty") if load.duty else None
    if not isinstance(found, tuple):
        return None
    return [(point.celsius.quantity.si, point.share.quantity.si) for point in found]


def duty_by_hour(load: t.Load, ledger: Ledger) -> Callable[[float], float] | None:
    """Its share of the time at a solar hour of the usual day of its place; None where it is the same all day."""
    points, place = duty_points(load, ledger), load.place
    if points is None or place.usual_low is None or place.usual_high is None:
        return None
    low, high = place.usual_low.quantity.si, place.usual_high.quantity.si
    ledger.note(f"{place.name} usually {place.usual_low.quantity.text} to {place.usual_high.quantity.text}")
    return lambda hour: ambient.duty_at(points, ambient.at_hour(low, high, hour))


def _steady(load: t.Load, ledger: Ledger) -> float:
    return float(ledger.known(load.duty, "duty").quantity.si) if load.duty else 1.0


@fact("load", "surge", "current", "The current that it starts up with, of all that are alike together.")
def surge(load: t.Load, ledger: Ledger) -> float | None:
    amps = ledger.known(written(load, "surge", load.surge), "surge")
    return amps.quantity.si * load.count if amps else None


@fact(
    "load",
    "nominal-current",
    "current",
    "What it draws at the system's nominal voltage, of all that are alike together.",
)
def nominal_current(load: t.Load, ledger: Ledger) -> float:
    draws = ledger.known(load.draws, "draws").quantity
    volts = ledger.installation.fitout.system.quantity.si
    if draws.dimension == "current":
        together: float = draws.si * load.count
        return together
    each: float = draws.si / volts if draws.dimension == "power" else volts / draws.si
    return each * load.count


@fact("load", "feed", "thing run", "The positive run that lands on it.")
def feed(load: t.Load, ledger: Ledger) -> t.Run | None:
    installation = ledger.installation
    terminals = [terminal for terminal in installation.terminals_of[load] if terminal.label == "pos"]
    ends = [end for terminal in terminals for end in installation.landing_on.get(terminal, ())]
    return next((end.run for end in ends if end.run.role == "feed"), None)


@fact("load", "fuse", "thing fuse", "The fuse that limits its feed.")
def fuse(load: t.Load, ledger: Ledger) -> t.Fuse | None:
    run = ledger.get(load, "feed")
    found: t.Fuse | None = ledger.get(run, "guard") if run else None
    return found

"""Facts of panels and of the controllers that they feed."""

from __future__ import annotations

from collections.abc import Callable

from loomwright.facts import lines
from loomwright.facts.attribute import attributes, known_all
from loomwright.facts.registry import Ledger, fact
from loomwright.model import things as t
from loomwright.model.links import Link

STANDARD_CELSIUS = 25.0
"""The cell temperature of a panel's nameplate (IEC 61215 standard test conditions, from memory)."""

attributes(
    "charger",
    ("solar", "voltage", "The most volts that its solar input takes.", lambda charger: charger.solar_volts),
    (
        "solar-current",
        "current",
        "The most amperes that its solar input takes.",
        lambda charger: charger.solar_amps,
    ),
)


def _pos(ledger: Ledger, panel: t.Solar) -> t.Terminal:
    return lines.terminal(ledger, panel, "pos")


# ---------------------------------------------------------------- panels


@fact("solar", "strings", "count", "How many strings in parallel it is.")
def strings(panel: t.Solar, ledger: Ledger) -> int:
    return panel.count if ledger.known(panel.arrangement) == "parallel" else 1


@fact(
    "solar", "strings-together", "count", "How many strings in parallel share its line, its own among them."
)
def strings_together(panel: t.Solar, ledger: Ledger) -> int:
    return sum(
        ledger.get(each, "strings") for each in lines.on_line(ledger, _pos(ledger, panel), t.Solar, "pos")
    )


@fact("solar", "string-current", "current", "What one of its strings gives into a short circuit.")
def string_current(panel: t.Solar, ledger: Ledger) -> float:
    amps: float = ledger.known(panel.short, "short").quantity.si
    return amps


@fact("solar", "short-current", "current", "What all its strings give into a short circuit.")
def short_current(panel: t.Solar, ledger: Ledger) -> float:
    return float(string_current(panel, ledger) * float(ledger.get(panel, "strings")))


@fact(
    "solar",
    "coldest",
    "temperature",
    "The coldest dawn that it sees: the site's `coldest`, else the lowest ambient of its place, else what is assumed.",
)
def coldest(panel: t.Solar, ledger: Ledger) -> float:
    """A place with one figure for its ambient says how hot it gets, not how cold."""
    site, place = ledger.installation.site, panel.place
    if site and site.coldest is not None:
        return float(ledger.known(site.coldest, "coldest").quantity.si)
    if place.coolest is not place.hottest:
        return float(ledger.known(place.coolest, place.name).quantity.si)
    return float(ledger.limit("coldest-unstated"))


@fact(
    "solar",
    "cold-volts",
    "voltage",
    "The open voltage of a string at the coldest dawn: V (1 + β (T − 25 °C)) for each panel in series.",
    source="IEC 62548",
)
def cold_volts(panel: t.Solar, ledger: Ledger) -> float:
    in_series = panel.count // ledger.get(panel, "strings")
    volts = ledger.known(panel.open, "open").quantity.si * in_series
    slope = ledger.known(panel.coefficient, "coefficient").quantity.si
    return float(volts * (1 + slope * (ledger.get(panel, "coldest") - STANDARD_CELSIUS)))


@fact(
    "solar",
    "unfused-strings",
    "things solar",
    "The panels on its line that no fuse of their own parts from the others; told at the first of them only.",
)
def unfused_strings(panel: t.Solar, ledger: Ledger) -> tuple[t.Solar, ...]:
    together = lines.on_line(ledger, _pos(ledger, panel), t.Solar, "pos")
    if panel is not together[0]:
        return ()
    return tuple(each for each in together if not _parted(each, together, ledger))


def _parted(panel: t.Solar, together: tuple[t.Solar, ...], ledger: Ledger) -> bool:
    """Strings that are joined inside one device have no fuse between them."""
    if ledger.get(panel, "strings") > 1:
        return False
    others = {f"{each.name}.pos" for each in together if each is not panel}
    return lines.surely(lambda passes: others.isdisjoint(lines.spread(ledger, _pos(ledger, panel), passes)))


@fact(
    "solar",
    "can-be-parted",
    "yes-no",
    "Whether a plug, a switch or an isolator parts it from what it feeds, or a plug at an end of its cables.",
)
def can_be_parted(panel: t.Solar, ledger: Ledger) -> bool:
    reached = lines.spread(ledger, _pos(ledger, panel), lambda _: True)
    steps = [step for step in reached.values() if step]
    if any(isinstance(link.by, (t.Contact, t.Plug)) for _, link in steps):
        return True
    terminals = [_pos(ledger, panel), lines.terminal(ledger, panel, "neg")]
    ends = [end for each in terminals for end in ledger.installation.landing_on.get(each, ())]
    if any(end.fitting == "plug" for end in ends):
        return True
    known_all(ledger, [end.fitting for end in ends])
    return False


@fact("solar", "straight-to", "things battery", "The batteries that it feeds with no controller between.")
def straight_to(panel: t.Solar, ledger: Ledger) -> tuple[t.Battery, ...]:
    return lines.on_line(ledger, _pos(ledger, panel), t.Battery, "pos")


@fact(
    "solar",
    "trickle-limit",
    "current",
    "What a panel with no controller may give into the smallest of the batteries that it feeds.",
)
def trickle_limit(panel: t.Solar, ledger: Ledger) -> float | None:
    time = ledger.limit("pv-direct-hours")
    found = [
        ledger.get(battery, "capacity") * battery.count / time for battery in ledger.get(panel, "straight-to")
    ]
    return min(found, default=None)


# ---------------------------------------------------------------- controllers


@fact("charger", "panels", "things solar", "The panels on its solar input.")
def panels(charger: t.Charger, ledger: Ledger) -> tuple[t.Solar, ...]:
    return lines.on_line(ledger, lines.terminal(ledger, charger, "solar"), t.Solar, "pos")


@fact(
    "charger", "panel-volts", "voltage", "The highest open voltage that its panels reach at the coldest dawn."
)
def panel_volts(charger: t.Charger, ledger: Ledger) -> float | None:
    return max((ledger.get(panel, "cold-volts") for panel in ledger.get(charger, "panels")), default=None)


@fact("charger", "panel-coldest", "temperature", "The coldest dawn that its panels see.")
def panel_coldest(charger: t.Charger, ledger: Ledger) -> float | None:
    return min((ledger.get(panel, "coldest") for panel in ledger.get(charger, "panels")), default=None)


@fact("charger", "panel-current", "current", "What its panels give together into a short circuit.")
def panel_current(charger: t.Charger, ledger: Ledger) -> float:
    return float(sum(ledger.get(panel, "short-current") for panel in ledger.get(charger, "panels")))


@fact(
    "charger",
    "unfused-to",
    "things battery",
    "The batteries that its output hangs on with no fuse anywhere between.",
)
def unfused_to(charger: t.Charger, ledger: Ledger) -> tuple[t.Battery, ...]:
    batteries = [d for d in ledger.installation.devices if isinstance(d, t.Battery)]

    def bare(passes: Callable[[Link], bool]) -> tuple[t.Battery, ...]:
        reached = lines.spread(ledger, lines.terminal(ledger, charger, "out"), passes)
        return tuple(battery for battery in batteries if f"{battery.name}.pos" in reached)

    return lines.surely(bare)

"""How warm a conductor gets, and how much more it resists for it."""

from __future__ import annotations

from loomwright.analysis.heating import steady_celsius
from loomwright.facts.electrics import resistances as r
from loomwright.facts.registry import Ledger, Missing
from loomwright.model import things as t
from loomwright.record import Record
from loomwright.stock import conductors

TABLE_AMBIENT = 30.0  # °C, of 33 CFR 183.425 Table 5


class Warmth(Record):
    """A run's temperature in °C at a current: `mean` + `rise` · I² over its length, `hottest` + `rise` · I² at the hottest place.

    The heat balance of a place is θ = Ta + (Tc − Ta) (I / Iz)², Iz being what the conductor carries there (IEC 60287 principle:
    at Iz it is at its class Tc). With Iz = It · √((Tc − Ta) / (Tc − 30)) · b, the table's current by ambient and bundle, the
    ambient falls out of the rise: θ = Ta + (Tc − 30) (I / (It b))². `unknown` says why nothing of this is known.
    """

    mean: float
    hottest: float
    rise: float
    unknown: tuple[t.Unknown, ...] = ()

    def factor(self, amps: float) -> float:
        """Copper's resistance over that at 20 °C."""
        return conductors.copper_temperature_factor(self.mean + self.rise * amps * amps)

    def celsius(self, amps: float) -> float:
        return self.hottest + self.rise * amps * amps


def warmth_of(run: t.Run, ledger: Ledger) -> Warmth:
    """A conductor of which class, table current or surroundings are unknown counts as warm as the limits say, without saying so."""
    made: Warmth = ledger.index(f"warmth {id(run)}", lambda: _warmth(run, ledger))
    return made


def _warmth(run: t.Run, ledger: Ledger) -> Warmth:
    try:
        whole_way = ledger.known(ledger.installation.stretches_of[run])
        # An opening has no length, and a cable takes no temperature from it.
        stretches = [stretch for stretch in whole_way if stretch.stop_m > stretch.start_m]
        ambient = [ledger.known(stretch.place.hottest).quantity.si for stretch in stretches]
        class_celsius = ledger.get(run, "class")
        table = ledger.get(run, "table-current") * ledger.get(run, "bundling-factor")
        table *= ledger.get(run, "metal-factor")
    except Missing as missing:
        return Warmth(r.limit(ledger, "conductor-unstated"), 0.0, 0.0, missing.reasons)
    lengths = [stretch.stop_m - stretch.start_m for stretch in stretches]
    whole = sum(lengths)
    mean = (
        sum(a * m for a, m in zip(ambient, lengths, strict=True)) / whole
        if whole
        else max(ambient, default=20.0)
    )
    rise = steady_celsius(1.0, table, TABLE_AMBIENT, class_celsius) - TABLE_AMBIENT if table else 0.0
    return Warmth(mean, max(ambient, default=mean), rise)

"""Cable as it is laid: what lies together as one cord, in which bundle it lies, what sleeve and clips go round the bundle."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from math import ceil

from loomwright.facts.registry import Ledger
from loomwright.model import things as t
from loomwright.record import Record
from loomwright.sheets.making import leg_name
from loomwright.sheets.terms import DASH, class_words, made_words, over_insulation_mm, size_words
from loomwright.stock import making

NOT_STATED = "not stated"


class Cord(Record):
    """One cable to be laid: a single conductor, a twin for both legs of a circuit, or a multicore. `runs` are its conductors."""

    name: str
    runs: tuple[t.Run, ...]
    cable: t.Cable | t.Unknown
    cores: int
    stretches: tuple[t.Stretch, ...] | t.Unknown

    @property
    def run(self) -> t.Run:
        return self.runs[0]

    @property
    def kind(self) -> str:
        """What is bought: `twin 4 mm²`, `4 × 1.5 mm²`."""
        words = size_words(self.cable) + made_words(self.run)
        return words if self.run.multicore is None else f"{self.cores} × {words}"

    @property
    def colour(self) -> str:
        if isinstance(self.cable, t.Unknown) or self.cores > 1:
            return DASH
        return self.cable.colour or NOT_STATED

    @property
    def insulation(self) -> str:
        """Class in °C, or a dash."""
        return class_words(self.cable)

    @property
    def outside_mm(self) -> float | None:
        return over_insulation_mm(self.run, self.cores)

    @property
    def metres(self) -> float | None:
        """How far it is laid; None where its path is not known."""
        if isinstance(self.stretches, t.Unknown):
            return None
        return float(sum(each.length.quantity.si for each in self.stretches if each.length))


def cords(ledger: Ledger, runs: Iterable[t.Run] | None = None) -> tuple[Cord, ...]:
    """The cords of the runs (left out: all that are not the vehicle maker's), in the order of the text."""
    installation = ledger.installation
    chosen = [run for run in installation.runs if not run.maker] if runs is None else list(runs)
    found: dict[str, Cord] = {}
    for run in chosen:
        name = _cord_name(run)
        if name in found:
            continue
        together = tuple(each for each in chosen if _cord_name(each) == name)
        twin = not isinstance(run.cable, t.Unknown) and run.cable.twin
        cores = run.multicore.cores if run.multicore else 2 if twin else 1
        found[name] = Cord(name, together, run.cable, cores, installation.stretches_of[run])
    return tuple(found.values())


def _cord_name(run: t.Run) -> str:
    if run.multicore:
        return run.multicore.name
    twin = not isinstance(run.cable, t.Unknown) and run.cable.twin
    return run.name if twin else leg_name(run)


# ---------------------------------------------------------------- bundles


@dataclass(slots=True)
class Bundle:
    """What lies together in one place: a loom, or a cord by itself. Lengths in m, diameters in mm; 0 mm where no cable is known."""

    name: str
    place: t.Place
    cords: list[Cord] = field(default_factory=list)
    length_m: float = 0.0
    sleeve: str | None | t.Unknown = None
    clips_m: float | None | t.Unknown = None

    @property
    def over_mm(self) -> float:
        return making.bundle_mm(cord.outside_mm for cord in self.cords if cord.outside_mm is not None)

    @property
    def bore_mm(self) -> float | None:
        """The sleeve's bore; None without a sleeve and where no cable is known."""
        over = self.over_mm
        return making.sleeve_bore_mm(self.sleeve, over) if isinstance(self.sleeve, str) and over else None

    @property
    def outside_mm(self) -> float:
        """Over the sleeve, where there is one."""
        bore = self.bore_mm
        return making.over_sleeve_mm(bore) if bore else self.over_mm

    @property
    def clip_mm(self) -> float | None:
        return making.clip_mm(self.outside_mm) if self.outside_mm else None

    @property
    def clip_count(self) -> int:
        """One clip for each spacing begun."""
        spacing = self.clips_m
        return ceil(self.length_m / spacing - 1e-9) if isinstance(spacing, float) and spacing else 0

    @property
    def sleeve_words(self) -> str:
        if isinstance(self.sleeve, t.Unknown):
            return "not known"
        bore = self.bore_mm
        return f"{self.sleeve} {bore:g} mm" if self.sleeve and bore else self.sleeve or "none"


def bundles(laid: Iterable[Cord]) -> tuple[Bundle, ...]:
    """The bundles of all places, in the order in which the cords meet them. Openings have no length but are there too."""
    found: dict[tuple[str, str, int], Bundle] = {}
    for cord in laid:
        for key, stretch in _passed(cord):
            bundle = found.setdefault(key, Bundle(key[0], stretch.place, [], 0.0, stretch.sleeve, None))
            bundle.cords.append(cord)
            length = (stretch.length.quantity.si if stretch.length else 0.0) + (
                stretch.slack.quantity.si if stretch.slack else 0.0
            )
            bundle.length_m = max(bundle.length_m, length)
            bundle.sleeve = bundle.sleeve or stretch.sleeve
            bundle.clips_m = _closer(bundle.clips_m, stretch)
    return tuple(found.values())


def _passed(cord: Cord) -> Iterator[tuple[tuple[str, str, int], t.Stretch]]:
    """The stretches of a cord, each with its bundle's key: name, place, and which time the cord passes there."""
    if isinstance(cord.stretches, t.Unknown):
        return
    times: dict[str, int] = {}
    loom, circuit = cord.run.loom, cord.run.circuit
    name = loom.name if loom else circuit.name if circuit else cord.name
    for stretch in cord.stretches:
        nth = times[stretch.place.name] = times.get(stretch.place.name, 0) + 1
        yield (name, stretch.place.name, nth), stretch


def _closer(known: float | None | t.Unknown, stretch: t.Stretch) -> float | None | t.Unknown:
    clips = stretch.clips
    if isinstance(clips, t.Unknown) or clips is None:
        return known if known is not None else clips
    spacing = clips.quantity.si
    return min(known, spacing) if isinstance(known, float) else spacing


def bundles_of(cord: Cord, laid: Iterable[Bundle]) -> list[Bundle]:
    return [bundle for bundle in laid if cord in bundle.cords]

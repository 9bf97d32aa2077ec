"""Facts of a run as a cable: what it is, where it goes, and what it may carry."""

from __future__ import annotations

from collections import Counter
from math import inf, prod

from loomwright.analysis.withstand import withstands_seconds
from loomwright.facts.attribute import attributes, gather, known_all, when_known
from loomwright.facts.electrics.resistances import metal_of
from loomwright.facts.registry import Ledger, Missing, fact
from loomwright.facts.wiring import graph
from loomwright.model import things as t
from loomwright.model.graph import node_of
from loomwright.record import Record
from loomwright.stock import ampacity, thermal
from loomwright.stock.cited import Cited
from loomwright.stock.conductors import ConductorSize, conductor

attributes(
    "run",
    ("from", "thing point", "Where the run starts.", lambda run: run.start),
    ("to", "thing point", "Where the run ends.", lambda run: run.end),
    ("maker", "yes-no", "Whether the vehicle's maker fitted it.", lambda run: run.maker),
    ("circuit", "thing circuit", "The final circuit that it is a leg of.", lambda run: run.circuit),
    ("label", "text", "What its label says.", lambda run: run.label),
    ("order", "text", "The workshop's stock code of the cable.", lambda run: run.order),
    ("core", "text", "Which core of the multicore it is.", lambda run: run.core),
    ("loom", "thing loom", "The loom that it runs in.", lambda run: run.loom),
    ("multicore", "thing multicore", "The multicore that it is a core of.", lambda run: run.multicore),
    (
        "cable",
        "text",
        "The size of its cable as the spec writes it.",
        lambda run: when_known(run.cable, lambda cable: cable.size),
    ),
    (
        "size",
        "text",
        "The conductor's size as the trade names it.",
        lambda run: when_known(run.cable, lambda cable: cable.size),
    ),
    (
        "colour",
        "word",
        "The colour of the insulation.",
        lambda run: when_known(run.cable, lambda cable: cable.colour),
    ),
    (
        "twin",
        "yes-no",
        "Whether it is a twin cable.",
        lambda run: when_known(run.cable, lambda cable: cable.twin),
    ),
    (
        "tinned",
        "yes-no",
        "Whether its strands are tinned.",
        lambda run: when_known(run.cable, lambda cable: cable.tinned),
    ),
)


# ---------------------------------------------------------------- the path


def stretches_of(run: t.Run, ledger: Ledger) -> tuple[t.Stretch, ...]:
    """The places of a run's path from its start. Raises Missing where the path is unknown."""
    stretches: tuple[t.Stretch, ...] = ledger.known(ledger.installation.stretches_of[run])
    return stretches


@fact("run", "length", "length", "How long the run is: the sum of the stretches of its path.")
def length(run: t.Run, ledger: Ledger) -> float:
    stretches = stretches_of(run, ledger)
    for stretch in stretches:
        if stretch.length:
            ledger.note(f"{stretch.place.name} {stretch.length.text}", span=stretch.span)
    return stretches[-1].stop_m if stretches else 0.0


@fact("run", "hottest", "temperature", "The highest ambient temperature of the places that the run lies in.")
def hottest(run: t.Run, ledger: Ledger) -> float:
    places = list(dict.fromkeys(s.place for s in stretches_of(run, ledger) if s.stop_m > s.start_m))
    if not places:
        raise Missing(t.Unknown(f"where {run.name} lies", run.span))
    known = known_all(ledger, [place.hottest for place in places])
    place, hot = max(zip(places, known, strict=True), key=lambda pair: pair[1].quantity.si)
    ledger.note(f"{place.name} {hot.text}", span=hot.span)
    celsius: float = hot.quantity.si
    return celsius


# ---------------------------------------------------------------- the conductor


def size_of(run: t.Run, ledger: Ledger) -> ConductorSize:
    """The run's conductor. Raises Missing where the cable is unknown."""
    cable: t.Cable = ledger.known(run.cable)
    ledger.note(f"cable {cable.size.text}", span=cable.span)
    return conductor(cable.size.kind, cable.size.number)


@fact("run", "area", "area", "The copper in the conductor.", source="ASTM B258, published areas by size")
def area(run: t.Run, ledger: Ledger) -> float:
    size = size_of(run, ledger)
    cite_in(ledger, f"{size.area_mm2:.3g} mm²", Cited(size.area_mm2, size.source, size.basis))
    return size.area_mm2 * 1e-6


@fact(
    "run",
    "class",
    "temperature",
    "The temperature that the insulation is made for; assumed where none is stated.",
)
def insulation_class(run: t.Run, ledger: Ledger) -> float:
    cable: t.Cable = ledger.known(run.cable)
    if cable.insulation is None:
        assumed: float = ledger.limit("cable-class-unstated")
        return assumed
    stated: float = ledger.known(cable.insulation, "insulation").quantity.si
    return stated


@fact("run", "class-assumed", "yes-no", "Whether the insulation class is assumed because none is stated.")
def class_assumed(run: t.Run, ledger: Ledger) -> bool:
    return ledger.known(run.cable).insulation is None


@fact("run", "assumed", "text", "What a message must add where it rests on an assumed insulation class.")
def assumed(run: t.Run, ledger: Ledger) -> str:
    if isinstance(run.cable, t.Unknown) or not ledger.get(run, "class-assumed"):
        return ""
    return f" ({ledger.get(run, 'class'):g} °C insulation assumed)"


# ---------------------------------------------------------------- what it carries


@fact(
    "run",
    "table-current",
    "current",
    "What the conductor carries by itself in 30 °C: the row of its gauge, or log-log between rows by its area.",
    source="33 CFR 183.425 Table 5",
)
def table_current(run: t.Run, ledger: Ledger) -> float:
    size = size_of(run, ledger)
    celsius = ledger.get(run, "class")
    try:
        cited = ampacity.table_current(size, celsius)
    except ampacity.UnknownClass as low:
        raise Missing(t.Unknown(f"what {run.name} carries: {low}", run.place_of("cable"))) from low
    cite_in(ledger, f"{cited.value:.3g} A", cited)
    return cited.value


@fact(
    "run",
    "ambient-factor",
    "ratio",
    "What is left of the table's current at the hottest place: sqrt((Tc − Ta) / (Tc − 30 °C)).",
    source="IEC 60287 principle, as tabulated by CSA C22.1 Table 5A and IEC 60364-5-52 Table B.52.14",
)
def ambient_factor(run: t.Run, ledger: Ledger) -> float:
    return ampacity.ambient_factor(ledger.get(run, "class"), ledger.get(run, "hottest"))


@fact(
    "run",
    "bundled",
    "count",
    "How many loaded conductors lie together where it is most crowded: those of its cable, and of its loom in one place.",
)
def bundled(run: t.Run, ledger: Ledger) -> int:
    companies: Companies = ledger.index("companies", lambda: _companies(ledger.installation))
    own = companies.in_sheath[run.multicore] if run.multicore else 2 if _in_twin(run) else 1
    if run.loom is None:
        return own
    fellows = companies.hidden.get(run.loom, ())
    if fellows:
        raise Missing(*fellows)
    here = [companies.in_loom[run.loom, stretch.place] for stretch in stretches_of(run, ledger)]
    together = max([own, *here])
    ledger.note(f"{together} loaded conductors in loom {run.loom.name}", span=run.place_of("loom"))
    return together


@fact(
    "run",
    "bundling-factor",
    "ratio",
    "What is left of the table's current for the company that the conductor lies in, from three up.",
    source="33 CFR 183.425 Table 5 note 2, a duty from 50 V up and caution below; from memory",
)
def bundling_factor(run: t.Run, ledger: Ledger) -> float:
    cited = ampacity.bundling_factor(max(1, ledger.get(run, "bundled")))
    if cited.value < 1.0:
        cite_in(ledger, f"× {cited.value:g}", cited)
    return cited.value


@fact(
    "run",
    "carries",
    "current",
    "What the conductor may carry without end: table-current × ambient-factor × bundling-factor, × metal-factor where it is not of copper.",
    source="33 CFR 183.425 Table 5",
)
def carries(run: t.Run, ledger: Ledger) -> float:
    names = ["table-current", "ambient-factor", "bundling-factor"]
    if run.conductor.doubted or metal_of(run) != "copper":
        names.append("metal-factor")
    return float(prod(gather(lambda name: ledger.get(run, name), names)))


@fact(
    "run",
    "withstands",
    "time",
    "How long the insulation bears a current: (k S / I)² for short times, without end up to what it carries.",
    takes=("current",),
    source="IEC 60364-5-54 clause 543.1.2 and annex A",
)
def withstands(run: t.Run, ledger: Ledger, amps: float) -> float:
    endless = ledger.get(run, "carries")
    if amps <= endless:
        return inf
    k = adiabatic_k(run, ledger)
    cite_in(ledger, f"k {k.value:.3g} A √s / mm²", k)
    if endless <= 0.0:
        return 0.0
    return withstands_seconds(amps, ledger.get(run, "area") * 1e6, k.value, endless)


def adiabatic_k(run: t.Run, ledger: Ledger) -> Cited:
    """k of its metal and insulation; of copper-clad wire that of aluminium, which most of it is."""
    celsius, metal = ledger.get(run, "class"), metal_of(run)
    plain = "copper" if metal == "copper" else "aluminium"
    return thermal.adiabatic_k(celsius, thermal.final_celsius(celsius).value, plain)


# ---------------------------------------------------------------- what hangs on it


@fact("run", "loads", "things load", "The loads whose current it carries, with every contact closed.")
def loads(run: t.Run, ledger: Ledger) -> tuple[t.Load, ...]:
    return tuple(device for device in consumers(run, ledger) if isinstance(device, t.Load))


def consumers(run: t.Run, ledger: Ledger) -> dict[t.Device, None]:
    """Everything whose current a run carries, whichever way the run is written."""
    wiring = graph(ledger)
    return dict.fromkeys(one.consumer for ahead in (True, False) for one in wiring.downstream(run, ahead))


@fact(
    "run",
    "cranking",
    "yes-no",
    "Whether it feeds what only runs while the engine is cranked, and nothing else.",
)
def cranking(run: t.Run, ledger: Ledger) -> bool:
    starters: frozenset[t.Device] = ledger.index("starters", lambda: _starters(ledger.installation))
    if not starters:
        return False
    fed = consumers(run, ledger)
    return bool(fed) and starters.issuperset(fed)


@fact(
    "run",
    "exempt",
    "yes-no",
    "Whether codes ask no protection of it: the maker's own wiring and the cranking circuit.",
)
def exempt(run: t.Run, ledger: Ledger) -> bool:
    return run.maker or ledger.get(run, "cranking")


@fact(
    "run",
    "parallels",
    "things run",
    "The other runs of its kind that join the same two points: they share its current.",
)
def parallels(run: t.Run, ledger: Ledger) -> tuple[t.Run, ...]:
    pairs: dict[tuple[str, frozenset[str]], list[t.Run]] = ledger.index(
        "pairs", lambda: _pairs(ledger.installation)
    )
    return tuple(other for other in pairs[_pair(run)] if other is not run)


def _starters(installation: t.Installation) -> frozenset[t.Device]:
    """What is switched on while the engine is cranked and in no other mode."""
    cranked = {on.thing for mode in installation.modes if mode.engine == "cranking" for on in mode.on}
    others = {on.thing for mode in installation.modes if mode.engine != "cranking" for on in mode.on}
    return frozenset(cranked - others)


def _pair(run: t.Run) -> tuple[str, frozenset[str]]:
    return run.role, frozenset((node_of(run.start), node_of(run.end)))


def _pairs(installation: t.Installation) -> dict[tuple[str, frozenset[str]], list[t.Run]]:
    pairs: dict[tuple[str, frozenset[str]], list[t.Run]] = {}
    for run in installation.runs:
        pairs.setdefault(_pair(run), []).append(run)
    return pairs


# ---------------------------------------------------------------- company


class Companies(Record):
    """Loaded conductors by sheath, and by loom and place; `hidden` are those of a loom whose path nobody knows."""

    in_sheath: Counter[t.Multicore]
    in_loom: Counter[tuple[t.Loom, t.Place]]
    hidden: dict[t.Loom, tuple[t.Unknown, ...]]


def _companies(installation: t.Installation) -> Companies:
    in_sheath: Counter[t.Multicore] = Counter()
    in_loom: Counter[tuple[t.Loom, t.Place]] = Counter()
    hidden: dict[t.Loom, tuple[t.Unknown, ...]] = {}
    for run in installation.runs:
        if run.role == "signal":
            continue
        if run.multicore:
            in_sheath[run.multicore] += 1
        stretches = installation.stretches_of[run]
        if run.loom and isinstance(stretches, t.Unknown):
            hidden[run.loom] = (*hidden.get(run.loom, ()), stretches)
        elif run.loom and not isinstance(stretches, t.Unknown):
            in_loom.update({(run.loom, stretch.place) for stretch in stretches})
    return Companies(in_sheath, in_loom, hidden)


def _in_twin(run: t.Run) -> bool:
    return not isinstance(run.cable, t.Unknown) and run.cable.twin


def cite_in(ledger: Ledger, text: str, cited: Cited) -> None:
    """A table's figure in the derivation, with how firm it is."""
    ledger.note(
        text, f"{cited.source} ({cited.mark})" if cited.mark and cited.mark != cited.source else cited.source
    )

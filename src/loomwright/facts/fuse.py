"""Facts of fuses and breakers."""

from __future__ import annotations

from loomwright.analysis import opening
from loomwright.facts import lines
from loomwright.facts.attribute import attributes, gather
from loomwright.facts.gates import LEAST, MOST, gates, gates_at
from loomwright.facts.guard import in_sheath, live_before, serves, sheathed, to_end, unfused
from loomwright.facts.registry import Ledger, Missing, fact
from loomwright.facts.run import consumers
from loomwright.facts.wiring import END, SIDES, START, device_at, feedings, point_at, terminal_of_way
from loomwright.model import things as t
from loomwright.model.graph import Feeding
from loomwright.quantity import show
from loomwright.stock import fuses as stock
from loomwright.stock.cited import CUSTOM, mark_of

attributes(
    "fuse",
    (
        "kind",
        "word blade|mini|maxi|strip|strip-large|class-t|breaker|breaker-auto|electronic",
        "What kind of fuse or breaker it is.",
        lambda fuse: fuse.kind,
    ),
    ("rating", "current", "What it is rated for.", lambda fuse: fuse.rating),
    ("title", "text", "What the kind is called.", lambda fuse: stock.kind(fuse.kind).title),
    (
        "bolt-in",
        "yes-no",
        "Whether it is bolted down, not plugged in.",
        lambda fuse: stock.kind(fuse.kind).bolt_in,
    ),
    ("place", "thing place", "Where it sits.", lambda fuse: _place(fuse)),
    ("run", "thing run", "The run that it sits in.", lambda fuse: fuse.run),
    ("way", "thing way", "The way of a hub that it sits in.", lambda fuse: fuse.way),
    ("at", "length", "How far along the run from its start it sits.", lambda fuse: fuse.from_start_m),
    (
        "maker",
        "yes-no",
        "Whether the vehicle's maker fitted it.",
        lambda fuse: fuse.run.maker if fuse.run else fuse.way.hub.maker,
    ),
)


def _place(fuse: t.Fuse) -> t.Place | t.Unknown | None:
    if fuse.way is not None:
        return fuse.way.hub.place
    hidden = fuse.from_start_m if isinstance(fuse.from_start_m, t.Unknown) else None
    return fuse.place or hidden


def _marked(source: str, basis: str) -> str:
    """A source as a derivation shows it: what nobody read says so."""
    return f"{source} ({mark_of(basis)})" if mark_of(basis) else source


@fact(
    "fuse",
    "breaking-capacity",
    "current",
    "The greatest fault current that it interrupts.",
    source="ISO 8820-3, -5 scopes",
)
def breaking_capacity(fuse: t.Fuse, ledger: Ledger) -> float:
    cited = stock.kind(fuse.kind).breaking_capacity_amps
    ledger.note(f"breaks {cited.value:g} A", _marked(cited.source, cited.basis))
    return cited.value


@fact(
    "fuse",
    "kind-that-breaks",
    "text",
    "The bolt-in kind of least breaking capacity that interrupts the greatest fault behind it; the strongest where none does.",
    source="ISO 8820-5 scope; UL 248-15 (from memory)",
)
def kind_that_breaks(fuse: t.Fuse, ledger: Ledger) -> str:
    amps = ledger.get(fuse, "fault")
    kinds = sorted(
        (one for one in stock.kinds() if one.bolt_in), key=lambda one: one.breaking_capacity_amps.value
    )
    return next((one for one in kinds if one.breaking_capacity_amps.value >= amps), kinds[-1]).title


# ---------------------------------------------------------------- what its kind is made for


@fact(
    "fuse",
    "rating-made",
    "yes-no",
    "Whether its kind is made in that rating; of a breaker its maker's plate alone would tell, and it counts as made.",
    source="ISO 8820-3 types C, E and F; ISO 8820-5 and UL 248-15 (from memory)",
)
def rating_made(fuse: t.Fuse, ledger: Ledger) -> bool:
    kind, amps = stock.kind(fuse.kind), ledger.known(fuse.rating, "rated").quantity.si
    if kind.ratings_basis == CUSTOM:
        return True
    said = " and ".join(f"{rating:g} A" for rating in near_made(fuse) if rating)
    made = kind.is_made(amps)
    ledger.note(
        f"{amps:g} A is a rating of the {kind.title}" if made else f"next to {amps:g} A are made: {said}",
        _marked(kind.ratings_source, kind.rating_basis(amps)),
    )
    return made


@fact("fuse", "made-near", "text", "The usual ratings of its kind next below and next above its own.")
def made_near(fuse: t.Fuse, ledger: Ledger) -> str:
    ledger.known(fuse.rating, "rated")
    return " or ".join(f"{rating:g} A" for rating in near_made(fuse) if rating)


def near_made(fuse: t.Fuse) -> tuple[float | None, float | None]:
    """The usual ratings of its kind in A next below and next above its own; None where there is no such."""
    ratings, amps = stock.kind(fuse.kind).ratings, fuse.rating.quantity.si
    below, above = [each for each in ratings if each < amps], [each for each in ratings if each > amps]
    return max(below, default=None), min(above, default=None)


@fact(
    "fuse",
    "rated-volts",
    "voltage",
    "The direct voltage that its kind is made for; none for a breaker, of which its maker's plate alone tells.",
    source="ISO 8820-3, -5 scopes; UL 248-15 (from memory)",
)
def rated_volts(fuse: t.Fuse, ledger: Ledger) -> float | None:
    kind = stock.kind(fuse.kind)
    scope = kind.breaking_capacity_amps  # of one scope with the volts
    if scope.basis == CUSTOM:
        return None
    ledger.note(f"a {kind.title} is for {kind.rated_volts:g} V", _marked(scope.source, scope.basis))
    return kind.rated_volts


@fact(
    "fuse",
    "circuit-volts",
    "voltage",
    "The most that its line reaches: the open volts of the panels on it at the coldest dawn, else the system's nominal volts.",
)
def circuit_volts(fuse: t.Fuse, ledger: Ledger) -> float:
    system: float = ledger.installation.fitout.system.quantity.si
    point = terminal_of_way(ledger.installation, fuse.way) if fuse.way else fuse.run and fuse.run.start
    if not isinstance(point, t.Terminal):
        return system
    panels = lines.on_line(ledger, point, t.Solar, "pos")
    return float(max((system, *gather(lambda panel: ledger.get(panel, "cold-volts"), panels))))


# ---------------------------------------------------------------- where it stands


@fact("fuse", "against", "thing point", "The end of its run whose source it stands against.")
def against(fuse: t.Fuse, ledger: Ledger) -> t.Point | None:
    side = serves(fuse, ledger)
    if side is None or fuse.run is None:
        return None
    return point_at(fuse.run, side)


@fact(
    "fuse",
    "distance",
    "length",
    "How much cable lies between it and the source that it stands against, unfused cable before its run included.",
)
def distance(fuse: t.Fuse, ledger: Ledger) -> float | None:
    side = serves(fuse, ledger)
    if side is None or fuse.run is None:
        return None
    before = live_before(fuse.run, side, ledger)
    return to_end(fuse, side, ledger) + float(sum(ledger.get(run, "length") for run in before))


@fact(
    "fuse",
    "sheathed",
    "yes-no",
    "Whether the cable ahead of it lies in a sheath or sleeve all the way to the source.",
)
def sheathed_all_the_way(fuse: t.Fuse, ledger: Ledger) -> bool:
    side = serves(fuse, ledger)
    if side is None or fuse.run is None:
        return True
    before = live_before(fuse.run, side, ledger)
    return sheathed(fuse, side, ledger) and all(in_sheath(run, 0.0, float("inf"), ledger) for run in before)


@fact(
    "fuse", "places-ahead", "things place", "The places that the cable ahead of it passes, openings included."
)
def places_ahead(fuse: t.Fuse, ledger: Ledger) -> tuple[t.Place, ...]:
    side = serves(fuse, ledger)
    if side is None or fuse.run is None:
        return ()
    at: float = ledger.known(fuse.from_start_m)
    stretches = ledger.known(ledger.installation.stretches_of[fuse.run])
    ahead = [s for s in stretches if (s.start_m < at if side == START else s.stop_m > at)]
    return tuple(dict.fromkeys(stretch.place for stretch in ahead))


@fact("fuse", "protects", "things run", "The runs that it limits, up to the next fuse.")
def protects(fuse: t.Fuse, ledger: Ledger) -> tuple[t.Run, ...]:
    guarded = ledger.index("guarded", lambda: _guarded(ledger))
    runs: tuple[t.Run, ...] = tuple(guarded.get(fuse, ()))
    return runs


def _guarded(ledger: Ledger) -> dict[t.Fuse, list[t.Run]]:
    """Runs by the fuse that limits them; a run of which that is unknown is under none."""
    guarded: dict[t.Fuse, list[t.Run]] = {}
    for run in ledger.installation.runs:
        if run.role == "earth":
            continue
        entry = ledger.entry(run, "guard")
        if not entry.missing and entry.value is not None:
            guarded.setdefault(entry.value, []).append(run)
    return guarded


@fact("fuse", "loads", "things load", "The loads that are fed through it.")
def loads(fuse: t.Fuse, ledger: Ledger) -> tuple[t.Load, ...]:
    runs = (fuse.run,) if fuse.run else ledger.get(fuse.way, "runs")
    return tuple(dict.fromkeys(load for run in runs for load in ledger.get(run, "loads")))


@fact("fuse", "upstream", "thing fuse", "The next fuse towards the source.")
def upstream(fuse: t.Fuse, ledger: Ledger) -> t.Fuse | None:
    if fuse.run is not None:
        return _before_run(fuse, fuse.run, ledger)
    assert fuse.way is not None
    terminal = terminal_of_way(ledger.installation, fuse.way)
    for end in ledger.installation.landing_on.get(terminal, ()) if terminal else ():
        side = START if end.run.start is terminal else END
        for feeding in feedings(end.run, side, ledger):
            return _next_fuse(feeding, fuse)
    return None


def _before_run(fuse: t.Fuse, run: t.Run, ledger: Ledger) -> t.Fuse | None:
    own = ledger.get(run, "fuses")
    index, stands = own.index(fuse), serves(fuse, ledger)
    if stands and unfused(run, stands, ledger):
        return None
    for side, nearer in ((START, own[:index]), (END, own[index + 1 :])):
        batteries = [
            each for each in feedings(run, side, ledger) if isinstance(each.source.device, t.Battery)
        ]
        if batteries and nearer:
            first: t.Fuse = nearer[-1] if side == START else nearer[0]
            return first
        for feeding in batteries:
            return _next_fuse(feeding, fuse)
    return None


def _next_fuse(feeding: Feeding, fuse: t.Fuse) -> t.Fuse | None:
    """The last fuse on a source's way, the one asked about left out."""
    if feeding.unsure:
        raise Missing(*feeding.unsure)
    fuses = [one for one in feeding.fuses if one is not fuse]
    return fuses[-1] if fuses else None


@fact(
    "fuse",
    "backed-up",
    "yes-no",
    "Whether the next fuse towards the source is known, and breaks the greatest fault behind this one in its stead.",
    source="IEC 60364-4-43 clause 434.5.1 (from memory)",
)
def backed_up(fuse: t.Fuse, ledger: Ledger) -> bool:
    """Only whether it can: that it opens before the smaller fuse is harmed only the maker's test of the pair would show."""
    before, fault = ledger.entry(fuse, "upstream"), ledger.entry(fuse, "fault")
    if before.missing or fault.missing or before.value is None:
        return False
    return bool(ledger.get(before.value, "breaking-capacity") >= fault.value)


# ---------------------------------------------------------------- when it opens


@fact(
    "fuse",
    "opens-by",
    "time",
    "When it has surely opened at a current: the slow edge of its band, in the coldest that it sits in.",
    takes=("current",),
    source="ISO 8820-3, -5 operating times (from memory), log-log between gates, I²t beyond",
)
def opens_by(fuse: t.Fuse, ledger: Ledger, amps: float) -> float:
    rating = ledger.get(fuse, "rating-cold")
    return opening.opens_by(gates_at(fuse, amps, rating, MOST, ledger), rating, amps)


@fact(
    "fuse",
    "holds-for",
    "time",
    "How long it surely carries a current: the fast edge of its band, in the hottest that it sits in.",
    takes=("current",),
    source="ISO 8820-3, -5 operating times (from memory), log-log between gates, I²t beyond",
)
def holds_for(fuse: t.Fuse, ledger: Ledger, amps: float) -> float:
    rating = ledger.get(fuse, "rating-hot")
    return opening.holds_for(gates_at(fuse, amps, rating, LEAST, ledger), rating, amps)


@fact(
    "fuse",
    "rating-hot",
    "current",
    "What its rating is worth in the hottest that it sits in; never more than it says.",
)
def rating_hot(fuse: t.Fuse, ledger: Ledger) -> float:
    return _rerated(fuse, ledger, hot=True)


@fact(
    "fuse",
    "rating-cold",
    "current",
    "What its rating is worth in the coldest that it sits in; never less than it says.",
)
def rating_cold(fuse: t.Fuse, ledger: Ledger) -> float:
    return _rerated(fuse, ledger, hot=False)


def _rerated(fuse: t.Fuse, ledger: Ledger, hot: bool) -> float:
    where = ledger.get(fuse, "place")
    if where is None:
        return fuse.rating.quantity.si
    celsius = ledger.known(where.hottest if hot else where.coolest, where.name).quantity.si
    cited = stock.temperature_factor(celsius)
    factor = min(1.0, cited.value) if hot else max(1.0, cited.value)
    ledger.note(
        f"{fuse.rating.text} × {factor:.3g} at {show(celsius, 'temperature')}",
        _marked(cited.source, cited.basis),
    )
    return fuse.rating.quantity.si * factor


@fact(
    "fuse",
    "parts-first",
    "yes-no",
    "Whether it has always opened before the next one towards the source could, up to the greatest fault.",
    source="ISO 8820-3, -5 operating times (from memory)",
)
def parts_first(fuse: t.Fuse, ledger: Ledger) -> bool:
    upper = ledger.get(fuse, "upstream")
    if upper is None:
        return True
    return opening.parts_first(
        (gates(fuse, ledger), ledger.known(fuse.rating, "rated").quantity.si),
        (gates(upper, ledger), ledger.known(upper.rating, "rated").quantity.si),
        ledger.get(fuse, "fault"),
    )


# ---------------------------------------------------------------- what it serves


@fact("fuse", "greatest-load", "current", "The most that it carries in any mode; 0 A where there is none.")
def greatest_load(fuse: t.Fuse, ledger: Ledger) -> float:
    modes = ledger.installation.modes
    return max(gather(lambda mode: ledger.get(fuse, "load-current", mode), modes), default=0.0)


@fact(
    "fuse",
    "main-feed",
    "yes-no",
    "Whether it stands first after a battery and feeds more than one load or sense wire.",
)
def main_feed(fuse: t.Fuse, ledger: Ledger) -> bool:
    run = fuse.run
    return run is not None and serves(fuse, ledger) is not None and is_main(run, ledger)


def is_main(run: t.Run, ledger: Ledger) -> bool:
    """Whether a run leaves a battery and feeds more than one load or sense wire."""
    if run.role == "signal":
        return False
    ends = [device_at(point_at(run, side)) for side in SIDES]
    if not any(isinstance(device, t.Battery) for device in ends):
        return False
    if any(isinstance(device, (t.Load, t.Sensor)) for device in ends):
        return False
    spreads = any(isinstance(device, (t.Hub, t.Busbar)) for device in ends)
    fed = list(consumers(run, ledger))
    return spreads or len(fed) != 1 or not isinstance(fed[0], t.Load)

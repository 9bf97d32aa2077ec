"""The smallest ratings that bear their loads, starts and what hangs behind: smaller fuses never need thicker cable."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from loomwright.analysis import opening
from loomwright.facts.gates import gates
from loomwright.facts.registry import Ledger, Missing
from loomwright.model import things as t
from loomwright.quantity import show
from loomwright.record import Record
from loomwright.sizing.needs import conceded
from loomwright.sizing.slots import Found
from loomwright.sizing.stock import FuseOption
from loomwright.stock import fuses as stock

CLOSE = 1e-9


class Call(Record):
    """What a fuse must be: the rule that asks it, of what, in words, and whether an option is it. `limit` is the limit, a ratio of
    `allowed`, that `least` goes with, or against where it is a share of the rating."""

    rule: str
    about: str
    words: str
    least: float
    starts: tuple[float, float] | None = None  # a start: amps and seconds that it must hold
    limit: str = ""
    allowed: float = 0.0
    of_rating: bool = False

    def relaxed(self, amps: float) -> float:
        """The limit's value at which a rating of so many A would do."""
        return self.allowed * (self.least / amps if self.of_rating else amps / self.least)

    def met(self, fuse: t.Fuse, option: FuseOption, ledger: Ledger) -> bool:
        if option.amps < self.least * (1 - CLOSE):
            return False
        if self.starts is None:
            return True
        amps, seconds = self.starts
        warm = float(ledger.get(fuse, "rating-hot")) / fuse.rating.quantity.si
        kind = stock.kind(option.kind)
        curve = tuple((gate.multiple, gate.min_s, gate.max_s) for gate in kind.gates)
        return opening.holds_for(curve, option.amps * warm, amps) >= seconds


def calls_of(fuse: t.Fuse, ledger: Ledger) -> list[Call]:
    """What loads, starts and hubs ask of a fuse. Raises Missing where a current is not known."""
    let_off = conceded(ledger)
    calls = [*_lasting(fuse, ledger), *_starts(fuse, ledger), *_hubs(fuse, ledger)]
    return [call for call in calls if (call.rule, call.about) not in let_off]


def _lasting(fuse: t.Fuse, ledger: Ledger) -> Iterator[Call]:
    share = ledger.limit("continuous-fuse-share")
    currents = [(ledger.get(fuse, "load-current", mode), mode.name) for mode in ledger.installation.modes]
    amps, mode = max(currents, default=(0.0, ""), key=lambda pair: pair[0])
    if amps > 0.0:
        words = f"{show(amps, 'current')} in mode {mode}, at most {show(share, 'ratio')} of the rating"
        yield Call(
            "fuse-below-load", fuse.name, words, amps / share, None, "continuous-fuse-share", share, True
        )
        return
    nominal = sum(ledger.get(load, "nominal-current") for load in ledger.get(fuse, "loads"))
    if nominal:
        words = f"{show(nominal, 'current')} of what no mode switches on"
        yield Call(
            "fuse-below-load", fuse.name, words, nominal / share, None, "continuous-fuse-share", share, True
        )


def _starts(fuse: t.Fuse, ledger: Ledger) -> Iterator[Call]:
    for load in ledger.get(fuse, "loads"):
        surge, seconds = ledger.get(load, "surge"), ledger.get(load, "surge-time")
        if surge is None or seconds is None or ledger.get(load, "fuse") is not fuse:
            continue
        for mode in ledger.installation.modes:
            if ledger.get(load, "runs", mode):
                amps = ledger.get(fuse, "load-current", mode) - ledger.get(load, "current", mode) + surge
                words = f"{load.name} starts with {show(amps, 'current')} for {show(seconds, 'time')}"
                yield Call("fuse-trips-on-surge", load.name, words, 0.0, (amps, seconds))


def _hubs(fuse: t.Fuse, ledger: Ledger) -> Iterator[Call]:
    """A hub passes no more than the one fuse of its feed."""
    for hub in ledger.installation.devices:
        if not isinstance(hub, t.Hub) or hub.maker:
            continue
        inlet = ledger.installation.terminals.get(f"{hub.name}.in")
        feeds = {end.run for end in ledger.installation.landing_on.get(inlet, ())} if inlet else set()
        guards = [ledger.get(run, "guard") for run in feeds if run.role == "feed"]
        if guards != [fuse]:
            continue
        passed = [(ledger.get(hub, "passes", mode), mode.name) for mode in ledger.installation.modes]
        amps, mode = max(passed, default=(0.0, ""), key=lambda pair: pair[0])
        yield Call(
            "feeder-overloaded", hub.name, f"{hub.name} passes {show(amps, 'current')} in mode {mode}", amps
        )


def chosen_ratings(
    options: Mapping[str, Sequence[FuseOption]],
    found: Found,
    ledger: Ledger,
    floors: Mapping[str, float],
    kinds: Mapping[str, str],
) -> tuple[dict[str, FuseOption], dict[str, Call], list[t.Unknown], dict[str, Call]]:
    """The least option of every slot, the call that sets it, what is not known, and the calls that nothing made answers.

    `floors` are ratings in A that findings have shown to be too small, `kinds` the kinds that open fuses don't go back behind.
    """
    options = {key: _from_kind(each, kinds.get(key)) for key, each in options.items()}
    taken: dict[str, FuseOption] = {}
    why: dict[str, Call] = {}
    short: dict[str, Call] = {}
    unknown: list[t.Unknown] = []
    calls: dict[str, list[tuple[t.Fuse, Call]]] = {}
    for key in options:
        calls[key] = []
        for fuse in found.fuses.get(key, ()):
            try:
                calls[key] += [(fuse, call) for call in calls_of(fuse, ledger)]
            except Missing as missing:
                unknown += missing.reasons
    for turn in range(len(options) + 2):
        before = dict(taken)
        short.clear()
        for key in options:
            behind = _behind(key, found, taken, ledger) if turn else ()
            now = [*calls[key], *behind]
            taken[key], reason = _least(key, options[key], now, found, ledger, floors.get(key, 0.0), short)
            if reason:
                why[key] = reason
        if turn and taken == before:
            break
    return taken, why, unknown, short


def _from_kind(options: Sequence[FuseOption], kind: str | None) -> Sequence[FuseOption]:
    first = next((index for index, option in enumerate(options) if option.kind == kind), 0)
    return options[first:]


def _least(
    key: str,
    options: Sequence[FuseOption],
    calls: Sequence[tuple[t.Fuse, Call]],
    found: Found,
    ledger: Ledger,
    floor: float,
    short: dict[str, Call],
) -> tuple[FuseOption, Call | None]:
    """The first option that answers all calls, and the call that the one below it leaves unanswered."""
    refused: Call | None = None
    for option in options:
        if option.amps <= floor or not _fits(option, options, found.fuses.get(key, ()), ledger):
            continue
        failed = next((call for fuse, call in calls if not call.met(fuse, option, ledger)), None)
        if failed is None:
            return option, refused
        refused = failed
    if refused:
        short[key] = refused
    return options[-1], refused


def _fits(option: FuseOption, options: Sequence[FuseOption], fuses: Sequence[t.Fuse], ledger: Ledger) -> bool:
    """Of an open fuse, whether its kind breaks the fault that it may meet and does the work."""
    if len({one.kind for one in options}) == 1:
        return True
    kind = stock.kind(option.kind)
    for fuse in fuses:
        try:
            if ledger.get(fuse, "fault") > kind.breaking_capacity_amps.value:
                return False
            plugged = option.kind in ("blade", "mini")
            if plugged and (
                ledger.get(fuse, "main-feed")
                or ledger.get(fuse, "greatest-load") > ledger.limit("blade-feeder-current")
            ):
                return False
        except Missing:
            continue
    return True


def _behind(
    key: str, found: Found, taken: Mapping[str, FuseOption], ledger: Ledger
) -> Iterator[tuple[t.Fuse, Call]]:
    """What the fuses behind one ask of it, so that a fault opens the nearest only."""
    let_off = conceded(ledger)
    for fuse, upper in _pairs(ledger):
        if found.of_fuse.get(upper) != key or ("no-selectivity", fuse.name) in let_off:
            continue
        own = found.of_fuse.get(fuse, "")
        option = taken.get(own)
        kind, amps = (option.kind, option.amps) if option else (fuse.kind, fuse.rating.quantity.si)
        here = taken.get(key)
        alike = kind == (here.kind if here else upper.kind)
        limit = "selectivity" if alike else "selectivity-mixed"
        ratio = ledger.limit(limit)
        words = f"{show(ratio, 'ratio')} of the {show(amps, 'current')} fuse of {fuse.name} behind it"
        yield upper, Call("no-selectivity", fuse.name, words, amps * ratio, None, limit, ratio)
        if not alike:
            yield upper, _parting(fuse, upper, kind, amps, words, ledger)


def _parting(fuse: t.Fuse, upper: t.Fuse, kind: str, amps: float, words: str, ledger: Ledger) -> Call:
    """The least rating of the upper fuse that always opens after a lower one of another kind."""
    lower = tuple((gate.multiple, gate.min_s, gate.max_s) for gate in stock.kind(kind).gates)
    own = gates(upper, ledger)
    fault = ledger.get(fuse, "fault")
    ratings = stock.kind(upper.kind).ratings
    least = next((r for r in ratings if opening.parts_first((lower, amps), (own, r), fault)), ratings[-1])
    return Call("no-selectivity", fuse.name, f"{words}, and slower", least)


def _pairs(ledger: Ledger) -> list[tuple[t.Fuse, t.Fuse]]:
    """Each fuse of the workshop's with the next one towards the source."""

    def made() -> list[tuple[t.Fuse, t.Fuse]]:
        pairs = []
        installation = ledger.installation
        inline = [
            f for each in installation.fuses_of.values() if not isinstance(each, t.Unknown) for f in each
        ]
        for fuse in [*inline, *(f for f in installation.fuse_of_way.values() if isinstance(f, t.Fuse))]:
            entry = ledger.entry(fuse, "upstream")
            if not entry.missing and entry.value is not None and not ledger.get(fuse, "maker"):
                pairs.append((fuse, entry.value))
        return pairs

    found: list[tuple[t.Fuse, t.Fuse]] = ledger.index("sizing pairs of fuses", made)
    return found

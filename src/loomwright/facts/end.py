"""Facts of a run's ends: what they sit on, and the lug or other fitting on them."""

from __future__ import annotations

from loomwright.facts.attribute import attributes, gather
from loomwright.facts.connection import is_unseen, not_seen
from loomwright.facts.registry import Ledger, Missing, fact
from loomwright.model.things import (
    Battery,
    Earthpoint,
    End,
    Fuse,
    Hub,
    Lug,
    Plug,
    Run,
    Terminal,
    Unknown,
)
from loomwright.stock import conductors, lugs, making
from loomwright.stock.fuses import kind

attributes(
    "end",
    ("run", "thing run", "The run that it ends.", lambda end: end.run),
    (
        "side",
        "word start|end|fuse-in|fuse-out",
        "Which end of the run it is, or which side of its fuse.",
        lambda end: end.side,
    ),
    (
        "point",
        "thing point",
        "What it is fastened to; none at a fuse.",
        lambda end: None if isinstance(end.point, Fuse) else end.point,
    ),
    (
        "terminal",
        "thing terminal",
        "The terminal that it sits on, if it is one.",
        lambda end: end.point if isinstance(end.point, Terminal) else None,
    ),
    (
        "device",
        "thing device",
        "The device that it is fastened to, if any.",
        lambda end: end.point.device if isinstance(end.point, Terminal) else None,
    ),
    (
        "on-battery",
        "yes-no",
        "Whether it sits on a battery.",
        lambda end: isinstance(end.point, Terminal) and isinstance(end.point.device, Battery),
    ),
    (
        "fitting",
        "word lug|ferrule|blade-terminal|plug|none",
        "What is on the end of the cable.",
        lambda end: end.fitting,
    ),
)


@fact("end", "stud", "word", "The thread of the stud that it sits on; none where there is no stud.")
def stud(end: End, ledger: Ledger) -> str | None:
    point = end.point
    if is_unseen(end):
        raise Missing(not_seen(end))  # what it sits on matters only once its lug is known
    if isinstance(point, Fuse):
        return kind(point.kind).stud
    if isinstance(point, Terminal) and isinstance(point.device, Hub):
        return _hub_stud(end, point, point.device, ledger)
    thread: str | None = ledger.known(point.thread) if isinstance(point, (Terminal, Earthpoint)) else None
    return thread


def _hub_stud(end: End, terminal: Terminal, hub: Hub, ledger: Ledger) -> str | None:
    """The stud that a hub's clauses give an end: `stud` is of in and neg, and each circuit's return has one of its own."""
    if terminal.label == "neg" and end.run.circuit and hub.negative_thread:
        return hub.negative_thread
    stated = terminal.label in hub.threads or not terminal.label.isdecimal()
    if not stated:
        raise Missing(Unknown(f"the stud of {terminal.name}", hub.place_of("stud")))
    return str(ledger.known(terminal.thread))


AUXILIARY = frozenset(("coil-pos", "coil-neg", "sense", "remote", "mains"))
"""Terminals for which a device's `stud` does not speak unless it names them: theirs are blades and clamps (common practice)."""


@fact(
    "end",
    "instead-of-lug",
    "text",
    "What is on it in place of a lug, where it sits on a stud by the spec; none where it has a lug, or bare strands.",
)
def instead_of_lug(end: End, ledger: Ledger) -> str | None:
    if end.made == "twisted" or end.fitting in ("lug", "none"):
        return None
    if isinstance(end.point, Fuse) and isinstance(end.fitting, Unknown):
        return None  # the holder's own tails, where nothing else is said
    if isinstance(end.point, Terminal) and isinstance(end.point.device, Plug) and end.fitting == "plug":
        return None  # a contact of that connector, whatever its other terminals have
    if not _is_given_stud(end.point) or stud(end, ledger) is None:
        return None
    fitting: str = ledger.known(end.fitting)
    return "plug contact" if fitting == "plug" else fitting.replace("-", " ")


def _is_given_stud(point: object) -> bool:
    """Whether the spec speaks of a stud there: its thread, or that nobody knows it. An earth point and a bolt-in fuse have one."""
    if not isinstance(point, Terminal):
        return isinstance(point, (Earthpoint, Fuse))
    device = point.device
    if point.label in device.threads:
        return True
    if point.label in AUXILIARY or (isinstance(device, Hub) and point.label.isdecimal()):
        return False
    return not device.clauses.keys().isdisjoint(("stud", "studs", "negatives"))


def barrel_of(end: End, ledger: Ledger) -> tuple[End, ...]:
    """The ends whose conductors are in one barrel with this one's (`end … with RUN`), in the order of the text, itself included."""
    shared: dict[End, tuple[End, ...]] = ledger.index("shared barrels", lambda: _shared_barrels(ledger))
    return shared.get(end, (end,))


def _shared_barrels(ledger: Ledger) -> dict[End, tuple[End, ...]]:
    """By end the ends in its barrel, where there are several."""
    barrels: dict[End, tuple[End, ...]] = {}
    for landing in ledger.installation.landing_on.values():
        for end in landing:
            if end.shares_with is None:
                continue
            mates = [each for each in landing if each.run.name == end.shares_with]
            group = {one for each in (end, *mates) for one in barrels.get(each, (each,))}
            together = tuple(each for each in landing if each in group)
            barrels.update(dict.fromkeys(together, together))
    return barrels


@fact("end", "conductors", "count", "How many conductors are in its barrel.")
def conductors_in_barrel(end: End, ledger: Ledger) -> int:
    barrel = barrel_of(end, ledger)
    if is_unseen(end) and ledger.get(end, "others-on-stud") >= len(barrel):
        raise Missing(not_seen(end))  # it may share a lug with one of the others
    return len(barrel)


@fact(
    "end",
    "leads-barrel",
    "yes-no",
    "Whether its conductor is the only one in its barrel, or the first of them in the spec.",
)
def leads_barrel(end: End, ledger: Ledger) -> bool:
    return barrel_of(end, ledger)[0] is end


@fact("end", "copper", "area", "The copper in its barrel, of all conductors together.")
def copper(end: End, ledger: Ledger) -> float:
    if is_unseen(end):
        raise Missing(not_seen(end))
    return float(sum(_areas(end, ledger)))


@fact("end", "barrel-ratio", "ratio", "The thickest conductor in its barrel by the thinnest.")
def barrel_ratio(end: End, ledger: Ledger) -> float:
    if is_unseen(end):
        raise Missing(not_seen(end))
    areas = _areas(end, ledger)
    return float(max(areas) / min(areas))


def _areas(end: End, ledger: Ledger) -> list[float]:
    return gather(lambda each: ledger.get(each.run, "area"), barrel_of(end, ledger))


@fact("end", "others-on-stud", "count", "How many other ends sit on the same terminal or earth point.")
def others_on_stud(end: End, ledger: Ledger) -> int:
    return 0 if isinstance(end.point, Fuse) else len(ledger.installation.landing_on.get(end.point, ())) - 1


@fact(
    "end",
    "held",
    "word tight|loose",
    "Whether it is tight, as written; where nothing is, none of what nothing fastens (twisted strands, no fitting).",
)
def held(end: End, ledger: Ledger) -> str | None:
    if isinstance(end.held, str):
        return end.held
    if end.made == "twisted" or end.fitting == "none":
        return None
    if is_unseen(end):
        raise Missing(not_seen(end))
    how: str = ledger.known(end.held)
    return how


# ---------------------------------------------------------------- the lug


@fact("end", "lug", "thing lug", "The lug on it; none where it has another fitting, or strands only.")
def lug(end: End, ledger: Ledger) -> Lug | None:
    if isinstance(end.fitting, str) and end.fitting != "lug":
        return None
    if isinstance(end.fitting, Unknown) and (end.made == "twisted" or isinstance(end.point, Fuse)):
        return None  # strands only, or the holder's own tails, where nothing else is said
    if is_unseen(end):
        raise Missing(not_seen(end))
    ledger.known(end.fitting)
    return Lug(end, end.span)


attributes(
    "lug",
    ("end", "thing end", "The end that it is on.", lambda lug: lug.end),
    ("thread", "word", "The stud that its hole is made for.", lambda lug: lug.end.lug_thread),
    ("size", "text", "The cable that its barrel is marked for.", lambda lug: lug.end.lug_size),
)


@fact("lug", "hole", "length", "The diameter of its hole.", source="DIN 46235")
def hole(lug: Lug, ledger: Ledger) -> float | None:
    found = lugs.hole_mm(ledger.known(lug.end.lug_thread))
    if found is None:
        return None
    ledger.note(f"hole {found.value:g} mm", found.source)
    return found.value / 1000.0


def _barrel(lug: Lug, ledger: Ledger) -> tuple[float, float]:
    size = ledger.known(lug.end.lug_size)
    marked = conductors.conductor(size.kind, size.number)
    barrel = lugs.barrel_range(marked)
    ledger.note(f"a {marked.label} barrel takes {barrel.low:g} to {barrel.high:.3g} mm²", barrel.source)
    return barrel.low * 1e-6, barrel.high * 1e-6


@fact(
    "lug",
    "takes-from",
    "area",
    "The least copper that its barrel holds.",
    source="DIN 46234, and common practice",
)
def takes_from(lug: Lug, ledger: Ledger) -> float:
    return _barrel(lug, ledger)[0]


@fact(
    "lug",
    "takes-to",
    "area",
    "The most copper that its barrel takes.",
    source="DIN 46234, and common practice",
)
def takes_to(lug: Lug, ledger: Ledger) -> float:
    return _barrel(lug, ledger)[1]


@fact(
    "lug",
    "made-for",
    "words",
    "The threads that a lug for that cable is made for.",
    source="DIN 46234 and DIN 46235",
)
def made_for(lug: Lug, ledger: Ledger) -> tuple[str, ...] | None:
    size = ledger.known(lug.end.lug_size)
    found = lugs.studs_made(conductors.conductor(size.kind, size.number))
    if found is None:
        return None
    ledger.note(f"made for {', '.join(found.value)}", found.source)
    return found.value


@fact(
    "lug",
    "made",
    "yes-no",
    "Whether a lug of that barrel and hole is made.",
    source="DIN 46234 and DIN 46235",
)
def is_made(lug: Lug, ledger: Ledger) -> bool:
    threads = ledger.get(lug, "made-for")
    return threads is None or ledger.known(lug.end.lug_thread) in threads


@fact("end", "blade-terminal", "yes-no", "Whether a blade terminal is on it.")
def has_blade_terminal(end: End, ledger: Ledger) -> bool:
    if end.made == "twisted" or (isinstance(end.point, Fuse) and isinstance(end.fitting, Unknown)):
        return False
    if is_unseen(end):
        raise Missing(not_seen(end))
    return bool(ledger.known(end.fitting) == "blade-terminal")


def _blade_terminal(end: End, ledger: Ledger) -> tuple[float, float] | None:
    if not ledger.get(end, "blade-terminal"):
        return None
    made = making.blade_terminal_range()
    ledger.note(f"6.3 mm blade terminals are made for {made.low:g} to {made.high:g} mm²", made.source)
    return made.low * 1e-6, made.high * 1e-6


@fact(
    "end",
    "blade-takes-from",
    "area",
    "The least copper that blade terminals are made for; none where it has no such terminal.",
    source="DIN 46237 (from memory)",
)
def blade_takes_from(end: End, ledger: Ledger) -> float | None:
    made = _blade_terminal(end, ledger)
    return made[0] if made else None


@fact(
    "end",
    "blade-takes-to",
    "area",
    "The most copper that blade terminals are made for; none where it has no such terminal.",
    source="DIN 46237 (from memory)",
)
def blade_takes_to(end: End, ledger: Ledger) -> float | None:
    made = _blade_terminal(end, ledger)
    return made[1] if made else None


@fact(
    "end",
    "lug-to-fit",
    "text",
    "The mark of the lug that fits the copper in its barrel: the cable's own size, or else the next area up; none where none fits.",
)
def lug_to_fit(end: End, ledger: Ledger) -> str | None:
    copper_mm2 = ledger.get(end, "copper") * 1e6
    own = ledger.known(end.run.cable).size
    mark = lugs.to_fit(conductors.conductor(own.kind, own.number), copper_mm2)
    return mark.label if mark else None


@fact(
    "end",
    "lug-clause",
    "text",
    "The lug that fits the copper in its barrel and its stud, as a spec writes it.",
)
def lug_clause(end: End, ledger: Ledger) -> str | None:
    mark, thread = ledger.get(end, "lug-to-fit"), stud(end, ledger)
    return f"lug {mark.replace('mm²', 'mm2')} {thread}" if mark and thread else None


@fact("run", "ends", "things end", "Where it is terminated, from its start; the sides of a fuse between.")
def ends(run: Run, ledger: Ledger) -> tuple[End, ...]:
    return ledger.installation.ends_of[run]


@fact("run", "joints", "things joint", "The joins in mid-run.")
def joints(run: Run, ledger: Ledger) -> object:
    return ledger.known(ledger.installation.joints_of[run])

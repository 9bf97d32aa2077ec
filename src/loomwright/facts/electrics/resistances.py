"""What each piece of a current's way resists: copper by its temperature, joints and contacts by the limits."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from itertools import pairwise

from loomwright.facts.registry import Ledger, Missing
from loomwright.model import things as t
from loomwright.record import Record
from loomwright.stock import conductors, fuses
from loomwright.stock.cited import Cited
from loomwright.syntax.tree import Measure

END_LIMITS = {
    "lug": "contact-lug",
    "ferrule": "contact-ferrule",
    "blade-terminal": "contact-blade",
    "plug": "contact-plug",
}
CONTACT_LIMITS = {"isolator": "contact-isolator", "switch": "contact-switch", "shunt": "contact-shunt"}

HOLDER = "contact-holder"


class Segment(Record):
    """A part of a run in ohms: `copper` at 20 °C, `contacts` (lugs, joints, holders) and `fuse` whatever the temperature.

    A run is one cable segment, or with fuses cable, fuse, cable, ….
    """

    copper: float
    contacts: float
    fuse: float = 0.0
    of: t.Fuse | None = None


def limit(ledger: Ledger, name: str) -> float:
    """A limit's value for the shared network, which no single fact's derivation owns."""
    return float(ledger.limits[name].value)


def run_length(run: t.Run, ledger: Ledger) -> float:
    """Metres from end to end. Raises Missing where the way is not known."""
    stretches = ledger.known(ledger.installation.stretches_of[run])
    return float(stretches[-1].stop_m) if stretches else 0.0


def ohm_per_metre(run: t.Run, ledger: Ledger) -> Cited:
    """Resistance of the run's conductor at 20 °C, in ohm per metre. Raises Missing for an unknown cable."""
    cable = ledger.known(run.cable)
    size = conductors.conductor(cable.size.kind, cable.size.number)
    return conductors.resistance_per_metre(size, tinned=cable.tinned, metal=metal_of(run))


def metal_of(run: t.Run) -> str:
    """The metal that its figures are reckoned with: copper where nobody has said. Raises Missing where `unknown` is written."""
    if run.conductor.doubted:
        raise Missing(run.conductor.doubted)
    return run.conductor.metal if isinstance(run.conductor.metal, str) else "copper"


def segments(run: t.Run, ledger: Ledger) -> tuple[Segment, ...]:
    """The run in series from its start. Raises Missing where cable or length is not known.

    Whether there is a fuse or a joint that nobody has seen changes the resistance by a milliohm or so: where fuses or
    joints are unknown, none is counted.
    """
    made: tuple[Segment, ...] = ledger.index(("segments", run), lambda: _segments(run, ledger))
    return made


def _segments(run: t.Run, ledger: Ledger) -> tuple[Segment, ...]:
    per_metre, length = ohm_per_metre(run, ledger).value, run_length(run, ledger)
    installation = ledger.installation
    found = installation.fuses_of[run]
    fitted = () if isinstance(found, t.Unknown) else found
    cuts = [0.0, *[f.from_start_m if isinstance(f.from_start_m, float) else 0.0 for f in fitted], length]
    ends = [end_ohms(end, ledger) for end in installation.ends_of[run]]
    made: list[Segment] = []
    for k, (begin, stop) in enumerate(pairwise(cuts)):
        contacts = sum(ends[2 * k : 2 * k + 2]) + sum(
            _joints_between(run, ledger, begin, stop, stop == length)
        )
        made.append(Segment(per_metre * max(0.0, stop - begin), contacts))
        if k < len(fitted):
            made.append(fuse_segment(fitted[k], ledger))
    return tuple(made)


def fuse_segment(fuse: t.Fuse, ledger: Ledger) -> Segment:
    """The fuse itself, and its holder's two contacts where it isn't bolted in."""
    kind = fuses.kind(fuse.kind)
    amps = fuse.rating.quantity.si
    holder = 0.0 if kind.bolt_in else limit(ledger, HOLDER)
    return Segment(0.0, holder, fuses.typical_ohm(kind, amps).value if amps > 0 else 0.0, fuse)


def end_ohms(end: t.End, ledger: Ledger) -> float:
    """The joint from a conductor to what it is fastened to."""
    return sum(limit(ledger, name) for name in _end_limits(end))


def _end_limits(end: t.End) -> Iterator[str]:
    fitting = end.fitting if isinstance(end.fitting, str) else ""
    yield END_LIMITS.get(fitting, "contact-unstated")
    if end.made == "twisted":
        yield "contact-twisted"
    if end.held == "loose":
        yield "contact-loose"


def _joint_limit(joint: t.Joint) -> str:
    return "contact-twisted" if joint.made == "twisted" else "contact-joint"


def _joints_between(run: t.Run, ledger: Ledger, begin: float, stop: float, last: bool) -> Iterator[float]:
    joints = ledger.installation.joints_of[run]
    for joint in () if isinstance(joints, t.Unknown) else joints:
        at = joint.at.quantity.si
        if begin <= at < stop or (last and at >= stop):
            yield limit(ledger, _joint_limit(joint))


def contacts(run: t.Run, ledger: Ledger) -> Counter[str]:
    """How often each contact limit is in the run: at its ends, its joints, its fuse holders."""
    installation = ledger.installation
    joints, fitted = installation.joints_of[run], installation.fuses_of[run]
    names = [name for end in installation.ends_of[run] for name in _end_limits(end)]
    names += [_joint_limit(joint) for joint in (() if isinstance(joints, t.Unknown) else joints)]
    for fuse in () if isinstance(fitted, t.Unknown) else fitted:
        names += () if fuses.kind(fuse.kind).bolt_in else (HOLDER,)
    return Counter(names)


def stated(value: Measure | t.Unknown | None, ledger: Ledger, otherwise: str) -> float:
    """What the spec says, or the limit that stands in where it says nothing."""
    return value.quantity.si if isinstance(value, Measure) else limit(ledger, otherwise)


def contact_ohms(device: t.Contact | t.Relay | t.Plug, ledger: Ledger) -> float:
    """A closed contact between its two studs."""
    if isinstance(device, t.Contact):
        otherwise = CONTACT_LIMITS[device.kind]
    else:
        otherwise = "contact-relay" if isinstance(device, t.Relay) else "contact-plug"
    return stated(device.resistance, ledger, otherwise) / device.count


def way_ohms(way: t.Way, ledger: Ledger) -> tuple[float, float]:
    """From a hub's bar to the way's terminal: contacts, and the fuse."""
    contacts = limit(ledger, "contact-way")
    if way.control:
        contacts += limit(ledger, "contact-switch")
    fuse = ledger.installation.fuse_of_way[way]
    if fuse is None or isinstance(fuse, t.Unknown):
        return contacts, 0.0
    segment = fuse_segment(fuse, ledger)
    return contacts + segment.contacts, segment.fuse


def earth_face_ohms(earthpoint: t.Earthpoint, ledger: Ledger) -> float:
    """From an earth stud into the metal, by the state of the face."""
    covered = earthpoint.surface in ("painted", "anodised")
    return limit(ledger, "contact-earth-covered" if covered else "contact-earth-face")


def unknowns(run: t.Run, ledger: Ledger) -> tuple[t.Unknown, ...]:
    """Why a run's resistance is not known; empty where it is."""
    try:
        segments(run, ledger)
    except Missing as missing:
        return missing.reasons
    return ()

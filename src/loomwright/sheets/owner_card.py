"""The owner's card: what each switch does, fuses to carry, what not to do, whom to call."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from loomwright.model import things as t
from loomwright.sheets.cautions import standing
from loomwright.sheets.document import (
    Blank,
    Block,
    Column,
    Facts,
    Heading,
    Paragraph,
    Row,
    Sheet,
    Swatch,
    Table,
)
from loomwright.sheets.job import Job
from loomwright.sheets.words import counted, describe, known, listed, place_name, said
from loomwright.stock import fuses as stock

SPARE_SHARE = 2  # one spare for every two of a rating in use, at least one


def sheet(job: Job) -> Sheet | None:
    """The card of a system that is to be used; none for what came in."""
    if job.as_found:
        return None
    blocks = (*_switches(job), *_fuses(job), *_not_to_do(job), *_signs(job), *_call(job))
    return Sheet("owner-card", "Owner's card", "owner", blocks)


def _switches(job: Job) -> Iterator[Block]:
    yield Heading("What each switch does")
    rows = [*_contacts(job), *_ways(job)]
    columns = (Column("Switch"), Column("Where"), Column("What it does"))
    yield Table("Switches and isolators", columns, tuple(rows), empty="There is nothing to switch.")
    rows = [Row((one.name, place_name(one.place), _automatic(one, job))) for one in _automata(job)]
    if rows:
        yield Table("What works by itself", (Column("Device"), Column("Where"), Column("When")), tuple(rows))


def _contacts(job: Job) -> Iterator[Row]:
    for device in job.installation.devices:
        if isinstance(device, t.Contact) and device.kind in ("isolator", "switch"):
            fed = _behind(job, device)
            does = f"off: parts {listed(fed)} from the battery" if fed else "parts its two sides"
            yield Row((f"{device.name} ({device.kind})", place_name(device.place), does))


def _behind(job: Job, contact: t.Contact) -> list[str]:
    """The loads and inverters that live on what passes the contact."""
    found: dict[str, None] = {}
    for run in job.installation.runs:
        if run.role == "feed" and isinstance(run.start, t.Terminal) and run.start.device is contact:
            found |= dict.fromkeys(load.name for load in known(job.ledger, run, "loads") or ())
    return list(found)


def _ways(job: Job) -> Iterator[Row]:
    for hub, ways in job.installation.ways_of.items():
        for way in ways:
            feeds = _fed_by(job, way)
            if way.control and feeds:
                does = "turns down" if way.control == "dimmed" else "switches"
                yield Row((f"{hub.name}, way {way.number}", place_name(hub.place), f"{does} {listed(feeds)}"))


def _fed_by(job: Job, way: t.Way) -> list[str]:
    found: dict[str, None] = {}
    for run in known(job.ledger, way, "runs") or ():
        found |= dict.fromkeys(load.name for load in known(job.ledger, run, "loads") or ())
    return list(found)


def _automata(job: Job) -> list[t.Charger | t.Relay]:
    return [device for device in job.installation.devices if isinstance(device, (t.Charger, t.Relay))]


def _automatic(device: t.Charger | t.Relay, job: Job) -> str:
    if isinstance(device, t.Relay):
        if _given(device.closes) and _given(device.opens):
            return f"joins its two sides from {said(device.closes)}, parts them below {said(device.opens)}"
        return "joins its two sides while its coil is live"
    parts = [f"charges with up to {said(device.output_amps)}"] if _given(device.output_amps) else ["charges"]
    if _given(device.starts):
        parts.append(f"starts when its input reaches {said(device.starts)}")
    if _given(device.stops):
        parts.append(f"stops below {said(device.stops)}")
    if known(job.ledger, device, "panels"):
        parts.append("takes what the panels give in daylight")
    return "; ".join(parts)


def _given(value: object) -> bool:
    return value is not None and not isinstance(value, t.Unknown)


def _fuses(job: Job) -> Iterator[Block]:
    yield Heading("Fuses to carry")
    yield Paragraph(
        "Replace a fuse only by one of the same rating and kind. A blown fuse means a fault: find it first."
    )
    used = Counter((fuse.kind, fuse.rating.quantity.si) for fuse in fuses_of(job))
    order = {kind.name: place for place, kind in enumerate(stock.kinds())}
    rows = [
        Row(
            (
                stock.kind(kind).title,
                f"{amps:g}",
                _colour(kind, amps),
                str(count),
                str(-(-count // SPARE_SHARE)),
            )
        )
        for (kind, amps), count in sorted(used.items(), key=lambda item: (order[item[0][0]], item[0][1]))
        if not stock.kind(kind).resets
    ]
    columns = (
        Column("Kind"),
        Column("Rating", "A", number=True),
        Column("Colour"),
        Column("In use", number=True),
        Column("Carry", number=True),
    )
    yield Table("Spare fuses", columns, tuple(rows), empty="No fuses: breakers only.")
    where = {place_name(fuse.place) for fuse in fuses_of(job) if fuse.place} | {
        place_name(fuse.way.hub.place) for fuse in fuses_of(job) if fuse.way
    }
    yield Paragraph(f"The fuses sit in {listed(sorted(where))}; the chart in the lid tells which is which.")


def fuses_of(job: Job) -> list[t.Fuse]:
    """The fuses and breakers that are not the vehicle maker's, those in runs first."""
    installation = job.installation
    runs = [run for run in installation.runs if not run.maker]
    inside = [fuse for run in runs for fuse in _known_fuses(installation, run)]
    ways = [
        fuse
        for way, fuse in installation.fuse_of_way.items()
        if isinstance(fuse, t.Fuse) and not way.hub.maker
    ]
    return inside + ways


def _known_fuses(installation: t.Installation, run: t.Run) -> tuple[t.Fuse, ...]:
    fuses = installation.fuses_of[run]
    return () if isinstance(fuses, t.Unknown) else fuses


def _colour(kind: str, amps: float) -> str | Swatch:
    colour = stock.colour(stock.kind(kind), amps)
    return Swatch(" ".join(colour.value)) if colour else "by its print"


def _not_to_do(job: Job) -> Iterator[Block]:
    yield Heading("What not to do")
    yield from standing(job, "owner.not")


def _signs(job: Job) -> Iterator[Block]:
    batteries = [device for device in job.installation.devices if isinstance(device, t.Battery)]
    rows = tuple(Row((one.name, describe(one), place_name(one.place))) for one in batteries)
    yield Heading("Where the batteries are")
    yield Table(
        f"{counted(len(rows), 'battery', 'batteries')}",
        (Column("Name"), Column("What"), Column("Where")),
        rows,
    )


def _call(_job: Job) -> Iterator[Block]:
    yield Heading("Whom to call")
    yield Facts(
        (
            ("Workshop", Blank("name and telephone")),
            ("Licensed electrician", Blank("name and telephone")),
            ("Roadside help", Blank("telephone")),
            ("Fire, ambulance", Blank("number where you are")),
            ("Check the tightness again by", Blank("date, or after 1 000 km")),
        )
    )

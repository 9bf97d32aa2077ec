"""The strip-out and rework list: what comes out, what stays, what is altered, what is new, against the as-found spec."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from loomwright.model import things as t
from loomwright.record import Record
from loomwright.review.changes import Changed, changes_of
from loomwright.review.items import Key, say
from loomwright.review.reading import data_of, key_of
from loomwright.review.rework import rework as planned
from loomwright.sheets.document import Block, Column, Heading, Note, Paragraph, Row, Sheet, Table, Tick
from loomwright.sheets.job import Job
from loomwright.sheets.terms import size_words
from loomwright.sheets.words import describe, listed, of_vehicle, place_name, point_name, said

Part = t.Device | t.Earthpoint | t.Run


class Altered(Record):
    """A part that stays in name: `changes` say what is not as it was."""

    old: Part
    new: Part
    changes: tuple[str, ...]


class Rework(Record):
    """Parts of the old system that come out, of both that stay as they are, that are altered, and of the new one only."""

    remove: tuple[Part, ...]
    keep: tuple[Part, ...]
    alter: tuple[Altered, ...]
    new: tuple[Part, ...]


def rework(old: t.Installation, new: t.Installation) -> Rework:
    """What becomes of every part, by what the comparison of the two specs says of it: a part under the same name is taken out and
    fitted anew where it is another thing to buy, another device or another piece of cable. A circuit's two legs are one part; one
    that only has another name is altered, for its label is."""
    before, after = _parts(old), _parts(new)
    changes = changes_of(data_of(old), data_of(new))
    plan = planned(changes)
    gone = {(item.kind, item.name) for item in (*plan.remove, *(each.old for each in plan.replace))}
    come = {(item.kind, item.name) for item in (*plan.new, *(each.new for each in plan.replace))}
    relabelled = [each for each in plan.paper if each.renamed]
    altered = {
        (each.kind, each.name): each for each in (*plan.alter, *relabelled) if (each.kind, each.name) in after
    }
    return Rework(
        remove=tuple(part for key, part in before.items() if key in gone),
        keep=tuple(part for key, part in after.items() if key not in come and key not in altered),
        alter=tuple(
            Altered(before[each.kind, each.old.name], part, _changes(each))
            for key, part in after.items()
            if (each := altered.get(key))
        ),
        new=tuple(part for key, part in after.items() if key in come),
    )


def change_of(job: Job) -> Rework | None:
    """What becomes of every part of the system that was found; None where there is none to compare with."""
    if job.predecessor is None:
        return None
    old = job.predecessor.installation
    found: Rework = job.ledger.index("rework", lambda: rework(old, job.installation))
    return found


def kept_names(job: Job) -> frozenset[str]:
    """The parts that stay as they were found: nothing is bought, cut or fitted for them."""
    change = change_of(job)
    return frozenset(part.name for part in change.keep) if change else frozenset()


def is_new(device: t.Device, job: Job) -> bool:
    """Whether a job brings a device: the vehicle does not, and what was found there and is only altered is not bought again."""
    change = change_of(job)
    old = () if change is None else (*change.keep, *(each.new for each in change.alter))
    return not (job.as_found or of_vehicle(device) or device in old)


def _parts(installation: t.Installation) -> dict[Key, Part]:
    found: dict[Key, Part] = {}
    parts: list[Part] = [*installation.devices, *installation.earthpoints, *installation.runs]
    for part in parts:
        found.setdefault(key_of(part), part)
    return found


def _changes(changed: Changed) -> tuple[str, ...]:
    """What is not as it was, in words."""
    name = (f"name: {changed.old.name} becomes {changed.name}",) if changed.renamed else ()
    return (*name, *(f"{each.field}: {say(each.old)} becomes {say(each.new)}" for each in changed.changes))


def _kind(part: Part) -> str:
    kind = key_of(part)[0]
    return "earth point" if kind == "earthpoint" else kind


def _rows(value: object) -> tuple[Any, ...]:
    return value if isinstance(value, tuple) else ()


def _cable(run: t.Run) -> str:
    if isinstance(run.cable, t.Unknown):
        return "cable not known"
    return " ".join(filter(None, (size_words(run.cable), run.cable.colour)))


# ---------------------------------------------------------------- the sheet


def sheet(job: Job) -> Sheet | None:
    """The list for a spec that replaces one; none where there is nothing to compare with."""
    if job.as_found or (job.predecessor is None and not job.predecessor_trouble):
        return None
    if job.predecessor is None:
        blocks: tuple[Block, ...] = (
            Note(f"{job.predecessor_trouble}. List by hand what is to be taken out."),
        )
    else:
        blocks = tuple(_lists(job, job.predecessor.installation))
    return Sheet("rework", "Strip-out and rework list", "fitter", blocks)


def _lists(job: Job, old: t.Installation) -> Iterator[Block]:
    change = rework(old, job.installation)
    yield Paragraph(
        f"Against {old.fitout.name} ({old.fitout.span.source.path.rsplit('/', 1)[-1]}). Isolate and prove dead before"
        " anything is undone: steps 1 and following of the work order."
    )
    yield from _listed("Take out", "Parts that come out", "remove", change.remove, old, "Nothing comes out.")
    yield from _alterations(change.alter)
    yield from _listed(
        "Leave as it is", "Parts that stay", "keep", change.keep, job.installation, "Nothing stays."
    )
    yield from _listed("New", "Parts that are new", "new", change.new, job.installation, "Nothing is new.")


def _listed(
    title: str, caption: str, key: str, parts: Iterable[Part], of: t.Installation, empty: str
) -> Iterator[Block]:
    rows = tuple(
        Row(
            (
                Tick(f"rework-{key}-{_kind(part)}-{part.name}"),
                part.name,
                _kind(part),
                what(part, of),
                where(part, of),
            ),
            run=part.name if isinstance(part, t.Run) else "",
        )
        for part in parts
    )
    columns = (Column("Done", narrow=True), Column("Name"), Column("Kind"), Column("What"), Column("Where"))
    yield Heading(title)
    yield Table(caption, columns, rows, empty)


def _alterations(alter: Iterable[Altered]) -> Iterator[Block]:
    rows = tuple(
        Row(
            (
                Tick(f"rework-alter-{_kind(one.new)}-{one.new.name}"),
                one.new.name,
                _kind(one.new),
                ". ".join(one.changes),
            )
        )
        for one in alter
    )
    columns = (Column("Done", narrow=True), Column("Name"), Column("Kind"), Column("What changes"))
    yield Heading("Alter")
    yield Table("Parts that are altered", columns, rows, "Nothing is altered.")


def what(part: Part, of: t.Installation) -> str:
    """A part in a few words: a device by its figures, a run by its cable and ends."""
    if isinstance(part, t.Run):
        stretches = of.stretches_of[part]
        long = f", {stretches[-1].stop_m:.2g} m" if isinstance(stretches, tuple) and stretches else ""
        return f"{_cable(part)}{long}, {point_name(part.start)} to {point_name(part.end)}"
    return (
        f"{said(part.thread)} stud on {part.structure.name}"
        if isinstance(part, t.Earthpoint)
        else describe(part)
    )


def where(part: Part, of: t.Installation) -> str:
    """The place of a device, or all places that a run passes."""
    if not isinstance(part, t.Run):
        return place_name(part.place)
    stretches: Mapping[t.Run, object] = of.stretches_of
    rows = _rows(stretches[part])
    return listed(dict.fromkeys(place_name(each.place) for each in rows)) if rows else "path not known"

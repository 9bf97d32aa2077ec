"""The strip-out and rework list: what comes out, what stays, what is altered, what is new, against the as-found spec."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from loomwright.model import things as t
from loomwright.sheets.document import Block, Column, Heading, Note, Paragraph, Row, Sheet, Table, Tick
from loomwright.sheets.job import Job
from loomwright.sheets.terms import size_words
from loomwright.sheets.words import describe, listed, place_name, point_name, said
from loomwright.syntax.tree import Size

Part = t.Device | t.Earthpoint | t.Run


@dataclass(frozen=True, slots=True)
class Altered:
    """A part that stays in name: `changes` say what is not as it was."""

    old: Part
    new: Part
    changes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Rework:
    """Parts of the old system that come out, of both that stay as they are, that are altered, and of the new one only."""

    remove: tuple[Part, ...]
    keep: tuple[Part, ...]
    alter: tuple[Altered, ...]
    new: tuple[Part, ...]


def rework(old: t.Installation, new: t.Installation) -> Rework:
    """What becomes of every part. Parts of one kind and name are the same part unless it is another thing to buy: another
    device, or another piece of cable; then the old one comes out and the new one goes in. A circuit's two legs are one part.
    """
    before, after = _parts(old), _parts(new)
    stays = {key for key, part in before.items() if key in after and _same(part, old, after[key], new)}
    changes = [
        (before[key], after[key], _changes(before[key], old, after[key], new))
        for key in before
        if key in stays
    ]
    return Rework(
        remove=tuple(part for key, part in before.items() if key not in stays),
        keep=tuple(now for _, now, different in changes if not different),
        alter=tuple(Altered(was, now, different) for was, now, different in changes if different),
        new=tuple(part for key, part in after.items() if key not in stays),
    )


def _same(was: Part, old: t.Installation, now: Part, new: t.Installation) -> bool:
    """Whether it is the same piece: the maker's own wiring always is."""
    if isinstance(was, (t.Run, t.Device)) and isinstance(now, (t.Run, t.Device)) and was.maker and now.maker:
        return True
    return _identity(was, old) == _identity(now, new)


def _parts(installation: t.Installation) -> dict[tuple[str, str], Part]:
    found: dict[tuple[str, str], Part] = {}
    parts: list[Part] = [*installation.devices, *installation.earthpoints, *installation.runs]
    for part in parts:
        found.setdefault((_kind(part), part.name), part)
    return found


def _kind(part: Part) -> str:
    if isinstance(part, t.Run):
        return "circuit" if part.circuit else part.role
    return "earth point" if isinstance(part, t.Earthpoint) else part.kind


def _identity(part: Part, of: t.Installation) -> tuple[str, ...]:
    """What makes it this piece and no other: of a cable its size, path and ends' points, of a device what it is."""
    if isinstance(part, t.Run):
        path = [f"{each.place.name} {said(each.length)}" for each in _rows(of.stretches_of[part])]
        return _cable(part), point_name(part.start), point_name(part.end), *path
    if isinstance(part, t.Earthpoint):
        return part.structure.name, part.place.name, said(part.thread)
    return describe(part), part.part or ""


def _changes(was: Part, old: t.Installation, now: Part, new: t.Installation) -> tuple[str, ...]:
    """What is not as it was, in words; nothing is said of what the maker fitted."""
    if isinstance(was, (t.Run, t.Device)) and was.maker:
        return ()
    before, after = dict(_features(was, old)), dict(_features(now, new))
    return tuple(
        f"{label}: {before.get(label, 'none')} becomes {after.get(label, 'none')}"
        for label in {**before, **after}
        if before.get(label) != after.get(label)
    )


def _features(part: Part, of: t.Installation) -> list[tuple[str, str]]:
    """What can be altered on a part that stays, as labelled words."""
    if isinstance(part, t.Run):
        fuses = of.fuses_of[part]
        ends = [_end(end) for leg in _legs(part, of) for end in of.ends_of[leg]]
        return [
            ("fuse", ", ".join(map(_fuse, _rows(fuses))) or ("none" if fuses == () else said(fuses))),
            *((f"end {number}", end) for number, end in enumerate(ends, 1)),
        ]
    if isinstance(part, t.Earthpoint):
        return [("face", said(part.surface)), ("sealed", "yes" if part.sealed else "no")]
    ways = of.ways_of.get(part, ()) if isinstance(part, t.Hub) else ()
    ways_said = "; ".join(f"{way.number} {_fuse(of.fuse_of_way[way])}" for way in ways)
    return [("place", place_name(part.place)), ("ways", ways_said)]


def _end(end: t.End) -> str:
    lug = f" {end.lug_size.text} {said(end.lug_thread)}" if isinstance(end.lug_size, Size) else ""
    return f"{point_name(end.point)} {said(end.fitting)}{lug}, {said(end.made)}, {said(end.cover)}"


def _legs(run: t.Run, of: t.Installation) -> tuple[t.Run, ...]:
    return of.legs_of[run.circuit] if run.circuit else (run,)


def _rows(value: object) -> tuple[Any, ...]:
    return value if isinstance(value, tuple) else ()


def _cable(run: t.Run) -> str:
    if isinstance(run.cable, t.Unknown):
        return "cable not known"
    return " ".join(filter(None, (size_words(run.cable), run.cable.colour)))


def _fuse(fuse: t.Fuse | t.Unknown | None) -> str:
    return f"{fuse.kind} {said(fuse.rating)}" if isinstance(fuse, t.Fuse) else said(fuse)


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
    yield from _listed("Take out", "remove", change.remove, old, "Nothing comes out.")
    yield from _alterations(change.alter)
    yield from _listed("Leave as it is", "keep", change.keep, job.installation, "Nothing stays.")
    yield from _listed("New", "new", change.new, job.installation, "Nothing is new.")


def _listed(title: str, key: str, parts: Iterable[Part], of: t.Installation, empty: str) -> Iterator[Block]:
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
    yield Table(title, columns, rows, empty)


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
    yield Table("Alter", columns, rows, "Nothing is altered.")


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

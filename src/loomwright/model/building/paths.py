"""What lies along a run: its stretches, fuses and joints."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from loomwright.model.building.clauses import Written, as_measure, as_word, plain, word_of
from loomwright.model.building.layers import everywhere, first, in_place, is_auto, nearest_all
from loomwright.model.building.places import find_place
from loomwright.model.building.register import Register, listed
from loomwright.model.things import Fuse, Joint, Place, Point, Run, Stretch, Unknown
from loomwright.record import Record
from loomwright.source import Span
from loomwright.syntax.tree import Clause, Measure, Word

TOO_FAR = "correct the distance, or the lengths in 'along'"
MOST_FUSES = 20  # in one run: more are a slip, and each parts the network further
SLACK_OF_RULE = 1e-6  # metres: what is written to the millimetre may differ in the last bit


class Step(Record):
    """One place of a path as written, resolved."""

    place: Place
    length: Measure | None
    clause: Clause
    word: Word


class Path(Record):
    """`complete` unless a place of it was not found (which is reported): its length then is not to be relied on."""

    steps: tuple[Step, ...] | Unknown
    span: Span
    complete: bool = True

    @property
    def length_m(self) -> float | Unknown:
        if isinstance(self.steps, Unknown):
            return self.steps
        if not self.complete:
            return Unknown("its path", self.span)
        return sum((step.length.quantity.si for step in self.steps if step.length), 0.0)

    def places(self) -> tuple[Place, ...]:
        return () if isinstance(self.steps, Unknown) else tuple(step.place for step in self.steps)


def path(register: Register, layers: Sequence[Written]) -> Path:
    """The resolved `along` of a run. A place that is missing has been reported and is left out."""
    clause = first(layers, "along")
    name = layers[0].name
    if clause is None or word_of(clause):
        span = clause.span if clause else layers[0].span
        return Path(Unknown(f"the path and length of {name}", span), span)
    steps = []
    stretches = clause.parts["stretches"]
    assert isinstance(stretches, tuple)
    for written in stretches:
        assert isinstance(written, Mapping)
        word, length = as_word(written["place"]), written.get("length")
        place = find_place(register, word)
        if place is None:
            continue
        if length is None and place.opening is None and not _hurt(register, word):
            register.report(
                word.span,
                f"{name} passes {word.text} without a length",
                f"write '{word.text} LENGTH', or 'opening grommet' in the place when it is a hole",
            )
        steps.append(Step(place, length, clause, word))
    return Path(tuple(steps), clause.span, complete=len(steps) == len(stretches))


def _hurt(register: Register, place: Word) -> bool:
    return register.troubles.within(register.declared[place.text].span)


def check_places(register: Register, layers: Sequence[Written], found: Path) -> None:
    """Report every `in PLACE` of the run's own clauses that the run does not pass."""
    passed = {place.name for place in found.places()}
    own = layers[0]
    for clause in (clause for keyword in ("sleeve", "clips", "slack", "fuse") for clause in own.all(keyword)):
        word = clause.parts.get("in")
        if not isinstance(word, Word) or find_place(register, word) is None:
            continue
        if word.text not in passed and found.complete and not isinstance(found.steps, Unknown):
            register.report(
                word.span,
                f"{own.name} does not pass {word.text}",
                f"it passes {listed(dict.fromkeys(place.name for place in found.places()))}",
            )


def stretches(
    register: Register, run: Run, layers: Sequence[Written], found: Path, backwards: bool
) -> tuple[Stretch, ...] | Unknown:
    """The places of a run's path from its start; the return leg of a circuit goes its feed's path backwards."""
    if isinstance(found.steps, Unknown):
        return found.steps
    slack = {plain(clause.parts.get("in")): clause for clause in everywhere(layers[::-1], "slack")}
    made = []
    at = 0.0
    for step in reversed(found.steps) if backwards else found.steps:
        here = step.place.name
        until = at + (step.length.quantity.si if step.length else 0.0)
        give = slack.get(here)
        made.append(
            Stretch(
                run,
                step.place,
                step.length,
                at,
                until,
                sleeve=in_place(register, layers, "sleeve", here, f"the sleeve of {run.name} in {here}"),
                clips=in_place(register, layers, "clips", here, f"the clip spacing of {run.name} in {here}"),
                slack=as_measure(give.parts["value"]) if give and not word_of(give) else None,
                span=step.word.span,
            )
        )
        at = until
    return tuple(made)


# ---------------------------------------------------------------- fuses


def fuses(
    register: Register, run: Run, layers: Sequence[Written], found: Path, protected: bool
) -> tuple[Fuse, ...] | Unknown:
    """The fuses along a run from its start. `protected`: a way of a hub protects it, so none need be written."""
    says = f"the fuses of {run.name}"
    needs_none = run.role != "feed" or protected
    clauses = nearest_all(layers[:1] if needs_none else layers, "fuse")
    if not clauses:
        return () if needs_none or not register.as_found else Unknown(says, run.span)
    written = [clause for clause in clauses if not word_of(clause)]
    if len(written) < len(clauses) and len(clauses) > 1:
        odd = next(clause for clause in clauses if word_of(clause))
        register.report(
            odd.span, f"{run.name} has a fuse and '{word_of(odd)}' as well", "leave one of them out"
        )
    if len(written) > MOST_FUSES:
        register.report(
            written[MOST_FUSES].span, f"{run.name} has {len(written)} fuses, and {MOST_FUSES} are the most"
        )
        written = written[:MOST_FUSES]
    if any(is_auto(clause) for clause in written):
        return Unknown(f"the fuse of {run.name}, still to be sized", written[0].span)
    if not written:
        return () if word_of(clauses[0]) == "none" else Unknown(says, clauses[0].span)
    placed = [
        fuse
        for clause in written
        if "rating" in clause.parts and (fuse := _fuse(register, run, clause, found, written))
    ]
    return tuple(sorted(placed, key=lambda fuse: (_known(fuse.from_start_m), fuse.span.start)))


def _known(distance: float | Unknown | None) -> float:
    return distance if isinstance(distance, float) else float("inf")


def _fuse(
    register: Register, run: Run, clause: Clause, found: Path, written: Sequence[Clause]
) -> Fuse | None:
    rating = clause.parts.get("rating")
    if not isinstance(rating, Measure):
        return None  # `auto`: still to be sized
    at = clause.parts.get("at")
    distance = _from_start(register, run, clause, found)
    said = clause.parts.get("in")
    inside = find_place(register, said) if said else _place_at(found, distance)
    if inside and said and isinstance(distance, float):
        _check_inside(register, run, clause, found, distance, inside)
    return Fuse(
        run,
        None,
        as_word(clause.parts["kind"]).text,
        rating,
        at if isinstance(at, Measure) else None,
        distance,
        inside,
        clause.span,
        _near(run, clause, written),
    )


def _near(run: Run, clause: Clause, written: Sequence[Clause]) -> str:
    """What tells a fuse from the others of its run: the terminal that it is measured from, and how far where two are."""
    if len(written) < 2:
        return ""
    points = [(_point_named(run, one) or run.start).name for one in written]
    near = points[written.index(clause)]
    at = clause.parts.get("at")
    return f"{at.text} from {near}" if points.count(near) > 1 and isinstance(at, Measure) else near


def _from_start(register: Register, run: Run, clause: Clause, found: Path) -> float | Unknown:
    """Metres from the run's start to the fuse."""
    at = clause.parts.get("at")
    if not isinstance(at, Measure):
        return Unknown(f"where the fuse of {run.name} sits", clause.span)
    distance, length = at.quantity.si, found.length_m
    if isinstance(length, float) and distance > length + SLACK_OF_RULE:
        register.report(
            at.span, f"{run.name} is {length:g} m long, and its fuse would sit at {at.text}", TOO_FAR
        )
    from_end = _measured_from_end(register, run, clause)
    if not from_end:
        return distance
    return max(0.0, length - distance) if isinstance(length, float) else length


def _measured_from_end(register: Register, run: Run, clause: Clause) -> bool:
    word, point = clause.parts.get("from"), _point_named(run, clause)
    if point is not None or not isinstance(word, Word):
        return point is not None and point is not run.start
    if not register.fragment:
        register.report(
            word.span,
            f"{run.name} does not reach {word.text}, so its fuse can't be measured from there",
            f"it runs from {run.start.name} to {run.end.name}",
        )
    return False


def _point_named(run: Run, clause: Clause) -> Point | None:
    """The end of the run that a clause measures from."""
    word = clause.parts.get("from")
    named = word.text if isinstance(word, Word) else ""
    return next((point for point in (run.start, run.end) if named in (point.name, _device_name(point))), None)


def _device_name(point: Point) -> str:
    return point.name.partition(".")[0]


def _spans_at(found: Path, distance: float) -> list[Place]:
    """The places that a distance along a path falls into: two at a border, the nearer one first."""
    if isinstance(found.steps, Unknown):
        return []
    at, places = 0.0, []
    for step in found.steps:
        until = at + (step.length.quantity.si if step.length else 0.0)
        if at - SLACK_OF_RULE <= distance <= until + SLACK_OF_RULE:
            places.append(step.place)
        at = until
    return places


def _place_at(found: Path, distance: float | Unknown) -> Place | None:
    places = _spans_at(found, distance) if isinstance(distance, float) else []
    return next((place for place in places if place.opening is None), places[0] if places else None)


def _check_inside(
    register: Register, run: Run, clause: Clause, found: Path, distance: float, inside: Place
) -> None:
    places = _spans_at(found, distance)
    if places and inside in found.places() and inside not in places:
        register.report(
            clause.span,
            f"the fuse of {run.name} is said to sit in {inside.name}, and its distance puts it in {places[0].name}",
            "correct the place or the distance",
        )


# ---------------------------------------------------------------- joints


def joints(
    register: Register, run: Run, layers: Sequence[Written], found: Path
) -> tuple[Joint, ...] | Unknown:
    """The joins in mid-run. What a plan does not write will not be made; as found, nobody has looked."""
    clauses = layers[0].all("joint")
    says = f"whether {run.name} has joins in mid-run"
    if not clauses:
        return Unknown(says, run.span) if register.as_found else ()
    if missing := word_of(clauses[0]):
        return Unknown(says, clauses[0].span) if missing == "unknown" else ()
    length = found.length_m
    made = []
    for clause in clauses:
        at = clause.parts.get("at")
        if not isinstance(at, Measure):
            continue
        if isinstance(length, float) and at.quantity.si > length + SLACK_OF_RULE:
            register.report(
                at.span, f"{run.name} is {length:g} m long, and its joint would be at {at.text}", TOO_FAR
            )
        how, cover = clause.parts.get("made"), clause.parts.get("cover")
        spot = f"the joint of {run.name} at {at.text}"
        made.append(
            Joint(
                run,
                at,
                plain(how) or Unknown(f"how {spot} is made", clause.span),
                plain(cover) or Unknown(f"how {spot} is covered", clause.span),
                clause.span,
            )
        )
    return tuple(sorted(made, key=lambda joint: joint.at.quantity.si))

"""How each end of a run is made up: fitting, strip length, crimp, heat-shrink and torque, for the bench and the storeman."""

from __future__ import annotations

from collections.abc import Iterable

from loomwright.facts.end import barrel_of
from loomwright.facts.registry import Ledger
from loomwright.model import things as t
from loomwright.record import Record, replace
from loomwright.sheets.terms import fuse_words
from loomwright.sheets.words import known, point_name
from loomwright.stock import conductors, fuses, lugs, making
from loomwright.stock.cited import Cited, CitedRange
from loomwright.stock.conductors import ConductorSize
from loomwright.syntax.tree import Size

ROLE_COLOURS = {"feed": "red", "earth": "black", "signal": "clear"}
LEGS = {"feed": "+", "earth": "−"}
SIDES = {"fuse-in": "start", "fuse-out": "end"}


class MadeUp(Record):
    """One end as it is to be made. `fitting` is the part; `derived` when the spec leaves it open and it follows from the cable and
    the stud; what can't be known is None. Lengths in mm."""

    end: t.End
    at: str
    fitting: str
    derived: bool
    crimp: str
    strip: Cited | None
    tube: making.Tube | None
    tube_colour: str
    tube_mm: float | None
    torque: CitedRange | None
    first_in_barrel: bool
    standard: bool  # False: a lug that follows from cable and stud, and that no standard makes

    @property
    def tube_words(self) -> str:
        """`red 9.5 mm 3:1`."""
        if self.tube is None:
            return ""
        return f"{self.tube_colour} {self.tube.supplied_mm:g} mm {self.tube.ratio}"


class _Fitting(Record):
    """What goes on the end: its name, the barrel that the conductor goes into, how it is pressed."""

    name: str
    barrel: making.Barrel | None
    crimp: str
    derived: bool = False
    through: bool = False  # the conductor shows no gap: a ferrule
    covered: bool = True  # heat-shrink belongs on it where it is sealed
    standard: bool = True


def made_up(end: t.End, ledger: Ledger) -> MadeUp:
    """How one end is made up, as far as the spec and the tables tell."""
    copper = known(ledger, end, "copper")
    fitting = _fitting(end, None if copper is None else copper * 1e6, ledger)
    barrel = fitting.barrel
    sealed = end.cover == "sealed" and fitting.covered and barrel is not None
    tube = _tube(end, barrel, ledger) if sealed and barrel else None
    return MadeUp(
        end=end,
        at=end_point(end),
        fitting=fitting.name,
        derived=fitting.derived,
        crimp=_made(end, fitting),
        strip=making.strip_mm(barrel, fitting.through) if barrel and end.made != "twisted" else None,
        tube=tube,
        tube_colour=_tube_colour(end.run),
        tube_mm=making.heat_shrink_length_mm(barrel) if tube and barrel else None,
        torque=_torque(end, ledger) if fitting.name.startswith("lug") else None,
        first_in_barrel=barrel_of(end, ledger)[0] is end,
        standard=fitting.standard,
    )


def all_made_up(ledger: Ledger, runs: Iterable[t.Run]) -> tuple[MadeUp, ...]:
    """Every end of the runs, in the order of the text and from each run's start."""
    return tuple(made_up(end, ledger) for run in runs for end in ledger.installation.ends_of[run])


def leg_name(run: t.Run) -> str:
    """A run's name; the legs of a circuit told apart by + and −."""
    return f"{run.name} {LEGS[run.role]}" if run.circuit else run.name


def end_point(end: t.End) -> str:
    """Where an end sits; a side of a fuse by the end of the run that it faces."""
    if not isinstance(end.point, t.Fuse):
        return point_name(end.point)
    run = end.run
    faces = run.start if SIDES[end.side] == "start" else run.end
    return f"fuse {fuse_words(end.point)}, side of {point_name(faces)}"


def odd_lugs(made: Iterable[MadeUp]) -> str:
    """A sentence on the lugs that follow from the spec and that no standard makes; empty where there are none."""
    odd: dict[str, dict[str, None]] = {}
    for each in made:
        if not each.standard:
            odd.setdefault(each.fitting, {})[each.end.run.name] = None
    if not odd:
        return ""
    told = "; ".join(f"{fitting} ({', '.join(runs)})" for fitting, runs in odd.items())
    return f"DIN 46234 and DIN 46235 make no such lug: {told}. Find one before the job, or choose a fuse with a larger stud."


# ---------------------------------------------------------------- the fitting


def _fitting(end: t.End, copper_mm2: float | None, ledger: Ledger) -> _Fitting:
    if end.made == "twisted" or end.fitting == "none":
        return _Fitting("none, bare strands", None, "", covered=False)
    if isinstance(end.fitting, t.Unknown):
        return _left_open(end, copper_mm2, ledger)
    if end.fitting == "lug":
        return _stated_lug(end)
    if copper_mm2 is None:
        return _Fitting(_PLAIN[end.fitting], None, "")
    return _MADE[end.fitting](copper_mm2)


def _stated_lug(end: t.End) -> _Fitting:
    size, thread = end.lug_size, end.lug_thread
    hole = f" × {thread}" if isinstance(thread, str) else ""
    if not isinstance(size, Size):
        return _Fitting(f"lug, barrel not known{hole}", None, "")
    mark = conductors.conductor(size.kind, size.number)
    return _lug(mark, hole)


def _lug(mark: ConductorSize, hole: str, derived: bool = False) -> _Fitting:
    code = lugs.die_code(mark)
    die = f"die {code.value:g}" if code else f"die {mark.label}"
    shape = "hexagon" if lugs.marked_area_mm2(mark) > 6 else "indent"
    return _Fitting(f"lug {mark.label}{hole}", making.lug_barrel(mark), f"{shape}, {die}", derived)


def _left_open(end: t.End, copper_mm2: float | None, ledger: Ledger) -> _Fitting:
    """At a fuse in the run: a lug on the stud of one that is bolted in, else a butt joint to the tail of the holder."""
    if not isinstance(end.point, t.Fuse) or copper_mm2 is None or end.run.maker:
        return _Fitting("not known", None, "", covered=False)
    stud = fuses.kind(end.point.kind).stud
    if stud is None:
        return _butt(copper_mm2)
    label = known(ledger, end, "lug-to-fit")
    mark = conductors.labelled(label) if label else None
    if mark is None:
        return _Fitting("not known", None, "", covered=False)
    threads = lugs.studs_made(mark)
    made = threads is None or stud in threads.value
    return replace(_lug(mark, f" × {stud}", derived=True), standard=made)


def _blade(copper_mm2: float) -> _Fitting:
    return _insulated("blade terminal 6.3 mm", copper_mm2)


def _butt(copper_mm2: float) -> _Fitting:
    return _insulated("butt splice to the holder's tail", copper_mm2, derived=True)


def _insulated(name: str, copper_mm2: float, derived: bool = False) -> _Fitting:
    """An insulated terminal of the colour for the copper; where the colours leave a gap, a bare one rolled on."""
    found = making.insulated_terminal(copper_mm2)
    if found is None:
        return _Fitting(
            f"{name}, open barrel, for {copper_mm2:.3g} mm²", _next_barrel(copper_mm2), "rolled", derived
        )
    colour, barrel = found
    return _Fitting(f"{name}, {colour.value[0]}", barrel, f"oval, {colour.value[0]} nest", derived)


def _ferrule(copper_mm2: float) -> _Fitting:
    barrel = making.ferrule(copper_mm2)
    size = next((size for size in conductors.sizes("area") if copper_mm2 <= size.area_mm2 * 1.05), None)
    name = f"ferrule {size.label}" if size else "ferrule"
    return _Fitting(name, barrel, "square, ferrule die", through=True, covered=False)


def _plug(copper_mm2: float) -> _Fitting:
    barrel = _next_barrel(copper_mm2)
    return _Fitting(f"contact for {copper_mm2:.3g} mm²", barrel, "as the contact is made", covered=False)


def _next_barrel(copper_mm2: float) -> making.Barrel | None:
    """The barrel of the least nominal area that is no less than the copper."""
    mark = next((size for size in conductors.sizes("area") if size.area_mm2 >= copper_mm2), None)
    return making.lug_barrel(mark) if mark else None


_MADE = {"blade-terminal": _blade, "ferrule": _ferrule, "plug": _plug}
_PLAIN = {"blade-terminal": "blade terminal 6.3 mm", "ferrule": "ferrule", "plug": "contact"}


def _made(end: t.End, fitting: _Fitting) -> str:
    if isinstance(end.made, t.Unknown):
        return "not known"
    return fitting.crimp or end.made if end.made == "crimped" else end.made


# ---------------------------------------------------------------- tube and torque


def _tube(end: t.End, barrel: making.Barrel, ledger: Ledger) -> making.Tube | None:
    outside = [
        making.cable_outside_mm(conductors.conductor(cable.size.kind, cable.size.number)).value
        for each in barrel_of(end, ledger)
        if not isinstance(cable := each.run.cable, t.Unknown)
    ]
    if not outside:
        return None
    bundle = making.bundle_mm(outside)
    return making.heat_shrink(max(barrel.outside_mm, bundle), min(bundle, max(outside)))


def _tube_colour(run: t.Run) -> str:
    """The cable's own colour, a tracer left out; where none is stated the one of its polarity."""
    colour = None if isinstance(run.cable, t.Unknown) else run.cable.colour
    return colour.split("/")[0] if colour else ROLE_COLOURS[run.role]


def _torque(end: t.End, ledger: Ledger) -> CitedRange | None:
    """By what the lug sits on: a fuse's own stud, a battery, a steel earth bolt, or the brass stud of a device."""
    if isinstance(end.point, t.Fuse):
        return fuses.kind(end.point.kind).torque
    thread = known(ledger, end, "stud")
    if thread is None:
        return None
    if isinstance(end.point, t.Terminal) and isinstance(end.point.device, t.Battery):
        return lugs.torque(thread, "battery") or lugs.torque(thread, "brass")
    if isinstance(end.point, t.Earthpoint):
        return lugs.torque(thread, "steel")
    return lugs.torque(thread, "brass") or lugs.torque(thread, "terminal")

"""What an installation is made of, all references resolved.

A part knows what it belongs to (an end its run, a terminal its device), never the other way round; what belongs to a thing is
asked of the `Installation`. Three words of the language stand for missing values: a field is `Unknown` when nobody has
looked, `None` when somebody looked and there is none, and otherwise holds what was written, with its place.
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping

from loomwright.record import Entity, Record, made
from loomwright.source import Span
from loomwright.syntax.tree import Measure, Size


class Unknown(Record):
    """A value that the spec does not give: what to look at or measure, and where it would be written."""

    what: str
    span: Span


class Thing(Entity):
    """`span` is the head of its statement; `clauses` maps each clause keyword to its (first) place."""

    name: str
    span: Span
    clauses: Mapping[str, Span]

    def __repr__(self) -> str:
        return f"<{type(self).__name__} {self.name}>"

    def place_of(self, keyword: str) -> Span:
        """Where a clause stands, or the head of the statement when it was left out."""
        return self.clauses.get(keyword, self.span)


# ---------------------------------------------------------------- where things are


class Place(Thing):
    """Where things are and cables pass. `coolest` and `hottest` bound its ambient temperature; `usual_low` and `usual_high` are
    those of a usual day there."""

    coolest: Measure | Unknown  # lowest and highest ambient temperature
    hottest: Measure | Unknown
    usual_low: Measure | None
    usual_high: Measure | None
    hazards: frozenset[str] | Unknown
    side: str | Unknown  # inside, outside or habitable
    flexes: bool  # whether a cable passes there between parts that move against one another
    opening: str | None | Unknown  # grommet, bare, gland; None for a place that is no hole
    volume: Measure | Unknown
    vents: Measure | None | Unknown

    @property
    def stated_hazards(self) -> frozenset[str]:
        """The hazards that are written down, for papers; a rule asks `facts.place.hazards_of`."""
        return frozenset() if isinstance(self.hazards, Unknown) else self.hazards


class Structure(Thing):
    """Metal that may carry return current."""

    metal: str | Unknown
    bonded: Terminal | None
    mount: str | Unknown
    resistance: Measure | Unknown


class Earthpoint(Thing):
    """A stud on a structure."""

    structure: Structure
    place: Place
    thread: str | Unknown
    surface: str | Unknown
    sealed: bool
    safety_bolt: bool  # whether the bolt holds a seat, a belt or an airbag as well


# ---------------------------------------------------------------- devices


class Device(Thing):
    """What all kinds of devices have."""

    kind: str
    place: Place
    part: str | None
    maker: bool
    count: int
    spaced: Measure | None
    order: str | None
    threads: Mapping[str, str]  # stud thread by terminal name; "" for all the others
    terminal_names: tuple[str, ...]


class Terminal(Entity):
    """`name` is the whole of it, `crank.pos`; `label` the part after the dot ("" for a busbar's or splice's bare name)."""

    name: str
    device: Device
    label: str
    span: Span

    @property
    def thread(self) -> str | Unknown:
        threads = self.device.threads
        found = threads.get(self.label) or threads.get("")
        return found or Unknown(f"the stud of {self.name}", self.device.place_of("stud"))


class Battery(Device):
    """`serves` is cranking or house."""

    chemistry: str | Unknown
    capacity: Measure | Unknown
    internal: Measure | Unknown
    discharge: Measure | None | Unknown
    charge: Measure | None | Unknown
    cranking: Measure | None | Unknown
    reserve: Measure | None | Unknown
    serves: str  # cranking or house
    charges_from: Measure | None | Unknown
    bought: datetime.date | None | Unknown
    sealed: bool | Unknown
    held_down: bool | Unknown
    post_sensor: bool  # whether the vehicle's own current sensor sits on its negative post


class Alternator(Device):
    """`holds` is the voltage that it regulates to."""

    rated: Measure | Unknown
    holds: Measure | Unknown
    regulation: str | Unknown


class Supply(Device):
    """A point of the vehicle's own wiring."""

    holds: Measure | Unknown
    rated: Measure | Unknown
    live: str | Unknown
    taken_from: str | Unknown  # the circuit of the vehicle that it is a point of


class Charger(Device):
    """Takes `input` at most, gives `output_amps` at `output_volts` at most."""

    input: Measure | Unknown
    cuts_out: Measure | None | Unknown
    starts: Measure | None | Unknown
    stops: Measure | None | Unknown
    output_amps: Measure | Unknown
    output_volts: Measure | Unknown
    solar_volts: Measure | None | Unknown
    solar_amps: Measure | None | Unknown
    efficiency: Measure | Unknown
    suits: tuple[str, ...] | Unknown
    isolated: bool


class Solar(Device):
    """`count` panels in `arrangement` (series or parallel); the other figures are of one panel."""

    peak: Measure | Unknown
    open: Measure | Unknown
    short: Measure | Unknown
    at_peak: Measure | Unknown
    coefficient: Measure | Unknown
    arrangement: str


class Inverter(Device):
    """`output` is the mains side, a boundary that is never designed here."""

    rated: Measure | Unknown
    surge: Measure | None | Unknown
    surge_time: Measure | None | Unknown
    efficiency: Measure | Unknown
    idle: Measure | Unknown
    output: Measure | Unknown


class Hub(Device):
    """A fuse block: one way in, several fused ways out."""

    rated: Measure | Unknown
    negatives: int | None | Unknown  # how many return studs; None: it has no negative bar
    negative_thread: str | None


class Way(Thing):
    """One way of a hub; its name is the terminal's (`ways.2`). Its protection, if any, is a `Fuse`."""

    hub: Hub
    number: int
    control: str | None  # switched, dimmed


class Busbar(Device):
    """Studs on one bar of metal."""

    studs: int | Unknown
    rated: Measure | Unknown


class Contact(Device):
    """An isolator, switch or shunt: current passes from `in` to `out` (either way)."""

    rated: Measure | Unknown
    resistance: Measure | Unknown


class Relay(Device):
    """Closes by its coil, or by the voltage that it senses."""

    rated: Measure | Unknown
    resistance: Measure | Unknown
    closes: Measure | None | Unknown
    opens: Measure | None | Unknown
    coil: Measure | None | Unknown


class Plug(Device):
    """A joint that parts; half a is on the vehicle's side unless `live` says otherwise."""

    poles: int
    rated: Measure | Unknown
    live: str | Unknown
    resistance: Measure | Unknown


class Splice(Device):
    """A joint in mid-run that several runs meet in."""

    made: str | Unknown
    cover: str | Unknown


class DutyAt(Record):
    """The share of the time that a load draws where it is so warm around it."""

    share: Measure
    celsius: Measure


class Load(Device):
    """`draws` is in W, A or Ω: constant power, current or resistance. `duty` is one share, or several from cool to warm."""

    draws: Measure | Unknown  # W, A or ohm; its dimension says which
    duty: Measure | tuple[DutyAt, ...] | None | Unknown
    surge: Measure | None | Unknown
    surge_time: Measure | None | Unknown
    cuts_out: Measure | None | Unknown
    standby: Measure | None | Unknown
    critical: bool


class Sensor(Device):
    """A device that is read, and may draw a little."""

    measures: str | Unknown
    draws: Measure | None | Unknown


# ---------------------------------------------------------------- runs

Point = Terminal | Earthpoint | Structure


class Loom(Thing):
    """What a bundle of runs has in common."""

    sleeve: str | None | Unknown


class Multicore(Thing):
    """One sheath with several cores. Its `label` is the sheath's, and that of every core that states none."""

    cores: int
    label: str | None


class Circuit(Thing):
    """A final circuit: a feed and an earth of the same name, both runs of the installation."""

    load: Device


class Cable(Record):
    """`insulation` is None where no class was stated: the limits' default then holds and is said to be assumed."""

    size: Size
    twin: bool
    tinned: bool
    colour: str | None
    insulation: Measure | None
    span: Span


AS_MADE = {"strands": "stranded", "metal": "copper", "use": "vehicle-cable"}
"""What a workshop fits, and a plan means where it does not say."""


class Conductor(Record):
    """What a conductor is made of, and what its cable was made for.

    What nobody has looked at counts in no figure where it was left out, and makes every figure unknown where `unknown` was
    written: `doubted` then is the Unknown.
    """

    strands: str | Unknown
    metal: str | Unknown
    use: str | Unknown
    doubted: Unknown | None


class Run(Thing):
    """One conductor from `start` to `end`. `role` is feed, earth or signal; the two legs of a circuit share its name."""

    role: str
    start: Point
    end: Point
    circuit: Circuit | None
    cable: Cable | Unknown
    conductor: Conductor
    diameter: Measure | None | Unknown  # over insulation or sheath, where somebody has measured it
    bend: (
        Measure | None | Unknown
    )  # the radius of its tightest bend; None where none is written of a plan, or it lies straight
    auto_cable: bool  # `cable auto`: to be sized
    auto_fuse: bool
    maker: bool
    loom: Loom | None
    multicore: Multicore | None
    core: str | None
    label: str | None
    unread_label: Unknown | None  # where nobody has looked whether it has one
    order: str | None
    clearances: tuple[Clearance, ...]
    start_span: Span
    end_span: Span


class Clearance(Record):
    """How far a run stays from a hazard."""

    distance: Measure
    hazard: str
    span: Span


class Stretch(Entity):
    """One place of a run's path, from `start_m` to `stop_m` metres along it; an opening has no length."""

    run: Run
    place: Place
    length: Measure | None
    start_m: float
    stop_m: float
    sleeve: str | None | Unknown
    clips: Measure | None | Unknown
    slack: Measure | None
    span: Span

    @property
    def name(self) -> str:
        return self.run.name


class Fuse(Entity):
    """A fuse or breaker in a run (`way` None) or in a way of a hub (`run` None, no distance)."""

    run: Run | None
    way: Way | None
    kind: str
    rating: Measure
    at: Measure | None  # as written, from the terminal `measured_from`
    from_start_m: float | Unknown | None  # along the run from its start
    place: Place | None
    span: Span
    near: str = ""  # where a run has several: the terminal by which this one is told from the others

    @property
    def name(self) -> str:
        return self.run.name if self.run else self.way.name if self.way else ""


class End(Entity):
    """Where a run is terminated: on a point of the installation, or on one side of a fuse in the run.

    `side` is start, end, fuse-in or fuse-out. `fitting` is lug, ferrule, blade-terminal or plug.
    """

    run: Run
    side: str
    point: Point | Fuse
    fitting: str | Unknown
    lug_size: Size | None | Unknown
    lug_thread: str | None | Unknown
    made: str | Unknown
    cover: str | Unknown
    held: str | Unknown
    clip: Measure | None | Unknown  # how far off its first clip is; None where a plan does not say
    entry: str | None | Unknown  # from-above, from-below or looped
    shares_with: str | None  # the run whose conductor is in the same barrel
    span: Span

    @property
    def name(self) -> str:
        return self.run.name


class Lug(Entity):
    """The lug of an end: barrel and hole are the end's `lug_size` and `lug_thread`."""

    end: End
    span: Span

    @property
    def name(self) -> str:
        return self.end.name


class Joint(Entity):
    """A join in mid-run."""

    run: Run
    at: Measure
    made: str | Unknown
    cover: str | Unknown
    span: Span

    @property
    def name(self) -> str:
        return self.run.name


# ---------------------------------------------------------------- use


class On(Record):
    """Something that a mode switches on; `level` scales (%) or replaces (A, W) its draw."""

    thing: Device
    level: Measure | None
    span: Span


class Mode(Thing):
    """A way the vehicle is used."""

    says: str
    engine: str  # running, off, cranking
    sun: str | Measure  # full, none, or an irradiance or share
    mains: bool
    charge: Measure | None  # of the house batteries; None: 80 %
    closed: tuple[Device, ...]
    opened: tuple[Device, ...]
    on: tuple[On, ...]


class Day(Thing):
    """How long each mode lasts in a day."""

    hours: tuple[tuple[Mode, Measure], ...]


class Site(Thing):
    """Where the sun is reckoned."""

    latitude: Measure | Unknown
    longitude: Measure | Unknown
    month: str | Unknown
    tilt: Measure | None | Unknown
    facing: Measure | None | Unknown
    coldest: Measure | None | Unknown
    sunshine: Measure | None | Unknown


class Concession(Thing):
    """`name` is the thing conceded for."""

    rule: str
    rule_span: Span
    reason: str
    by: str
    until: datetime.date | None


class Reading(Record):
    """One figure of the meter: `what` is volts, amps, ohms or celsius; `of` the points or the run."""

    what: str
    of: tuple[Point | Run, ...]
    value: Measure
    span: Span


class Readings(Thing):
    """What the meter showed in one mode."""

    taken: datetime.date
    by: str
    mode: Mode
    readings: tuple[Reading, ...]


class Fitout(Thing):
    """The head of the file; `name` is its title."""

    stage: str  # as-found, planned, installed
    job: str | None
    vehicle: str | None
    customer: str | None
    drawn: datetime.date | None
    drawn_by: str | None
    system: Measure
    limits: str


class Installation(Entity):
    """The whole system, in the order of the text. Immutable; what belongs to a thing is found by the mappings at the end."""

    fitout: Fitout
    places: tuple[Place, ...]
    structures: tuple[Structure, ...]
    earthpoints: tuple[Earthpoint, ...]
    devices: tuple[Device, ...]
    looms: tuple[Loom, ...]
    multicores: tuple[Multicore, ...]
    circuits: tuple[Circuit, ...]
    runs: tuple[Run, ...]
    modes: tuple[Mode, ...]
    days: tuple[Day, ...]
    site: Site | None
    concessions: tuple[Concession, ...]
    readings: tuple[Readings, ...]
    named: Mapping[str, Thing]  # every named thing; for a circuit's name the Circuit
    terminals: Mapping[str, Terminal]
    terminals_of: Mapping[Device, tuple[Terminal, ...]]
    ways_of: Mapping[Hub, tuple[Way, ...]]
    fuse_of_way: Mapping[Way, Fuse | None | Unknown]
    legs_of: Mapping[Circuit, tuple[Run, Run]]  # feed, earth
    ends_of: Mapping[Run, tuple[End, ...]]  # start first, end last, fuse sides between
    fuses_of: Mapping[Run, tuple[Fuse, ...] | Unknown]  # along the run from its start
    joints_of: Mapping[Run, tuple[Joint, ...] | Unknown]
    stretches_of: Mapping[Run, tuple[Stretch, ...] | Unknown]
    landing_on: Mapping[Point, tuple[End, ...]]  # bare busbar names gather on one terminal with label ""
    notes: Mapping[str, tuple[str, ...]] = made(factory=dict)

"""Every statement and clause in trade words: its form as the manual prints it, an example, one line of meaning.

Messages, the manual and the editor speak from this table. The grammar says the same to the parser; a test proves that the two
name the same statements and clauses. Here too is what a number may be: `limits` per part, else `USUAL` per dimension.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple


class Range(NamedTuple):
    """In the unit of `quantity.DIMENSIONS`. `least` itself is allowed only when `closed`."""

    least: float
    most: float
    closed: bool = True


class Form(NamedTuple):
    form: str
    example: str
    meaning: str
    many: str = ""
    """Of clauses that may stand more than once: the part that must differ, or `*` when none need."""
    group: str = ""
    """Of words that exclude one another: what they say together."""
    limits: Mapping[str, Range] = {}
    """Per part, or per `part:dimension` where the part may be of several."""
    settled: str = ""
    """Why `unknown` can't stand here; empty where it can."""

    @property
    def keyword(self) -> str:
        return self.form.partition(" ")[0]

    @property
    def flag(self) -> bool:
        return " " not in self.form


class Head(NamedTuple):
    form: str
    example: str
    meaning: str


Forms = dict[str, Form]


def _table(*forms: Form) -> Forms:
    return {form.keyword: form for form in forms}


USUAL: Mapping[str, Range] = {
    "length": Range(0, 1000, closed=False),
    "area": Range(0, 10, closed=False),
    "volume": Range(0, 1000, closed=False),
    "current": Range(0, 20_000, closed=False),
    "voltage": Range(0, 1000, closed=False),
    "power": Range(0, 100_000, closed=False),
    "resistance": Range(0, 1e6, closed=False),
    "charge": Range(0, 36e6, closed=False),
    "time": Range(0, 86_400, closed=False),
    "temperature": Range(-60, 300),
    "ratio": Range(0, 1, closed=False),
    "angle": Range(-360, 360),
    "irradiance": Range(0, 1500),
    "temperature-coefficient": Range(-0.05, 0.05),
}
COUNT = Range(1, 10_000)
"""What a bare number may be: always a whole one."""

# Where a dimension alone lets too much through: bounds a good way beyond all that is sold for a vehicle of 12 V or 24 V (common
# practice, no source). What lies outside them is a slip of the unit or of the point: 7 ohm for 7 mohm, 75 C for 75 Ah.
_CELL = Range(1e-5, 0.5)
"""A battery's resistance: the smallest of gel or agm some 100 mohm, a large bank of lifepo4 under 1 mohm."""
_CAPACITY = Range(1800, 18e6)
"""From 0.5 Ah, an alarm's own battery, to 5000 Ah."""
_CONTACT = Range(0, 1, closed=False)
"""A contact, a shunt: whole ohms are an open circuit or a coil."""
_METAL = Range(0, 100, closed=False)
"""A structure from end to end, rusted seams included."""
_LOW = Range(1, 60)
"""What is held, sensed or put out at 12 V or 24 V; above 60 V DC class A ends (ISO 6469-3, from memory)."""
_OUTLET = Range(1, 260)
"""A point that may be an inlet for the mains."""
_PANEL = Range(1, 200)
"""One panel's volts."""
_STRING = Range(5, 600)
"""A charger's solar input: a string of panels at their coldest."""
_MAINS = Range(12, 260)
_BUILT_FOR = Range(0.05, 5000)
"""What a part of a vehicle is rated for, A."""
_STARTER = Range(10, 5000)
_DRAWS = {
    "value:power": Range(0, 30_000, closed=False),
    "value:current": Range(0, 2000, closed=False),
    "value:resistance": Range(1e-3, 1e5),
}
_SURGE = {"value": Range(0, 5000, closed=False), "time": Range(0, 600, closed=False)}
_TRICKLE = Range(0, 50, closed=False)
"""What flows with nothing on, or through a coil or a sensor."""
_CONVERTS = Range(0.2, 1)
_SHELL = Range(-60, 80)
"""Air, or a battery's case."""

_NOTE = Form('note "TEXT"', 'note "behind the lining"', "Anything worth knowing.", many="*")
_ORDER = Form('order "CODE"', 'order "C-0815"', "The workshop's stock code.")
_MAKER = Form(
    "maker",
    "maker",
    "Fitted by the vehicle's maker and left as it was: reckoned with, its workmanship not judged.",
)
_RESISTANCE = Form(
    "resistance RESISTANCE",
    "resistance 0.5 mohm",
    "From one end or terminal to the other.",
    limits={"value": _CONTACT},
)
_RATED = Form(
    "rated CURRENT", "rated 150 A", "The most it may carry all the time.", limits={"value": _BUILT_FOR}
)
_HOLDS = Form("holds VOLTAGE", "holds 14.2 V", "The voltage it keeps up.", limits={"value": _LOW})
_CUTS_OUT = Form(
    "cuts-out VOLTAGE", "cuts-out 10.8 V", "The lowest voltage it works on.", limits={"value": _LOW}
)
_EFFICIENCY = Form(
    "efficiency RATIO", "efficiency 92 %", "What comes out of what goes in.", limits={"value": _CONVERTS}
)
_COVER = (
    Form("sealed", "sealed", "Closed with adhesive-lined sleeve.", group="cover"),
    Form("taped", "taped", "Wrapped in tape.", group="cover"),
    Form("bare", "bare", "Not covered.", group="cover"),
)

DEVICE = _table(
    Form("terminals NAME, …", "terminals trickle, aux", "Terminals beyond those of its kind."),
    Form(
        "stud [TERMINAL] THREAD",
        "stud M8",
        "The thread of its terminals, or of the one named: `stud neg M6`.",
        many="terminal",
    ),
    _NOTE,
    _ORDER,
    Form("count N", "count 4", "So many alike, in parallel.", settled="count them, or leave it out for one"),
    Form(
        "spaced LENGTH",
        "spaced 0.6 m",
        "From one of those to the next along the run.",
        limits={"value": Range(0, 20, closed=False)},
    ),
    _MAKER,
)

_BUNDLED = _table(
    Form(
        "along PLACE LENGTH, PLACE LENGTH, OPENING, …",
        "along engine-bay 0.7 m, firewall, toolbox 0.4 m",
        "Where it lies, from the `from` end; the length of the run is the sum.",
    ),
    Form(
        "sleeve KIND [in PLACE]",
        "sleeve split-tube",
        "What it is sleeved with, everywhere or in one place.",
        many="in",
    ),
    Form(
        "clips LENGTH [in PLACE]",
        "clips 0.25 m",
        "How far apart it is held, everywhere or in one place.",
        many="in",
        limits={"value": Range(0, 20, closed=False)},
    ),
    Form(
        "slack LENGTH in PLACE",
        "slack 80 mm in firewall",
        "A service loop, or the give at a hinge, a cab or an engine.",
        many="in",
        limits={"value": Range(0, 20, closed=False)},
    ),
    Form(
        "clearance LENGTH to HAZARD",
        "clearance 40 mm to wheel",
        "How far it keeps from a wheel, an exhaust, a shaft.",
        many="to",
        limits={"value": Range(0, 100)},
    ),
    Form(
        "conductor [stranded|solid] [copper|copper-clad|aluminium] [vehicle-cable|boat-cable|building-cable|speaker-cable]",
        "conductor stranded copper vehicle-cable",
        "What the conductor is made of, and what the cable was made for.",
    ),
    Form(
        "diameter LENGTH",
        "diameter 9.5 mm",
        "Over the insulation, or over the sheath, as measured; left out, by its size.",
        limits={"value": Range(0, 0.2, closed=False)},
    ),
    Form(
        "bend LENGTH",
        "bend 90 mm",
        "The radius of its tightest bend; none: it lies straight.",
        limits={"value": Range(0, 20)},
    ),
    Form('label "TEXT"', 'label "MAIN CHARGE FEED"', "What is printed on it."),
    _MAKER,
    _NOTE,
    _ORDER,
)
_LOOM = Form(
    "loom NAME",
    "loom spine",
    "The bundle it runs in.",
    settled="name the bundle, or leave it out; what can't be seen is written as 'sleeve unknown' or 'along unknown'",
)
_END_WORDS = "[lug SIZE THREAD|ferrule|blade-terminal|plug] [with RUN] [crimped|soldered|twisted] [sealed|taped|bare] [tight|loose] [clip LENGTH] [from-above|from-below|looped]"
_END_LIMITS = {"clip": Range(0, 20)}
_CLASS = {"class": Range(40, 300)}

RUN = _table(
    Form(
        "cable [twin] SIZE [tinned] [COLOUR] [CLASS]",
        "cable twin 4 mm2 tinned black/red 105 degC",
        "The conductor: its size, colour and the class of its insulation; `auto` for the size leaves it to be reckoned.",
        limits=_CLASS,
    ),
    Form(
        "fuse KIND RATING at DISTANCE [from TERMINAL] [in PLACE]",
        "fuse strip 60 A at 0.15 m from crank.pos in engine-bay",
        "A fuse in the run, so far from its `from` end or from the terminal; `auto` for the rating, or for kind and rating, leaves it to be reckoned.",
        many="*",
        limits={"at": Range(0, 1000), "rating": Range(0, 1000, closed=False)},
    ),
    Form(
        "joint at DISTANCE [crimped|soldered|twisted] [sealed|taped|bare]",
        "joint at 1.2 m soldered taped",
        "A join in mid-run.",
        many="*",
        limits={"at": Range(0, 1000)},
    ),
    Form(
        f"end TERMINAL {_END_WORDS}",
        "end crank.pos lug 8 B&S M8 crimped sealed tight",
        "How one end is made, how far off its first clip is, and how it comes into what it ends at.",
        many="*",
        limits=_END_LIMITS,
    ),
    Form(f"ends {_END_WORDS}", "ends crimped sealed tight", "The same of both ends.", limits=_END_LIMITS),
    _LOOM,
    Form(
        'core MULTICORE ["COLOUR"]',
        'core tail "white"',
        "It is a core of that cable, and lies where that lies.",
        settled="name the cable, or leave it out and write 'cable unknown'",
    ),
    *_BUNDLED.values(),
)
CIRCUIT = RUN | _table(
    Form(
        "return TERMINAL",
        "return box.neg",
        "Where its current goes back to, when not to `neg`.",
        settled="say where its current goes back to, or write a feed for the half that can be seen",
    )
)

_MODE = "a mode is a use to be judged, and says what is so in it: write it, or leave it out"

CLAUSES: Mapping[str, Forms] = {
    "fitout": _table(
        Form(
            "stage as-found|planned|installed",
            "stage planned",
            "What the file describes.",
            settled="whoever writes a file knows whether it was found, is planned or has been fitted",
        ),
        Form('job "TEXT"', 'job "2026-118"', "The workshop's number of the job."),
        Form('vehicle "TEXT"', 'vehicle "single-cab flatbed"', "The vehicle."),
        Form('customer "TEXT"', 'customer "Orchard Bees"', "Whose it is."),
        Form('drawn DATE [by "NAME"]', 'drawn 2026-11-18 by "RM"', "When it was drawn up, and by whom."),
        Form(
            "system VOLTAGE",
            "system 12 V",
            "The nominal voltage, 12 V or 24 V.",
            settled="measure across the battery: about 12 V or about 24 V",
        ),
        Form(
            "limits NAME",
            "limits general",
            "The limits of the rule book that apply.",
            settled="name the limits that apply, or leave it out for the general ones",
        ),
        _NOTE,
    ),
    "practice": RUN,
    "place": _table(
        Form("ambient TEMPERATURE [to TEMPERATURE]", "ambient -10 degC to 60 degC", "How warm it is there, or from and to."),
        Form(
            "usually TEMPERATURE to TEMPERATURE", "usually 14 degC to 34 degC",
            "The coolest and the hottest of a usual day there, for loads whose duty follows the warmth.",
        ),
        Form("hazards HAZARD, …", "hazards heat, vibration", "What can harm a cable there."),
        Form("inside", "inside", "Inside the vehicle.", group="where it lies"),
        Form("outside", "outside", "In the weather.", group="where it lies"),
        Form("habitable", "habitable", "Where people sit or sleep.", group="where it lies"),
        Form("opening grommet|bare|gland", "opening grommet", "A hole that a cable passes."),
        Form("flexes", "flexes", "A cable passes there between parts that move: cab and tray, body and door."),
        Form("volume VOLUME", "volume 0.2 m3", "Its room for gas."),
        Form("vents AREA", "vents 80 cm2", "The free area of each vent, top and bottom."),
        _NOTE,
    ),
    "structure": _table(
        Form("metal steel|aluminium", "metal steel", "What it is made of."),
        Form(
            "bonded TERMINAL",
            "bonded crank.neg",
            "It is the return of that battery.",
            settled="measure from the battery's negative: all that is earthed here hangs on it; left out, it is bonded to none",
        ),
        Form("mount bolted|welded|rubber", "mount rubber", "How it is joined to the vehicle."),
        _RESISTANCE._replace(limits={"value": _METAL}),
        _NOTE,
    ),
    "battery": DEVICE
    | _table(
        Form("chemistry KIND", "chemistry lifepo4", "lead-acid, agm, gel or lifepo4."),
        Form("capacity CHARGE", "capacity 120 Ah", "What it holds when full.", limits={"value": _CAPACITY}),
        Form("internal RESISTANCE", "internal 7 mohm", "Its internal resistance.", limits={"value": _CELL}),
        Form("discharge CURRENT max", "discharge 100 A max", "The most that may be drawn all the time.", limits={"value": _BUILT_FOR}),
        Form("charge CURRENT max", "charge 60 A max", "The most that it may be charged with.", limits={"value": _BUILT_FOR}),
        Form("cranking CURRENT", "cranking 680 A", "Its cold-cranking current.", limits={"value": _STARTER}),
        Form("vented", "vented", "Gas leaves through a hose to the open.", group="case"),
        Form("sealed", "sealed", "It gives off no gas in use.", group="case"),
        Form("reserve RATIO", "reserve 20 %", "What is to be left in it.", limits={"value": Range(0, 1)}),
        Form(
            "serves cranking|house",
            "serves house",
            "What it is for.",
            settled="see whether the starter hangs on it; left out, the one that the maker's alternator charges is cranking",
        ),
        Form("charges-from TEMPERATURE", "charges-from 0 degC", "The coldest at which it takes a charge.", limits={"value": _SHELL}),
        Form("bought DATE", "bought 2026-03-02", "When it was new."),
        Form("held-down [none]", "held-down", "It is clamped against a crash; none: it only stands there."),
        Form("post-sensor", "post-sensor", "The vehicle's own current sensor sits on its negative post."),
    ),
    "alternator": DEVICE
    | _table(_RATED, _HOLDS, Form("regulation fixed|smart", "regulation fixed", "Whether the vehicle turns it down.")),
    "supply": DEVICE
    | _table(_HOLDS._replace(limits={"value": _OUTLET}), _RATED, Form("live always|ignition|engine", "live ignition", "When there is voltage on it."), Form("taken-from CIRCUIT", "taken-from accessory", "The circuit of the vehicle that it is a point of.")),
    "charger": DEVICE
    | _table(
        Form("input CURRENT max", "input 45 A max", "The most that it takes in.", limits={"value": _BUILT_FOR}),
        _CUTS_OUT,
        Form("starts VOLTAGE", "starts 13.2 V", "The input at which it starts.", limits={"value": _LOW}),
        Form("stops VOLTAGE", "stops 12.7 V", "The input at which it stops.", limits={"value": _LOW}),
        Form("output CURRENT at VOLTAGE", "output 30 A at 14.4 V", "What it charges with.", limits={"amps": _BUILT_FOR, "volts": _LOW}),
        Form("solar VOLTAGE max CURRENT", "solar 32 V max 12 A", "What its solar input bears.", limits={"volts": _STRING, "amps": _BUILT_FOR}),
        _EFFICIENCY,
        Form("suits CHEMISTRY, …", "suits lifepo4, agm", "The batteries that it has a programme for."),
        Form("isolated", "isolated", "Its input and output share no conductor."),
    ),
    "solar": DEVICE
    | _table(
        Form("peak POWER", "peak 160 W", "Its power in full sun.", limits={"value": Range(1, 1500)}),
        Form("open VOLTAGE", "open 22.4 V", "Its voltage with nothing on it.", limits={"value": _PANEL}),
        Form("short CURRENT", "short 9.1 A", "Its current into a short circuit.", limits={"value": Range(0.01, 30)}),
        Form("at-peak VOLTAGE", "at-peak 18.6 V", "Its voltage at peak power.", limits={"value": _PANEL}),
        Form("coefficient RATIO-PER-KELVIN", "coefficient -0.28 %/K", "How the open voltage changes with warmth."),
        Form(
            "count N [series|parallel]",
            "count 2 series",
            "So many panels, and how they are joined.",
            settled="count them, or leave it out for one",
        ),
    ),
    "inverter": DEVICE
    | _table(
        Form("rated POWER", "rated 2000 W", "The most it gives all the time.", limits={"value": Range(1, 30_000)}),
        Form("surge POWER for TIME", "surge 4000 W for 5 s", "The most it gives for a short time.", limits={"value": Range(1, 60_000), "time": _SURGE["time"]}),
        _EFFICIENCY,
        Form("idle CURRENT", "idle 0.8 A", "What it draws with nothing on.", limits={"value": _TRICKLE}),
        Form("output VOLTAGE", "output 230 V", "The voltage it gives: a boundary, for a licensed electrician.", limits={"value": _MAINS}),
    ),
    "hub": DEVICE
    | _table(
        _RATED,
        Form(
            "way N KIND RATING [switched|dimmed]",
            "way 2 blade 10 A switched",
            "One way, how it is protected; `way N none` for one without a fuse; `auto` for the rating leaves it to be reckoned.",
            many="number",
            limits={"rating": Range(0, 1000, closed=False), "number": Range(1, 200)},
        ),
        Form("negatives N x THREAD", "negatives 8 x M4", "Studs of its own for the returns.", limits={"number": Range(1, 200)}),
    ),
    "busbar": DEVICE
    | _table(Form("studs N x THREAD", "studs 6 x M8", "Its studs.", limits={"number": Range(1, 200)}), _RATED),
    "isolator": DEVICE | _table(_RATED, _RESISTANCE),
    "switch": DEVICE | _table(_RATED, _RESISTANCE),
    "shunt": DEVICE | _table(_RATED, _RESISTANCE),
    "relay": DEVICE
    | _table(
        _RATED,
        _RESISTANCE,
        Form("closes VOLTAGE", "closes 13.3 V", "The voltage at which it closes, when it senses voltage.", limits={"value": _LOW}),
        Form("opens VOLTAGE", "opens 12.8 V", "The voltage at which it opens, when it senses voltage.", limits={"value": _LOW}),
        Form("coil CURRENT", "coil 150 mA", "What its coil draws.", limits={"value": _TRICKLE}),
    ),
    "plug": DEVICE
    | _table(
        Form(
            "poles N",
            "poles 7",
            "How many contacts it has.",
            limits={"value": Range(1, 200)},
            settled="count them, or leave it out for two",
        ),
        _RATED,
        Form("live a|b", "live a", "The half that stays live when it is parted."),
        _RESISTANCE,
    ),
    "splice": DEVICE
    | _table(
        Form("crimped", "crimped", "Made with a crimp.", group="how it is made"),
        Form("soldered", "soldered", "Made with solder.", group="how it is made"),
        Form("twisted", "twisted", "Twisted together.", group="how it is made"),
        *_COVER,
    ),
    "load": DEVICE
    | _table(
        Form("draws POWER|CURRENT|RESISTANCE", "draws 45 W", "What it takes: that power, current or resistance.", limits=_DRAWS),
        Form(
            "duty RATIO [at TEMPERATURE, …]",
            "duty 30 % at 20 degC, 55 % at 40 degC",
            "The share of the time that it draws: one for good, or how it follows the warmth around it.",
            limits={"share": Range(0, 1)},
        ),
        Form("surge CURRENT for TIME", "surge 9 A for 0.4 s", "What it takes when it starts.", limits=_SURGE),
        _CUTS_OUT,
        Form("standby CURRENT", "standby 20 mA", "What it takes while it is switched off.", limits={"value": _TRICKLE}),
        Form("critical", "critical", "It must not fail."),
    ),
    "sensor": DEVICE
    | _table(
        Form("measures WORD", "measures temperature", "What it measures."),
        Form("draws CURRENT", "draws 5 mA", "What it takes.", limits={"value": _TRICKLE}),
    ),
    "earthpoint": _table(
        Form("stud THREAD", "stud M8", "Its stud."),
        Form("surface bare|painted|anodised", "surface bare", "The metal under the lug."),
        Form("sealed", "sealed", "Closed against water after it was made."),
        Form("safety-bolt", "safety-bolt", "The bolt holds a seat, a belt or an airbag as well."),
        _NOTE,
    ),
    "feed": RUN,
    "earth": RUN,
    "circuit": CIRCUIT,
    "signal": RUN,
    "multicore": _table(
        Form(
            "cable N x SIZE [tinned] [COLOUR] [CLASS]",
            "cable 7 x 1.5 mm2 105 degC",
            "How many cores of what size.",
            limits=_CLASS | {"number": Range(1, 200)},
        ),
        _LOOM,
        *_BUNDLED.values(),
    ),
    "loom": _table(*(_BUNDLED[keyword] for keyword in ("sleeve", "clips", "label", "note"))),
    "mode": _table(
        Form("engine running|off|cranking", "engine running", "The engine.", settled=_MODE),
        Form("sun full|none|IRRADIANCE", "sun 600 W/m2", "The sun on the panels.", limits={"value": Range(0, 1500), "value:ratio": Range(0, 1)}, settled=_MODE),
        Form("mains on|off", "mains on", "Whether it is plugged in.", settled=_MODE),
        Form("charge RATIO", "charge 60 %", "How full the house batteries are.", limits={"value": Range(0, 1)}, settled=_MODE),
        Form("closed NAME, …", "closed house-iso", "Switches, isolators and relays that are closed.", settled=_MODE),
        Form("open NAME, …", "open link-relay", "Switches, isolators and relays that are open.", settled=_MODE),
        Form(
            "on NAME [RATIO|CURRENT|POWER], …",
            "on incubator, work-lights 50 %",
            "What is switched on, and at what share of its draw or at what draw instead.",
            limits={"value": Range(0, 100_000), "value:ratio": Range(0, 10)},
            settled=_MODE,
        ),
        _NOTE,
    ),
    "day": {},
    "site": _table(
        Form("latitude ANGLE", "latitude -33.4 deg", "North of the equator; south is negative.", limits={"value": Range(-90, 90)}),
        Form("longitude ANGLE", "longitude 149.1 deg", "East of Greenwich; west is negative.", limits={"value": Range(-180, 180)}),
        Form("month MONTH", "month november", "The month that is reckoned with."),
        Form("tilt ANGLE", "tilt 0 deg", "How steep the panels lie; 0 is flat.", limits={"value": Range(0, 90)}),
        Form("facing ANGLE", "facing 0 deg", "Where they face: 0 north, 90 east.", limits={"value": Range(-180, 360)}),
        Form("coldest TEMPERATURE", "coldest -6 degC", "The coldest dawn that the panels see."),
        Form(
            "sunshine RATIO", "sunshine 45 %",
            "How much of the hours of daylight the sun shines in that month, by climate records.",
            limits={"value": Range(0, 1)},
        ),
        _NOTE,
    ),
    "concession": _table(
        Form('reason "TEXT"', 'reason "stays in the dry"', "Why it is accepted."),
        Form('by "NAME"', 'by "RM"', "Who accepts it."),
        Form(
            "until DATE",
            "until 2027-03-31",
            "The last day that it holds.",
            settled="agree on a day; what has no end is accepted for good",
        ),
    ),
    "readings": _table(
        Form(
            "volts TERMINAL to TERMINAL VOLTAGE",
            "volts house.pos to house.neg 12.6 V",
            "What the meter showed between the two.",
            many="*",
            limits={"value": Range(-1000, 1000)},
        ),
        Form(
            "ohms TERMINAL to TERMINAL RESISTANCE",
            "ohms lid to crank.neg 3 mohm",
            "What the meter showed between the two.",
            many="*",
            limits={"value": Range(0, 1e9)},
        ),
        Form(
            "amps RUN CURRENT", "amps main 18 A", "What the clamp showed, from `from` to `to`.", many="*",
            limits={"value": Range(-20_000, 20_000)},
        ),
        Form(
            "celsius TERMINAL TEMPERATURE", "celsius box.in 71 degC", "What the thermometer showed.", many="*",
            limits={"value": Range(-60, 1000)},
        ),
        _NOTE,
    ),
}  # fmt: skip
"""The clauses of each kind of statement by their first word. A day's begin with the name of a mode."""

DAY = Form(
    "MODE TIME",
    "driving 3 h",
    "How long that mode lasts in a day.",
    limits={"value": Range(0, 86_400)},
    settled="a day is a use to be judged: say for how long, at a guess",
)

DEVICES = (
    "battery", "alternator", "supply", "charger", "solar", "inverter", "hub", "busbar", "isolator", "switch", "shunt", "relay",
    "plug", "splice", "load", "sensor",
)  # fmt: skip
RUNS = ("feed", "earth", "circuit", "signal")

_DEVICE_MEANINGS = {
    "battery house": "A battery: pos, neg.",
    "alternator gen": "An alternator: pos, neg (its case).",
    "supply ignition": "A point of the vehicle's own wiring: pos.",
    "charger dcdc": "A charger: in, out, solar, mains, neg, sense, remote.",
    "solar roof-panel": "A solar panel: pos, neg.",
    "inverter tools": "An inverter: pos, neg.",
    "hub ways": "A box of protected ways: in, neg, 1 … N.",
    "busbar common": "A bar of studs: 1 … N, or its bare name.",
    "isolator house-iso": "A battery isolator: in, out.",
    "switch lamp-switch": "A switch: in, out.",
    "shunt meter": "A measuring shunt: in, out.",
    "relay link": "A relay: in, out, rest, coil-pos, coil-neg.",
    "plug tow": "A connector that parts, as at a trailer: pos-a, neg-a, pos-b, neg-b.",
    "splice tail": "A joint of several cables in mid-run: 1 … N, or its bare name.",
    "load incubator": "Something that draws current: pos, neg.",
    "sensor probe": "Something that measures: pos, neg, out.",
}

STATEMENTS: Mapping[str, Head] = {
    "fitout": Head(
        'fitout "TITLE" { … }', 'fitout "Orchard Bees flatbed"', "The system as a whole; once in a file."
    ),
    "include": Head(
        'include "PATH"', 'include "workshop.fitout"', "The statements of another file, relative to this one."
    ),
    "practice": Head("practice { … }", "practice", "Workshop defaults for every run of this file."),
    "part": Head(
        "part KIND NAME { … }",
        "part battery agm-75",
        "A catalogue entry; devices take it over with `is NAME`.",
    ),
    "place": Head("place NAME { … }", "place engine-bay", "Where things are and cables pass."),
    "structure": Head("structure NAME { … }", "structure chassis", "Metal that may carry return current."),
    **{
        (kind := example.partition(" ")[0]): Head(
            f"{kind} NAME in PLACE [is PART] {{ … }}", f"{example} in toolbox", meaning
        )
        for example, meaning in _DEVICE_MEANINGS.items()
    },
    "earthpoint": Head(
        "earthpoint NAME on STRUCTURE in PLACE { … }",
        "earthpoint lid on chassis in toolbox",
        "A stud on a structure.",
    ),
    "feed": Head(
        "feed NAME from TERMINAL to TERMINAL { … }", "feed main from crank.pos to dcdc.in", "A positive run."
    ),
    "earth": Head(
        "earth NAME from X to X { … }", "earth house-return from house.neg to lid", "A return run or a bond."
    ),
    "circuit": Head(
        "circuit NAME from TERMINAL to LOAD { … }",
        "circuit pump from ways.3 to syrup-pump",
        "A final circuit, both conductors.",
    ),
    "signal": Head(
        "signal NAME from TERMINAL to TERMINAL { … }",
        "signal sense from ignition.pos to dcdc.sense",
        "A control or sense wire.",
    ),
    "multicore": Head("multicore NAME { … }", "multicore tail", "Several cores in one sheath."),
    "loom": Head("loom NAME { … }", "loom spine", "What the runs of one bundle have in common."),
    "mode": Head('mode NAME ["TEXT"] { … }', 'mode night "parked, dark"', "A way the vehicle is used."),
    "day": Head("day NAME { MODE TIME; … }", "day harvest", "How long each mode lasts in a day."),
    "site": Head("site { … }", "site", "Where the sun is reckoned."),
    "concession": Head(
        "concession RULE on NAME { … }", "concession no-sleeve on main", "A finding knowingly accepted."
    ),
    "readings": Head(
        'readings DATE by "NAME" in MODE { … }',
        'readings 2026-11-20 by "RM" in night',
        "What the meter showed in that mode.",
    ),
}

BLOCKS: Mapping[str, str] = {
    "feed": "run_clause",
    "earth": "run_clause",
    "signal": "run_clause",
    "practice": "run_clause",
}
"""The grammar's rule for the clauses of a statement, where it is not called after it."""


def block(kind: str) -> str:
    return BLOCKS.get(kind, f"{kind}_clause")


def form_of(kind: str, keyword: str) -> Form | None:
    """The form of a clause in a statement of that kind, or None when it has no such clause."""
    return DAY if kind == "day" else CLAUSES.get(kind, {}).get(keyword)

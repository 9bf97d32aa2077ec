"""The kinds of device: which terminals each has, and which clause fills which field."""

from __future__ import annotations

from loomwright.model import things as t
from loomwright.model.building.clauses import Field

CLASSES: dict[str, type[t.Device]] = {
    "battery": t.Battery,
    "alternator": t.Alternator,
    "supply": t.Supply,
    "charger": t.Charger,
    "solar": t.Solar,
    "inverter": t.Inverter,
    "hub": t.Hub,
    "busbar": t.Busbar,
    "isolator": t.Contact,
    "switch": t.Contact,
    "shunt": t.Contact,
    "relay": t.Relay,
    "plug": t.Plug,
    "splice": t.Splice,
    "load": t.Load,
    "sensor": t.Sensor,
}

# What is always there; hub, busbar, plug and splice have numbered terminals besides.
TERMINALS: dict[str, tuple[str, ...]] = {
    "battery": ("pos", "neg"),
    "alternator": ("pos", "neg"),
    "supply": ("pos",),
    "charger": ("in", "out", "solar", "mains", "neg", "sense", "remote"),
    "solar": ("pos", "neg"),
    "inverter": ("pos", "neg"),
    "hub": ("in", "neg"),
    "busbar": ("",),
    "isolator": ("in", "out"),
    "switch": ("in", "out"),
    "shunt": ("in", "out"),
    "relay": ("in", "out", "rest", "coil-pos", "coil-neg"),
    "plug": (),
    "splice": ("",),
    "load": ("pos", "neg"),
    "sensor": ("pos", "neg", "out"),
}

RATED = Field("rated", "rated", "the rated current of {}")
RESISTANCE = Field("resistance", "resistance", "the resistance of {}")
CONTACT = (RATED, RESISTANCE)
DUTY = Field("duty", "duty", "the duty of {}", nothing=True, left_out=None)
SURGE = (
    Field("surge", "surge", "the starting surge of {}", nothing=True),
    Field("surge_time", "surge", "how long the surge of {} lasts", part="time", nothing=True),
)

FIELDS: dict[str, tuple[Field, ...]] = {
    "battery": (
        Field("chemistry", "chemistry", "the chemistry of {}"),
        Field("capacity", "capacity", "the capacity of {}"),
        Field("internal", "internal", "the internal resistance of {}"),
        Field("discharge", "discharge", "the greatest discharge current of {}", nothing=True),
        Field("charge", "charge", "the greatest charge current of {}", nothing=True),
        Field("cranking", "cranking", "the cranking current of {}", nothing=True),
        Field("reserve", "reserve", "the reserve that {} must keep", nothing=True),
        Field(
            "charges_from", "charges-from", "the lowest temperature at which {} may be charged", nothing=True
        ),
        Field("bought", "bought", "when {} was bought", nothing=True),
    ),
    "alternator": (
        RATED,
        Field("holds", "holds", "the voltage that {} holds"),
        Field("regulation", "regulation", "whether the regulation of {} is fixed or smart"),
    ),
    "supply": (
        RATED,
        Field("holds", "holds", "the voltage at {}"),
        Field("live", "live", "when {} is live"),
        Field("taken_from", "taken-from", "which circuit of the vehicle {} is taken from"),
    ),
    "charger": (
        Field("input", "input", "the greatest input current of {}"),
        Field("cuts_out", "cuts-out", "the lowest input voltage that {} works on", nothing=True),
        Field("starts", "starts", "the voltage at which {} starts", nothing=True, left_out=None),
        Field("stops", "stops", "the voltage at which {} stops", nothing=True, left_out=None),
        Field("output_amps", "output", "the output current of {}", part="amps"),
        Field("output_volts", "output", "the output voltage of {}", part="volts"),
        Field("solar_volts", "solar", "the greatest solar voltage that {} takes", part="volts", nothing=True),
        Field("solar_amps", "solar", "the greatest solar current that {} takes", part="amps", nothing=True),
        Field("efficiency", "efficiency", "the efficiency of {}"),
        Field("suits", "suits", "which chemistries {} suits", part="values"),
    ),
    "solar": (
        Field("peak", "peak", "the peak power of a panel of {}"),
        Field("open", "open", "the open-circuit voltage of a panel of {}"),
        Field("short", "short", "the short-circuit current of a panel of {}"),
        Field("at_peak", "at-peak", "the voltage of a panel of {} at its peak power"),
        Field("coefficient", "coefficient", "the temperature coefficient of the open voltage of {}"),
        Field(
            "arrangement", "count", "how the panels of {} are joined", part="arrangement", left_out="parallel"
        ),
    ),
    "inverter": (
        Field("rated", "rated", "the rated power of {}"),
        *SURGE,
        Field("efficiency", "efficiency", "the efficiency of {}"),
        Field("idle", "idle", "the idle current of {}"),
        Field("output", "output", "the output voltage of {}"),
    ),
    "hub": (RATED,),
    "busbar": (RATED,),
    "isolator": CONTACT,
    "switch": CONTACT,
    "shunt": CONTACT,
    "relay": (
        *CONTACT,
        Field("closes", "closes", "the voltage at which {} closes", nothing=True),
        Field("opens", "opens", "the voltage at which {} opens", nothing=True),
        Field("coil", "coil", "the coil current of {}", nothing=True),
    ),
    "plug": (
        *CONTACT,
        Field("live", "live", "which half of {} stays live when it is parted"),
    ),
    "splice": (),
    "load": (
        Field("draws", "draws", "what {} draws"),
        *SURGE,
        Field("cuts_out", "cuts-out", "the voltage below which {} stops working", nothing=True),
        Field("standby", "standby", "what {} takes while it is switched off", nothing=True, left_out=None),
    ),
    "sensor": (
        Field("measures", "measures", "what {} measures"),
        Field("draws", "draws", "what {} draws", nothing=True),
    ),
}

SPLICE_MADE = ("crimped", "soldered", "twisted")
SPLICE_COVER = ("sealed", "taped", "bare")

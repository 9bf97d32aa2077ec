"""Facts of places: how hot, how wet, what moves there, and what guards a hole."""

from __future__ import annotations

from loomwright.facts.attribute import attributes
from loomwright.facts.registry import Missing
from loomwright.model.things import Place, Unknown

WET = frozenset(("spray", "stones", "wheel"))
"""Hazards that say that water and dirt off the road get at a place."""

ROUGH = frozenset(("heat", "exhaust", "moving", "driveline", "edge"))
"""Hazards that wear through or melt a single layer of insulation."""


def hazards_of(place: Place) -> frozenset[str]:
    """What there is to harm a cable. Raises Missing where nobody has looked."""
    if isinstance(place.hazards, Unknown):
        raise Missing(place.hazards)
    return place.hazards


def exposed(place: Place) -> bool:
    """Whether water and dirt off the road get at it."""
    return place.side == "outside" or not WET.isdisjoint(hazards_of(place))


def rough(place: Place) -> bool:
    """Whether one layer of insulation is too little there."""
    return exposed(place) or not ROUGH.isdisjoint(hazards_of(place))


def enclosed(place: Place) -> bool:
    """Whether nothing falls onto what is live there."""
    return place.side == "inside" and not exposed(place)


def shaken(place: Place) -> bool:
    return "vibration" in hazards_of(place)


attributes(
    "place",
    ("coolest", "temperature", "The lowest ambient temperature there.", lambda place: place.coolest),
    ("hottest", "temperature", "The highest ambient temperature there.", lambda place: place.hottest),
    ("hazards", "words", "What there is to harm a cable.", lambda place: tuple(sorted(hazards_of(place)))),
    (
        "side",
        "word inside|outside|habitable",
        "Whether it is inside the vehicle, outside, or where people stay.",
        lambda place: place.side,
    ),
    (
        "opening",
        "word grommet|bare|gland",
        "How the edge of a hole is guarded; none where it is no hole.",
        lambda place: place.opening,
    ),
    (
        "flexes",
        "yes-no",
        "Whether a cable passes there between parts that move against one another.",
        lambda place: place.flexes,
    ),
    ("volume", "volume", "The air in it.", lambda place: place.volume),
    (
        "vents",
        "area",
        "The free area of its vents, at the top and again at the bottom.",
        lambda place: place.vents,
    ),
    (
        "exposed",
        "yes-no",
        "Whether water and dirt off the road get at it: it is outside, or has spray, stones or a wheel.",
        exposed,
    ),
    (
        "rough",
        "yes-no",
        "Whether one layer of insulation is too little: exposed, hot, or with moving parts or edges.",
        rough,
    ),
    (
        "enclosed",
        "yes-no",
        "Whether it is said to be inside, so that nothing falls onto what is live there.",
        enclosed,
    ),
    ("shaken", "yes-no", "Whether an engine or the road shakes what is fixed there.", shaken),
)

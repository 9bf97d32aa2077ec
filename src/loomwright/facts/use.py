"""Facts of how the vehicle is used: modes, days and the site."""

from __future__ import annotations

from loomwright.facts.attribute import attributes

attributes(
    "mode",
    ("engine", "word running|off|cranking", "What the engine does.", lambda mode: mode.engine),
    ("mains", "yes-no", "Whether mains is plugged in.", lambda mode: mode.mains),
    ("says", "text", "What the mode is called in words.", lambda mode: mode.says),
)
attributes(
    "site",
    ("latitude", "angle", "How far north of the equator; south is negative.", lambda site: site.latitude),
    ("longitude", "angle", "How far east of Greenwich; west is negative.", lambda site: site.longitude),
    ("month", "word", "The month that the sun is reckoned for.", lambda site: site.month),
    ("coldest", "temperature", "The coldest dawn there.", lambda site: site.coldest),
)
attributes(
    "day",
    (
        "length",
        "time",
        "How long its modes last together.",
        lambda day: sum(hours.quantity.si for _, hours in day.hours),
    ),
)

"""What the trade's colour names look like on a screen; the name always stands beside the colour."""

from __future__ import annotations

DYES = {
    "black": "#1a1a1a",
    "blue": "#1f4fbf",
    "blue-green": "#1d8a84",
    "brown": "#6b3f1d",
    "clear": "#f4f4f0",
    "dark blue": "#14296b",
    "green": "#1f7a34",
    "grey": "#8a8a8a",
    "orange": "#e07a14",
    "pink": "#e58aa8",
    "purple": "#6a2f8a",
    "red": "#c21f1f",
    "tan": "#c9a26b",
    "violet": "#6a2f8a",
    "white": "#ffffff",
    "yellow": "#f2cf1a",
}
PLAIN = "#d8d5ca"


def dye(colour: str) -> str:
    """The CSS colour of a trade name; of a tracer's main colour for `black/red`; a neutral one for a name unknown."""
    return DYES.get(colour.split("/")[0].strip(), PLAIN)

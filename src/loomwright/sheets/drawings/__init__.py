"""The drawings of the install documents, as SVG: pure functions from the installation and its facts to text."""

from __future__ import annotations

from loomwright.sheets.drawings.diagram import diagram
from loomwright.sheets.drawings.energy import Spell, energy_chart
from loomwright.sheets.drawings.fuse_chart import Slot, fuse_chart, slots_of
from loomwright.sheets.drawings.protection import Cable, Faults, Surge, curve_of, protection_curve
from loomwright.sheets.drawings.routing import routing
from loomwright.sheets.drawings.svg import Drawing

__all__ = [
    "Cable",
    "Drawing",
    "Faults",
    "Slot",
    "Spell",
    "Surge",
    "curve_of",
    "diagram",
    "energy_chart",
    "fuse_chart",
    "protection_curve",
    "routing",
    "slots_of",
]

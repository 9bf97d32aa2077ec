"""The drawings of the install documents, as SVG: pure functions from the installation and its facts to text."""

from __future__ import annotations

from loomwright.sheets.drawings.diagram import diagram
from loomwright.sheets.drawings.routing import routing
from loomwright.sheets.drawings.svg import Drawing

__all__ = ["Drawing", "diagram", "routing"]

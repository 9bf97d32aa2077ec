"""What the terminal can show."""

from __future__ import annotations

import os
import sys
from typing import TextIO

# What a character set without them gets instead; anything else unknown becomes "?".
PLAIN = str.maketrans(
    {"²": "2", "³": "3", "°": "deg ", "Ω": "ohm", "×": "x", "−": "-", "·": ".", "–": "-", "µ": "u"}
)


def wants_colour(stream: TextIO) -> bool:
    """Colour only on a terminal, unless FORCE_COLOR asks for it or NO_COLOR forbids it (NO_COLOR wins)."""
    if os.environ.get("NO_COLOR"):
        return False
    if os.environ.get("FORCE_COLOR", "") not in ("", "0"):
        return True
    return stream.isatty() and os.environ.get("TERM") != "dumb"


def put(text: str, stream: TextIO | None = None) -> None:
    """Write text to standard output in whatever character set it has, with plain line ends."""
    stream = stream or sys.stdout
    encoding = stream.encoding or "ascii"
    try:
        text.encode(encoding)
    except UnicodeEncodeError:
        text = text.translate(PLAIN).encode(encoding, "replace").decode(encoding)
    stream.write(text)
    stream.flush()

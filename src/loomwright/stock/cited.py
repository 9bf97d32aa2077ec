"""A figure together with where it comes from and how firm it is."""

from __future__ import annotations

from loomwright.record import Record

READ = "read"
COMPUTED = "computed"
MEMORY = "memory"
CUSTOM = "common practice, no source"
BASES = (READ, COMPUTED, MEMORY, CUSTOM)
"""From the firmest to the weakest."""

_RANKS = {basis: rank for rank, basis in enumerate(BASES)}
_MARKS = {READ: "", COMPUTED: "", MEMORY: "from memory", CUSTOM: CUSTOM}


def weakest(*bases: str) -> str:
    """The basis of what rests on several figures: that of the weakest one."""
    return max(bases, key=_RANKS.__getitem__)


def mark_of(basis: str) -> str:
    """What must stand wherever a figure of this basis is shown; empty for what was read or computed."""
    return _MARKS[basis]


class Cited(Record):
    """A number from a published table. The unit is the look-up's."""

    value: float
    source: str
    basis: str

    @property
    def mark(self) -> str:
        """ "", "from memory" or "common practice, no source"."""
        return mark_of(self.basis)


class CitedWords(Record):
    """Words from a published table: a colour, the threads that a lug is made for."""

    value: tuple[str, ...]
    source: str
    basis: str

    @property
    def mark(self) -> str:
        """As `Cited.mark`."""
        return mark_of(self.basis)


class CitedRange(Record):
    """A published range, both ends included."""

    low: float
    high: float
    source: str
    basis: str

    @property
    def mark(self) -> str:
        """As `Cited.mark`."""
        return mark_of(self.basis)

    def holds(self, value: float) -> bool:
        """Whether the value lies in the range."""
        return self.low <= value <= self.high

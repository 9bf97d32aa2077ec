"""Cutting pieces from reels with the least cable opened: bin packing with bins of several lengths and a limited stock.

First-fit decreasing gives an answer at once; a branch-and-bound search then looks for a better one and, where it comes to its
end within its budget, has proven that there is none. All lengths are whole millimetres, so sums are exact.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from math import ceil, gcd, inf

from loomwright.record import Record

BUDGET = 5_000
"""Nodes that the search may visit: a count and not a time, so that the same input gives the same answer anywhere."""


class TooLong(ValueError):
    """A piece that no reel can give. `pieces` are the positions of all such pieces."""

    def __init__(self, pieces: tuple[int, ...]) -> None:
        super().__init__(f"{len(pieces)} pieces are longer than every reel")
        self.pieces = pieces


class Reel(Record):
    """Reels of one length, mm; `count` None for as many as are wanted."""

    length: int
    count: int | None = None


class Cut(Record):
    """One opened reel: its length, the positions of the pieces cut from it in the order given, and what is left, mm."""

    length: int
    pieces: tuple[int, ...]
    left: int


class Nesting(Record):
    """The reels that are opened. `proven` tells whether no choice opens less cable."""

    cuts: tuple[Cut, ...]
    proven: bool

    @property
    def opened(self) -> int:
        return sum(cut.length for cut in self.cuts)

    @property
    def waste(self) -> int:
        return sum(cut.left for cut in self.cuts)


class Short(ValueError):
    """The reels in stock do not hold all pieces."""


def nest(pieces: Sequence[int], reels: Sequence[Reel], budget: int = BUDGET) -> Nesting:
    """Every piece on one reel, the least cable opened, and of such answers the fewest reels.

    Raises TooLong for pieces that no reel is long enough for, Short where a limited stock does not hold all, and ValueError for
    lengths that are not above 0.
    """
    if any(piece <= 0 for piece in pieces) or any(reel.length <= 0 for reel in reels):
        raise ValueError("pieces and reels have lengths above 0")
    longest = max((reel.length for reel in reels if reel.count != 0), default=0)
    over = tuple(index for index, piece in enumerate(pieces) if piece > longest)
    if over:
        raise TooLong(over)
    first = first_fit_decreasing(pieces, reels)
    search = _Search(pieces, reels, budget)
    if first is not None:
        search.keep(first)
    if not (first is not None and search.is_least(first)):
        search.place(0)
    if search.best is None:
        raise Short("the reels in stock do not hold all pieces")
    return Nesting(_cuts(pieces, search.best), search.spent < budget)


def first_fit_decreasing(pieces: Sequence[int], reels: Sequence[Reel]) -> list[tuple[int, list[int]]] | None:
    """The longest piece first, each on the first opened reel with room, else on a new one: the shortest that takes all that is
    left, or else the longest in stock. None where the stock gives out."""
    stock = _Stock(reels)
    opened: list[tuple[int, list[int]]] = []
    waiting = sum(pieces)
    for index in _longest_first(pieces):
        piece = pieces[index]
        for length, held in opened:
            if sum(pieces[each] for each in held) + piece <= length:
                held.append(index)
                break
        else:
            fitting = [length for length in stock.lengths if length >= piece and stock.has(length)]
            if not fitting:
                return None
            length = next((length for length in fitting if length >= waiting), fitting[-1])
            stock.take(length)
            opened.append((length, [index]))
        waiting -= piece
    return opened


def least_opened(pieces: Sequence[int], reels: Sequence[Reel]) -> int:
    """No answer opens less than this: the cable itself, in steps of what all lengths of reel are multiples of."""
    return _whole(sum(pieces), [reel.length for reel in reels if reel.count != 0])


def _whole(needed: int, lengths: Sequence[int]) -> int:
    """The least that reels of these lengths can open for so much cable, or something below it."""
    if needed <= 0 or not lengths:
        return 0
    step = gcd(*lengths)
    return max(ceil(needed / step) * step, min(lengths))


def _longest_first(pieces: Sequence[int]) -> list[int]:
    return sorted(range(len(pieces)), key=lambda index: (-pieces[index], index))


def _cuts(pieces: Sequence[int], opened: Sequence[tuple[int, list[int]]]) -> tuple[Cut, ...]:
    return tuple(
        Cut(length, tuple(sorted(held)), length - sum(pieces[index] for index in held))
        for length, held in opened
    )


@dataclass(slots=True)
class _Stock:
    """What is left in stock, by length."""

    left: dict[int, float]

    def __init__(self, reels: Sequence[Reel]) -> None:
        self.left = {}
        for reel in sorted(reels, key=lambda reel: reel.length):
            self.left[reel.length] = self.left.get(reel.length, 0) + (
                inf if reel.count is None else reel.count
            )

    @property
    def lengths(self) -> list[int]:
        return list(self.left)

    def has(self, length: int) -> bool:
        return self.left[length] > 0

    def take(self, length: int) -> None:
        self.left[length] -= 1

    def give_back(self, length: int) -> None:
        self.left[length] += 1


@dataclass(slots=True)
class _Search:
    """Depth first over the pieces, the longest first: each on an opened reel or on a new one."""

    pieces: Sequence[int]
    reels: Sequence[Reel]
    budget: int
    best: list[tuple[int, list[int]]] | None = None
    spent: int = 0
    cost: tuple[float, float] = (inf, inf)
    order: list[int] = field(default_factory=list)
    after: list[int] = field(default_factory=list)
    opened: list[tuple[int, list[int]]] = field(default_factory=list)
    room: list[int] = field(default_factory=list)
    stock: _Stock = field(init=False)

    def __post_init__(self) -> None:
        self.stock = _Stock(self.reels)
        self.order = _longest_first(self.pieces)
        total = 0
        for index in reversed(self.order):
            total += self.pieces[index]
            self.after.append(total)
        self.after = [*reversed(self.after), 0]

    def keep(self, opened: Sequence[tuple[int, list[int]]]) -> None:
        self.best = [(length, list(held)) for length, held in opened]
        self.cost = _cost(opened)

    def is_least(self, opened: Sequence[tuple[int, list[int]]]) -> bool:
        """Whether the bound alone proves it the best: nothing opens less, and one reel is the fewest."""
        fewest = ceil(sum(self.pieces) / max(reel.length for reel in self.reels)) if self.pieces else 0
        return self.cost[0] <= least_opened(self.pieces, self.reels) and len(opened) <= fewest

    def place(self, depth: int) -> None:
        if self.spent >= self.budget:
            return
        self.spent += 1
        if depth == len(self.order):
            if _cost(self.opened) < self.cost:
                self.keep(self.opened)
            return
        if not self._may_improve(depth):
            return
        index = self.order[depth]
        piece = self.pieces[index]
        self._on_opened(depth, index, piece)
        for length in self.stock.lengths:
            if length >= piece and self.stock.has(length):
                self.stock.take(length)
                self.opened.append((length, [index]))
                self.room.append(length - piece)
                self.place(depth + 1)
                self.room.pop()
                self.opened.pop()
                self.stock.give_back(length)

    def _on_opened(self, depth: int, index: int, piece: int) -> None:
        tried: set[int] = set()  # reels with the same room are alike
        for place, (_, held) in enumerate(self.opened):
            if self.room[place] < piece or self.room[place] in tried:
                continue
            tried.add(self.room[place])
            held.append(index)
            self.room[place] -= piece
            self.place(depth + 1)
            self.room[place] += piece
            held.pop()

    def _may_improve(self, depth: int) -> bool:
        """Whether what must still be opened leaves a chance to beat the best."""
        opened, count = _cost(self.opened)
        lacking = self.after[depth] - sum(self.room)
        if lacking > 0:
            available = [length for length in self.stock.lengths if self.stock.has(length)]
            if not available:
                return False
            opened += _whole(lacking, available)
            count += ceil(lacking / available[-1])
        return (opened, count) < self.cost


def _cost(opened: Sequence[tuple[int, list[int]]]) -> tuple[float, float]:
    return sum(length for length, _ in opened), len(opened)

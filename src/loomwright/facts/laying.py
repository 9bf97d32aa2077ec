"""Facts of how a cable is made and laid: its conductor, how it is bent, where it is first held, and how it comes into a device."""

from __future__ import annotations

from loomwright.facts.attribute import attributes
from loomwright.facts.connection import is_unseen, not_seen
from loomwright.facts.electrics.resistances import metal_of
from loomwright.facts.registry import Ledger, Missing, fact
from loomwright.facts.run import cite_in, size_of
from loomwright.model.things import (
    Battery,
    Busbar,
    End,
    Fuse,
    Run,
    Splice,
    Stretch,
    Terminal,
    Unknown,
)
from loomwright.stock import conductors, making
from loomwright.syntax.tree import Measure

attributes(
    "run",
    (
        "strands",
        "word stranded|solid",
        "Whether its conductor is stranded.",
        lambda run: run.conductor.strands,
    ),
    (
        "metal",
        "word copper|copper-clad|aluminium",
        "What its conductor is made of.",
        lambda run: run.conductor.metal,
    ),
    (
        "made-for",
        "word vehicle-cable|boat-cable|building-cable|speaker-cable",
        "What the cable was made for.",
        lambda run: run.conductor.use,
    ),
)


@fact("run", "conductor", "text", "What its conductor and its cable are, as far as somebody has looked.")
def conductor(run: Run, _ledger: Ledger) -> str:
    made = run.conductor
    words = " ".join(word for word in (made.strands, made.metal, made.use) if isinstance(word, str))
    return words.replace("-cable", " cable").replace("copper-clad", "copper-clad aluminium")


ILL_MADE = {
    "copper-clad": "Under a skin of copper it is aluminium: it carries a fifth less, creeps out of its crimps, and rots wherever the skin is cut",
    "aluminium": "Aluminium carries a fifth less, creeps out of its crimps, and rots on brass and copper",
    "building-cable": "It is made to lie still in a wall: its insulation bears neither oil, nor heat, nor shaking",
    "speaker-cable": "Its thin insulation bears neither oil, nor heat, nor chafing",
}
"""What is wrong with a metal, or with what a cable was made for. Common practice, no source."""


@fact("run", "ill-made", "text", "What is wrong with its metal, or with what it was made for.")
def ill_made(run: Run, ledger: Ledger) -> str:
    words = (ledger.known(run.conductor.metal), ledger.known(run.conductor.use))
    return next((ILL_MADE[word] for word in words if word in ILL_MADE), "")


@fact(
    "run",
    "metal-factor",
    "ratio",
    "What its metal carries as a share of copper: the root of copper's resistivity over its own. Copper where nobody has said.",
    source="equal heat; NEC Table 310.16 agrees, from memory",
)
def metal_factor(run: Run, ledger: Ledger) -> float:
    cited = conductors.metal_current(metal_of(run))
    if cited.value < 1.0:
        cite_in(ledger, f"× {cited.value:.3g}", cited)
    return cited.value


# ---------------------------------------------------------------- bends


@fact(
    "run",
    "thickness",
    "length",
    "What it measures across a bend, over insulation or sheath: as the spec says, or by its size; a twin lies flat.",
    source="ISO 6722-1, thick wall, from memory",
)
def thickness(run: Run, ledger: Ledger) -> float:
    if run.diameter is not None:
        stated: Measure = ledger.known(run.diameter, "diameter")
        return float(stated.quantity.si)
    size = size_of(run, ledger)
    cores = run.multicore.cores if run.multicore else 2 if ledger.known(run.cable).twin else 1
    cited = making.bent_mm(size, max(1, cores))
    cite_in(ledger, f"{cited.value:.3g} mm", cited)
    return cited.value / 1000.0


@fact(
    "run",
    "least-bend",
    "length",
    "The tightest radius that it may be bent to, to the millimetre above: so many times its thickness.",
    source="AC 43.13-1B 11-96, from memory",
)
def least_bend(run: Run, ledger: Ledger) -> float:
    radius: float = ledger.limit("bend-radius") * ledger.get(run, "thickness")
    return -(-round(radius * 1e6) // 1000) / 1000.0


@fact(
    "run",
    "bend",
    "length",
    "The radius of its tightest bend; none where it lies straight, or a plan leaves it to the fitter.",
)
def bend(run: Run, ledger: Ledger) -> float | None:
    if run.bend is None:
        return None
    stated: Measure = ledger.known(run.bend, "bend")
    return float(stated.quantity.si)


# ---------------------------------------------------------------- the first clip, and the way in


@fact(
    "end",
    "first-clip",
    "length",
    "How far off it is first held, at the most; none where that is not written in a plan, or nothing holds it there at all.",
)
def first_clip(end: End, ledger: Ledger) -> float | None:
    if end.clip is None:
        return None
    if isinstance(end.clip, Unknown):
        return _by_spacing(end, end.clip, ledger)
    ledger.note(f"clip {end.clip.text}", span=end.clip.span)
    return float(end.clip.quantity.si)


def _by_spacing(end: End, unread: Unknown, ledger: Ledger) -> float | None:
    """Where the first clip is as far as the spacing there tells: no further off than one. Whether there are clips at all is another rule's."""
    if is_unseen(end):
        raise Missing(not_seen(end))
    if unread.span == end.span:
        raise Missing(unread)  # `unknown` is written of this very end
    spacing = _stretch_at(end, ledger).clips
    if spacing is None or isinstance(spacing, Unknown):
        return None
    if spacing.quantity.si > ledger.limit("first-clip"):
        raise Missing(unread)
    ledger.note(f"clips {spacing.text}", span=spacing.span)
    return float(spacing.quantity.si)


def _stretch_at(end: End, ledger: Ledger) -> Stretch:
    """The piece of the way that an end begins or closes, openings left out."""
    path = [each for each in ledger.known(ledger.installation.stretches_of[end.run]) if each.length]
    if not path:
        raise Missing(Unknown(f"where {end.run.name} lies", end.run.span))
    at = 0.0 if end.side == "start" else path[-1].stop_m
    if isinstance(end.point, Fuse):
        at = ledger.known(end.point.from_start_m) or 0.0
    found: Stretch = next((each for each in path if each.stop_m >= at), path[-1])
    return found


@fact(
    "end",
    "entry",
    "word from-above|from-below|looped",
    "How the cable comes into what it ends at; none where that has no inside, or a plan leaves it to the fitter.",
)
def entry(end: End, ledger: Ledger) -> str | None:
    if end.entry is None or not has_inside(end):
        return None
    if isinstance(end.entry, Unknown) and is_unseen(end):
        raise Missing(not_seen(end))
    how: str = ledger.known(end.entry)
    return how


def has_inside(end: End) -> bool:
    """Whether what it ends at is a case that water may run into."""
    return isinstance(end.point, Terminal) and not isinstance(end.point.device, (Battery, Busbar, Splice))

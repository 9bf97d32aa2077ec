"""The page of all facts: what a rule may ask of each kind of thing, straight from the registry."""

from __future__ import annotations

from loomwright.facts.registry import FACTS, Definition
from loomwright.facts.types import WIDER
from loomwright.manual.markdown import code, link, page, table
from loomwright.quantity import DIMENSIONS
from loomwright.rulebook.dimensions import noun, plural

INTRODUCTION = """\
What is known of each thing of a spec. A rule asks for a fact by its path (`f.fuse.rating`, `l.drop(m)`), and
`loomwright explain FACT SPEC NAME` shows how it came about. A fact that rests on something the spec leaves open is unknown, and
so is all that rests on it. Quantities are held in the unit given here and printed in the one that suits them; temperatures are in
degrees Celsius, a ratio is a plain number (35 % is 0.35). "The spec" stands for what a clause says as it is; a source of "–" means
that the fact follows from the words of its sentence."""


def page_of_facts() -> str:
    kinds = sorted({kind for kind, _ in FACTS})
    contents = ", ".join(link(kind, "", kind) for kind in kinds)
    return page("Facts", INTRODUCTION, f"Kinds: {contents}.", *map(_of_kind, kinds))


def _of_kind(kind: str) -> str:
    rows = (_row(one) for (of, _), one in sorted(FACTS.items()) if of == kind)
    parts = [f"## {kind}", _wider(kind), table(("fact", "value", "what it is", "source"), rows)]
    return "\n\n".join(part.strip("\n") for part in parts if part)


def _wider(kind: str) -> str:
    """The kinds whose facts things of this kind have as well, and those that share the facts of this one."""
    wider = [each for each in WIDER.get(kind, ())[1:] if any(of == each for of, _ in FACTS)]
    narrower = [name for name, kinds in WIDER.items() if kind in kinds[1:]]
    also = (
        f"Has the facts of a {' and a '.join(link(each, '', each) for each in wider)} too." if wider else ""
    )
    shared = f"Facts of each of these: {', '.join(narrower)}." if narrower else ""
    return " ".join(filter(None, (also, shared)))


def _row(fact: Definition) -> tuple[str, str, str, str]:
    takes = f"({', '.join(map(_argument, fact.takes))})" if fact.takes else ""
    source = "–" if fact.source == "definition" else fact.source
    return code(f"{fact.name}{takes}"), value_of(fact.type), fact.says, source


def _argument(type_: str) -> str:
    return type_.removeprefix("thing ")


def value_of(type_: str) -> str:
    """What kind of value a fact has, in words and with its unit."""
    first, _, rest = type_.partition(" ")
    if first in DIMENSIONS:
        unit = DIMENSIONS[first].unit
        return f"{DIMENSIONS[first].noun}, {unit}" if unit else DIMENSIONS[first].noun
    if first in ("word", "words") and rest:
        words = ", ".join(map(code, rest.split("|")))
        return f"one of {words}" if first == "word" else f"some of {words}"
    return {"things": f"several {plural(rest)}", "yes-no": "yes or no"}.get(first) or noun(type_)

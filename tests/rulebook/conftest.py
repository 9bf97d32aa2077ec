"""A small registry of facts that the tests can see through, and short ways from text to findings."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterator
from typing import Any

import pytest

from loomwright.facts.limits import Limit, load_limits
from loomwright.facts.registry import FACTS, Ledger, fact, look_again
from loomwright.model.load import load
from loomwright.rulebook import concessions
from loomwright.rulebook.finding import Finding
from loomwright.rulebook.judge import judge
from loomwright.rulebook.load import Rulebook, rulebook_of
from loomwright.syntax.tree import Measure

SPEC = """
fitout "Test" { stage as-found; system 12 V }
place bay { ambient 60 degC; hazards heat, vibration }
place tray { hazards wheel, spray; outside }
structure chassis { metal steel; bonded crank.neg }
battery crank in bay { chemistry lead-acid; capacity 75 Ah; stud M8 }
battery house in tray { chemistry agm; capacity 100 Ah; stud M8 }
load lamp in tray { draws 5 A }
load pump in tray { draws 60 W }
feed main from crank.pos to house.pos {
    cable  16 mm2 red
    along  bay 1.0 m, tray 2.0 m
    fuse   strip 60 A at 0.15 m
    end    crank.pos lug 16 mm2 M10 crimped bare loose
    end    house.pos lug 16 mm2 M8 crimped sealed tight
}
feed bare from crank.pos to pump.pos {
    cable  6 mm2 red
    along  tray 3.0 m
    fuse   none
    clips  none
}
feed hidden from house.pos to pump.pos { along tray 1.0 m }
circuit light from house.pos to lamp { cable twin 2 mm2; along tray 2.0 m; return house.neg; fuse blade 10 A at 0.1 m }
mode day   { on lamp }
mode night { on lamp, pump }
"""


def plain(value: Any) -> Any:
    return value.quantity.si if isinstance(value, Measure) else value


def attribute(
    kind: str, name: str, type_: str, get: Callable[[Any, Ledger], Any], takes: tuple[str, ...] = ()
) -> None:
    @fact(kind, name, type_, "a stub", takes=takes)
    def read(thing: Any, ledger: Ledger, *arguments: Any) -> Any:
        return plain(ledger.known(get(thing, ledger, *arguments)))


def register_stubs() -> None:
    attribute("run", "from", "thing point", lambda run, _: run.start)
    attribute("run", "to", "thing point", lambda run, _: run.end)
    attribute("run", "maker", "yes-no", lambda run, _: run.maker)
    attribute("run", "ends", "things end", lambda run, ledger: ledger.installation.ends_of[run])
    attribute("run", "fuses", "things fuse", lambda run, ledger: ledger.installation.fuses_of[run])
    attribute("run", "stretches", "things stretch", lambda run, ledger: ledger.installation.stretches_of[run])
    attribute("run", "area", "area", lambda run, ledger: float(ledger.known(run.cable).size.number) * 1e-6)
    attribute("run", "size", "text", lambda run, ledger: ledger.known(run.cable).size.text)
    attribute("run", "twice", "length", lambda _run, _ledger, length: 2 * length, takes=("length",))
    attribute(
        "feed",
        "fuse",
        "thing fuse",
        lambda run, ledger: next(iter(ledger.known(ledger.installation.fuses_of[run])), None),
    )
    attribute(
        "feed",
        "carries",
        "current",
        lambda run, ledger: 5e6 * float(ledger.known(run.cable).size.number) * 1e-6,
    )
    attribute("fuse", "rating", "current", lambda fuse, _: fuse.rating)
    attribute("fuse", "kind", "word blade|mini|strip", lambda fuse, _: fuse.kind)
    attribute("end", "held", "word tight|loose", lambda end, _: end.held)
    attribute("end", "lug-stud", "word", lambda end, _: end.lug_thread)
    attribute("connection", "made", "word crimped|soldered|twisted", lambda _connection, _: "crimped")
    attribute("stretch", "place", "thing place", lambda stretch, _: stretch.place)
    attribute("place", "hazards", "words heat|wheel|spray|vibration", lambda place, _: place.hazards)
    attribute("place", "hottest", "temperature", lambda place, _: place.hottest)
    attribute("battery", "chemistry", "word lead-acid|agm|gel|lifepo4", lambda battery, _: battery.chemistry)
    attribute("battery", "capacity", "charge", lambda battery, _: battery.capacity)
    attribute(
        "load",
        "current",
        "current",
        lambda _load, _ledger, mode: 8.0 if mode.name == "night" else 5.0,
        takes=("thing mode",),
    )
    attribute("fitout", "system", "voltage", lambda fitout, _: fitout.system)


@pytest.fixture(autouse=True)
def _no_cache(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("LOOMWRIGHT_CACHE", "off")


@pytest.fixture
def stubs() -> Iterator[None]:
    """Only the stub facts and those of concessions."""
    before = dict(FACTS)
    FACTS.clear()
    FACTS.update({key: value for key, value in before.items() if key[0] == concessions.KIND})
    look_again()
    register_stubs()
    yield
    FACTS.clear()
    FACTS.update(before)
    look_again()


@pytest.fixture
def limits() -> dict[str, Limit]:
    return dict(load_limits())


@pytest.fixture
def book(stubs: None) -> Callable[..., Rulebook]:  # noqa: ARG001  rules are checked against the stubs
    def read(*texts: str) -> Rulebook:
        return rulebook_of(
            [(f"rules/test-{number}.rules", text, True) for number, text in enumerate(texts, 1)]
        )

    return read


@pytest.fixture
def judged(book: Callable[..., Rulebook]) -> Callable[..., list[Finding]]:
    """Findings of a rule text on a spec; the text must be sound."""

    def run(rules: str, spec: str = SPEC, today: str | None = None) -> list[Finding]:
        read = book(rules)
        assert [problem.message for problem in read.problems] == []
        loaded = load(spec, "test.fitout")
        assert [problem.message for problem in loaded.problems] == []
        assert loaded.installation is not None
        day = datetime.date.fromisoformat(today) if today else None
        return judge(read.rules, Ledger(loaded.installation, load_limits(), day))

    return run


@pytest.fixture
def spec() -> str:
    return SPEC

"""The order of statements is free, any text is answered with problems and never with an error, and time grows in proportion."""

from __future__ import annotations

import gc
import random
import time
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loomwright.model.graph import Graph
from loomwright.model.load import load
from loomwright.model.things import Device, End, Fuse, Installation, Run, Terminal, Thing, Unknown
from loomwright.record import Entity, values_of
from loomwright.source import Source, Span
from loomwright.syntax.parse import parse
from loomwright.syntax.tree import Measure, Size

SPECS = Path(__file__).parents[2] / "specs"
SYSTEMS = ["orchard-bees/planned.fitout", "orchard-bees/as-found.fitout", "marsh-lab/planned.fitout"]


def flat(value: Any, deep: bool = True) -> Any:
    """A value of the model without its places in the text; a thing within a thing is only its name."""
    if isinstance(value, Span):
        return None
    if isinstance(value, (Measure, Size)):
        return value.text
    if isinstance(value, Unknown):
        return ("unknown", value.what)
    if isinstance(value, (Thing, Terminal)) and not deep:
        return value.name
    if isinstance(value, Mapping):
        return sorted((str(flat(key, False)), flat(each, False)) for key, each in value.items())
    if isinstance(value, (tuple, frozenset)):
        return [flat(each, False) for each in (sorted(value) if isinstance(value, frozenset) else value)]
    if isinstance(value, Entity):
        fields = [(name, flat(part, False)) for name, part in values_of(value).items() if name != "clauses"]
        return (type(value).__name__, fields)
    return value


def all_of(installation: Installation) -> dict[str, Any]:
    """Everything in an installation by name, free of the order of its statements."""
    things = {f"{type(each).__name__} {name}": flat(each) for name, each in installation.named.items()}
    for run in installation.runs:
        key = f"{run.role} {run.name}"
        things[key] = flat(run)
        for part in ("ends_of", "fuses_of", "joints_of", "stretches_of"):
            things[f"{key} {part}"] = flat(getattr(installation, part)[run])
    for point, ends in installation.landing_on.items():
        things[f"on {point.name}"] = sorted((end.run.name, end.side, str(flat(end))) for end in ends)
    return things


@pytest.mark.parametrize("name", SYSTEMS)
@settings(max_examples=8, deadline=None)
@given(seed=st.randoms(use_true_random=False))
def test_shuffled_statements_give_the_same_installation(name: str, seed: random.Random) -> None:
    text = (SPECS / name).read_text(encoding="utf-8")
    statements = [each.span.text for each in parse(Source(name, text)).document.statements]
    seed.shuffle(statements)
    before, after = load(text, name), load("\n".join(statements), name)
    assert before.installation is not None
    assert after.installation is not None
    assert all_of(after.installation) == all_of(before.installation)
    one, other = Graph(before.installation), Graph(after.installation)
    fed = [
        sorted((each.consumer.name, each.source.name, each.charging, len(each.path)) for each in graph.fed)
        for graph in (one, other)
    ]
    assert fed[0] == fed[1]


@settings(max_examples=40, deadline=None)
@given(seed=st.randoms(use_true_random=False))
def test_torn_and_shuffled_lines_never_end_in_an_error(seed: random.Random) -> None:
    lines = (SPECS / seed.choice(SYSTEMS)).read_text(encoding="utf-8").splitlines()
    for _ in range(seed.randrange(1, 12)):
        at = seed.randrange(len(lines))
        match seed.randrange(4):
            case 0:
                del lines[at]
            case 1:
                lines[at] = lines[at][: seed.randrange(len(lines[at]) + 1)]
            case 2:
                lines.insert(at, seed.choice(lines))
            case _:
                other = seed.randrange(len(lines))
                lines[at], lines[other] = lines[other], lines[at]
    loaded = load("\n".join(lines), "torn.fitout")
    assert (loaded.installation is None) == bool(loaded.problems or loaded.fragment)
    assert list(loaded.problems) == sorted(loaded.problems, key=lambda problem: problem.order())


def fleet(systems: int) -> str:
    """A file with ten runs for each system: a battery, a hub fed through a fuse, and four circuits."""
    parts = [
        'fitout "fleet" { stage planned; system 12 V }\npractice { sleeve braid; clips 0.3 m }\nplace bay\nplace box'
    ]
    for number in range(systems):
        own = [f"battery b{number} in bay", f"hub h{number} in box {{ negatives 8 x M4"]
        own += [f"  way {way} blade 10 A" for way in range(1, 5)] + ["}"]
        own += [
            f"feed f{number} from b{number}.pos to h{number}.in {{ cable 16 mm2; along bay 1 m, box 2 m; fuse strip 60 A at 0.1 m }}",
            f"earth e{number} from h{number}.neg to b{number}.neg {{ cable 16 mm2; along box 2 m, bay 1 m }}",
        ]
        for way in range(1, 5):
            own.append(f"load l{number}-{way} in box {{ draws 2 A }}")
            own.append(
                f"circuit c{number}-{way} from h{number}.{way} to l{number}-{way} {{ cable twin 2.5 mm2; along box 2 m }}"
            )
        parts.append("\n".join(own))
    return "\n".join(parts)


def timed(systems: int) -> tuple[float, float]:
    """Seconds for building and for the graph's questions, without the parsing."""
    from loomwright.model.building import build

    statements = parse(Source("fleet.fitout", fleet(systems))).document.statements
    gc.disable()  # as load does
    started = time.process_time()
    installation, problems = build(statements)
    built = time.process_time()
    assert problems == ()
    assert installation is not None
    assert len(installation.runs) == 10 * systems
    graph = Graph(installation)
    for run in installation.runs:
        graph.feeds(run.start, without=run)
        graph.feeds(run.end, without=run)
        graph.downstream(run)
    gc.enable()
    return built - started, time.process_time() - built


def test_five_thousand_runs_take_time_in_proportion() -> None:
    small, large = (
        [min(times) for times in zip(*(timed(systems) for _ in range(repeats)), strict=True)]
        for systems, repeats in ((50, 3), (500, 2))
    )
    assert large[0] < 30 * small[0]
    assert large[1] < 30 * small[1]


def test_a_fuse_and_an_end_carry_the_name_of_their_run() -> None:
    installation = load(fleet(1), None).installation
    assert installation is not None
    fused = next(run for run in installation.runs if installation.fuses_of[run])
    fuses = installation.fuses_of[fused]
    assert isinstance(fuses, tuple)
    assert isinstance(fuses[0], Fuse)
    named: list[Fuse | End | Run] = [fuses[0], *installation.ends_of[fused], fused]
    assert {each.name for each in named} == {"f0"}
    assert all(isinstance(each, Device) for each in installation.devices)

"""Systems to draw: the complete specs, and one with sixty loads."""

from __future__ import annotations

from pathlib import Path

import pytest

from loomwright.model.load import load
from loomwright.model.things import Installation

SPECS = sorted((Path(__file__).parents[3] / "specs").rglob("*.fitout"))


def installation_of(text: str, path: str | None = None) -> Installation:
    loaded = load(text, path)
    assert [problem.message for problem in loaded.problems] == []
    assert loaded.installation is not None
    return loaded.installation


def sixty_loads(loads: int = 60, ways: int = 12) -> str:
    """A spec of so many loads on hubs of so many ways, each fed from one busbar and returned to another."""
    hubs = -(-loads // ways)
    lines = [
        'fitout "Sixty loads" { stage planned; system 12 V }',
        "place bay { ambient 40 degC }",
        "place wall { opening grommet }",
        "place box { ambient 30 degC }",
        "structure chassis { metal steel; bonded crank.neg }",
        "battery crank in bay { serves cranking; stud M8 }",
        "isolator main in bay { rated 200 A }",
        f"busbar plus in box {{ studs {hubs + 2} x M8 }}",
        f"busbar minus in box {{ studs {hubs + 2} x M8 }}",
        "feed trunk from crank.pos to main.in { cable 35 mm2 red; along bay 1 m; fuse strip 200 A at 0.1 m }",
        "feed riser from main.out to plus { cable 35 mm2 red; along bay 1 m, wall, box 1 m }",
        "earth back from minus to crank.neg { cable 35 mm2 black; along box 1 m, wall, bay 1 m }",
    ]
    for hub in range(1, hubs + 1):
        number = range(ways * (hub - 1) + 1, min(loads, ways * hub) + 1)
        rows = "; ".join(f"way {n - number[0] + 1} blade 10 A" for n in number)
        lines += [
            f"hub ways-{hub} in box {{ negatives {ways} x M4; {rows} }}",
            f"feed feed-{hub} from plus to ways-{hub}.in {{ cable 10 mm2 red; along box 1 m; fuse strip 60 A at 0.1 m }}",
            f"earth back-{hub} from ways-{hub}.neg to minus {{ cable 10 mm2 black; along box 1 m }}",
        ]
        for n in number:
            lines += [
                f"load thing-{n} in box {{ draws 2 A }}",
                f"circuit circuit-{n} from ways-{hub}.{n - number[0] + 1} to thing-{n} {{ cable twin 2.5 mm2; along box {n / 10} m }}",
            ]
    return "\n".join(lines)


@pytest.fixture(scope="session")
def sixty() -> Installation:
    return installation_of(sixty_loads())


@pytest.fixture(
    scope="session", params=[*SPECS, None], ids=lambda p: f"{p.parent.name}-{p.stem}" if p else "sixty-loads"
)
def system(request: pytest.FixtureRequest) -> Installation:
    """Each complete system."""
    path = request.param
    return (
        installation_of(path.read_text(encoding="utf-8"), str(path))
        if path
        else installation_of(sixty_loads())
    )

"""A spec and its include on disk, and who watches them."""

from __future__ import annotations

from pathlib import Path

from loomwright.report.check import Report
from loomwright.watching.watch import Watch

FITOUT = 'fitout "Van" { stage planned; system 12 V }\ninclude "shared.fitout"\n'
SHARED = "place box { ambient 40 degC }\n"
BODY = """battery house in box { chemistry agm; capacity 80 Ah; internal 6 mohm; stud M8; serves house; held-down; sealed }
load lamp in box { draws 3 A }
feed main from house.pos to lamp.pos { cable 4 mm2 red 90 degC; along box 2 m }
earth back from lamp.neg to house.neg { cable 4 mm2 black 90 degC; along box 2 m }
mode night { engine off; on lamp }
"""


class Seat:
    """Somebody who watches a spec: what was told and shown, look by look."""

    def __init__(self, folder: Path) -> None:
        self.spec = folder / "van.fitout"
        self.shared = folder / "shared.fitout"
        (folder / "loomwright.toml").write_text("")
        self.spec.write_text(FITOUT + BODY)
        self.shared.write_text(SHARED)
        self.told: list[Report | str] = []
        self.pages: list[str] = []
        self.watch = Watch(str(self.spec), self.told.append, self.pages.append, only=("run-schedule",))

    def looks(self, times: int = 3) -> int:
        """How often something was told in some looks."""
        return sum(self.watch.look() for _ in range(times))

    @property
    def report(self) -> Report:
        last = self.told[-1]
        assert isinstance(last, Report), last
        return last

"""Every message about the form of a spec: lines, braces, words, numbers, units."""

from __future__ import annotations

from collections.abc import Iterable

import pytest
from syrupy.assertion import SnapshotAssertion

from loomwright.source import Problem, Source
from loomwright.syntax.parse import MOST_PROBLEMS, parse

from .gallery import cases, in_surroundings, shown

STATEMENTS = """
frobnicate main
----
batery house in tray
----
chemistry agm
----
"text" main
----
place
----
place none
----
place Bay_2 { inside }
----
place 5
----
place crank.pos
----
place bay tray
----
feed main form crank.pos to house.pos
----
feed main from crank.pos
----
load lamp in tray is
----
part toolbox agm-100
----
include workshop
----
readings yesterday by "RM" in night
"""

BRACES = """
place bay {
    inside
----
}
----
{ inside }
----
place bay ambient 60 degC }
----
place bay
    inside
}
----
place bay {
    inside
place tray { outside }
----
include "workshop.fitout" { inside }
----
place bay {
    inside { hot }
}
----
feed main from crank.pos to house.pos {
    along bay 1 m, tray 2 m,
    fuse strip 60 A at 0.15 m
}
"""

WORDS = """
place bay { moisture high }
----
place bay { ambiant 60 degC }
----
load lamp in tray { chemistry agm }
----
load lamp in tray { sleeve braid }
----
place bay { feed main }
----
place bay { "dry" }
----
place bay { hazards fire }
----
place bay { hazards vibraton }
----
battery house in tray { serves everything }
----
place bay { inside out }
----
place bay { hazards }
----
place bay { opening }
----
feed main from crank.pos to house.pos { fuse strip 60 A }
----
feed main from crank.pos to house.pos { fuse strip 60 A ad 0.15 m }
----
feed main from crank.pos to house.pos { cable 4 mm2 turquoise }
----
feed main from crank.pos to house.pos { cable 4 mm2 black/rd }
----
feed main from crank.pos to house.pos { cable 4 mm2 black/turquoise }
----
feed main from crank.pos to house.pos { cable 4 mm2 red black }
----
feed main from crank.pos to house.pos { loom Spine }
----
feed main from crank.pos to house.pos { loom none-such. }
----
battery house in tray { stud 8 }
----
day work { Driving 3 h }
----
day work { 3 h }
"""

TEXTS = """
place bay { note "behind the lining
}
----
place bay { note behind }
----
place bay { note "bell\a" }
----
place b\aay
----
fitout "x" { drawn 2026-13-40 by "RM" }
----
fitout "x" { drawn yesterday }
"""

REPEATS = """
battery house in tray {
    capacity 100 Ah
    capacity 120 Ah
}
----
battery house in tray { vented; sealed }
----
feed main from crank.pos to house.pos {
    sleeve braid in bay
    sleeve conduit in bay
}
----
hub ways in tray { way 1 blade 10 A; way 1 blade 15 A }
"""

NUMBERS = """
place bay { ambient 60 }
----
place bay { ambient 60 to 70 degC }
----
place bay { ambient 60 degC to 20 degC }
----
place bay { ambient 900 degC }
----
load lamp in tray { draws 0 W }
----
load lamp in tray { draws -5 W }
----
load lamp in tray { draws 1e999 W }
----
load lamp in tray { draws 3. W }
----
battery house in tray { reserve 120 % }
----
feed main from crank.pos to house.pos { clips 50 m }
----
feed main from crank.pos to house.pos { along bay 0,7 m }
----
load lamp in tray { count 2.5 }
----
load lamp in tray { count 0 }
----
load lamp in tray { count 3. }
----
hub ways in tray { way 900 blade 10 A }
----
fitout "x" { stage planned; system 13 V }
----
day work { driving 30 h }
----
site { tilt 100 deg }
"""

UNITS = """
place bay { ambient 60 C }
----
place bay { ambient 60 DegC }
----
battery house in tray { capacity 100 A }
----
battery house in tray { capacity 100 furlongs }
----
battery house in tray { capacity 100 xyzzy }
----
battery house in tray { capacity 8 B&S }
----
battery house in tray { capacity 1e300 kAh }
----
battery house in tray { capacity 1e308 kAh }
----
feed main from crank.pos to house.pos { along bay 1e308 parsec }
----
load lamp in tray { draws 5 m }
----
load lamp in tray { draws 5 kg*m }
----
place bay { volume 3 m**99 }
----
load lamp in tray { surge 9 A for 2 at }
----
battery house in tray { internal 7 ohm }
----
battery house in tray { capacity 75 C }
----
alternator gen in bay { holds 142 V }
----
battery house in tray { stud Mx }
"""

SIZES = """
feed main from crank.pos to house.pos { cable 6 mm }
----
feed main from crank.pos to house.pos { cable 6 red }
----
feed main from crank.pos to house.pos { cable 0.01 mm2 }
----
feed main from crank.pos to house.pos { cable 6 cm auto }
----
feed main from crank.pos to house.pos { cable 99 AWG }
----
feed main from crank.pos to house.pos { cable 2/0 mm2 }
----
feed main from crank.pos to house.pos { cable 0 mm2 }
----
feed main from crank.pos to house.pos { cable 9000 mm2 }
----
feed main from crank.pos to house.pos { cable 0 mm auto }
----
feed main from crank.pos to house.pos { cable 4 kg }
----
feed main from crank.pos to house.pos { cable 4 }
"""

SUBJECTS = {
    "statements": STATEMENTS,
    "lines and braces": BRACES,
    "words": WORDS,
    "texts and dates": TEXTS,
    "what stands twice": REPEATS,
    "numbers": NUMBERS,
    "units": UNITS,
    "sizes of conductors": SIZES,
}


def alone(text: str) -> Iterable[Problem]:
    return parse(Source("case.fitout", text)).problems


@pytest.mark.parametrize("subject", SUBJECTS)
def test_what_is_said_of(subject: str, snapshot: SnapshotAssertion) -> None:
    assert shown(cases(SUBJECTS[subject]), alone) == snapshot


def test_what_is_said_of_a_text_that_is_no_spec_at_all(snapshot: SnapshotAssertion) -> None:
    text = "\n".join("frobnicate main" for _ in range(MOST_PROBLEMS + 50))
    problems = list(alone(text))
    assert len(problems) == MOST_PROBLEMS + 1
    assert shown([text], lambda _: problems[-2:]) == snapshot


def test_a_case_in_surroundings_is_about_itself_only() -> None:
    assert list(in_surroundings("place shed { inside }")) == []

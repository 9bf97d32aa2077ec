"""Every message about what a sound text means: names, terminals, paths, fuses, ends, modes, includes."""

from __future__ import annotations

import os
from collections.abc import Iterable
from pathlib import Path

import pytest
from syrupy.assertion import SnapshotAssertion

from loomwright.model.files import LARGEST
from loomwright.model.load import DEEPEST, MOST_FILES, load
from loomwright.source import Problem

from .gallery import HEAD, cases, in_surroundings, shown

NAMES = """
mode night { on pump }
----
load fan in trey { draws 2 A }
----
load fan in boot { draws 2 A }
----
load fan in crank { draws 2 A }
----
battery spare in tray is agm-99
----
battery spare in tray is bar
----
load fan in tray is agm-100 { draws 2 A }
----
earthpoint post on crank in tray
----
earthpoint post on cab in tray
----
feed spare from crank.pos to fan.pos
----
feed spare from crank.positive to pump.pos
----
feed spare from crank to pump.pos
----
feed spare from night to pump.pos
----
feed spare from bar.9 to pump.pos
----
feed spare from accessory.pos to accessory.neg
----
structure cab { bonded chassis }
----
earth spare from pump.neg to chasis
----
feed spare from bus to pump.pos
----
load fan in tray { draws 2 A; spaced 0.5 m }
----
battery spare in tray { chemistry none }
"""

HEADS = """
fitout "No stage" { system 12 V }
----
fitout "No voltage" { stage planned }
----
fitout "One" { stage planned; system 12 V }
fitout "Two" { stage planned; system 12 V }
----
practice { clips 0.3 m }
practice { clips 0.4 m }
----
site { latitude 0 deg }
site { latitude 10 deg }
"""

RUNS = """
feed spare from crank.pos to crank.pos
----
feed spare from crank.pos to lid
----
signal sense from chassis to house.pos
----
circuit fan from ways.1 to lamp.pos
----
circuit fan from ways.1 to fan
----
circuit fan from ways.1 to house
----
circuit fan from accessory.pos to lamp
----
circuit fan from ways.1 to lamp { return chasis }
"""

PATHS = """
feed spare from crank.pos to pump.pos { along bay, tray 2 m }
----
feed spare from crank.pos to pump.pos { along bay 1 m, trey 2 m }
----
feed spare from crank.pos to pump.pos { along bay 1 m; sleeve braid in tray }
----
feed spare from crank.pos to pump.pos { along bay 1 m; joint at 3 m crimped }
----
feed spare from crank.pos to pump.pos { loom spine }
"""

FUSES = """
feed spare from crank.pos to pump.pos { along bay 1 m; fuse blade 10 A at 1.5 m }
----
feed spare from crank.pos to pump.pos { along bay 1 m; fuse blade 10 A at 0.1 m from house.pos }
----
feed spare from crank.pos to pump.pos { along bay 1 m, tray 1 m; fuse blade 10 A at 0.1 m in tray }
----
feed spare from crank.pos to pump.pos { fuse none; fuse blade 10 A at 0.1 m }
"""

ENDS = """
feed spare from crank.pos to pump.pos { end house.pos lug 8 B&S M8 }
----
feed spare from crank.pos to pump.pos { end crank.pos crimped; end crank.pos sealed }
----
feed spare from crank.pos to pump.pos { end fuse lug 8 B&S M5 }
----
feed spare from crank.pos to pump.pos { end unknown }
----
feed spare from crank.pos to pump.pos { end crank.pos with other }
"""

CORES = """
feed spare from crank.pos to pump.pos { core tail "white"; cable 4 mm2 }
----
circuit spare from ways.1 to pump { core tail "white" }
----
feed spare from crank.pos to pump.pos { core tail "white" }
feed other from crank.pos to lamp.pos { core tail "white" }
----
feed spare from crank.pos to pump.pos { core tail "white" }
feed other from crank.pos to lamp.pos { core tail "blue" }
feed third from crank.pos to lamp.pos { core tail "brown" }
----
feed spare from crank.pos to pump.pos { core snake "white" }
"""

USE = """
mode day { closed lamp }
----
mode day { closed iso; open iso }
----
mode day { on crank }
----
mode day { on lamp, lamp }
----
mode day { on lamb }
----
day work { evening 2 h }
----
day work { night 2 h; night 3 h }
----
mode dawn { on pump }
day work { night 20 h; dawn 20 h }
----
concession no-sleeve on main { by "RM" }
----
concession no-sleeve on main { reason "stays dry" }
----
concession no-sleeve on maim { reason "stays dry"; by "RM" }
----
concession no-sleeve on main.pos { reason "stays dry"; by "RM" }
----
readings 2026-11-20 by "RM" in evening
----
readings 2026-11-20 by "RM" in night { amps lamp 5 A }
----
readings 2026-11-20 by "RM" in night { volts house.plus to house.neg 12 V }
"""

SUBJECTS = {
    "names and kinds": NAMES,
    "the head of a spec": HEADS,
    "where a run goes": RUNS,
    "what lies along a run": PATHS,
    "fuses in a run": FUSES,
    "the ends of a run": ENDS,
    "cores of a multicore": CORES,
    "modes, days, concessions and readings": USE,
}


@pytest.mark.parametrize("subject", SUBJECTS)
def test_what_is_said_of(subject: str, snapshot: SnapshotAssertion) -> None:
    assert shown(cases(SUBJECTS[subject]), in_surroundings) == snapshot


# ---------------------------------------------------------------- includes: the case is the file `case.fitout` of a folder

INCLUDES = """
include "missing.fitout"
----
include ""
----
include "/etc/parts.fitout"
----
include "../../elsewhere.fitout"
----
include "folder"
----
include "pipe"
----
include "latin.fitout"
----
include "case.fitout"
----
include "loop.fitout"
----
include "whole.fitout"
----
include "deep-1.fitout"
----
include "large.fitout"
"""


@pytest.fixture
def project(tmp_path: Path) -> Path:
    folder = tmp_path / "project"
    (folder / "folder").mkdir(parents=True)
    (folder / "loomwright.toml").write_text("", encoding="utf-8")
    os.mkfifo(folder / "pipe")
    (folder / "latin.fitout").write_bytes("place küche".encode("latin-1"))
    (folder / "loop.fitout").write_text('include "case.fitout"', encoding="utf-8")
    (folder / "whole.fitout").write_text(HEAD, encoding="utf-8")
    (folder / "large.fitout").write_text("#" * (LARGEST + 1), encoding="utf-8")
    for number in range(1, DEEPEST + 2):
        (folder / f"deep-{number}.fitout").write_text(f'include "deep-{number + 1}.fitout"', encoding="utf-8")
    return folder


def test_what_is_said_of_includes(project: Path, snapshot: SnapshotAssertion) -> None:
    def provoke(text: str) -> Iterable[Problem]:
        (project / "case.fitout").write_text(f"{text}\n{HEAD}", encoding="utf-8")
        return load(f"{text}\n{HEAD}", str(project / "case.fitout")).problems

    assert shown(cases(INCLUDES), provoke).replace(str(project), "PROJECT") == snapshot


def test_what_is_said_of_too_many_files(project: Path, snapshot: SnapshotAssertion) -> None:
    for number in range(MOST_FILES):
        (project / f"part-{number}.fitout").write_text("", encoding="utf-8")
    text = "\n".join(f'include "part-{number}.fitout"' for number in range(MOST_FILES))
    assert (
        shown([text], lambda case: load(f"{case}\n{HEAD}", str(project / "case.fitout")).problems) == snapshot
    )


def test_what_is_said_of_a_text_without_a_file(snapshot: SnapshotAssertion) -> None:
    assert shown(['include "parts.fitout"'], lambda text: load(f"{text}\n{HEAD}", None).problems) == snapshot


def test_what_is_said_of_a_text_that_is_too_large(snapshot: SnapshotAssertion) -> None:
    assert shown(["#" * (LARGEST + 1)], lambda text: load(text, "case.fitout").problems) == snapshot

"""How a case of the gallery is written and shown: a small input, then every message that it provokes, with its place."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from loomwright.model.load import load
from loomwright.source import Problem

PARTING = "\n----\n"

# A sound system around each case, so that a message is about the case and nothing else.
SURROUNDINGS = """
place bay { ambient 60 degC; hazards heat }
place tray { ambient 45 degC }
place hole { opening grommet }
structure chassis { metal steel; bonded crank.neg }
structure skin { metal aluminium; mount rubber }
earthpoint lid on chassis in tray { stud M8; surface bare }
battery crank in bay { chemistry lead-acid; capacity 75 Ah; stud M8 }
battery house in tray { chemistry agm; capacity 100 Ah; stud M8 }
hub ways in tray { rated 60 A; way 1 blade 10 A; way 2 blade 15 A; negatives 4 x M4 }
busbar bar in tray { studs 4 x M8; rated 100 A }
supply accessory in bay { holds 13 V; rated 10 A; live ignition }
switch iso in tray { rated 100 A }
load lamp in tray { draws 5 A }
load pump in tray { draws 60 W }
part battery agm-100 { chemistry agm; capacity 100 Ah }
multicore tail { cable 2 x 1.5 mm2; along tray 2 m }
feed main from crank.pos to house.pos { cable 16 mm2; along bay 1 m, hole, tray 2 m; fuse strip 60 A at 0.15 m }
mode night { on lamp }
"""
HEAD = 'fitout "Gallery" { stage planned; system 12 V }'


def cases(text: str) -> list[str]:
    """Inputs as they stand in a test module, parted by a line of four hyphens."""
    return [case.strip("\n") for case in text.strip("\n").split(PARTING)]


def shown(inputs: Iterable[str], provoke: Callable[[str], Iterable[Problem]], above: int = 0) -> str:
    """The gallery as one text: each input with its messages beneath. A case that provokes nothing is a fault of the test.

    `above` is the number of lines that `provoke` puts above a case; places are told as if they were not there.
    """
    parts = []
    for text in inputs:
        problems = list(provoke(text))
        assert problems, text
        parts.append("\n".join([visible(text), *(line for one in problems for line in told(one, above))]))
    return "\n\n".join(parts) + "\n"


def told(problem: Problem, above: int = 0) -> list[str]:
    """Place and message; what to do on a line of its own."""
    lines = [f"    {problem.span.line - above}:{problem.span.column}  {problem.message}"]
    return [*lines, f"        do  {problem.hint}"] if problem.hint else lines


def visible(text: str) -> str:
    """An input as a person can read it: long ones cut short, what can't be printed as its number."""
    lines = text.split("\n")
    lines = lines if len(lines) <= 12 else [*lines[:4], f"… {len(lines) - 5} lines …", lines[-1]]
    return "\n".join(_visible(line if len(line) <= 140 else f"{line[:100]} … {line[-20:]}") for line in lines)


def _visible(line: str) -> str:
    return "".join(each if each.isprintable() else f"<{ord(each):04X}>" for each in line)


def in_surroundings(text: str) -> Iterable[Problem]:
    """The problems of a case within the sound system, the case first so that its lines count from 1."""
    head = "" if "fitout " in text else f"{HEAD}\n"
    return load(f"{text}\n{head}{SURROUNDINGS}", "case.fitout").problems

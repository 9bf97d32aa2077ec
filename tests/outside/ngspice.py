"""ngspice as the reference for networks: a deck written from a `Network`, run as a batch process, its answers read back."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import tempfile
from collections.abc import Mapping
from dataclasses import dataclass
from math import inf
from pathlib import Path

import pytest

from loomwright.analysis.layout import Element

OPTIONS = ".options reltol=1e-9 vntol=1e-10 abstol=1e-9 gmin=1e-18 itl1=2000"
_ANSWER = re.compile(r"^(\S+) = (\S+)$", re.MULTILINE)


def need_ngspice() -> None:
    """Skip the test where ngspice is missing; in CI that is a failure."""
    if shutil.which("ngspice") is None:
        if os.environ.get("CI"):
            pytest.fail("ngspice is missing")
        pytest.skip("ngspice is not installed (Debian package ngspice)")


@dataclass(frozen=True)
class Answer:
    """Volts by node and amps by element, signs as `Network` has them; `fault_amps` where a fault was asked for."""

    volts: dict[str, float]
    amps: dict[str, float]
    fault_amps: float | None


def solve(elements: Mapping[str, Element], reference: str, fault: tuple[str, str] | None = None) -> Answer:
    """The operating point as ngspice finds it. With `fault`, loads are left out and the two nodes are joined by a 0 V source.

    Constant power is a behavioural current P/max(v, floor): the floor, 5 V at most, only serves to start, and the caller
    checks that no load sits at it.
    """
    nodes = dict.fromkeys(node for e in elements.values() for node in (e.a, e.b))
    wire = {node: "0" if node == reference else f"n{k}" for k, node in enumerate(nodes)}
    high = max((e.volts for e in elements.values()), default=1.0)
    floor = min(0.3 * high, 5.0)  # a panel's voltage is no measure of what loads live on
    lines = ["network under test", OPTIONS]
    for k, e in enumerate(elements.values()):
        if not (fault and e.kind in ("constant_current", "constant_power")):
            lines += _cards(k, e, wire[e.a], wire[e.b], floor)
    if fault:
        lines.append(f"vfault {wire[fault[0]]} {wire[fault[1]]} 0")
    lines += [".control", "set numdgt=15", "op", "print all", "quit", ".endc", ".end", ""]
    found = _run("\n".join(lines))
    volts = {node: 0.0 if w == "0" else found[w] for node, w in wire.items()}
    amps = {}
    for k, (name, e) in enumerate(elements.items()):
        through = found.get(f"vm{k}#branch", 0.0)
        amps[name] = -through if e.is_source else through
    return Answer(volts, amps, found["vfault#branch"] if fault else None)


def _cards(k: int, e: Element, a: str, b: str, floor: float) -> list[str]:
    """An element behind a 0 V source that measures the current from a to b."""
    inside = f"m{k}"
    if e.kind == "resistor" and not e.ohms:
        return [f"vm{k} {a} {b} 0"]  # ngspice would take a resistance of 0 for a milliohm
    if e.kind == "resistor":
        own = [f"r{k} {inside} {b} {e.ohms!r}"]
    elif e.kind == "battery":
        own = [f"r{k} {inside} e{k} {e.ohms!r}", f"ve{k} e{k} {b} {e.volts!r}"]
    elif e.kind == "regulator":
        straight = f"max(0, ({e.volts!r} - V({a},{b})) / {e.ohms!r})"
        own = [f"b{k} {b} {inside} I = {straight if e.amps == inf else f'min({e.amps!r}, {straight})'}"]
    elif e.kind == "constant_current":
        own = [f"i{k} {inside} {b} {e.amps!r}"]
    else:
        own = [f"b{k} {inside} {b} I = {e.watts!r} / max(V({a},{b}), {floor!r})"]
    return [f"vm{k} {a} {inside} 0", *own]


def _run(deck: str) -> dict[str, float]:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "deck.cir")
        path.write_text(deck, encoding="ascii")
        run = subprocess.run(
            ["ngspice", "-b", str(path)], capture_output=True, text=True, timeout=120, check=False
        )
    if run.returncode or "Error" in run.stdout + run.stderr:
        raise AssertionError(f"ngspice could not solve the deck:\n{run.stdout}\n{run.stderr}")
    return {name.lower(): float(value) for name, value in _ANSWER.findall(run.stdout)}

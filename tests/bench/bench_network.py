"""Times of the network solver, each as a ratio to a reference in the same run. By hand: `python tests/bench/bench_network.py`.

The references are scipy's own Newton (sparse LU, `spsolve`, stamps by array arithmetic) on the same nodal equations, and one
ngspice process for the same network.
"""

from __future__ import annotations

import random
import sys
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
from scipy import sparse
from scipy.sparse.linalg import spsolve

sys.path.insert(0, str(Path(__file__).parents[1] / "outside"))
import ngspice

from loomwright.analysis.network import Network


def vehicle(loads: int, seed: int = 1) -> Network:
    """A main feed to boxes of 20 ways; each load behind a feed of two parts and a return: about 3.2 nodes a load."""
    rng = random.Random(seed)
    network = Network()
    network.battery("battery", "earth", 12.8, 0.004)
    network.regulator("battery", "earth", 14.2, 0.02, 90.0)
    for box in range(-(-loads // 20)):
        network.resistor("battery", f"feeder {box}", 0.002)
        network.resistor(f"feeder {box}", f"box {box}", 0.001)
        network.resistor(f"bar {box}", f"join {box}", 0.001)
        network.resistor(f"join {box}", "earth", 0.0005)
    for k in range(loads):
        network.resistor(f"box {k // 20}", f"way {k}", rng.uniform(0.002, 0.004))
        network.resistor(f"way {k}", f"plus {k}", rng.uniform(0.01, 0.06))
        network.resistor(f"minus {k}", f"bar {k // 20}", rng.uniform(0.01, 0.06))
        network.constant_power(f"plus {k}", f"minus {k}", rng.uniform(0.5, 400 / loads**0.5 / 10))
    return network


class ScipyNewton:
    """The nodal equations solved by Newton's method with `spsolve`, written as one would with scipy at hand."""

    def __init__(self, network: Network, reference: str) -> None:
        nodes = dict.fromkeys(n for e in network.elements.values() for n in (e.a, e.b))
        del nodes[reference]
        self.numbers = {n: k for k, n in enumerate((*nodes, reference))}
        self.size = len(nodes)
        kinds = {kind: [e for e in network.elements.values() if e.kind == kind] for kind in ngspice_kinds}
        linear = kinds["resistor"] + kinds["battery"]
        self.a, self.b = self._ends(linear)
        self.g = np.array([1 / e.ohms for e in linear])
        self.emf = np.array([e.volts for e in linear])
        self.pa, self.pb = self._ends(kinds["constant_power"])
        self.watts = np.array([e.watts for e in kinds["constant_power"]])
        self.ra, self.rb = self._ends(kinds["regulator"])
        self.rv, self.rg, self.rl = (
            np.array(x)
            for x in zip(*[(e.volts, 1 / e.ohms, e.amps) for e in kinds["regulator"]], strict=True)
        )
        self.start = np.array(
            [0.0 if n.startswith(("minus", "bar", "join", "earth")) else 12.5 for n in self.numbers]
        )

    def _ends(self, elements: list) -> tuple[np.ndarray, np.ndarray]:
        return (
            np.array([self.numbers[e.a] for e in elements]),
            np.array([self.numbers[e.b] for e in elements]),
        )

    def solve(self) -> np.ndarray:
        a = np.concatenate((self.a, self.pa, self.ra))
        b = np.concatenate((self.b, self.pb, self.rb))
        rows, columns = np.concatenate((a, b, a, b)), np.concatenate((a, b, b, a))
        v = self.start.copy()
        for _ in range(50):
            p = v[self.pa] - v[self.pb]
            r = (self.rv - v[self.ra] + v[self.rb]) * self.rg
            amps = np.concatenate(
                (self.g * (v[self.a] - v[self.b] - self.emf), self.watts / p, -np.clip(r, 0, self.rl))
            )
            slope = np.concatenate(
                (self.g, -self.watts / p**2, np.where((r > 0) & (r < self.rl), self.rg, 0))
            )
            matrix = sparse.csc_matrix((np.concatenate((slope, slope, -slope, -slope)), (rows, columns)))[
                : self.size, : self.size
            ]
            out = np.bincount(a, amps, self.size + 1) - np.bincount(b, amps, self.size + 1)
            step = spsolve(matrix, -out[: self.size])
            v[: self.size] += step
            if np.abs(step).max() < 1e-9:
                return v
        raise ArithmeticError("no convergence")


ngspice_kinds = ("resistor", "battery", "constant_power", "regulator")


def best(run: Callable[[], object], times: int = 15) -> float:
    """Seconds of the quickest of several runs: the least disturbed by what else the machine does."""
    found = []
    for _ in range(times):
        begin = time.perf_counter()
        run()
        found.append(time.perf_counter() - begin)
    return min(found)


def main() -> None:
    network = vehicle(200)
    reference = ScipyNewton(network, "earth")
    ours, theirs = network.solve("earth"), reference.solve()
    apart = max(abs(ours.volts[n] - theirs[k]) for n, k in reference.numbers.items())
    print(
        f"{len(ours.volts)} nodes, {len(network.elements)} elements, {ours.iterations} factorisations, {apart:.1e} V apart from scipy"
    )
    scipy_s = best(reference.solve)
    warm = best(lambda: network.solve("earth"))
    cold = best(lambda: Network(network.elements).solve("earth"))
    spice = best(lambda: ngspice.solve(network.elements, "earth"), 5)
    print(
        f"scipy Newton {1e3 * scipy_s:.2f} ms; solve {warm / scipy_s:.2f} of it, with ordering and set-up {cold / scipy_s:.2f}"
    )
    print(f"one ngspice process {1e3 * spice:.1f} ms; solve with ordering {cold / spice:.2f} of it")
    places = [(e.a, e.b) for e in network.elements.values() if e.kind == "constant_power"]

    def every_fault() -> list[float]:
        study = network.faults("earth")
        return [study.fault(a, b).amps for a, b in places]

    print(f"{len(places)} faults {best(every_fault) / warm:.2f} of one solve")
    last = None
    for loads in (333, 1111, 3333, 11111):
        big = vehicle(loads)
        took = best(lambda big=big: Network(big.elements).solve("earth"), 3)
        each = took / len(big.elements)
        print(
            f"{len(big.elements):6} elements {took:.3f} s, {1e6 * each:.1f} µs an element",
            "" if last is None else f"({each / last:.2f} of the row above)",
        )
        last = each


if __name__ == "__main__":
    main()

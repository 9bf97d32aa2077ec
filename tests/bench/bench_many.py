"""How many specs a minute, each figure as a ratio within one run. By hand: python tests/bench/bench_many.py [SPECS]

1. The specs by two processes against one, nothing kept (throughput at least 1.7 times). Two processes need two cores that have
   nothing else to do: the load is printed, and how much processor time both ways take, which tells what idle cores would give.
2. An unchanged second run against the first (at most 10 %).
3. The memory of one process for all of a sound fleet against that for half of it (flat: at most 1.1), and what each finding of the
   other fleet takes: findings are held until all are printed.

The specs are the 150-line as-found example, each with names of its own; the sound fleet is the planned one.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).parents[2]
EXAMPLES = ROOT / "specs" / "orchard-bees"


def specs(folder: Path, count: int, name: str = "as-found") -> None:
    folder.mkdir()
    text = (EXAMPLES / f"{name}.fitout").read_text(encoding="utf-8")
    for number in range(count):
        own = text.replace("Orchard Bees", f"Orchard Bees {number}").replace(
            "incubator", f"incubator-{number}"
        )
        (folder / f"van-{number:04}.fitout").write_text(own, encoding="utf-8")


class Run(NamedTuple):
    """Seconds by the clock and of the processor, greatest memory in kB, and the lines that were printed."""

    clock: float
    cpu: float
    memory: int
    lines: int


def run(folder: Path, cache: Path, *words: str) -> Run:
    started = time.perf_counter()
    process = subprocess.Popen(
        [sys.executable, "-m", "loomwright.cli", "check", "--format", "gnu", *words, str(folder)],
        env={**os.environ, "PYTHONPATH": str(ROOT / "src"), "LOOMWRIGHT_CACHE": str(cache)},
        stdout=subprocess.PIPE,
    )
    assert process.stdout is not None
    lines = process.stdout.read().count(b"\n")
    _, _, used = os.wait4(process.pid, 0)
    return Run(time.perf_counter() - started, used.ru_utime + used.ru_stime, used.ru_maxrss, lines)


def main(count: int) -> None:
    with tempfile.TemporaryDirectory() as place:
        folder, few, sound, little, cache = (
            Path(place) / name for name in ("all", "few", "sound", "little", "cache")
        )
        specs(folder, count)
        specs(few, max(1, count // 5))
        specs(sound, count, "planned")
        specs(little, max(1, count // 2), "planned")
        run(
            few, cache, "--no-cache", "--only", "unfused-feed"
        )  # the parse tables and the rule book are made once
        load = os.getloadavg()[0]
        one = run(folder, cache, "--no-cache")
        two = run(folder, cache, "--no-cache", "--jobs", "2")
        first, second = run(folder, cache), run(folder, cache)
        fifth = run(few, cache, "--no-cache")
        flat = [run(fleet, cache, "--no-cache").memory for fleet in (sound, little)]
    assert one.lines == two.lines == second.lines, "the output differs"
    print(f"{count} specs, load {load:.1f} before; {1e3 * one.cpu / count:.0f} ms of processor a spec")
    print(
        f"one process {one.clock:.1f} s / two {two.clock:.1f} s = {one.clock / two.clock:.2f} (at least 1.7)"
    )
    print(
        f"processor time of two / of one = {two.cpu / one.cpu:.2f}: idle cores give up to {2 * one.cpu / two.cpu:.2f}"
    )
    print(
        f"second run {second.cpu:.2f} s / first {first.cpu:.2f} s = {100 * second.cpu / first.cpu:.1f} % (at most 10)"
    )
    print(
        f"memory {flat[0] / 1e3:.1f} MB / of half {flat[1] / 1e3:.1f} MB = {flat[0] / flat[1]:.2f} (at most 1.1)"
    )
    print(f"{(one.memory - fifth.memory) / max(1, one.lines - fifth.lines):.1f} kB a finding")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 1000)

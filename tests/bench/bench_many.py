"""How many specs a minute, each figure as a ratio within one run. By hand: python tests/bench/bench_many.py [SPECS]

1. The specs by two processes against one, nothing kept (throughput at least 1.7 times).
2. An unchanged second run against the first (at most 10 %).
3. The memory of one process for all specs against that for a fifth of them (flat: at most 1.3, what is found included).

The specs are the 150-line as-found example, each with a name and some figures of its own. Two processes need two cores that have
nothing else to do: the load is printed.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).parents[2]
EXAMPLE = ROOT / "specs" / "orchard-bees" / "as-found.fitout"


def specs(folder: Path, count: int) -> None:
    text = EXAMPLE.read_text(encoding="utf-8")
    for number in range(count):
        own = text.replace("Orchard Bees", f"Orchard Bees {number}").replace(
            "incubator", f"incubator-{number}"
        )
        (folder / f"van-{number:04}.fitout").write_text(own, encoding="utf-8")


def run(folder: Path, cache: Path, *words: str) -> tuple[float, int, int]:
    """Seconds, greatest memory in MB, and the bytes that were printed."""
    started = time.perf_counter()
    process = subprocess.Popen(
        [sys.executable, "-m", "loomwright.cli", "check", "--format", "gnu", *words, str(folder)],
        env={**os.environ, "PYTHONPATH": str(ROOT / "src"), "LOOMWRIGHT_CACHE": str(cache)},
        stdout=subprocess.PIPE,
    )
    assert process.stdout is not None
    length = len(process.stdout.read())
    _, _, used = os.wait4(process.pid, 0)
    return time.perf_counter() - started, used.ru_maxrss // 1024, length


def main(count: int) -> None:
    with tempfile.TemporaryDirectory() as place:
        folder, few, cache = (Path(place) / name for name in ("all", "few", "cache"))
        for one, number in ((folder, count), (few, max(1, count // 5))):
            one.mkdir()
            specs(one, number)
        run(
            few, cache, "--no-cache", "--only", "unfused-feed"
        )  # the parse tables and the rule book are made once
        load = os.getloadavg()[0]
        one, memory, length = run(folder, cache, "--no-cache")
        two, _, again = run(folder, cache, "--no-cache", "--jobs", "2")
        first, _, _ = run(folder, cache)
        second, _, same = run(folder, cache)
        _, little, _ = run(few, cache, "--no-cache")
    assert length == again == same, "the output differs"
    print(f"{count} specs, load {load:.1f} before")
    print(f"one process {one:.1f} s / two {two:.1f} s = {one / two:.2f} (at least 1.7)")
    print(f"second run {second:.2f} s / first {first:.2f} s = {100 * second / first:.1f} % (at most 10)")
    print(f"memory {memory} MB / of a fifth {little} MB = {memory / little:.2f} (at most 1.3)")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 1000)

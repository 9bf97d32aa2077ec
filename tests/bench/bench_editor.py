"""From a key to the findings in an editor, as a ratio to a bare parse of the same text. By hand: python tests/bench/bench_editor.py

A real client types into the 150-line as-found example, a letter at a time; the server has started and checked once. The pause that
the server waits for the next letter is told apart.
"""

from __future__ import annotations

import sys
import time
from pathlib import Path
from statistics import median

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from tests.editor.client import Client  # noqa: E402

from loomwright.source import Source  # noqa: E402
from loomwright.syntax.parse import parse  # noqa: E402

PAUSE_S = 0.001
LETTERS = 60


def main() -> None:
    path = ROOT / "specs" / "orchard-bees" / "as-found.fitout"
    text = path.read_text(encoding="utf-8")
    client = Client(path.parent)
    client.start()
    client.open(path)
    time.sleep(0.5)  # it has started when it has come to rest
    taken = []
    for version in range(2, LETTERS + 2):
        started = time.perf_counter()
        client.change(path, text.replace('"', '"' + "x" * (version % 7 + 1), 1), version)
        taken.append(time.perf_counter() - started)
    client.stop()
    parses = []
    for number in range(LETTERS):
        source = Source(str(path), text + "#" * number)
        started = time.perf_counter()
        parse(source)
        parses.append(time.perf_counter() - started)
    taken.sort()
    bare, late = median(parses), taken[int(0.95 * len(taken))]
    print(f"bare parse {1e3 * bare:.1f} ms")
    for name, seconds in (("median", median(taken)), ("p95", late)):
        told = f"{1e3 * seconds:.0f} ms, of which {1e3 * PAUSE_S:.0f} ms pause"
        print(f"key to findings, {name}: {told}; without it {(seconds - PAUSE_S) / bare:.1f} bare parses")


if __name__ == "__main__":
    main()

"""How much time and memory the papers take. By hand: python tests/bench/bench_sheets.py

`loomwright sheets` with HTML and PDF of the planned example, whole process, against a Python that only imports the libraries:
processor time (at most 1.5 s here, and its ratio to the imports, which does not depend on the machine) and peak memory
(at most 200 MB). What is kept from an earlier run in the cache is used, as at a user's second printing.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path
from statistics import median

CHECKOUT = Path(__file__).parent.parent.parent
PLANNED = CHECKOUT / "specs" / "orchard-bees" / "planned.fitout"
LIBRARIES = "import click, jinja2, lark, typst"
TIMES = 7


@dataclass(frozen=True)
class Taken:
    """Seconds on the wall and of processor, and the peak of memory in MB."""

    wall: float
    processor: float
    memory: float


def taken(*words: str) -> Taken:
    start = time.perf_counter()
    with subprocess.Popen([sys.executable, *words], cwd=CHECKOUT, stdout=subprocess.DEVNULL) as child:
        _, status, usage = os.wait4(child.pid, 0)
        wall = time.perf_counter() - start
        child.returncode = os.waitstatus_to_exitcode(status)
    assert child.returncode == 0
    return Taken(wall, usage.ru_utime + usage.ru_stime, usage.ru_maxrss / 1024)


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        sheets = ("-m", "loomwright.cli", "sheets", str(PLANNED), "-o", folder)
        forms = {"HTML and PDF": ("--format", "html", "--format", "pdf"), "HTML": ("--format", "html")}
        for name, words in forms.items():
            taken(*sheets, *words)
            pairs = [(taken(*sheets, *words), taken("-c", LIBRARIES)) for _ in range(TIMES)]
            ours = median(each.processor for each, _ in pairs)
            bare = median(each.processor for _, each in pairs)
            ratio = median(each.processor / other.processor for each, other in pairs)
            wall = median(each.wall for each, _ in pairs)
            memory = max(each.memory for each, _ in pairs)
            print(
                f"{name}: {ours:.2f} s of processor / {bare:.2f} s for the imports = {ratio:.1f};"
                f" {wall:.2f} s on the wall, {memory:.0f} MB at most"
            )


if __name__ == "__main__":
    main()

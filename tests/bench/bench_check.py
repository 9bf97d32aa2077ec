"""How long `loomwright check` takes, each figure as a ratio within one run. By hand: python tests/bench/bench_check.py

1. The planned example, whole process, against a Python that only imports lark, click and numpy (at most 1.6).
2. A spec of 5,000 runs against one of 500 (at most 12).
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
import time
from pathlib import Path
from statistics import median

CHECKOUT = Path(__file__).parent.parent.parent
PLANNED = CHECKOUT / "specs" / "orchard-bees" / "planned.fitout"
HEAD = """fitout "Many" {{ stage planned; system 12 V }}
practice {{ sleeve split-tube; clips 0.25 m; ends crimped sealed tight }}
place box {{ ambient 40 degC }}
battery house in box {{ chemistry lifepo4; capacity 200 Ah; internal 8 mohm; stud M8; serves house; held-down; sealed }}
mode night "everything on" {{ engine off; on {loads} }}
"""
HUB = """hub hub-{hub} in box {{ rated 100 A; stud M6; negatives 8 x M4
{ways}
}}
feed feed-{hub} from house.pos to hub-{hub}.in {{
    cable 16 mm2 red 105 degC; along box 1 m; fuse strip 80 A at 0.1 m; label "HUB {hub}"
    end house.pos lug 16 mm2 M8; end hub-{hub}.in lug 16 mm2 M6
}}
earth back-{hub} from hub-{hub}.neg to house.neg {{
    cable 16 mm2 black 105 degC; along box 1 m; end hub-{hub}.neg lug 16 mm2 M6; end house.neg lug 16 mm2 M8
}}
"""
LOAD = """load lamp-{load} in box {{ draws 0.2 A }}
circuit lamp-{load}-feed from hub-{hub}.{way} to lamp-{load} {{
    cable twin 2.5 mm2 105 degC; along box 2 m; ends blade-terminal crimped sealed tight
}}
"""


def many(runs: int) -> str:
    """A sound spec of about so many runs: hubs of eight ways with a lamp on each."""
    hubs = max(1, runs // 10)
    names = ", ".join(f"lamp-{hub}-{way}" for hub in range(hubs) for way in range(1, 9))
    parts = [HEAD.format(loads=names)]
    for hub in range(hubs):
        ways = "\n".join(f"    way {way} blade 5 A" for way in range(1, 9))
        parts.append(HUB.format(hub=hub, ways=ways))
        parts += [LOAD.format(load=f"{hub}-{way}", hub=hub, way=way) for way in range(1, 9)]
    return "".join(parts)


def seconds(*words: str) -> float:
    """Wall seconds of a whole process."""
    start = time.perf_counter()
    subprocess.run([sys.executable, *words], cwd=CHECKOUT, capture_output=True, check=False)
    return time.perf_counter() - start


def paired(first: tuple[str, ...], second: tuple[str, ...], times: int) -> str:
    """Medians of both, and of their ratios pair by pair, after a warm-up of each."""
    seconds(*first)
    seconds(*second)
    pairs = [(seconds(*first), seconds(*second)) for _ in range(times)]
    a, b = (median(pair[of] for pair in pairs) for of in (0, 1))
    return f"{a:.3f} s / {b:.3f} s = {median(a / b for a, b in pairs):.2f}"


def main() -> None:
    check = ("-m", "loomwright.cli", "check", str(PLANNED))
    print("check planned / import lark, click, numpy, at most 1.6:")
    print("  " + paired(check, ("-c", "import lark, click, numpy"), 9))
    with tempfile.TemporaryDirectory() as folder:
        files = {}
        for runs in (500, 5000):
            files[runs] = Path(folder) / f"many-{runs}.fitout"
            files[runs].write_text(many(runs))
        print("5,000 runs / 500 runs, at most 12:")
        large, small = (("-m", "loomwright.cli", "check", str(files[runs])) for runs in (5000, 500))
        print("  " + paired(large, small, 1))


if __name__ == "__main__":
    main()

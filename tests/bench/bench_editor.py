"""From a key to the findings in an editor, as a ratio to a bare parse of the same text. By hand: python tests/bench/bench_editor.py

A real client types into the 150-line as-found example, letter after letter: texts, comments, figures, whole clauses. Before that the
server has checked the spec a few times. A text that can't be read for the moment is sooner told of than one that is judged, so
those that are judged are counted apart too. The pause that the server waits for the next letter is told.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from tests.editor.client import Client  # noqa: E402

from loomwright.editor.session import PAUSE  # noqa: E402
from loomwright.source import Source  # noqa: E402
from loomwright.syntax.parse import parse  # noqa: E402

TYPED = (
    ("flatbed, as found", ", on the hoist"),
    ("rail-inside 3.0", "52"),
    ("clearance 0 mm to wheel", '\n    note      "rubbed bare"'),
    ("draws 6.5", "25"),
    ("# behind the lining", ", to be opened"),
    ("capacity  100", "0"),
    ("toolbox 0.9", "5"),
    ("cable  16 mm2 black", "\n    clips  0.3 m"),
    ("internal  9", ".25"),
)
"""After what is typed, and what."""


def keys(text: str) -> Iterator[str]:
    """The text after each key."""
    for after, typed in TYPED:
        at = text.index(after) + len(after)
        for letters in range(1, len(typed) + 1):
            yield text[:at] + typed[:letters] + text[at:]
        text = text[:at] + typed + text[at:]


def at_rank(figures: list[float], share: float) -> float:
    return sorted(figures)[int(share * len(figures))]


def main() -> None:
    path = ROOT / "specs" / "orchard-bees" / "as-found.fitout"
    text = path.read_text(encoding="utf-8")
    client = Client(path.parent)
    client.start()
    client.open(path)
    for version in range(2, 5):
        time.sleep(1)
        client.change(path, text + "\n" * version, version)
    time.sleep(1)
    all_keys, judged = [], []
    for version, typed in enumerate(keys(text), 5):
        started = time.perf_counter()
        found = client.change(path, typed, version)
        taken = time.perf_counter() - started
        all_keys.append((taken, taken / bare_parse(Source(str(path), typed))))
        if any("code" in one for one in found):
            judged.append(all_keys[-1])
    client.stop()
    print(
        f"of it {1e3 * PAUSE:.0f} ms are pause; a bare parse of the same text is taken right after each key"
    )
    for who, taken_by in ((f"{len(all_keys)} keys", all_keys), (f"{len(judged)} of them judged", judged)):
        for name, share in (("median", 0.5), ("p95", 0.95)):
            seconds, ratio = (at_rank([one[n] for one in taken_by], share) for n in (0, 1))
            print(f"{who}, key to findings, {name}: {1e3 * seconds:.0f} ms, {ratio:.1f} bare parses")


def bare_parse(source: Source) -> float:
    """Seconds, the middle one of three."""
    taken = []
    for _ in range(3):
        started = time.perf_counter()
        parse(source)
        taken.append(time.perf_counter() - started)
    return sorted(taken)[1]


if __name__ == "__main__":
    main()

"""Mangled texts by the minute, until one is too much. By hand: python tests/bench/fuzz.py [SECONDS [SEED]]

Three targets take turns: the fit-out language, the rule language, and the whole of `check` with everything that it prints. Texts are
cut, doubled and spliced from the specs, the examples and the rule book, and their figures made wild. A text that fails, or
takes longer than a check may, is written to the folder that is printed, with the exception; such seeds belong into
tests/test_bad_days.py. Where atheris is installed it can steer by coverage:
python tests/bench/fuzz.py --atheris -max_total_time=600 CORPUS
"""

from __future__ import annotations

import random
import re
import sys
import tempfile
import time
import traceback
from collections.abc import Callable
from pathlib import Path

from loomwright.report.check import check
from loomwright.report.json_form import as_json
from loomwright.report.text import gnu, text
from loomwright.rulebook.load import rulebook_of
from loomwright.source import Source
from loomwright.syntax.parse import parse
from loomwright.syntax.tidy import Untidy, tidy

ROOT = Path(__file__).parents[2]
SPECS = [path.read_text(encoding="utf-8") for path in sorted(ROOT.glob("specs/**/*.fitout"))]
EXAMPLES = [path.read_text(encoding="utf-8") for path in sorted(ROOT.glob("rules/examples/**/*.fitout"))]
RULES = [path.read_text(encoding="utf-8") for path in sorted(ROOT.glob("rules/*.rules"))]
SLOW_S = 20.0
WILD = ("0", "1", "1e-9", "1e9", "1e308", "-1", "9999", "0.001", "24", "12", "100", "999999")


def mangled(chance: random.Random, texts: list[str]) -> str:
    """A text with a few pieces moved, doubled, taken out, put in from another, or made wild."""
    spec = chance.choice(texts)
    for _ in range(chance.randint(1, 6)):
        start = chance.randrange(len(spec) + 1)
        end = min(len(spec), start + int(chance.expovariate(1 / 30)))
        spec = chance.choice((_moved, _doubled, _spliced, _wild, _sign, _line))(
            chance, spec, start, end, texts
        )
    return spec


def _moved(chance: random.Random, spec: str, start: int, end: int, _: list[str]) -> str:
    rest, to = spec[:start] + spec[end:], chance.randrange(len(spec) + 1)
    return rest[:to] + spec[start:end] + rest[to:]


def _doubled(chance: random.Random, spec: str, start: int, end: int, _: list[str]) -> str:
    return spec[:end] + spec[start:end] * chance.randint(1, 3) + spec[end:]


def _spliced(chance: random.Random, spec: str, start: int, end: int, texts: list[str]) -> str:
    other = chance.choice(texts)
    at = chance.randrange(len(other) + 1)
    return spec[:start] + other[at : at + chance.randint(0, 120)] + spec[end:]


def _wild(chance: random.Random, spec: str, *_: object) -> str:
    numbers = list(re.finditer(r"(?<=\s)[\d.]+(?=\s)", spec))
    if not numbers:
        return spec
    found = chance.choice(numbers)
    return spec[: found.start()] + chance.choice(WILD) + spec[found.end() :]


def _sign(chance: random.Random, spec: str, start: int, *_: object) -> str:
    return (
        spec[:start]
        + chance.choice(["{", "}", ";", ",", '"', "\n", "#", "\x00", "🐝", "\u202e", "\r", " "])
        + spec[start:]
    )


def _line(chance: random.Random, spec: str, *_: object) -> str:
    """Two lines change places: mostly still a sound text, with another meaning."""
    lines = spec.split("\n")
    one, other = chance.randrange(len(lines)), chance.randrange(len(lines))
    lines[one], lines[other] = lines[other], lines[one]
    return "\n".join(lines)


BEFORE = [parse(Source("x", text)) for text in SPECS]
"""What an editor's file may have said before."""


def of_specs(spec: str) -> None:
    source = Source("x", spec)
    parsed = parse(source)
    for problem in parsed.problems:
        assert 0 <= problem.span.start <= problem.span.end <= len(spec)
    assert all(parse(source, before) == parsed for before in BEFORE), "read otherwise after another text"
    try:
        once = tidy(spec)
    except Untidy:
        return
    assert tidy(once) == once


def of_rules(rules: str) -> None:
    rulebook_of([("x.rules", rules, False)])


def of_check(spec: str) -> None:
    report = check(spec)
    as_json(report)
    text(report)
    gnu(report)


TARGETS: list[tuple[Callable[[str], None], list[str]]] = [
    (of_specs, SPECS),
    (of_rules, RULES),
    (of_check, SPECS + EXAMPLES),
]


def tried(target: Callable[[str], None], subject: str) -> str:
    """Why a text is too much for a target; "" where it is not."""
    start = time.process_time()
    try:
        target(subject)
    except Exception:
        return traceback.format_exc()
    took = time.process_time() - start
    return f"took {took:.1f} s" if took > SLOW_S else ""


def main(seconds: float, seed: int) -> int:
    chance = random.Random(seed)
    end, count = time.monotonic() + seconds, [0] * len(TARGETS)
    kept: dict[str, Path] = {}
    while time.monotonic() < end:
        for number, (target, texts) in enumerate(TARGETS):
            subject = mangled(chance, texts)
            trouble = tried(target, subject)
            count[number] += 1
            kind = trouble.strip().split("\n")[-1] + "".join(trouble.strip().split("\n")[-3:-1])
            if trouble and kind not in kept:
                kept[kind] = Path(tempfile.mkdtemp(prefix="loomwright-fuzz-"))
                (kept[kind] / "text").write_text(subject, encoding="utf-8", errors="surrogatepass")
                (kept[kind] / "why").write_text(trouble)
                print(f"{target.__name__}: {trouble.strip().splitlines()[-1]} ({kept[kind]})", flush=True)
    print(
        ", ".join(f"{target.__name__} {n}" for (target, _), n in zip(TARGETS, count, strict=True)),
        f"in {seconds:.0f} s",
    )
    print(f"{len(kept)} texts were too much")
    return bool(kept)


def steered() -> None:
    """By coverage, until it is stopped: atheris tells what it finds itself."""
    import atheris

    def one(data: bytes) -> None:
        subject = data.decode("utf-8", "replace")
        for target, _ in TARGETS:
            target(subject)

    atheris.instrument_all()
    atheris.Setup(sys.argv, one)
    atheris.Fuzz()


if __name__ == "__main__":
    if "--atheris" in sys.argv:
        sys.argv.remove("--atheris")
        steered()
    else:
        arguments = [float(word) for word in sys.argv[1:]] + [60.0, 0.0][len(sys.argv) - 1 :]
        sys.exit(main(arguments[0], int(arguments[1])))

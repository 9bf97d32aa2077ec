"""The rule book read, kept, and the same each time."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from collections.abc import Callable

import pytest

from loomwright import resources
from loomwright.rulebook import build
from loomwright.rulebook.load import Rulebook, load_rules, rulebook_of

RULE = 'rule NAME minor "t" { for feed f; need f.area > 1 mm2 and f.fuse.kind is blade; say "{f}: {f.area}"; why "w"; do "d"; source practice }\n'


def test_a_kept_book_is_the_same_and_is_not_read_again(
    book: Callable[..., Rulebook], monkeypatch: pytest.MonkeyPatch, tmp_path: object
) -> None:
    monkeypatch.setenv("LOOMWRIGHT_CACHE", str(tmp_path))
    first = book(RULE.replace("NAME", "a"))
    monkeypatch.setattr(build, "build_rules", lambda *_: pytest.fail("it was read again"))
    second = book(RULE.replace("NAME", "a"))
    assert [rule.needs for rule in second] == [rule.needs for rule in first]
    assert second.rules[0].span.line == 1


def test_other_facts_make_another_book(
    book: Callable[..., Rulebook], monkeypatch: pytest.MonkeyPatch, tmp_path: object
) -> None:
    from loomwright.facts.registry import FACTS, look_again

    monkeypatch.setenv("LOOMWRIGHT_CACHE", str(tmp_path))
    assert book(RULE.replace("NAME", "a")).problems == ()
    del FACTS["run", "area"]  # the fixture puts all back
    look_again()
    assert [one.message for one in book(RULE.replace("NAME", "a")).problems] == [
        "a feed has no fact 'area'"
    ] * 2


def test_ninety_kept_rules_come_back_within_25_ms(
    book: Callable[..., Rulebook], monkeypatch: pytest.MonkeyPatch, tmp_path: object
) -> None:
    monkeypatch.setenv("LOOMWRIGHT_CACHE", str(tmp_path))
    text = "".join(RULE.replace("NAME", f"rule-{chr(97 + n // 26)}{chr(97 + n % 26)}") for n in range(90))
    assert len(book(text).rules) == 90
    times = []
    for _ in range(5):
        started = time.process_time()
        book(text)
        times.append(time.process_time() - started)
    assert min(times) < 0.025


def test_rules_of_further_files_say_which_file_they_are_from(tmp_path: object) -> None:
    path = os.path.join(str(tmp_path), "house.rules")
    with open(path, "w", encoding="utf-8") as file:
        file.write(
            'rule own-rule minor "t" { for concession c; need c.expired; say "s"; why "w"; do "d"; source practice }\n'
        )
        file.write(
            'rule concession-idle minor "t" { for concession c; need c.expired; say "s"; why "w"; do "d"; source practice }\n'
        )
    book = load_rules([path])
    own = book.rule("own-rule")
    assert own is not None
    assert own.file == path
    idle = book.rule("concession-idle")
    assert idle is not None
    assert idle.file == ""
    assert any(
        one.message == "there is a rule concession-idle already" and one.span.source.path == path
        for one in book.problems
    )


PROGRAM = """
from loomwright.facts.limits import load_limits
from loomwright.facts.registry import Ledger
from loomwright.model.load import load
from loomwright.rulebook.judge import judge
from loomwright.rulebook.load import load_rules
text = open("specs/orchard-bees/as-found.fitout", encoding="utf-8").read()
for finding in judge(load_rules(), Ledger(load(text, "x.fitout").installation, load_limits())):
    print(finding.identity, finding.order(), finding.message, finding.why, finding.do, finding.facts, finding.edits)
for rule in load_rules(): print(rule.name, rule.needs, rule.whens, rule.say)
for problem in load_rules().problems: print(problem.order(), problem.hint)
"""


def test_book_and_findings_are_the_same_whatever_the_hash_seed() -> None:
    said = {
        subprocess.run(
            [sys.executable, "-c", PROGRAM],
            env={**os.environ, "PYTHONHASHSEED": seed, "LOOMWRIGHT_CACHE": "off"},
            capture_output=True,
            cwd=resources.CHECKOUT,
            check=True,
        ).stdout
        for seed in ("1", "2")
    }
    assert len(said) == 1
    assert len(said.pop().splitlines()) > 20


def test_a_book_of_no_files_is_empty() -> None:
    assert rulebook_of([]).rules == ()

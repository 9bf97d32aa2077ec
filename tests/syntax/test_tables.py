"""The parse tables are made once, and a run that finds them kept starts light."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

from loomwright.syntax.parse import tables
from loomwright.syntax.tables import load

SLOW = ("lark", "pint", "difflib", "numpy", "decimal", "tempfile")
PARSE = f"""
import sys
from loomwright.source import Source
from loomwright.syntax.parse import parse
parsed = parse(Source("-", open(sys.argv[1], encoding="utf-8").read()))
print(parsed.count, len(parsed.document.statements), *[name for name in {SLOW} if name in sys.modules])
"""


def run(specs: Path, cache: str) -> str:
    command = [sys.executable, "-c", PARSE, str(specs / "orchard-bees" / "planned.fitout")]
    environment = os.environ | {"LOOMWRIGHT_CACHE": cache}
    return subprocess.run(command, env=environment, capture_output=True, text=True, check=True).stdout.strip()


def test_a_warm_start_imports_nothing_slow(specs: Path, tmp_path: Path) -> None:
    assert "lark" in run(specs, str(tmp_path))
    assert run(specs, str(tmp_path)) == "0 42"


def test_it_works_without_a_cache_and_with_a_damaged_one(specs: Path, tmp_path: Path) -> None:
    assert run(specs, "off").startswith("0 42 lark")
    run(specs, str(tmp_path))
    (kept,) = tmp_path.iterdir()
    kept.write_bytes(b"rubbish")
    assert run(specs, str(tmp_path)).startswith("0 42 lark")
    assert run(specs, str(tmp_path)) == "0 42"


def test_the_tables_name_keywords_by_their_own_text() -> None:
    made = load()
    assert made.lists["mount"] == ("bolted", "welded", "rubber")
    assert made.words["hub_clause", "way"] >= {"blade", "class-t", "none", "switched"}
    assert made.words["run_clause", "label"] == frozenset()
    assert made.starts.keys() == tables().starts.keys()

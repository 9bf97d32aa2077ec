"""A server that the tests of one file share, and a folder of specs of its own for each test."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from .client import Client

HEAD = """fitout "Café 🐝" { stage planned; system 12 V; customer "Ωmega" }
include "shared.fitout"
"""
SHARED = """place box { ambient 40 °C; note "🐝 16 mm²" }
practice { ends crimped sealed tight }
"""
BODY = """battery house in box { note "🐝🐝"; chemistry agm; capacity 80 Ah; internal 6 mohm; stud M8; serves house; held-down; sealed }
load lamp in box { note "16 mm² Ω 🐝"; draws 3 A }
feed main from house.pos to lamp.pos { note "🐝 Ω"; cable 16 mm² red 90 °C; along box 2 m; end house.pos lug 10 mm2 M6 } # 🐝 main
earth back from lamp.neg to house.neg { note "🐝"; cable 16 mm² black 90 °C; along box 2 m }
mode night "🐝 dark" { engine off; on lamp }
concession no-sleeve on main { reason "🐝"; by "RM" }
"""
SPEC = HEAD + BODY


@pytest.fixture(scope="module")
def client(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Client]:
    client = Client(tmp_path_factory.mktemp("at"))
    client.start()
    yield client
    assert client.stop() == 0
    assert client.log == []


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A project: a spec, and a fragment that it includes."""
    (tmp_path / "loomwright.toml").write_text("")
    (tmp_path / "van.fitout").write_text(SPEC, encoding="utf-8")
    (tmp_path / "shared.fitout").write_text(SHARED, encoding="utf-8")
    return tmp_path

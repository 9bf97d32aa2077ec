"""What is kept is kept for the same key only, and a cache that can't be used is no error."""

from __future__ import annotations

from pathlib import Path

import pytest

from loomwright.cache import cache_folder, kept


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("LOOMWRIGHT_CACHE", str(tmp_path / "kept"))
    return tmp_path / "kept"


@pytest.mark.usefixtures("folder")
def test_a_second_time_nothing_is_made() -> None:
    assert kept("answer", "six times seven", lambda: 42) == 42
    assert kept("answer", "six times seven", lambda: 0) == 42


@pytest.mark.usefixtures("folder")
def test_another_key_is_another_result() -> None:
    kept("answer", "six times seven", lambda: 42)
    assert kept("answer", "six times nine", lambda: 54) == 54
    assert kept("reply", "six times seven", lambda: 7) == 7


def test_a_damaged_file_is_the_same_as_none(folder: Path) -> None:
    kept("answer", "key", lambda: 42)
    (file,) = folder.iterdir()
    file.write_bytes(b"\x80rubbish")
    assert kept("answer", "key", lambda: 43) == 43


def test_a_folder_that_cannot_be_made_is_no_error(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "file").write_text("")
    monkeypatch.setenv("LOOMWRIGHT_CACHE", str(tmp_path / "file" / "below"))
    assert kept("answer", "key", lambda: 42) == 42


def test_it_can_be_turned_off(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("LOOMWRIGHT_CACHE", "off")
    assert cache_folder() is None
    assert kept("answer", "key", lambda: 1) == 1
    assert kept("answer", "key", lambda: 2) == 2


def test_what_fails_is_not_kept(folder: Path) -> None:
    with pytest.raises(ZeroDivisionError):
        kept("answer", "key", lambda: 1 // 0)
    assert not folder.exists()

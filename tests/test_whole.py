"""Files are written whole or not at all, whatever happens on the way."""

from __future__ import annotations

import errno
import os
from pathlib import Path

import pytest

from loomwright import whole


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


@pytest.mark.parametrize("step", ["fsync", "replace"])
@pytest.mark.parametrize("trouble", [OSError(errno.ENOSPC, "No space left on device"), KeyboardInterrupt()])
def test_a_full_disk_or_ctrl_c_leaves_what_was_there_and_no_part(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, step: str, trouble: BaseException
) -> None:
    (tmp_path / "van.html").write_bytes(b"the earlier page")

    def fails(*_: object) -> None:
        raise trouble

    monkeypatch.setattr(whole.os, step, fails)
    with pytest.raises(type(trouble)):
        whole.write_all({str(tmp_path / "van.html"): b"page", str(tmp_path / "van.md"): b"text"})
    with pytest.raises(type(trouble)):
        whole.write_new(str(tmp_path / "new.fitout"), b"text")
    monkeypatch.undo()
    assert names(tmp_path) == ["van.html"]
    assert (tmp_path / "van.html").read_bytes() == b"the earlier page"


def test_a_file_keeps_its_permissions_and_a_link_stays_one(tmp_path: Path) -> None:
    real, link = tmp_path / "real", tmp_path / "link"
    real.write_bytes(b"old")
    real.chmod(0o640)
    link.symlink_to(real)
    whole.write(str(link), b"new")
    assert real.read_bytes() == b"new"
    assert real.stat().st_mode & 0o777 == 0o640
    assert link.is_symlink()


def test_a_new_file_takes_no_name_that_is_taken(tmp_path: Path) -> None:
    path = tmp_path / "van.fitout"
    whole.write_new(str(path), b"one")
    with pytest.raises(FileExistsError):
        whole.write_new(str(path), b"two")
    assert path.read_bytes() == b"one"
    assert names(tmp_path) == ["van.fitout"]


def test_what_another_is_writing_is_left_to_it(tmp_path: Path) -> None:
    part = tmp_path / f".van.md.{os.getpid()}.part"
    part.write_bytes(b"another's")
    with pytest.raises(FileExistsError):
        whole.write(str(tmp_path / "van.md"), b"text")
    assert part.read_bytes() == b"another's"


def test_the_reason_ends_a_sentence() -> None:
    assert whole.reason(OSError(errno.EROFS, "Read-only file system")) == "read-only file system"
    assert whole.reason(OSError()) == "no reason given"

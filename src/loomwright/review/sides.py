"""The two specs that are compared: read, judged, and from where; a file on disk or one at a revision in git."""

from __future__ import annotations

import os
import subprocess
from collections.abc import Callable

from loomwright.facts.registry import Ledger
from loomwright.model.files import FileTrouble, decoded
from loomwright.record import Record
from loomwright.report.check import Report, Wishes, check
from loomwright.report.files import Unreadable, read_spec
from loomwright.source import Problem

PATIENCE_S = 20.0


class NotRead(Exception):
    """One of the specs has errors; `problems` lists them all."""

    def __init__(self, label: str, problems: tuple[Problem, ...]) -> None:
        super().__init__(f"{label} can't be read")
        self.label = label
        self.problems = problems


class Side(Record):
    """One spec with its facts and findings. `label` is what the user called it."""

    label: str
    report: Report
    ledger: Ledger


def side(place: str, wishes: Wishes) -> Side:
    """A spec by its path, or as `REVISION:PATH` as git writes it: from the top of the repository, or from here where the path
    begins with `./`; an empty revision is what is staged.

    Raises Unreadable for what is not there, NotRead for a spec with errors.
    """
    revision, colon, path = place.partition(":")
    if place == "-" or os.path.exists(place) or not colon:
        if place != "-" and not os.path.isfile(place):
            raise Unreadable(
                f"there is no spec {place}" if not os.path.exists(place) else f"{place} is no file"
            )
        return side_of(read_spec(place), "<stdin>" if place == "-" else place, place, wishes)
    top = _git(os.curdir, "rev-parse", "--show-toplevel").decode().rstrip("\n")
    full = os.path.abspath(path) if path.startswith(("./", "../")) else os.path.join(top, path)
    return _at_revision(revision, full, place, wishes, os.curdir)


def of_revision(revision: str, path: str, wishes: Wishes) -> Side:
    """A spec by its path on disk, as it was at a revision."""
    full = os.path.abspath(path)
    return _at_revision(revision, full, f"{revision}:{path}", wishes, _standing(os.path.dirname(full)))


def _at_revision(revision: str, path: str, label: str, wishes: Wishes, folder: str) -> Side:
    """A spec at an absolute path as it was at a revision, its includes too; `folder` is where git is asked for its repository."""
    if revision.startswith("-"):
        raise Unreadable(f"'{revision}' is no revision")
    read = _reader(revision, folder)
    try:
        text = read(os.path.realpath(path))
    except FileTrouble as trouble:
        raise Unreadable(f"{label} can't be read: {trouble}") from None
    shown = os.path.relpath(path).replace(os.sep, "/")
    return side_of(text, shown, label, wishes, read)


def side_of(
    text: str, path: str, label: str, wishes: Wishes, read: Callable[[str], str] | None = None
) -> Side:
    """A spec from its text. Raises NotRead for one with errors, and for a fragment."""
    report = check(text, path, wishes, read)
    if report.errors:
        raise NotRead(label, report.errors)
    if report.ledger is None:
        raise Unreadable(f"{label} has no `fitout` of its own: compare the specs that include it")
    return Side(label, report, report.ledger)


def _reader(revision: str, folder: str) -> Callable[[str], str]:
    """Reads files of the repository as they were; nothing is ever taken from the disk in their place."""
    top = os.path.realpath(_git(folder, "rev-parse", "--show-toplevel").decode().rstrip("\n"))
    if revision:
        _git(
            folder,
            "rev-parse",
            "--verify",
            "--quiet",
            f"{revision}^{{commit}}",
            wrong=f"there is no revision '{revision}'",
        )

    def read(real: str) -> str:
        inside = os.path.relpath(real, top).replace(os.sep, "/")
        if inside.startswith("../"):
            raise FileTrouble("it lies outside the repository")
        blob = f"{revision}:{inside}"
        kind = _git(top, "cat-file", "-t", blob, wrong=None)
        if kind.strip() != b"blob":
            where = f"in revision '{revision}'" if revision else "among what is staged"
            raise FileTrouble(f"there is no file {inside} {where}")
        return decoded(_git(top, "cat-file", "blob", blob), inside)

    return read


def _standing(folder: str) -> str:
    """The nearest folder upward that is still there: the spec may be gone with its folder."""
    while not os.path.isdir(folder):
        folder = os.path.dirname(folder)
    return folder


def _git(folder: str, *words: str, wrong: str | None = "") -> bytes:
    """What git answers. Raises Unreadable with `wrong`, or git's own first line; with None a refusal is an empty answer."""
    environment = {**os.environ, "GIT_OPTIONAL_LOCKS": "0", "LC_ALL": "C"}
    try:
        done = subprocess.run(
            ["git", *words], cwd=folder, env=environment, capture_output=True, timeout=PATIENCE_S
        )
    except OSError:
        raise Unreadable("git is not on this machine: compare two files instead") from None
    except subprocess.TimeoutExpired:
        raise Unreadable(f"git has not answered in {PATIENCE_S:g} s") from None
    if done.returncode and wrong is not None:
        said = done.stderr.decode("utf-8", "replace").strip().partition("\n")[0].removeprefix("fatal: ")
        raise Unreadable(wrong or f"git: {said or 'no answer'}")
    return b"" if done.returncode else done.stdout

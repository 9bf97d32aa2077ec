"""Which text a set of papers was made from: fingerprint, commit, date of drawing. The clock is never asked."""

from __future__ import annotations

import hashlib
import os
import subprocess

from loomwright.model.files import project_folder
from loomwright.sheets.document import Revision
from loomwright.sheets.job import Job
from loomwright.source import Source

PATIENCE_S = 5.0


def revision_of(job: Job) -> Revision:
    """The revision of a job's text."""
    commit = _git(job.path, "rev-parse", "--short=10", "HEAD") if os.path.isfile(job.path) else None
    fitout = job.fitout
    drawn = fitout.drawn.isoformat() if fitout.drawn else ""
    by = f" by {fitout.drawn_by}" if drawn and fitout.drawn_by else ""
    return Revision(
        spec=spec_name(job.path),
        fingerprint=fingerprint((*job.texts, *(source.text for source in _replaced(job)))),
        commit=commit or None,
        clean=bool(commit) and _is_clean(job),
        drawn=f"{drawn}{by}",
        rest_clean=not commit or _git(job.path, "status", "--porcelain", "--untracked-files=no") == "",
    )


def spec_name(path: str) -> str:
    """The spec's path from its project folder, the same wherever the program was started."""
    if not os.path.isfile(path):
        return "from standard input" if path.startswith("<") else path
    real = os.path.realpath(path)
    return os.path.relpath(real, project_folder(path)).replace(os.sep, "/")


def fingerprint(texts: tuple[str, ...]) -> str:
    """First 12 hexadecimal digits of the SHA-256 of the texts one after the other, a zero byte between."""
    return hashlib.sha256("\0".join(texts).encode()).hexdigest()[:12]


def _replaced(job: Job) -> list[Source]:
    """The texts of the spec that this one replaces, its includes' too: the rework list and the work order rest on them."""
    if job.predecessor is None:
        return []
    old = job.predecessor.installation
    return list(dict.fromkeys(thing.span.source for thing in (old.fitout, *old.named.values())))


def _is_clean(job: Job) -> bool:
    """Whether the very files that the papers rest on are committed as they are; an output beside them does not count."""
    house = job.house
    own = [*job.files, *house.rules, *filter(None, (house.prices, house.reels))]
    own += [house.source.path] if house.source else []
    own += [source.path for source in _replaced(job)]
    paths = [os.path.abspath(path) for path in own]
    changed = _git(job.path, "status", "--porcelain", "--ignored", "--untracked-files=all", "--", *paths)
    return changed == ""


def _git(path: str, *words: str) -> str | None:
    """What git answers in the spec's folder; None without git, outside a repository, or when it refuses."""
    folder = os.path.dirname(os.path.abspath(path))
    environment = {**os.environ, "GIT_OPTIONAL_LOCKS": "0", "LC_ALL": "C"}
    try:
        done = subprocess.run(
            ["git", *words], cwd=folder, env=environment, capture_output=True, timeout=PATIENCE_S, check=True
        )
    except (OSError, subprocess.SubprocessError):
        return None
    return done.stdout.decode("utf-8", "replace").strip()

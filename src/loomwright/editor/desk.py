"""The files that somebody is working on: unsaved buffers before what is on disk, and which spec each file belongs to."""

from __future__ import annotations

import datetime
import os
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cached_property

from loomwright.editor.marks import Mark, marks_of
from loomwright.editor.mate import Mate, Question
from loomwright.model.files import FileTrouble, project_folder, real_include
from loomwright.model.load import MOST_FILES
from loomwright.record import Record
from loomwright.report import basis
from loomwright.report.check import Report, Wishes, check
from loomwright.rulebook.judge import Aside
from loomwright.source import Source
from loomwright.syntax.parse import Parsed

FITOUT = re.compile(r"(?:^|[};])[ \t]*fitout\b", re.MULTILINE)
INCLUDE = re.compile(r'(?:^|[};])[ \t]*include[ \t]+"([^"\n]+)"', re.MULTILINE)
MOST_SPECS = 500
"""So many specs of a project are looked through for those that include a file."""


class Sheet:
    """One file's text, with its marks when somebody asks for them."""

    def __init__(self, source: Source) -> None:
        self.source = source
        self.is_spec = FITOUT.search(source.text) is not None
        self.includes = tuple(found[1] for found in INCLUDE.finditer(source.text))  # the paths as written

    @cached_property
    def marks(self) -> tuple[Mark, ...]:
        return marks_of(self.source)


class Kept(Record):
    """A report with what it rests on: the texts by path, None for what could not be read; the house's rules and the day."""

    report: Report
    texts: dict[str, str | None]
    house: str


@dataclass(slots=True)
class Desk:
    """All by real path. `buffers` are the texts of files that are open."""

    buffers: dict[str, str] = field(default_factory=dict)
    wishes: Wishes = field(default_factory=Wishes)
    mate: Mate | None = None
    _sheets: dict[str, Sheet] = field(default_factory=dict)
    _reports: dict[str, Kept] = field(default_factory=dict)
    _parsed: dict[str, Parsed] = field(default_factory=dict)
    _including: dict[str, tuple[str, ...]] = field(default_factory=dict)

    def look_again(self) -> None:
        """Files on the disk may have come, gone or changed: which specs include something is found out anew."""
        self._including.clear()

    def put(self, path: str, text: str) -> None:
        """A file was opened or changed."""
        self.buffers[path] = text.removeprefix("\ufeff")

    def close(self, path: str) -> None:
        self.buffers.pop(path, None)
        self._reports.pop(path, None)
        self._sheets.pop(path, None)
        self._parsed.pop(path, None)

    def text(self, path: str) -> str | None:
        """The text of a file as it is now, or None for one that can't be read."""
        if path in self.buffers:
            return self.buffers[path]
        return basis.text_or_none(path)

    def sheet(self, path: str) -> Sheet | None:
        text = self.text(path)
        if text is None:
            return None
        kept = self._sheets.get(path)
        if kept is None or kept.source.text != text:
            kept = self._sheets[path] = Sheet(Source(path, text))
        return kept

    # ---- Which files belong together

    def files_of(self, spec: str) -> tuple[str, ...]:
        """A spec and all that it includes, itself first."""
        found = {spec: None}
        folder = project_folder(spec)
        waiting = [spec]
        while waiting and len(found) < MOST_FILES:
            path = waiting.pop()
            for included in self._included(path, folder):
                if included not in found:
                    found[included] = None
                    waiting.append(included)
        return tuple(found)

    def _included(self, path: str, folder: str) -> Iterator[str]:
        sheet = self.sheet(path)
        for written in sheet.includes if sheet else ():
            try:
                yield real_include(path, written, folder)
            except FileTrouble:
                continue

    def specs_with(self, path: str) -> tuple[str, ...]:
        """The specs that a file belongs to: itself where it has a `fitout`, and those of its project that include it. A
        fragment that none includes stands for itself."""
        sheet = self.sheet(path)
        own = (path,) if sheet is not None and sheet.is_spec else ()
        others = tuple(
            spec for spec in self._specs_near(path) if spec != path and path in self.files_of(spec)
        )
        return own + others or (path,)

    def _specs_near(self, path: str) -> tuple[str, ...]:
        """The specs with includes of the file's project, and those that are open."""
        folder = project_folder(path)
        if folder not in self._including:
            self._including[folder] = tuple(self._with_includes(folder))
        near = (buffer for buffer in sorted(self.buffers) if buffer.startswith(os.path.join(folder, "")))
        found = dict.fromkeys((*near, *self._including[folder]))
        sheets = ((spec, self.sheet(spec)) for spec in found)
        return tuple(spec for spec, sheet in sheets if sheet is not None and sheet.is_spec and sheet.includes)

    def _with_includes(self, folder: str) -> Iterator[str]:
        """Spec files below a folder whose text on the disk includes others."""
        looked_at = 0
        for here, folders, names in os.walk(folder):
            folders[:] = sorted(name for name in folders if not name.startswith("."))
            for name in sorted(names):
                if name.endswith(".fitout") and looked_at < MOST_SPECS:
                    looked_at += 1
                    path = os.path.join(here, name)
                    if INCLUDE.search(basis.text_or_none(path) or ""):
                        yield path

    def company(self, path: str) -> tuple[str, ...]:
        """All files that share names with one: those of every spec that it belongs to."""
        found = dict.fromkeys((path,))
        for spec in self.specs_with(path):
            found.update(dict.fromkeys(self.files_of(spec)))
        return tuple(found)

    # ---- What is found

    def reports(self) -> tuple[Report, ...]:
        """Those that are kept now."""
        return tuple(kept.report for kept in self._reports.values())

    def report(self, spec: str) -> Report:
        """The same report that `check` gives, of the texts as they are now; reckoned again only when one has changed."""
        text = self.text(spec)
        if text is None:
            return Report((), (), ())
        today = (self.wishes.today or datetime.date.today()).isoformat()
        house = basis.digest(today, *(basis.text_or_none(path) for path in basis.house_files(spec)))
        kept = self._reports.get(spec)
        if kept is None or kept.house != house or any(self.text(p) != old for p, old in kept.texts.items()):
            seen, reading = basis.recording(self.buffers.get)
            report = check(text, spec, self.wishes, reading, self._parsed, self._aside(text, spec))
            kept = self._reports[spec] = Kept(report, {**seen, spec: text}, house)
        return kept.report

    def _aside(self, text: str, spec: str) -> Aside | None:
        """What the mate looks for meanwhile."""
        if self.mate is None:
            return None
        texts = {path: self.buffers[path] for path in self.files_of(spec)[1:] if path in self.buffers}
        return self.mate.ask(Question(text, spec, self.wishes, texts))

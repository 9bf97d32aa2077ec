"""One editor's session: how it names files and counts places, and what it was last told of each file."""

from __future__ import annotations

import asyncio
import logging
import os

from lsprotocol import types as lsp
from pygls import uris
from pygls.exceptions import FeatureRequestError
from pygls.lsp.server import LanguageServer
from pygls.workspace.position_codec import ServerTextPosition, ServerTextRange

import loomwright
from loomwright import garbage
from loomwright.editor import notes
from loomwright.editor.desk import Desk
from loomwright.editor.mate import Mate
from loomwright.editor.positions import Lines, lines_of
from loomwright.source import Source, Span

PAUSE = 0.001
"""Seconds without a message before the text is checked: enough for those that wait already. Keys that come during a check are
checked together after it."""

log = logging.getLogger("loomwright.editor")

LEVELS = {
    "error": lsp.DiagnosticSeverity.Error,
    "warning": lsp.DiagnosticSeverity.Warning,
    "information": lsp.DiagnosticSeverity.Information,
    "hint": lsp.DiagnosticSeverity.Hint,
}


def cores() -> int:
    """How many this process may use, where the system tells; else how many there are."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


class Server(LanguageServer):
    """One editor's session: its desk, how it calls each file, and what it was last told of it."""

    def __init__(self) -> None:
        super().__init__(
            "loomwright", loomwright.__version__, text_document_sync_kind=lsp.TextDocumentSyncKind.Full
        )
        self.mate = Mate()
        self.desk = Desk(mate=self.mate if cores() > 1 else None)
        self.uris: dict[str, str] = {}
        self.versions: dict[str, int] = {}
        self.told: dict[str, tuple[int | None, list[lsp.Diagnostic]]] = {}
        self.waiting: asyncio.TimerHandle | None = None
        self.resting: asyncio.TimerHandle | None = None
        self.leaving = False

    def report_server_error(self, error: Exception, source: object) -> None:
        """Only the log tells of a fault that answers no request: to tell the editor would fail again, without end, where it has gone
        away."""
        if source is not FeatureRequestError:
            log.error("%s: %s", type(error).__name__, error)

    # ---- Positions

    def path(self, uri: str) -> str:
        """The real path of a document; one that is no file yet is taken for a file of that name."""
        return os.path.realpath((uris.to_fs_path(uri) if uri.startswith("file:") else None) or uri)

    def uri(self, path: str) -> str:
        if path in self.uris:
            return self.uris[path]
        real = os.path.realpath(path)
        return self.uris.get(real) or uris.from_fs_path(real) or real

    def offset(self, path: str, position: lsp.Position) -> int:
        lines, texts = self.lines(path)
        place = self.workspace.position_codec.position_from_client_units(texts, position)
        return lines.offset(place.line, place.character)

    def lines(self, path: str) -> tuple[Lines, list[str]]:
        sheet = self.desk.sheet(path)
        return lines_of(sheet.source if sheet else Source(path, ""))

    def range(self, span: Span) -> lsp.Range:
        lines, texts = lines_of(span.source)
        start, end = (lines.place(offset) for offset in (span.start, span.end))
        # On a line of ASCII a unit is a code point in every encoding.
        if texts[start[0]].isascii() and texts[end[0]].isascii():
            return lsp.Range(lsp.Position(*start), lsp.Position(*end))
        exact = ServerTextRange(ServerTextPosition(*start), ServerTextPosition(*end))
        return self.workspace.position_codec.range_to_client_units(texts, exact)

    def location(self, span: Span) -> lsp.Location:
        return lsp.Location(self.uri(span.source.path), self.range(span))

    # ---- Findings

    def check_soon(self) -> None:
        """Check after a pause, so that letters that came together are checked once."""
        for handle in (self.waiting, self.resting):
            if handle is not None:
                handle.cancel()
        if self.leaving:
            return
        self.waiting = asyncio.get_running_loop().call_later(PAUSE, self.check)

    def check(self) -> None:
        """Tell the findings of every open file's specs; of a file that has none any more tell that."""
        self.waiting = None
        if self.leaving:
            return
        held = self.desk.reports()  # until all is told: to let go of a report takes its time too
        found: dict[str, dict[tuple[object, ...], lsp.Diagnostic]] = {path: {} for path in self.uris}
        specs = dict.fromkeys(spec for path in self.uris for spec in self.desk.specs_with(path))
        for spec in specs:
            for path, diagnostics in self.checked(spec).items():
                kept = found.setdefault(path, {})
                for one in diagnostics:
                    kept.setdefault((repr(one.range), one.code, one.message), one)
        for path in {**dict.fromkeys(self.told), **dict.fromkeys(found)}:
            self.publish(path, list(found.get(path, {}).values()))
        del held
        self.resting = asyncio.get_running_loop().call_later(garbage.REST, garbage.now)

    def checked(self, spec: str) -> dict[str, list[lsp.Diagnostic]]:
        """The findings of one spec by file. A fault of the program is logged and told, and the others are still checked."""
        try:
            remarks = notes.remarks(self.desk.report(spec))
            return {path: [self.diagnostic(one) for one in some] for path, some in remarks.items()}
        except Exception as fault:
            log.exception("checking %s failed", spec)
            said = f"a fault of the program ({type(fault).__name__}): this spec was not checked; the log says more"
            start = lsp.Range(lsp.Position(0, 0), lsp.Position(0, 1))
            return {spec: [lsp.Diagnostic(start, said, LEVELS["error"], source="loomwright")]}

    def publish(self, path: str, diagnostics: list[lsp.Diagnostic]) -> None:
        """Tell the findings of a file, an empty list too, unless they are what was told of this version."""
        news = (self.versions.get(path), diagnostics)
        if self.told.get(path) != news:
            self.told[path] = news
            self.text_document_publish_diagnostics(
                lsp.PublishDiagnosticsParams(self.uri(path), diagnostics, self.versions.get(path))
            )

    def diagnostic(self, remark: notes.Remark) -> lsp.Diagnostic:
        return lsp.Diagnostic(
            range=self.range(remark.span),
            message=remark.message,
            severity=LEVELS[remark.level],
            code=remark.rule or None,
            source="loomwright",
            tags=[lsp.DiagnosticTag.Unnecessary] if remark.faded else None,
            related_information=[
                lsp.DiagnosticRelatedInformation(self.location(span), said) for span, said in remark.related
            ]
            or None,
        )

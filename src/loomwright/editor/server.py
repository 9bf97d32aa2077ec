"""The Language Server Protocol on standard input and output: what each message is answered with.

What is answered is decided in the other modules of this room. Only this one and `session` need the extra `editor`.
"""

from __future__ import annotations

import logging
import os
import sys
from typing import BinaryIO, Protocol

from lsprotocol import types as lsp
from pygls.exceptions import JsonRpcInvalidParams

from loomwright.editor import changes, completion, hints, hover, names, tokens
from loomwright.editor.session import Server
from loomwright.source import Source, Span

SYMBOLS = {
    "fitout": lsp.SymbolKind.Module,
    "include": lsp.SymbolKind.File,
    "part": lsp.SymbolKind.Class,
    "place": lsp.SymbolKind.Namespace,
    "structure": lsp.SymbolKind.Namespace,
    "feed": lsp.SymbolKind.Interface,
    "earth": lsp.SymbolKind.Interface,
    "circuit": lsp.SymbolKind.Interface,
    "signal": lsp.SymbolKind.Interface,
    "mode": lsp.SymbolKind.Event,
    "day": lsp.SymbolKind.Event,
}
COMPLETIONS = {
    "statement": lsp.CompletionItemKind.Keyword,
    "clause": lsp.CompletionItemKind.Property,
    "word": lsp.CompletionItemKind.EnumMember,
    "name": lsp.CompletionItemKind.Variable,
    "terminal": lsp.CompletionItemKind.Field,
    "unit": lsp.CompletionItemKind.Unit,
    "size": lsp.CompletionItemKind.Value,
    "rating": lsp.CompletionItemKind.Value,
    "rule": lsp.CompletionItemKind.Reference,
}


# ---------------------------------------------------------------- documents


def opened(ls: Server, params: lsp.DidOpenTextDocumentParams) -> None:
    document = params.text_document
    path = ls.path(document.uri)
    ls.uris[path] = document.uri
    ls.versions[path] = document.version
    ls.desk.look_again()
    ls.desk.put(path, document.text)
    ls.check_soon()


def changed(ls: Server, params: lsp.DidChangeTextDocumentParams) -> None:
    path = ls.path(params.text_document.uri)
    ls.versions[path] = params.text_document.version
    for change in params.content_changes:
        ls.desk.put(path, change.text)
    ls.check_soon()


def saved(ls: Server, _params: lsp.DidSaveTextDocumentParams) -> None:
    ls.desk.look_again()
    ls.check_soon()


def files_changed(ls: Server, _params: lsp.DidChangeWatchedFilesParams) -> None:
    ls.desk.look_again()
    ls.check_soon()


def closed(ls: Server, params: lsp.DidCloseTextDocumentParams) -> None:
    path = ls.path(params.text_document.uri)
    ls.desk.close(path)
    ls.versions.pop(path, None)
    ls.publish(path, [])
    ls.told.pop(path, None)
    ls.uris.pop(path, None)
    ls.check_soon()


# ---------------------------------------------------------------- questions


class Asked(Protocol):
    """A question about a place."""

    @property
    def text_document(self) -> lsp.TextDocumentIdentifier: ...

    @property
    def position(self) -> lsp.Position: ...


def _asked(ls: Server, params: Asked) -> tuple[str, int]:
    path = ls.path(params.text_document.uri)
    return path, ls.offset(path, params.position)


def hovered(ls: Server, params: lsp.HoverParams) -> lsp.Hover | None:
    told = hover.hover(ls.desk, *_asked(ls, params))
    if told is None:
        return None
    return lsp.Hover(lsp.MarkupContent(lsp.MarkupKind.Markdown, told[1]), ls.range(told[0]))


def defined(ls: Server, params: lsp.DefinitionParams) -> list[lsp.Location]:
    return [ls.location(span) for span in names.definition(ls.desk, *_asked(ls, params))]


def referred(ls: Server, params: lsp.ReferenceParams) -> list[lsp.Location]:
    path, offset = _asked(ls, params)
    return [
        ls.location(s) for s in names.references(ls.desk, path, offset, params.context.include_declaration)
    ]


def may_rename(ls: Server, params: lsp.PrepareRenameParams) -> lsp.PrepareRenamePlaceholder | None:
    span = names.name_at(ls.desk, *_asked(ls, params))
    return lsp.PrepareRenamePlaceholder(ls.range(span), span.text) if span else None


def renamed(ls: Server, params: lsp.RenameParams) -> lsp.WorkspaceEdit:
    path, offset = _asked(ls, params)
    try:
        spans = names.rename(ls.desk, path, offset, params.new_name)
    except names.NotRenamed as reason:
        raise JsonRpcInvalidParams(str(reason)) from None
    return _workspace_edit(ls, tuple((span, params.new_name) for span in spans))


def _workspace_edit(ls: Server, edits: tuple[tuple[Span, str], ...]) -> lsp.WorkspaceEdit:
    return lsp.WorkspaceEdit(
        {
            ls.uri(path): [lsp.TextEdit(ls.range(span), text) for span, text in some]
            for path, some in changes.by_file(edits).items()
        }
    )


def outlined(ls: Server, params: lsp.DocumentSymbolParams) -> list[lsp.DocumentSymbol]:
    return [
        lsp.DocumentSymbol(
            symbol.name,
            SYMBOLS.get(symbol.kind, lsp.SymbolKind.Object),
            ls.range(symbol.span),
            ls.range(symbol.selection),
            symbol.detail,
        )
        for symbol in names.symbols(ls.desk, ls.path(params.text_document.uri))
    ]


def completed(ls: Server, params: lsp.CompletionParams) -> lsp.CompletionList:
    path, offset = _asked(ls, params)
    start, found = completion.choices(ls.desk, path, offset)
    sheet = ls.desk.sheet(path)
    source = sheet.source if sheet else Source(path, "")
    place = ls.range(source.span(start, offset))
    items = [
        lsp.CompletionItem(
            label=choice.text,
            kind=COMPLETIONS[choice.kind],
            detail=choice.detail or None,
            documentation=choice.meaning or None,
            sort_text=f"{number:04}",
            filter_text=choice.text,
            text_edit=lsp.TextEdit(place, choice.text),
        )
        for number, choice in enumerate(found)
    ]
    return lsp.CompletionList(is_incomplete=False, items=items)


def offered(ls: Server, params: lsp.CodeActionParams) -> list[lsp.CodeAction]:
    path = ls.path(params.text_document.uri)
    start, end = (ls.offset(path, position) for position in (params.range.start, params.range.end))
    return [
        lsp.CodeAction(
            title=change.title,
            kind=lsp.CodeActionKind.QuickFix,
            diagnostics=[ls.diagnostic(change.remark)],
            is_preferred=not change.asks,
            edit=_workspace_edit(ls, change.edits),
        )
        for change in changes.changes(ls.desk, path, start, end)
    ]


def laid_out(ls: Server, params: lsp.DocumentFormattingParams) -> list[lsp.TextEdit]:
    sheet = ls.desk.sheet(ls.path(params.text_document.uri))
    edits = changes.laid_out(sheet.source.text) if sheet else ()
    return [lsp.TextEdit(ls.range(span), text) for span, text in edits]


def hinted(ls: Server, params: lsp.InlayHintParams) -> list[lsp.InlayHint]:
    path = ls.path(params.text_document.uri)
    start, end = (ls.offset(path, position) for position in (params.range.start, params.range.end))
    sheet = ls.desk.sheet(path)
    return [
        lsp.InlayHint(
            ls.range(sheet.source.span(inlay.offset, inlay.offset)).start,
            inlay.text,
            tooltip=inlay.tip,
            padding_left=True,
        )
        for inlay in hints.inlays(ls.desk, path)
        if sheet is not None and start <= inlay.offset <= end
    ]


LEGEND = lsp.SemanticTokensLegend(list(tokens.TYPES), ["declaration"])


def coloured(ls: Server, params: lsp.SemanticTokensParams) -> lsp.SemanticTokens:
    """Five numbers a token: lines and columns from the one before, length, type, modifiers."""
    sheet = ls.desk.sheet(ls.path(params.text_document.uri))
    data: list[int] = []
    line, column = 0, 0
    for start, end, kind, modifiers in tokens.tokens(sheet.marks) if sheet else ():
        assert sheet is not None
        place = ls.range(sheet.source.span(start, end))
        if place.start.line != line:
            column = 0
        length = place.end.character - place.start.character
        data += (
            place.start.line - line,
            place.start.character - column,
            length,
            tokens.TYPES.index(kind),
            modifiers,
        )
        line, column = place.start.line, place.start.character
    return lsp.SemanticTokens(data)


def left(ls: Server, _params: None) -> None:
    """The editor says goodbye: a check that was about to begin would find nobody to tell."""
    ls.leaving = True
    ls.mate.leave()
    if ls.waiting is not None:
        ls.waiting.cancel()


FEATURES = (
    (lsp.SHUTDOWN, left, None),
    (lsp.TEXT_DOCUMENT_DID_OPEN, opened, None),
    (lsp.TEXT_DOCUMENT_DID_CHANGE, changed, None),
    (lsp.TEXT_DOCUMENT_DID_SAVE, saved, None),
    (lsp.TEXT_DOCUMENT_DID_CLOSE, closed, None),
    (lsp.WORKSPACE_DID_CHANGE_WATCHED_FILES, files_changed, None),
    (lsp.TEXT_DOCUMENT_HOVER, hovered, None),
    (lsp.TEXT_DOCUMENT_DEFINITION, defined, None),
    (lsp.TEXT_DOCUMENT_REFERENCES, referred, None),
    (lsp.TEXT_DOCUMENT_PREPARE_RENAME, may_rename, None),
    (lsp.TEXT_DOCUMENT_RENAME, renamed, lsp.RenameOptions(prepare_provider=True)),
    (lsp.TEXT_DOCUMENT_DOCUMENT_SYMBOL, outlined, None),
    (lsp.TEXT_DOCUMENT_COMPLETION, completed, lsp.CompletionOptions(trigger_characters=[".", " "])),
    (lsp.TEXT_DOCUMENT_CODE_ACTION, offered, lsp.CodeActionOptions([lsp.CodeActionKind.QuickFix])),
    (lsp.TEXT_DOCUMENT_FORMATTING, laid_out, None),
    (lsp.TEXT_DOCUMENT_INLAY_HINT, hinted, None),
    (lsp.TEXT_DOCUMENT_SEMANTIC_TOKENS_FULL, coloured, LEGEND),
)


def server() -> Server:
    """A server with every feature, that is connected to nothing yet."""
    made = Server()
    for name, answer, options in FEATURES:
        made.feature(name, options)(answer)
    return made


def _is_fault(record: logging.LogRecord) -> bool:
    """Whether a line of the log tells of a fault, and not of a request that was refused with a reason."""
    return not (record.exc_info and isinstance(record.exc_info[1], JsonRpcInvalidParams))


def serve() -> None:
    """Serve one editor until it says goodbye. Nothing but the protocol reaches standard output: what else is printed goes to
    standard error, where editors keep a log."""
    logging.basicConfig(stream=sys.stderr, level=logging.WARNING)
    logging.getLogger("pygls.protocol.json_rpc").addFilter(_is_fault)
    output: BinaryIO = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)
    sys.stdout = sys.stderr
    server().start_io(sys.stdin.buffer, output)

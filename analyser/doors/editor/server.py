"""The language server: which request is answered by which module, and when a text is checked.

One thread reads (`reader`), one searches for failure sets (`checker`), so that a long search keeps
nobody from an answer; the loop itself only passes messages. A check of a text that has changed
meanwhile is stopped, and never shown.
"""

from __future__ import annotations

import asyncio
import logging
import time
from collections.abc import Callable, Mapping
from concurrent.futures import ThreadPoolExecutor
from importlib.metadata import version
from pathlib import Path
from types import MappingProxyType
from typing import Any, TypeVar

from lsprotocol import types
from pygls import uris
from pygls.lsp.server import LanguageServer

from analyser.checking.analysing import analyse
from analyser.checking.results import Result
from analyser.doors.editor import actions, colouring, completing, diagnostics, hovering, looking_up, outline, renaming
from analyser.doors.editor.columns import Columns
from analyser.doors.editor.names import Named
from analyser.doors.editor.readings import Desk, Held, Reading, Texts, bytes_of
from analyser.doors.editor.refusals import Answering, LeftAlone, Refusal, careful
from analyser.language.formatting import laid_out
from analyser.language.mistakes import Place, Unreadable
from analyser.language.source import MOST_BYTES, shown_name
from analyser.rig.catalogue import catalogue

log = logging.getLogger(__name__)

PAUSE = 0.2
"""Seconds without a keystroke before a text is checked."""
BUDGET = 2.0
"""Seconds that the search for failure sets may take while somebody writes."""
ORDER = 2
"""Failures together, as in `stillheld check`."""
LARGE = 100_000
"""Bytes beyond which reading takes seconds, and a text is left alone while it is written."""
HOVER_WAITS = 1.0
"""Seconds that a hover waits for a check under way; without it, it says what the part is."""
MOST_COMPLETIONS = 1_000
Answer = TypeVar("Answer")
AnyServer = TypeVar("AnyServer", bound="RigServer")
COMPLETION = {
    completing.What.KEYWORD: types.CompletionItemKind.Keyword,
    completing.What.KIND: types.CompletionItemKind.Class,
    completing.What.NAME: types.CompletionItemKind.Variable,
    completing.What.POINT: types.CompletionItemKind.Field,
    completing.What.FAILURE: types.CompletionItemKind.Event,
    completing.What.UNIT: types.CompletionItemKind.Unit,
}


class RigServer(LanguageServer):
    """Texts come whole: pygls splits lines where Python does, and the protocol knows fewer line ends."""

    def __init__(self) -> None:
        whole = types.TextDocumentSyncKind.Full
        super().__init__("stillheld", version("stillheld"), text_document_sync_kind=whole, protocol_cls=Answering)
        self.desk = Desk()
        self.reader = ThreadPoolExecutor(1, "reader")
        self.checker = ThreadPoolExecutor(1, "checker")
        self.due: dict[str, asyncio.Task[None]] = {}
        self.checks: dict[Path, tuple[Reading, asyncio.Future[Result | None]]] = {}
        self.told: dict[Path, diagnostics.Told] = {}
        self.kept: dict[str, list[Path]] = {}
        """For each open text, the rigs whose diagnostics it asked for."""

    @property
    def encoding(self) -> str:
        return str(getattr(self.workspace.position_encoding, "value", self.workspace.position_encoding))

    def texts(self) -> Texts:
        """The texts as they are at this moment."""
        documents = list(self.workspace.text_documents.values())
        return {path_of(one.uri): Held(one.uri, one.version, one.source) for one in documents}

    async def read(self, work: Callable[..., Answer], *arguments: Any) -> Answer:
        """Do something in the reading thread."""
        return await asyncio.get_running_loop().run_in_executor(self.reader, work, *arguments)

    # -- checking as somebody writes

    def check_soon(self, uri: str) -> None:
        before = self.due.pop(uri, None)
        if before:
            before.cancel()
        self.due[uri] = asyncio.get_running_loop().create_task(self._check(uri))

    async def _check(self, uri: str) -> None:
        try:
            await asyncio.sleep(PAUSE)
            if self.large(uri):
                self.told[path_of(uri)] = {uri: [diagnostics.left_alone(LARGE)]}
                self.kept[uri] = [path_of(uri)]
                self._publish({uri})
                return
            texts = self.texts()
            path = path_of(uri)
            readings = await self.read(self.desk.rigs, path, texts)
            rigs = [one.path for one in readings]
            gone = [one for one in self.kept.get(uri, []) if one not in rigs]
            self.kept[uri] = rigs
            for one in gone:
                self.drop(one)
            for reading in readings:
                if reading.mistakes:
                    self.tell(reading, diagnostics.of_text(reading, self.encoding))
                    continue
                result = await self.result(reading)
                if result:
                    told = await self.read(diagnostics.of_check, reading, result, self.encoding)
                    self.tell(reading, told)
        except asyncio.CancelledError:
            raise
        except Exception:
            log.exception("checking %s", uri)

    async def result(self, reading: Reading) -> Result | None:
        """The check of a reading, done once; None when it was stopped because the text has changed."""
        known = self.checks.get(reading.path)
        if known and known[0] is reading:
            return await asyncio.shield(known[1])
        loop = asyncio.get_running_loop()
        check = loop.run_in_executor(self.checker, self._analyse, reading)
        self.checks[reading.path] = reading, check
        return await asyncio.shield(check)

    def _analyse(self, reading: Reading) -> Result | None:
        """In the checking thread."""
        end = time.monotonic() + BUDGET

        def wanted() -> bool:
            latest = self.checks.get(reading.path)
            return latest is None or latest[0] is reading

        assert reading.rig
        if not wanted():
            return None
        result = analyse(reading.rig, ORDER, lambda *_: wanted() and time.monotonic() <= end, processes=None)
        return result if wanted() else None

    def tell(self, reading: Reading, told: diagnostics.Told) -> None:
        """Publish what was found, unless a text of this rig has changed since it was read."""
        now = self.texts()
        if any(now.get(path) != reading.texts.get(path) for path in reading.stamps):
            return
        before = self.told.get(reading.path, {})
        self.told[reading.path] = told
        self._publish({*before, *told})

    def drop(self, rig: Path) -> None:
        """Forget a rig's diagnostics, when no open text asks for them any more."""
        if not any(rig in rigs for rigs in self.kept.values()):
            self._publish(self.told.pop(rig, {}))

    def _publish(self, files: Any) -> None:
        documents = self.workspace.text_documents
        for uri in sorted(files):
            found = diagnostics.together(self.told.values(), uri)
            number = documents[uri].version if uri in documents else None
            self.text_document_publish_diagnostics(types.PublishDiagnosticsParams(uri, found, number))

    # -- what a request is about

    def large(self, uri: str) -> bool:
        """Too large to be read again at every pause? (One that no rig may be is refused at once.)"""
        document = self.workspace.text_documents.get(uri)
        return document is not None and LARGE < len(document.source) <= MOST_BYTES

    async def readings(self, uri: str) -> tuple[list[Reading], str]:
        """The rigs a text belongs to, and the name under which the first shows it; raises `LeftAlone`."""
        if self.large(uri):
            raise LeftAlone
        path = path_of(uri)
        found = await self.read(self.desk.rigs, path, self.texts())
        return found, found[0].shown(path) or shown_name(path.name)

    def columns(self, uri: str) -> Columns:
        return Columns(self.source(uri), self.encoding)

    def source(self, uri: str) -> str:
        """The text as the editor holds it, else as the disk has it."""
        document = self.workspace.text_documents.get(uri)
        return document.source if document else bytes_of(path_of(uri), {}).decode("utf-8", "replace")


def path_of(uri: str) -> Path:
    """The file of a URI; a text that was never saved stands for one in the folder of the server."""
    path = uris.to_fs_path(uri)
    if path:
        return Path(path).resolve()
    return Path.cwd().resolve() / (Path(uri.partition(":")[2]).name or "untitled.rig")


def make() -> RigServer:
    """A server with its features."""
    return furnished(RigServer())


def furnished(server: AnyServer, *, but: Mapping[str, Any] = MappingProxyType({})) -> AnyServer:
    """A server with the features; `but` are handlers in the place of the usual ones."""
    for method, handler, options in FEATURES:
        server.feature(method, options)(but.get(method, handler))
    return server


# -- texts


@careful
async def ready(server: RigServer, params: Any) -> None:
    """Ask to be told of rigs that change on the disk, where the editor can do that."""
    workspace = server.client_capabilities.workspace
    watching = workspace and workspace.did_change_watched_files
    if watching and watching.dynamic_registration:
        rigs = types.DidChangeWatchedFilesRegistrationOptions([types.FileSystemWatcher("**/*.rig")])
        one = types.Registration("rigs", types.WORKSPACE_DID_CHANGE_WATCHED_FILES, rigs)
        await server.client_register_capability_async(types.RegistrationParams([one]))


@careful
async def changed(server: RigServer, params: Any) -> None:
    """A text was opened or typed in: it, and open texts that may include it, are checked."""
    server.check_soon(params.text_document.uri)
    for uri in server.workspace.text_documents:
        rigs = server.kept.get(uri)
        if uri != params.text_document.uri and rigs and _reads(server, rigs, params.text_document.uri):
            server.check_soon(uri)


def _reads(server: RigServer, rigs: list[Path], uri: str) -> bool:
    return any(uri in server.told.get(rig, {}) for rig in rigs)


@careful
async def opened_or_saved(server: RigServer, params: Any) -> None:
    await server.read(server.desk.forget)
    await changed(server, params)


@careful
async def closed(server: RigServer, params: types.DidCloseTextDocumentParams) -> None:
    uri = params.text_document.uri
    task = server.due.pop(uri, None)
    if task:
        task.cancel()
    await server.read(server.desk.forget)
    if uri in server.workspace.text_documents:
        return  # opened again meanwhile
    for rig in server.kept.pop(uri, []):
        server.drop(rig)
    for other in server.workspace.text_documents:
        server.check_soon(other)


@careful
async def files_changed(server: RigServer, params: types.DidChangeWatchedFilesParams) -> None:
    await server.read(server.desk.forget)
    for uri in server.workspace.text_documents:
        server.check_soon(uri)


# -- answers


@careful
async def hover(server: RigServer, params: types.HoverParams) -> types.Hover | None:
    uri = params.text_document.uri
    readings, shown = await server.readings(uri)
    columns = server.columns(uri)
    line, column = columns.place(params.position)
    result = None
    if readings[0].rig:
        try:
            result = await asyncio.wait_for(server.result(readings[0]), HOVER_WAITS)
        except TimeoutError:
            log.info("no check in time for a hover")
    found = await server.read(hovering.hover, readings[0], result, shown, line, column)
    if found is None:
        return None
    text, place = found
    return types.Hover(types.MarkupContent(types.MarkupKind.Markdown, text), columns.range(place))


@careful
async def completion(server: RigServer, params: types.CompletionParams) -> types.CompletionList | None:
    uri = params.text_document.uri
    texts = server.texts()
    readings, shown = await server.readings(uri)
    columns = server.columns(uri)
    line, column = columns.place(params.position)
    found = await server.read(completing.completions, server.desk, readings[0], texts, shown, line, column)
    before = columns.lines[line - 1][: column - 1]
    partial = completing.PARTIAL.search(before)
    start = columns.position(line, column - len(partial[0]) if partial else column)
    where = types.Range(start, columns.position(line, column))
    items = [
        types.CompletionItem(
            one.text,
            kind=COMPLETION[one.what],
            detail=one.detail or str(one.what),
            sort_text=f"{number:04}",
            text_edit=types.TextEdit(where, one.text),
        )
        for number, one in enumerate(found[:MOST_COMPLETIONS])
    ]
    return types.CompletionList(len(found) > MOST_COMPLETIONS, items)


def _location(server: RigServer, reading: Reading, uri: str, place: Place) -> types.Location:
    return types.Location(uri, reading.columns(place.file, server.encoding).range(place))


@careful
async def definition(server: RigServer, params: types.DefinitionParams) -> list[types.Location] | None:
    readings, shown = await server.readings(params.text_document.uri)
    at = server.columns(params.text_document.uri).place(params.position)
    found = await server.read(looking_up.definition, readings[0], shown, *at)
    return [_location(server, readings[0], uri, place) for uri, place in found]


async def _named(server: RigServer, uri: str, position: types.Position) -> tuple[list[Reading], list[Named]]:
    readings, shown = await server.readings(uri)
    at = server.columns(uri).place(position)
    return readings, await server.read(looking_up.name_at, readings[0], shown, *at)


@careful
async def references(server: RigServer, params: types.ReferenceParams) -> list[types.Location] | None:
    readings, named = await _named(server, params.text_document.uri, params.position)
    found: dict[tuple[str, Place], types.Location] = {}
    for one in named:
        for reading in readings:
            given = params.context.include_declaration
            for uri, place in await server.read(looking_up.references, reading, one, given):
                found[uri, place] = _location(server, reading, uri, place)
    return list(found.values())


@careful
async def prepare_rename(server: RigServer, params: types.PrepareRenameParams) -> types.Range | None:
    readings, named = await _named(server, params.text_document.uri, params.position)
    if not named:
        raise Refusal("no name stands here")
    try:
        place = await server.read(renaming.renamable, readings[0], named[0])
    except renaming.NotRenamed as error:
        raise Refusal(str(error)) from None
    return server.columns(params.text_document.uri).range(place)


@careful
async def rename(server: RigServer, params: types.RenameParams) -> types.WorkspaceEdit | None:
    readings, named = await _named(server, params.text_document.uri, params.position)
    if not named:
        raise Refusal("no name stands here")
    try:
        await server.read(renaming.renamable, readings[0], named[0])
        edits = await server.read(renaming.rename, readings, named[0], params.new_name)
    except renaming.NotRenamed as error:
        raise Refusal(str(error)) from None
    texts = readings[0].texts
    rows: dict[str, list[types.TextEdit]] = {}
    for path, row in sorted(edits.items()):
        reading = next(one for one in readings if one.shown(path))
        shown = reading.shown(path)
        assert shown
        columns = reading.columns(shown, server.encoding)
        rows[reading.uri(shown)] = [types.TextEdit(columns.range(place), row[place]) for place in sorted(row)]
    able = server.client_capabilities.workspace and server.client_capabilities.workspace.workspace_edit
    if not (able and able.document_changes):
        return types.WorkspaceEdit(changes=rows)
    numbers = {held.uri: held.version for held in texts.values()}
    return types.WorkspaceEdit(
        document_changes=[
            types.TextDocumentEdit(types.OptionalVersionedTextDocumentIdentifier(uri, numbers.get(uri)), list(row))
            for uri, row in rows.items()
        ]
    )


@careful
async def symbols(server: RigServer, params: types.DocumentSymbolParams) -> list[types.DocumentSymbol] | None:
    readings, shown = await server.readings(params.text_document.uri)
    columns = server.columns(params.text_document.uri)
    return await server.read(outline.outline, readings[0], shown, columns)


@careful
async def code_actions(server: RigServer, params: types.CodeActionParams) -> list[types.CodeAction] | None:
    uri = params.text_document.uri
    readings, shown = await server.readings(uri)
    columns = server.columns(uri)
    first, last = params.range.start.line + 1, params.range.end.line + 1
    found = await server.read(actions.fixes, readings[0], shown, first, last)
    offered = []
    for fix in found:
        where, words = columns.range(fix.mistake.place), diagnostics.words(fix.mistake)
        told = [one for one in params.context.diagnostics if one.range == where and one.message == words]
        alone = sum(one.mistake == fix.mistake for one in found) == 1
        offered.append(
            types.CodeAction(
                f"write `{fix.text}`",
                kind=types.CodeActionKind.QuickFix,
                diagnostics=told or None,
                is_preferred=alone,
                edit=types.WorkspaceEdit(changes={uri: [types.TextEdit(columns.range(fix.place), fix.text)]}),
            )
        )
    return offered


@careful
async def semantic_tokens(server: RigServer, params: types.SemanticTokensParams) -> types.SemanticTokens | None:
    text = server.source(params.text_document.uri)
    if server.large(params.text_document.uri):
        raise LeftAlone
    return types.SemanticTokens(await server.read(colouring.coloured, text))


@careful
async def formatting(server: RigServer, params: types.DocumentFormattingParams) -> list[types.TextEdit] | None:
    """The whole text in its one layout; a text that can't be read is left as it is, and its mistakes are told."""
    uri = params.text_document.uri
    text = server.source(uri)
    try:
        new = await server.read(laid_out, Held(uri, None, text).bytes, path_of(uri).name, set(catalogue()))
    except Unreadable:
        return None
    columns = server.columns(uri)
    whole = types.Range(types.Position(0, 0), columns.line(len(columns.lines)).end)
    return [] if new == text else [types.TextEdit(whole, new)]


FEATURES: tuple[tuple[str, Any, Any], ...] = (
    (types.INITIALIZED, ready, None),
    (types.TEXT_DOCUMENT_DID_OPEN, opened_or_saved, None),
    (types.TEXT_DOCUMENT_DID_CHANGE, changed, None),
    (types.TEXT_DOCUMENT_DID_SAVE, opened_or_saved, None),
    (types.TEXT_DOCUMENT_DID_CLOSE, closed, None),
    (types.WORKSPACE_DID_CHANGE_WATCHED_FILES, files_changed, None),
    (types.TEXT_DOCUMENT_HOVER, hover, None),
    (
        types.TEXT_DOCUMENT_COMPLETION,
        completion,
        types.CompletionOptions(trigger_characters=[".", " ", "[", ":", ","]),
    ),
    (types.TEXT_DOCUMENT_DEFINITION, definition, None),
    (types.TEXT_DOCUMENT_REFERENCES, references, None),
    (types.TEXT_DOCUMENT_PREPARE_RENAME, prepare_rename, None),
    (types.TEXT_DOCUMENT_RENAME, rename, types.RenameOptions(prepare_provider=True)),
    (types.TEXT_DOCUMENT_DOCUMENT_SYMBOL, symbols, None),
    (types.TEXT_DOCUMENT_FORMATTING, formatting, None),
    (
        types.TEXT_DOCUMENT_SEMANTIC_TOKENS_FULL,
        semantic_tokens,
        types.SemanticTokensLegend(list(colouring.TYPES), []),
    ),
    (
        types.TEXT_DOCUMENT_CODE_ACTION,
        code_actions,
        types.CodeActionOptions(code_action_kinds=[types.CodeActionKind.QuickFix]),
    ),
)


def serve() -> int:
    """Serve on standard input and output until told to stop: 0 after `shutdown`, 1 without it."""
    logging.basicConfig(level=logging.WARNING, format="%(levelname)s %(name)s: %(message)s")
    logging.getLogger("pygls.protocol.json_rpc").addFilter(lambda one: not _refused(one))
    server = make()
    server.start_io()
    server.reader.shutdown(wait=False, cancel_futures=True)
    server.checker.shutdown(wait=False, cancel_futures=True)
    return 0 if server.protocol._shutdown else 1


def _refused(record: logging.LogRecord) -> bool:
    """A refusal is an answer, not an accident."""
    return isinstance(record.exc_info, tuple) and isinstance(record.exc_info[1], Refusal)

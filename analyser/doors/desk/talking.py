"""One page's conversation: JSON-RPC over a web-socket. What an editor asks goes to the project's own language
server, what is asked of the desk (`desk/…`) is answered here.

What is told is kept in order; of a picture or a check that waits to be sent only the newest is.
"""

from __future__ import annotations

import asyncio
import json
import logging
import secrets
from collections import deque
from collections.abc import Awaitable, Callable
from contextlib import suppress
from typing import Any

from lsprotocol import types
from lsprotocol.converters import get_converter
from starlette.websockets import WebSocket, WebSocketDisconnect

from analyser.doors.desk import blanks, offered, sheets
from analyser.doors.desk.beginning import NotBegun, begin, reopen
from analyser.doors.desk.one_writer import Taken
from analyser.doors.desk.opened_file import ChangedMeanwhile, NotSaved
from analyser.doors.desk.room import Room
from analyser.doors.editor import server as language_server
from analyser.doors.editor.refusals import Refusal, careful
from analyser.doors.editor.server import RigServer, path_of
from analyser.language.source import MOST_BYTES

MOST_PAGES = 8
"""Pages of one desk at one time."""
GREETED_BY = 5.0
"""Seconds in which a page must have said who it is."""
TOO_SLOW = 20.0
"""Seconds that a page may take to read one message."""
MOST_QUEUED = 400
log = logging.getLogger(__name__)
Answer = dict[str, Any] | list[Any] | None


class Refused(Exception):
    """A request is not followed; the message says why, to the person."""


class DeskLanguage(RigServer):
    """The language server of one page: checks are made by the desk's analyst."""

    def __init__(self, talk: Talk) -> None:
        super().__init__()
        self.talk = talk

    def check_soon(self, uri: str) -> None:
        document = self.workspace.text_documents.get(uri)
        if document is not None:
            self.talk.typed(uri, document.version or 0, document.source)


@careful
async def hover(server: DeskLanguage, params: types.HoverParams) -> types.Hover | None:
    """What stands under the pointer, from the analyst, who has the result."""
    uri = params.text_document.uri
    line, column = server.columns(uri).place(params.position)
    found = await server.talk.room.asking.ask(
        "hover", server.talk.room.number, path=str(path_of(uri)), line=line, column=column
    )
    return get_converter().structure(found, types.Hover) if found else None


@careful
async def rename(server: DeskLanguage, params: types.RenameParams) -> types.WorkspaceEdit | None:
    """As always, but where another file would have to be written too."""
    edit: types.WorkspaceEdit | None = await language_server.rename(server, params)
    others = sorted(
        path_of(uri).name for uri in (edit.changes or {} if edit else {}) if uri != params.text_document.uri
    )
    if others:
        raise Refusal(f"{', '.join(others)} names it too, and a desk writes only its own file")
    return edit


class _Writer:
    """Where the language server's messages go."""

    def __init__(self, talk: Talk) -> None:
        self.talk = talk

    def write(self, data: bytes) -> None:
        self.talk.send(data.decode())

    def close(self) -> None:
        """The conversation is closed by whoever holds it."""


class Talk:
    """One page, from its first word to its last."""

    def __init__(self, socket: WebSocket, room: Room, key: str) -> None:
        """`key` is what the page must say before it is told anything."""
        self.socket, self.room, self.key = socket, room, key
        self.tab = ""
        self.version = -1
        """The version of the text in the page that the room's text is."""
        self.waiting: deque[tuple[str, str]] = deque()
        self.news = asyncio.Event()
        self.answering: set[asyncio.Task[None]] = set()
        own = {types.TEXT_DOCUMENT_HOVER: hover, types.TEXT_DOCUMENT_RENAME: rename}
        self.language = language_server.furnished(DeskLanguage(self), but=own)
        self.language.protocol.set_writer(_Writer(self), include_headers=False)

    async def run(self) -> None:
        if self.room.guests >= MOST_PAGES:
            await self.socket.close(1013)
            return
        self.room.guests += 1
        sending = asyncio.create_task(self._send_all())
        try:
            await self.socket.accept()
            self._hear(await asyncio.wait_for(self.socket.receive_text(), GREETED_BY))
            while True:
                self._hear(await self.socket.receive_text())
        except (WebSocketDisconnect, TimeoutError, KeyError, RuntimeError, ValueError, RecursionError, Refused):
            pass  # it has gone, or speaks in bytes, or no JSON, or doesn't say who it is
        finally:
            self.room.guests -= 1
            if self.tab:
                self.room.leave(self)
            for task in (sending, *self.answering):
                task.cancel()
            self.language.reader.shutdown(wait=False, cancel_futures=True)
            self.language.checker.shutdown(wait=False, cancel_futures=True)
            with suppress(RuntimeError, WebSocketDisconnect):
                await self.socket.close()

    # -- to the page

    def send(self, text: str, sort: str = "") -> None:
        """Put a message up to be sent; an older one of the same `sort` that still waits is dropped."""
        if sort:
            self.waiting = deque(one for one in self.waiting if one[0] != sort)
        self.waiting.append((sort, text))
        self.news.set()

    def tell(self, method: str, data: dict[str, Any]) -> None:
        self.send(json.dumps({"jsonrpc": "2.0", "method": method, "params": data}), method if "number" in data else "")

    def told_of(self, number: int, kind: str, data: dict[str, Any]) -> None:
        """Something was found of the text: what an editor marks goes the editor's way, the rest to the page."""
        data = dict(data)
        marks = data.pop("diagnostics", None)
        newest = number == self.room.number  # who comes later is told of the last text that could be read, too
        version = self.version if newest and self.tab == self.room.writer else None  # who follows has the room's text
        if marks is not None and newest and self.room.file:
            params = {"uri": self.room.file.path.as_uri(), "version": version, "diagnostics": marks}
            self.tell("textDocument/publishDiagnostics", params)
        self.send(
            json.dumps(
                {"jsonrpc": "2.0", "method": f"desk/{kind}", "params": {**data, "number": number, "version": version}}
            ),
            kind,
        )

    async def _send_all(self) -> None:
        while True:
            await self.news.wait()
            while self.waiting:
                if len(self.waiting) > MOST_QUEUED:
                    break
                _, text = self.waiting.popleft()
                try:
                    await asyncio.wait_for(self.socket.send_text(text), TOO_SLOW)
                except (TimeoutError, WebSocketDisconnect, RuntimeError):
                    await self._cut_off()
                    return
            if len(self.waiting) > MOST_QUEUED:
                await self._cut_off()
                return
            self.news.clear()

    async def _cut_off(self) -> None:
        """A page that doesn't read is left."""
        with suppress(RuntimeError, WebSocketDisconnect, TimeoutError):
            await asyncio.wait_for(self.socket.close(1008), 1)

    # -- from the page

    def _hear(self, text: str) -> None:
        message = json.loads(text)
        method = message.get("method", "") if isinstance(message, dict) else ""
        if not self.tab and method != "desk/hello":
            raise Refused("a page says who it is first")
        if method.startswith("desk/"):
            task = asyncio.create_task(self._answer(message))
            self.answering.add(task)
            task.add_done_callback(self.answering.discard)
            return
        protocol = self.language.protocol
        try:
            protocol.handle_message(json.loads(text, object_hook=protocol.structure_message))
        except Exception:
            log.exception("a message that the language server can't take")

    def catch_up(self) -> None:
        """Tell a page that comes later what was found already."""
        for kind, (number, data) in self.room.found.items():
            self.told_of(number, kind, data)

    def typed(self, uri: str, version: int, text: str) -> None:
        """The text in the page is another. Only who has the pen writes with it."""
        file = self.room.file
        if file is None or path_of(uri) != file.path:
            return
        writes = self.tab == self.room.writer
        if text == self.room.text:
            self.version = version  # also of who follows, and may take the pen
            if writes:
                self.catch_up()  # a page that was opened again
        elif writes:
            self.version = version
            number = self.room.write(text)
            self.room.tell_all("desk/text", {"text": text, "number": number, "saved": self.room.saved}, self)

    async def _answer(self, message: dict[str, Any]) -> None:
        method, params = message["method"], message.get("params") or {}
        reply: dict[str, Any] = {"jsonrpc": "2.0", "id": message.get("id")}
        try:
            handler = REQUESTS.get(method)
            if handler is None:
                raise Refused(f"{method} is not known here")
            reply["result"] = await handler(self, params)
        except Refused as refusal:
            reply["error"] = {"code": -32803, "message": str(refusal)}
        except (KeyError, TypeError, ValueError, AttributeError) as error:
            log.exception("answering %s", method)
            reply["error"] = {"code": -32602, "message": f"{method} was not understood: {error}"}
        if reply["id"] is not None:
            self.send(json.dumps(reply))


# -- what a page may ask of its desk


async def hello(talk: Talk, params: dict[str, Any]) -> Answer:
    """Who is there; the pen goes to whoever finds it free, or had it before the page was loaded again."""
    room = talk.room
    if not secrets.compare_digest(str(params["key"]).encode("utf-8", "replace"), talk.key.encode()):
        raise Refused("this page was not let in: press Enter where the desk was started, for a new address")
    if not talk.tab:
        talk.tab = str(params["tab"])[:64] or "-"
        room.enter(talk)
    if room.file and not room.writer:
        room.take_pen(talk)
    asyncio.get_running_loop().call_soon(talk.catch_up)
    return {**room.hello(), "pen": room.writer == talk.tab}


async def pen(talk: Talk, params: dict[str, Any]) -> Answer:
    return {**talk.room.hello(), "pen": talk.room.take_pen(talk)}


async def save(talk: Talk, params: dict[str, Any]) -> Answer:
    """Write the file, following the version that the page knows; where another is there now, both are shown."""
    room = talk.room
    text = str(params["text"])
    if room.file is None or not room.pen or talk.tab != room.writer:
        raise Refused("this page doesn't have the pen")
    if len(text) > MOST_BYTES:
        raise Refused("the text is too large to be a rig")
    try:
        version = room.file.save(text, str(params["following"]))
    except ChangedMeanwhile as changed:
        there = changed.there
        return {
            "saved": None,
            "there": None if there is None else there.text,
            "digest": "" if there is None else there.digest,
        }
    except NotSaved as error:
        raise Refused(str(error)) from None
    room.saved = version.digest
    room.tell_all("desk/saved", {"saved": version.digest}, talk)
    return {"saved": version.digest}


async def reread(talk: Talk, params: dict[str, Any]) -> Answer:
    """Take what stands on the disk in the place of the text."""
    room = talk.room
    there = room.file.there() if room.file else None
    if room.file is None or there is None or talk.tab != room.writer:
        raise Refused("there is nothing on the disk to take")
    room.file.version = there
    room.saved = there.digest
    return {"text": there.text, "saved": there.digest}


async def whatif(talk: Talk, params: dict[str, Any]) -> Answer:
    number = int(params["number"])
    failures = [str(one) for one in params["failures"]][:4]
    if number != talk.room.number or not failures:
        return None
    answer: Answer = await talk.room.asking.ask("whatif", number, state=int(params["state"]), failures=failures)
    return answer


async def palette(talk: Talk, params: dict[str, Any]) -> Answer:
    """What may be added, as lines with blanks, for this text."""
    if talk.room.file is None:
        return None
    reading = await talk.language.read(
        talk.language.desk.reading, talk.room.file.path, {**talk.language.texts()}
    )  # as the page has it
    return await talk.language.read(offered.offered, reading, str(params["text"]), int(params["line"]))


async def blank(talk: Talk, params: dict[str, Any]) -> Answer:
    """What may stand in a blank of the text, by what stands in it now."""
    file, language = talk.room.file, talk.language
    if file is None:
        return None
    uri = file.path.as_uri()
    texts = language.texts()
    (reading, *_), shown = await language.readings(uri)
    place = language.columns(uri).place(types.Position(**params["position"]))
    return await language.read(blanks.fitting, language.desk, reading, texts, shown, *place, str(params["now"]))


async def mends(talk: Talk, params: dict[str, Any]) -> Answer:
    """Which one addition would take away most, as `stillheld mend` tells it."""
    room = talk.room
    if room.file is None:
        return None
    return await sheets.mends(room.file.path, str(params["text"]))


async def paper(talk: Talk, params: dict[str, Any]) -> Answer:
    room = talk.room
    if room.file is None or not room.pen:
        raise Refused("this page doesn't have the pen")
    try:
        made = await sheets.make(room.file.path, str(params["which"]), str(params["language"]))
    except sheets.NotMade as error:
        raise Refused(str(error)) from None
    return {"file": made.name, "at": room.shelf.put(made)}


async def start(talk: Talk, params: dict[str, Any]) -> Answer:
    """A first file, from a template or a lesson, or one that is there."""
    room = talk.room
    if room.file is not None or not room.pen:
        raise Refused("a file is open here already")
    try:
        sort, which = str(params["sort"]), str(params["from"])
        file = reopen(room.folder, which) if sort == "there" else begin(room.folder, str(params["name"]), sort, which)
        room.open(file)
    except (NotBegun, Taken) as error:
        raise Refused(str(error)) from None

    return {"file": file.shown}


REQUESTS: dict[str, Callable[[Talk, dict[str, Any]], Awaitable[Answer]]] = {
    "desk/hello": hello,
    "desk/pen": pen,
    "desk/save": save,
    "desk/reread": reread,
    "desk/whatif": whatif,
    "desk/palette": palette,
    "desk/blank": blank,
    "desk/mends": mends,
    "desk/paper": paper,
    "desk/start": start,
}

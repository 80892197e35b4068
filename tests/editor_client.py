"""An editor as small as can be: it starts `stillheld language-server` and speaks the protocol to it."""

from __future__ import annotations

import json
import queue
import subprocess
import sys
import threading
from pathlib import Path
from typing import Any

COMMAND = [sys.executable, "-c", "import sys; from analyser.doors.commands.main import main; sys.exit(main())"]
PATIENCE = 20.0
"""Seconds for an answer, on a busy machine."""


class Refused(Exception):
    """The server answered a request with an error."""


class Editor:
    """One server process. Positions are (line, character), both from 0, in the units agreed upon."""

    def __init__(
        self,
        folder: Path,
        encodings: list[str] | None = None,
        *,
        document_changes: bool = False,
        options: list[str] | None = None,
    ) -> None:
        self.process = subprocess.Popen(
            [*COMMAND, "language-server", *(options or [])],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            cwd=folder,
        )
        self.errors: list[bytes] = []
        self.number = 0
        self.versions: dict[str, int] = {}
        self.diagnostics: dict[str, list[dict[str, Any]]] = {}
        self.published: list[tuple[str, int | None, list[dict[str, Any]]]] = []
        self.inbox: queue.Queue[dict[str, Any] | None] = queue.Queue()
        threading.Thread(target=self._listen, daemon=True).start()
        threading.Thread(target=self._overhear, daemon=True).start()
        general = {"positionEncodings": encodings} if encodings else {}
        workspace = {"workspaceEdit": {"documentChanges": document_changes}}
        self.about = self.ask(
            "initialize",
            {"processId": None, "rootUri": None, "capabilities": {"general": general, "workspace": workspace}},
        )
        self.tell("initialized", {})

    def _listen(self) -> None:
        stream = self.process.stdout
        assert stream
        while True:
            length = 0
            while (line := stream.readline().strip()) != b"":
                if line.lower().startswith(b"content-length:"):
                    length = int(line.split(b":")[1])
            if not length:
                self.inbox.put(None)
                return
            self.inbox.put(json.loads(stream.read(length)))

    def _overhear(self) -> None:
        assert self.process.stderr
        for line in self.process.stderr:
            self.errors.append(line)

    def send(self, message: dict[str, Any]) -> None:
        self.send_bytes(json.dumps({"jsonrpc": "2.0", **message}).encode())

    def send_bytes(self, body: bytes) -> None:
        assert self.process.stdin
        self.process.stdin.write(b"Content-Length: %d\r\n\r\n" % len(body) + body)
        self.process.stdin.flush()

    def tell(self, method: str, params: Any) -> None:
        self.send({"method": method, "params": params})

    def ask(self, method: str, params: Any) -> Any:
        """The result of a request; raises `Refused` with the server's words."""
        self.number += 1
        self.send({"id": self.number, "method": method, "params": params})
        while True:
            message = self.receive()
            if message.get("id") == self.number and "method" not in message:
                if "error" in message:
                    raise Refused(message["error"]["message"])
                return message.get("result")

    def receive(self, patience: float = PATIENCE) -> dict[str, Any]:
        """The next message; diagnostics are kept."""
        message = self.inbox.get(timeout=patience)
        assert message is not None, b"".join(self.errors).decode()
        if message.get("method") == "textDocument/publishDiagnostics":
            params = message["params"]
            self.diagnostics[params["uri"]] = params["diagnostics"]
            self.published.append((params["uri"], params.get("version"), params["diagnostics"]))
        return message

    # -- texts

    def open(self, uri: str, text: str) -> None:
        self.versions[uri] = 1
        self.published = [one for one in self.published if one[0] != uri]
        document = {"uri": uri, "languageId": "rig", "version": 1, "text": text}
        self.tell("textDocument/didOpen", {"textDocument": document})

    def type(self, uri: str, text: str) -> None:
        self.versions[uri] += 1
        document = {"uri": uri, "version": self.versions[uri]}
        self.tell("textDocument/didChange", {"textDocument": document, "contentChanges": [{"text": text}]})

    def close(self, uri: str) -> None:
        self.tell("textDocument/didClose", {"textDocument": {"uri": uri}})

    def told(self, uri: str) -> list[dict[str, Any]]:
        """The diagnostics of the text as it is now."""
        while True:
            for of, version, found in reversed(self.published):
                if of == uri and version == self.versions.get(uri):
                    return found
            self.receive()

    def at(self, method: str, uri: str, line: int, character: int, **more: Any) -> Any:
        """A request about a position."""
        where = {"textDocument": {"uri": uri}, "position": {"line": line, "character": character}}
        return self.ask(f"textDocument/{method}", {**where, **more})

    def stop(self) -> int:
        """Shut the server down in order; its exit status."""
        self.ask("shutdown", None)
        self.tell("exit", None)
        return self.process.wait(PATIENCE)

    def kill(self) -> None:
        if self.process.poll() is None:
            self.process.kill()
        self.process.wait()
        for stream in (self.process.stdin, self.process.stdout, self.process.stderr):
            if stream:
                stream.close()


TWO_LINES = """\
# invented
rig "Two lines to one ring"
anchor left-bolt, right-bolt: strength 25 kN
ring master
person ann: points waist, chest
person jo: standing
edge lip
pad mat

rope red: 11 mm, 60 m
    tied to left-bolt with figure-eight as red-top
    over lip, padded by mat
    tied to master with bowline
rope green
    tied to right-bolt with figure-eight
    tied to master with bowline as green-low

attach master - strap waist-strap - ann.waist
attach master - a strap - ann.chest

cause rockfall: red[lip..red-bowline] is cut, red-bowline slips
sound left-bolt fails: "red is the colour of left-bolt"
accept green-figure-eight slips, rockfall strikes: "looked at"
require every person has 2 independent attachments
"""


def uri_of(folder: Path, name: str = "rig.rig") -> str:
    return (folder / name).as_uri()


def where(text: str, word: str, number: int = 0) -> tuple[int, int]:
    """Line and character (code points) of the given occurrence of a word."""
    index = -1
    for _ in range(number + 1):
        index = text.index(word, index + 1)
    before = text[:index]
    return before.count("\n"), index - (before.rfind("\n") + 1)


def apply(text: str, edits: list[dict[str, Any]]) -> str:
    """The text with edits made, as an editor makes them (positions in UTF-16 units)."""
    lines = [line.encode("utf-16-le") for line in text.split("\n")]
    for edit in sorted(edits, key=lambda e: (e["range"]["start"]["line"], e["range"]["start"]["character"]))[::-1]:
        start, end = edit["range"]["start"], edit["range"]["end"]
        assert start["line"] == end["line"]
        line = lines[start["line"]]
        new = edit["newText"].encode("utf-16-le")
        lines[start["line"]] = line[: 2 * start["character"]] + new + line[2 * end["character"] :]
    return "\n".join(line.decode("utf-16-le") for line in lines)

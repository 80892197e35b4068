"""A desk that runs, and a page of it as small as can be: it enters by the address and speaks over the web-socket."""

from __future__ import annotations

import http.client
import json
import os
import re
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from contextlib import ExitStack, suppress
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

from websockets.sync.client import ClientConnection, connect

ROOT = Path(__file__).parent.parent
EXAMPLES = ROOT / "examples"
GOOD = (EXAMPLES / "two-lines-one-ring.rig").read_text(encoding="utf-8")
HOSTILE = "<script>alert(1)</script><img src=x onerror=alert(1)>"
PATIENCE = 60.0
ENDS_IN = 15.0
"""Seconds until it must have ended: sooner than any wait of its own for a page that says nothing."""


def interruptible() -> None:
    """A shell starts what runs in its background deaf to Ctrl-C, and so would be what the tests start."""
    signal.signal(signal.SIGINT, signal.SIG_DFL)


class Started:
    """A running `stillheld desk`."""

    def __init__(self, rig: Path | None, *arguments: str, folder: Path | None = None, command: str = "desk") -> None:
        browser = ["--no-browser"] if command == "desk" else []
        own = [sys.executable, "-m", "analyser.doors.commands.main", command, *([str(rig)] if rig else []), *browser]
        self.process = subprocess.Popen(
            [*own, *arguments],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            cwd=folder,
            env=os.environ | {"PYTHONPATH": str(ROOT)},
            preexec_fn=interruptible,
        )
        assert self.process.stdout
        found = None
        while not found and (line := self.process.stdout.readline()):
            found = re.search(r"http://127\.0\.0\.1:(\d+)/enter/[\w-]+", line)
        assert found, self.process.stderr.read() if self.process.stderr else ""
        self.address, self.port = found[0], int(found[1])
        self.wrote: list[str] = []
        """What it had said on its error stream when it was killed."""
        self.keys: dict[str, str] = {}
        """The page's half of each session, by the cookie."""

    def further_address(self) -> str:
        """Enter is pressed where the desk was started."""
        assert self.process.stdin and self.process.stdout
        self.process.stdin.write("\n")
        self.process.stdin.flush()
        while not (line := self.process.stdout.readline()).startswith("desk: "):
            pass
        return line.removeprefix("desk: ").strip()

    def get(self, path: str, method: str = "GET", host: str | None = None, **headers: str) -> http.client.HTTPResponse:
        """One request; the answer's text is its `text`."""
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=PATIENCE)
        connection.putrequest(method, path, skip_host=True, skip_accept_encoding=True)
        named = {"Host": f"127.0.0.1:{self.port}" if host is None else host}
        for name, value in {**named, **{key.replace("_", "-"): value for key, value in headers.items()}}.items():
            if value:
                connection.putheader(name, value)
        connection.endheaders()
        answer = connection.getresponse()
        answer.text = answer.read().decode("utf-8", "replace")  # type: ignore[attr-defined]
        connection.close()
        return answer

    def enter(self, address: str | None = None) -> str:
        """The cookie that the first address is exchanged for, as a browser sends it."""
        answer = self.get(urlsplit(address or self.address).path)
        assert answer.status == 200, answer.text  # type: ignore[attr-defined]
        cookie = (answer.headers["Set-Cookie"] or "").split(";")[0]
        key = re.search(r'name="key" content="([\w-]+)"', answer.text)  # type: ignore[attr-defined]
        assert key
        self.keys[cookie] = key[1]
        return cookie

    def end(self, number: signal.Signals = signal.SIGTERM) -> int:
        self.process.send_signal(number)
        return self.process.wait(timeout=ENDS_IN)

    def kill(self) -> None:
        self.process.kill()
        self.process.wait()
        if self.process.stderr and not self.process.stderr.closed:
            os.set_blocking(self.process.stderr.fileno(), False)  # what it had started may have it still
            with suppress(BlockingIOError):
                self.wrote += os.read(self.process.stderr.fileno(), 1 << 16).decode("utf-8", "replace").splitlines()
        for stream in (self.process.stdin, self.process.stdout, self.process.stderr):
            if stream:
                stream.close()


class Page:
    """A page that is open on a desk."""

    def __init__(self, desk: Started, cookie: str, tab: str = "one") -> None:
        self.desk = desk
        self.entered = ExitStack()
        connecting = connect(
            f"ws://127.0.0.1:{desk.port}/talk",
            origin=f"http://127.0.0.1:{desk.port}",  # type: ignore[arg-type]
            additional_headers={"Cookie": cookie},
            max_size=None,
            open_timeout=PATIENCE,
        )
        self.socket: ClientConnection = self.entered.enter_context(connecting)
        self.count = 0
        self.version = 0
        self.heard: list[dict[str, Any]] = []
        self.about = self.ask("desk/hello", tab=tab, key=desk.keys[cookie])
        self.uri = self.about["uri"]

    def open(self, text: str | None = None) -> None:
        """As the editor does it."""
        self.ask("initialize", processId=None, rootUri=None, capabilities={})
        self.tell("initialized", {})
        self.text = self.about["text"] if text is None else text
        document = {"uri": self.uri, "languageId": "rig", "version": 0, "text": self.text}
        self.tell("textDocument/didOpen", {"textDocument": document})

    def type(self, text: str) -> None:
        self.version += 1
        self.text = text
        document = {"uri": self.uri, "version": self.version}
        self.tell("textDocument/didChange", {"textDocument": document, "contentChanges": [{"text": text}]})

    def tell(self, method: str, params: Any) -> None:
        self.socket.send(json.dumps({"jsonrpc": "2.0", "method": method, "params": params}))

    def ask(self, method: str, **params: Any) -> Any:
        """The answer; RuntimeError with the words of a refusal."""
        self.count += 1
        mine = f"t{self.count}"
        self.socket.send(json.dumps({"jsonrpc": "2.0", "id": mine, "method": method, "params": params}))
        answer = self.until(lambda one: one.get("id") == mine and "method" not in one)
        if "error" in answer:
            raise RuntimeError(answer["error"]["message"])
        return answer["result"]

    def until(self, wanted: Callable[[dict[str, Any]], bool]) -> dict[str, Any]:
        """The next message of a sort; what comes before it is kept in `heard`."""
        end = time.monotonic() + PATIENCE
        while True:
            message: dict[str, Any] = json.loads(self.socket.recv(timeout=max(0.01, end - time.monotonic())))
            self.heard.append(message)
            if wanted(message):
                return message

    def found(self, kind: str) -> dict[str, Any]:
        """What was found of the text as it is now: `held`, `checked`, `picture`, `unread`, `mends`."""

        def right(one: dict[str, Any]) -> bool:
            return one.get("method") == f"desk/{kind}" and one["params"]["version"] == self.version

        known = [one for one in self.heard if right(one)]
        return (known[-1] if known else self.until(right))["params"]

    def close(self) -> None:
        self.entered.close()


def page_of(desk: Started, cookie: str, tab: str = "one") -> Page:
    made = Page(desk, cookie, tab)
    made.open()
    return made

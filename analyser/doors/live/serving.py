"""The page in a browser on this machine: one address, which answers at once or when there is news.

Only the loopback address is listened on, only GET is answered, and only to a browser that asks for
this very address: a page from elsewhere whose name is made to lead here is refused.
"""

from __future__ import annotations

import re
import secrets
import threading
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from types import TracebackType

LOOPBACK = "127.0.0.1"
LONGEST_WAIT = 20.0
"""Seconds that a request may wait for news (RFC 7240, `Prefer: wait`)."""
SILENCE = 5.0
"""Seconds after which a connection that says nothing is closed."""


class NotServed(Exception):
    """The page can't be served; the message says why."""


class Page:
    """The newest page, with a tag that changes with it, on a server of its own."""

    def __init__(self, port: int, policy: str) -> None:
        """Listen on a port (0: any free one). `policy` is the page's Content-Security-Policy.

        Raises `NotServed`.
        """
        self.html = b""
        self.number = 0
        self.session = secrets.token_hex(8)
        self.news = threading.Condition()
        self.ended = False
        try:
            self.server = _Server((LOOPBACK, port), _Answer)
        except OSError as error:
            raise NotServed(f"port {port} on {LOOPBACK} cannot be used: {error.strerror}") from None
        self.server.page, self.server.policy = self, policy
        self.thread = threading.Thread(target=self.server.serve_forever, args=(0.05,), name="page")

    def __enter__(self) -> Page:
        self.thread.start()
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None) -> None:
        with self.news:
            self.ended = True
            self.news.notify_all()
        self.server.shutdown()
        self.server.server_close()
        self.thread.join()

    @property
    def address(self) -> str:
        return f"http://{LOOPBACK}:{self.server.server_port}/"

    @property
    def tag(self) -> str:
        return f'"{self.session}-{self.number}"'

    def show(self, html: str) -> None:
        """Put up a new page, and wake whoever waits for one."""
        with self.news:
            self.html = html.encode()
            self.number += 1
            self.news.notify_all()

    def newest(self, seen: str, seconds: float) -> tuple[str, bytes]:
        """The tag and the page, as soon as the tag is another than `seen`, or after `seconds`."""
        with self.news:
            self.news.wait_for(lambda: self.ended or (self.number and self.tag != seen), seconds)
            return self.tag, self.html


class _Server(ThreadingHTTPServer):
    daemon_threads = True  # a browser that keeps a connection open doesn't keep the command from ending
    allow_reuse_address = True
    page: Page
    policy: str

    def handle_error(self, request: object, client_address: object) -> None:
        """A browser that left in mid-sentence is nothing to tell anybody."""


class _Answer(BaseHTTPRequestHandler):
    server: _Server
    timeout = SILENCE
    server_version = "stillheld"
    sys_version = ""

    def parse_request(self) -> bool:
        """Refuse whatever isn't a GET, and whoever doesn't ask for this very address."""
        if not super().parse_request():
            return False
        if self.command != "GET":
            self._answer(405, b"only GET is answered here\n", {"Allow": "GET"})
            return False
        port = self.server.server_port
        if self.headers.get_all("Host") not in ([f"{LOOPBACK}:{port}"], [f"localhost:{port}"]):
            self._answer(403, f"ask for {self.server.page.address}\n".encode())
            return False
        return True

    def do_GET(self) -> None:
        if self.path.partition("?")[0] != "/":
            self._answer(404, b"there is one page here: /\n")
            return
        seen = self.headers.get("If-None-Match", "")
        waiting = re.search(r"\bwait=(\d{1,4})\b", self.headers.get("Prefer", ""))
        patience = min(float(waiting[1]), LONGEST_WAIT) if waiting else 0.0
        tag, html = self.server.page.newest(seen, patience)
        if tag == seen:
            self._answer(304, b"", {"ETag": tag})
        else:
            kind = {"ETag": tag, "Content-Type": "text/html; charset=utf-8"}
            self._answer(200, html, {**kind, "Content-Security-Policy": self.server.policy})

    def _answer(self, status: int, body: bytes, headers: dict[str, str] | None = None) -> None:
        self.send_response(status)
        for name, value in {
            "Content-Type": "text/plain; charset=utf-8",
            "Content-Security-Policy": "default-src 'none'",
            "Cache-Control": "no-store",
            "Cross-Origin-Resource-Policy": "same-origin",
            "Referrer-Policy": "no-referrer",
            "X-Content-Type-Options": "nosniff",
            **(headers or {}),
        }.items():
            self.send_header(name, value)
        if status != 304:
            self.send_header("Content-Length", str(len(body)))
        self.end_headers()
        self.wfile.write(body)

    def log_message(self, format: str, *arguments: object) -> None:
        """The terminal shows the rig; requests are nobody's reading."""

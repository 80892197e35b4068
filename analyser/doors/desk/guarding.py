"""Who is answered: only a browser on this machine that asks for this very address and has been let in.

A page from elsewhere that is made to lead here (by its name or by a form) is refused by its Host and
Origin; what can't say the session's secret, by its cookie. The secret in the first address is good
once: it is exchanged for the cookie, and gone from the address before anything is shown.

A browser sends a cookie to every port of an address, so another program's page on this machine could learn it.
So a session has a second half, a key that the page keeps where only this very origin can read it: without it
nobody is told anything of the rig.
"""

from __future__ import annotations

import secrets
from collections.abc import Callable, Iterable

from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import cookie_parser
from starlette.responses import PlainTextResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

LOOPBACK = "127.0.0.1"
MOST_WAITING = 8
"""One-time secrets that may wait to be used; the oldest goes."""
OPEN = "/enter/"


class Admission:
    """The one-time secrets that wait, and the sessions that were let in."""

    def __init__(self) -> None:
        self.waiting: list[str] = []
        self.sessions: dict[str, str] = {}
        """The cookie of each session that was let in, and its key."""
        self.port = 0

    @property
    def cookie(self) -> str:
        """The cookie's name. Cookies are shared by all ports of an address: the name tells desks apart."""
        return f"stillheld-{self.port}"

    def hosts(self) -> tuple[str, ...]:
        return f"{LOOPBACK}:{self.port}", f"localhost:{self.port}"

    def address(self) -> str:
        """An address that lets one browser in, once."""
        secret = secrets.token_urlsafe(24)
        self.waiting = [*self.waiting, secret][-MOST_WAITING:]
        return f"http://{LOOPBACK}:{self.port}{OPEN}{secret}"

    def exchange(self, secret: str) -> tuple[str, str] | None:
        """A session's cookie and key for a secret that was never used before; None for any other."""
        known = _among(secret, self.waiting)
        if known is None:
            return None
        self.waiting.remove(known)
        session, key = secrets.token_urlsafe(32), secrets.token_urlsafe(32)
        self.sessions[session] = key
        return session, key

    def key(self, headers: Headers) -> str | None:
        """The key of the session that a request belongs to; None for one that was not let in."""
        given = cookie_parser(headers.get("cookie", "")).get(self.cookie, "")
        session = _among(given, self.sessions)
        return None if session is None else self.sessions[session]


class Guard:
    """Before everything else: the method, the Host, the Origin, the session; and the policy on every answer."""

    def __init__(self, app: ASGIApp, admission: Admission, policy: Callable[[], str]) -> None:
        self.app, self.admission, self.policy = app, admission, policy

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] not in ("http", "websocket"):
            await self.app(scope, receive, send)
            return
        refusal = self.refusal(scope)
        if refusal is None:
            await self.app(scope, receive, self.sealed(send))
        elif scope["type"] == "websocket":
            await send({"type": "websocket.close", "code": 1008})
        else:
            await refusal(scope, receive, self.sealed(send))

    def refusal(self, scope: Scope) -> Response | None:
        """The answer to who isn't let in; None for who is."""
        headers = Headers(scope=scope)
        hosts = self.admission.hosts()
        if headers.getlist("host") not in [[host] for host in hosts]:
            return _no(403, f"ask for http://{hosts[0]}/")
        own = {f"http://{host}" for host in hosts}
        said = headers.getlist("origin")
        if said and not (len(said) == 1 and said[0] in own):
            return _no(403, "a page from elsewhere is not answered")
        if scope["type"] == "websocket":
            if not said or said[0] != f"http://{headers['host']}":
                return _no(403, "only a page of this desk may talk to it")
        elif scope["method"] != "GET":
            return _no(405, "only GET is answered here", {"Allow": "GET"})
        if scope["type"] == "http" and scope["path"].startswith(OPEN):
            return None
        if headers.get("sec-fetch-site", "none") not in ("none", "same-origin"):
            return _no(403, "a page from elsewhere is not answered")
        if self.admission.key(headers) is None:
            return _no(403, "this desk doesn't know this browser: press Enter where it was started, for a new address")
        return None

    def sealed(self, send: Send) -> Send:
        async def told(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in {
                    "Content-Security-Policy": self.policy(),
                    "Cache-Control": "no-store",
                    "Connection": "close",
                    "Cross-Origin-Opener-Policy": "same-origin",
                    "Cross-Origin-Resource-Policy": "same-origin",
                    "Referrer-Policy": "no-referrer",
                    "X-Content-Type-Options": "nosniff",
                    "X-Frame-Options": "DENY",
                    "Permissions-Policy": "camera=(), geolocation=(), microphone=(), usb=()",
                }.items():
                    headers.setdefault(name, value)
            await send(message)

        return told


def _no(status: int, words: str, headers: dict[str, str] | None = None) -> Response:
    return PlainTextResponse(f"{words}\n", status, headers)


def _among(given: str, known: Iterable[str]) -> str | None:
    """The secret that was given, if it is one of these; as slow for a near one as for any other."""
    found = None
    for one in known:
        if secrets.compare_digest(one.encode(), given.encode("utf-8", "replace")):
            found = one
    return found

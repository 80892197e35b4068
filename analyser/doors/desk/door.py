"""The desk's door: which address gives what. One page, what it is made of, and the conversation it has."""

from __future__ import annotations

import asyncio
import secrets
import tomllib
from contextlib import suppress
from functools import lru_cache
from importlib.resources import files
from pathlib import Path
from typing import Any

from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import HTMLResponse, PlainTextResponse, Response
from starlette.routing import Route, WebSocketRoute
from starlette.websockets import WebSocket

from analyser.doors.desk import beginning, listening
from analyser.doors.desk.guarding import LOOPBACK, Admission, Guard
from analyser.doors.desk.offered import ITEMS
from analyser.doors.desk.room import Room
from analyser.doors.desk.sheets import LANGUAGES, PAPERS
from analyser.doors.desk.talking import Talk
from analyser.pages.writing.inert import inert

KINDS = {
    ".js": "text/javascript; charset=utf-8",
    ".css": "text/css; charset=utf-8",
    ".txt": "text/plain; charset=utf-8",
}
PAPER_KINDS = {".html": "text/html; charset=utf-8", ".svg": "image/svg+xml"}
PAPER_POLICY = (
    "sandbox allow-scripts allow-modals allow-downloads; default-src 'none'; script-src 'unsafe-inline'; "
    "style-src 'unsafe-inline'; img-src data:; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)
"""For a paper: its own script and styles, printing, saving a reviewer's sheet; nothing of the desk."""
ENTERED = """<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="key" content="{key}">
<link rel="icon" href="data:,">
<title>The desk</title>
<script type="module" src="/served/entered.js"></script>
</head>
<body><noscript>The desk needs JavaScript.</noscript></body>
</html>
"""
"""What the first address gives: the page's half of the session, and the way on, so that nothing of it stands
in the address afterwards."""


class Door:
    """A desk that is served: its room, its server, who is let in."""

    def __init__(self, room: Room, port: int, language: str | None) -> None:
        """Listens at once; raises `NotServed`. `language` None: the browser's own."""
        self.room, self.language = room, language
        self.admission = Admission()
        self.nonce = secrets.token_urlsafe(16)
        """Marks the style sheets that the editor makes, for the policy."""
        self.listening = listening.bound(port)
        self.admission.port = self.listening.getsockname()[1]
        room.announce(f"http://{LOOPBACK}:{self.admission.port}/")
        routes = [
            Route("/", self.page),
            Route("/enter/{secret}", self.enter),
            Route("/served/{name}", self.served),
            Route("/paper/{secret}", self.paper),
            WebSocketRoute("/talk", self.talk),
        ]
        app = Guard(Starlette(routes=routes), self.admission, self.policy)
        self.server = listening.server(app)

    def address(self) -> str:
        """An address that lets one browser in."""
        return self.admission.address()

    async def serve(self) -> None:
        """Until `end` is called."""
        await self.room.asking.start()
        watching = asyncio.create_task(self.room.watch_disk())
        try:
            await self.server.serve(sockets=[self.listening])
        finally:
            watching.cancel()
            await self.room.asking.close()
            self.room.close()
            self.listening.close()

    def end(self) -> None:
        self.server.should_exit = True

    def policy(self) -> str:
        """Nothing but what comes from here; of styles only the page's own and the editor's."""
        own = [f"ws://{host}" for host in self.admission.hosts()]
        return (
            f"default-src 'none'; script-src 'self'; style-src 'self' 'nonce-{self.nonce}'; img-src 'self' data:; "
            f"connect-src {' '.join(own)}; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
        )

    # -- answers

    async def enter(self, request: Request) -> Response:
        session = self.admission.exchange(request.path_params["secret"])
        if session is None:
            return PlainTextResponse(
                "this address was used already, or is too old: press Enter where the desk was started, for a new one\n",
                403,
            )
        cookie, key = session
        answer = HTMLResponse(ENTERED.format(key=key))
        answer.set_cookie(self.admission.cookie, cookie, path="/", httponly=True, samesite="strict")
        return answer

    async def page(self, request: Request) -> Response:
        return HTMLResponse(page(self.room, self.spoken(request), self.nonce))

    def spoken(self, request: Request) -> str:
        """The language that is asked for in the address, at the start, or by the browser."""
        asked = request.query_params.get("language")
        if asked in LANGUAGES:
            return asked
        if self.language:
            return self.language
        accepted = request.headers.get("accept-language", "").lower()
        found = [one.split(";")[0].strip()[:2] for one in accepted.split(",")]
        return next((one for one in found if one in LANGUAGES), LANGUAGES[0])

    async def served(self, request: Request) -> Response:
        name = request.path_params["name"]
        data = parts().get(name)
        if data is None:
            return PlainTextResponse("there is no such part of the page\n", 404)
        return Response(data, media_type=f"{KINDS[Path(name).suffix]}; charset=utf-8")

    async def paper(self, request: Request) -> Response:
        """A paper that was made here, shut off from the desk and from everything else: it has an origin of its own."""
        found = self.room.shelf.find(request.path_params["secret"])
        if found is None:
            return PlainTextResponse("there is no such paper, or it was changed since: look in its folder\n", 404)
        data, sort = found
        return Response(data, media_type=PAPER_KINDS[sort], headers={"Content-Security-Policy": PAPER_POLICY})

    async def talk(self, socket: WebSocket) -> None:
        with suppress(asyncio.CancelledError):
            await Talk(socket, self.room, self.admission.key(socket.headers) or "").run()


@lru_cache(maxsize=1)
def parts() -> dict[str, bytes]:
    """What the page is made of, by name: everything in the folder `served` that a browser asks for."""
    folder = files(__package__).joinpath("served")
    return {one.name: one.read_bytes() for one in folder.iterdir() if Path(one.name).suffix in KINDS}


@lru_cache(maxsize=len(LANGUAGES))
def words(language: str) -> dict[str, Any]:
    """The page's words in one language."""
    return tomllib.loads(files(__package__).joinpath("words", f"{language}.toml").read_text(encoding="utf-8"))


def page(room: Room, language: str, nonce: str) -> str:
    """The whole page; what it says of the rig comes by the conversation."""
    from jinja2 import Environment, StrictUndefined

    environment = Environment(autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True)
    source = files(__package__).joinpath("served", "desk.html").read_text(encoding="utf-8")
    said = words(language)
    return environment.from_string(source).render(
        w=said,
        language=language,
        languages={one: words(one)["language"] for one in LANGUAGES},
        nonce=nonce,
        file=room.file.shown if room.file else None,
        pen=room.pen,
        items=ITEMS,
        papers=list(PAPERS),
        there=[] if room.file else beginning.there(room.folder),
        templates=beginning.templates(),
        lessons=beginning.lessons(),
        data=inert(
            {
                "words": said,
                "nonce": nonce,
                "language": language,
                "file": bool(room.file),
                "writes": room.pen,
                "blank": beginning.BLANK,
            }
        ),
    )

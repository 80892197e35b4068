"""`stillheld desk [RIG]`: write a rig in the browser on this machine, and question it while it is written."""

from __future__ import annotations

import asyncio
import os
import signal
import sys
import threading
from argparse import ArgumentParser, Namespace
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

from analyser.doors.commands.getting_out import NotDone
from analyser.doors.commands.options import order, port

if TYPE_CHECKING:
    from analyser.doors.desk.door import Door


GOES_ON = True


def options(one: ArgumentParser) -> None:
    one.add_argument("rig", nargs="?", metavar="RIG", help="a .rig file (default: begin one from a template)")
    one.add_argument("--port", type=port, default=0, metavar="PORT", help="on 127.0.0.1 (default: a free one, printed)")
    one.add_argument("--language", choices=("en", "de"), help="of the page (default: the browser's own)")
    words = "open no browser: the address is printed"
    one.add_argument("--no-browser", dest="browser", action="store_false", help=words)
    order(one)


def run(asked: Namespace) -> int:
    """Goes on until it is interrupted (exit status 130) or terminated (143); 2 when it can't begin."""
    from analyser.doors.desk.door import Door
    from analyser.doors.desk.listening import NotServed
    from analyser.doors.desk.one_writer import Taken
    from analyser.doors.desk.opened_file import NotOpened, OpenedFile
    from analyser.doors.desk.room import Room

    path = Path(asked.rig) if asked.rig else None
    room = Room(pen=True, folder=path.parent if path else Path.cwd(), order=asked.order)
    try:
        if path:
            room.open(OpenedFile(path))
        door = Door(room, asked.port, asked.language)
    except Taken as taken:
        raise NotDone(f"{asked.rig} is open on another desk already{f': {taken}' if str(taken) else ''}") from None
    except NotOpened as error:
        raise NotDone(f"{asked.rig}: {error}\n        `stillheld desk` without a name begins a new file") from None
    except NotServed as error:
        room.close()
        raise NotDone(str(error)) from None
    return asyncio.run(_serve(door, asked))


async def _serve(door: Door, asked: Namespace) -> int:
    """Until a signal; its exit status."""
    loop = asyncio.get_running_loop()
    ended = 0

    def end(number: int) -> None:
        nonlocal ended
        ended = ended or 128 + number
        door.end()

    for one in (signal.SIGINT, signal.SIGTERM):
        with suppress(NotImplementedError):  # Windows: Ctrl-C ends it all the same
            loop.add_signal_handler(one, end, one)
    _tell(door, asked.browser)
    threading.Thread(target=_tell_again, args=(door, loop), daemon=True).start()
    await door.serve()
    if ended == 128 + signal.SIGINT:
        print("stopped", file=sys.stderr)
    return ended


def _tell(door: Door, browser: bool) -> None:
    address = door.address()
    sys.stdout.write(f"desk: {address}\n")
    sys.stdout.write("the address lets one browser in, once; Enter gives another, Ctrl-C ends\n")
    sys.stdout.flush()
    if browser and _has_screen():
        import webbrowser

        threading.Thread(target=webbrowser.open, args=(address,), daemon=True).start()


def _has_screen() -> bool:
    """Is there a screen for a browser's window? (Else one for the terminal would take it over.)"""
    return not sys.platform.startswith("linux") or bool(os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY"))


def _tell_again(door: Door, loop: asyncio.AbstractEventLoop) -> None:
    """A further address at each Enter."""
    with suppress(OSError, ValueError, RuntimeError):
        for _ in sys.stdin:
            address = asyncio.run_coroutine_threadsafe(_address(door), loop).result()
            sys.stdout.write(f"desk: {address}\n")
            sys.stdout.flush()


async def _address(door: Door) -> str:
    return door.address()

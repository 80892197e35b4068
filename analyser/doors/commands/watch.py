"""`stillheld watch RIG`: the check again at each save, in place and, where asked for, on a page."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from contextlib import ExitStack
from pathlib import Path

from analyser.doors.commands.getting_out import NotDone
from analyser.doors.commands.options import order, port
from analyser.language.mistakes import Unreadable

GOES_ON = True


def options(one: ArgumentParser) -> None:
    one.add_argument("rig", metavar="RIG", help="a .rig file")
    words = "its page on 127.0.0.1, which follows the file (after RIG; default: a free port, printed)"
    one.add_argument("--page", nargs="?", type=port, const=0, metavar="PORT", help=words)
    order(one)


def run(asked: Namespace) -> int:
    """Goes on until it is interrupted (exit status 130) or terminated (143); 2 when it can't begin."""
    if asked.rig == "-":
        raise NotDone("standard input can't be watched: name a .rig file")
    from analyser.language.source import read_bytes, shown_name

    path = Path(asked.rig)
    _, mistake = read_bytes(path, shown_name(path.name))
    if mistake:
        raise Unreadable([mistake], {})
    from analyser.doors.commands.viewing import View, terminated_cleanly

    with terminated_cleanly(), ExitStack() as stack:
        page = None
        if asked.page is not None:
            from analyser.doors.desk.following import Following
            from analyser.doors.desk.listening import NotServed
            from analyser.doors.desk.opened_file import NotOpened

            try:
                page = stack.enter_context(Following(path, asked.page, asked.order))
            except NotServed as error:
                raise NotDone(f"{error}\n        write --page alone for a free port") from None
            except NotOpened as error:
                raise NotDone(f"{path.name}: {error}") from None
        return View(path, asked.order, page, stack).go_on()

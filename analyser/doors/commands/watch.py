"""`stillheld watch RIG`: the check again at each save, in place and, where asked for, on a page."""

from __future__ import annotations

from argparse import ArgumentParser, ArgumentTypeError, Namespace
from contextlib import ExitStack
from pathlib import Path

from analyser.doors.commands.getting_out import NotDone
from analyser.doors.commands.options import order
from analyser.language.mistakes import Unreadable

GOES_ON = True


def options(one: ArgumentParser) -> None:
    one.add_argument("rig", metavar="RIG", help="a .rig file")
    words = "a page on 127.0.0.1 that refreshes itself (after RIG; default: a free port, printed)"
    one.add_argument("--page", nargs="?", type=_port, const=0, metavar="PORT", help=words)
    order(one)


def _port(text: str) -> int:
    if text.isdigit() and int(text) <= 65_535:
        return int(text)
    words = f"{text!r} is not a port, a number from 0 (any free one) to 65535"
    raise ArgumentTypeError(words + ("" if text.isdigit() else "; the rig is named before --page"))


def run(asked: Namespace) -> int:
    """Goes on until it is interrupted (exit status 130) or terminated (143); 2 when it can't begin."""
    if asked.rig == "-":
        raise NotDone("standard input can't be watched: name a .rig file")
    from analyser.language.source import read_bytes

    path = Path(asked.rig)
    _, mistake = read_bytes(path, path.name)
    if mistake:
        raise Unreadable([mistake], {})
    from analyser.doors.commands.viewing import View, terminated_cleanly
    from analyser.doors.live.serving import NotServed, Page
    from analyser.pages.writing.page import policy

    with terminated_cleanly(), ExitStack() as stack:
        page = None
        if asked.page is not None:
            try:
                page = stack.enter_context(Page(asked.page, policy()))
            except NotServed as error:
                raise NotDone(f"{error}\n        write --page alone for a free port") from None
        return View(path, asked.order, page, stack).go_on()

"""`stillheld`: which command, which options, and how it ended.

Exit status: 0 every requirement is met (or the command did what was asked, or nothing compared is
worse); 1 some requirement isn't (or something is worse); 2 the file or the call could not be understood.
"""

from __future__ import annotations

import gc
import sys

TYPE_CHECKING = False
if TYPE_CHECKING:  # nothing is loaded here: Ctrl-C is only heard once `main` runs
    import argparse
    from collections.abc import Sequence
    from types import ModuleType
    from typing import NoReturn

    from analyser.doors.commands.delivery import Delivery

COMMANDS = {
    "check": "fail every part in turn, then every pair: who is still held, and by what",
    "whatif": "one scenario: who falls after these failures, and by what the rest is held",
    "why": "every way in which a body is held, and which of them each failure set breaks",
    "rank": "on which parts the most hangs; with likelihoods, how likely a body falls",
    "forces": "what carries what, and what follows each failure, where the file gives places and masses",
    "mend": "which one addition takes away the most small failure sets, with the lines to paste",
    "compare": "two revisions of a rig: what changed, what it did, and whether anything is worse",
    "reorder": "is there an order of a stage's steps that keeps what is required in every state?",
    "procedure": "the working document: kit, people, steps with hold points, what to do if a part fails, sign-off",
    "failures": "the failure mode and effects worksheet: every part and mode, its effect, what still holds, severity",
    "walkdown": "the as-built check: what to see and touch, critical points first, tests, what was found",
    "card": "a pocket card for each role: what you work, watch, say and hear, what is critical near you",
    "drill": "for teaching: fails parts of a rig and asks who falls, by what the rest is held, what would mend it",
    "report": "one page for peer review: who falls if these fail, in every state, and a sheet to answer and sign",
    "reconstruct": "after an accident: which smallest failures are consistent with what was observed",
    "draw": "draw the rig with its weak points marked, or what is left after a failure",
    "attitude": "how a litter hangs, and how long its legs must be for a wished attitude",
    "haul": "what hauling on a rope gains, and what the hand pulls to raise, hold and lower",
    "format": "lay files out in the one layout of the language: comments stay, and so does what is said",
    "explain": "what a rule, a kind or any word of the language means, with an example",
    "rules": "every rule of the findings, with its source",
    "kinds": "the catalogue of kinds of parts",
    "start": "write a first rig from a template; a file that is there is never overwritten",
    "desk": "write a rig in the browser on this machine, with its picture, and question it while you write",
    "watch": "the check again at each save, on the terminal and, with --page, in a browser on this machine",
    "completion": "print a script that completes commands, options and .rig files in a shell",
    "language-server": "for an editor: mistakes, names and what fails, as a rig is written",
}
EPILOG = (
    "A model of what was written, not of the rope in the hand. Local codes, makers' instructions "
    "and licensed or qualified practice come first."
)


def module(command: str) -> str:
    """The module of a command."""
    return command.replace("-", "_")


def declared(command: str) -> ModuleType:
    """The module of a command: it declares `options`, and `run` answers."""
    from importlib import import_module

    return import_module(f"analyser.doors.commands.{module(command)}")


def parser(*commands: str) -> argparse.ArgumentParser:
    """The whole command line; the options only of these commands, so that no other's module is loaded."""
    from argparse import ArgumentParser

    class Line(ArgumentParser):
        def error(self, message: str) -> NoReturn:
            from analyser.language.source import shown_name

            super().error(shown_name(message))

    top = Line(
        prog="stillheld",
        description="If this part of a rope system fails, who is still held, and by what?",
        epilog=EPILOG,
    )
    top.add_argument("--version", action="store_true", help="print the version and stop")
    there = top.add_subparsers(dest="command", metavar="COMMAND")
    for name, words in COMMANDS.items():
        one = there.add_parser(name, help=words, description=words.capitalize() + ".", epilog=EPILOG)
        if name in commands:
            declared(name).options(one)
    return top


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; returns the exit status."""
    gc.set_threshold(100_000, 20, 20)  # an analysis makes many values, hardly a circle of them: saves 6 to 12 %
    try:
        from analyser.doors.commands.delivery import Delivery

        if sys.stdin is None:  # closed: what is read from it ends at once
            import os
            from pathlib import Path

            sys.stdin = Path(os.devnull).open(encoding="utf-8")  # noqa: SIM115  # as long as the process lives
        with Delivery() as delivery:
            return _delivered(delivery, sys.argv[1:] if arguments is None else arguments)
    except KeyboardInterrupt:
        print("stopped", file=sys.stderr)
        return 130


def _delivered(delivery: Delivery, words: Sequence[str]) -> int:
    """What the words ask for, and whether it reached anybody."""
    from analyser.doors.commands.delivery import NobodyThere

    top = parser(next((word for word in words if not word.startswith("-")), ""))
    try:
        asked = top.parse_args(words)
    except SystemExit as end:  # `--help`, or what could not be understood
        raise SystemExit(delivery.status(int(end.code or 0))) from None
    one = declared(asked.command) if asked.command else None
    if getattr(one, "SPEAKS_ITSELF", False):
        delivery.give_back()
    if getattr(one, "GOES_ON", False):
        delivery.go_on()
    try:
        return delivery.status(_run(top, asked))
    except NobodyThere:
        return delivery.status(0)


def _run(top: argparse.ArgumentParser, asked: argparse.Namespace) -> int:
    if asked.version:
        from importlib.metadata import version

        print(f"stillheld {version('stillheld')}")
        return 0
    if asked.command is None:
        top.print_help()
        return 2
    from analyser.doors.commands.getting_out import answered

    return answered(declared(asked.command).run, asked)


if __name__ == "__main__":
    sys.exit(main())

"""`stillheld`: which command, which options, and how it ended.

Exit status: 0 every requirement is met (or the command did what was asked, or nothing compared is
worse); 1 some requirement isn't (or something is worse); 2 the file or the call could not be understood.
"""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Callable, Sequence
from importlib import import_module
from pathlib import Path

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
    "watch": "the check again at each save, on the terminal and, with --page, in a browser on this machine",
    "completion": "print a script that completes commands, options and .rig files in a shell",
    "language-server": "for an editor: mistakes, names and what fails, as a rig is written",
}
WORSE = (
    "Worse is: somebody held before is not, or only by a person, or tips; has fewer attachments or independent "
    "ones; falls after fewer failures, or with every hand off; a single failure or a pair brings a body down that "
    "didn't (but for new parts in the place of others, or in line with them); a requirement that was met isn't, or "
    "is asked no more; a danger not accepted; an assumption, an accepted risk or an accepted finding added; "
    "each in any state. Exit status: 0 nothing is worse, 1 something is, 2 one of the two could not be understood."
)
"""`analyser/uses/comparing/comparison.py` says it exactly."""
EPILOG = (
    "A model of what was written, not of the rope in the hand. Local codes, makers' instructions "
    "and licensed or qualified practice come first."
)

ALONG = "where in the litter somebody's centre of mass lies, from its foot: vic=0.9 m"


def module(command: str) -> str:
    """The module of a command."""
    return command.replace("-", "_")


def parser() -> argparse.ArgumentParser:
    top = argparse.ArgumentParser(
        prog="stillheld",
        description="If this part of a rope system fails, who is still held, and by what?",
        epilog=EPILOG,
    )
    top.add_argument("--version", action="store_true", help="print the version and stop")
    commands = top.add_subparsers(dest="command", metavar="COMMAND")
    for name, words in COMMANDS.items():
        one = commands.add_parser(name, help=words, description=words.capitalize() + ".", epilog=EPILOG)
        _options(name, one)
    return top


def _options(name: str, one: argparse.ArgumentParser) -> None:
    """Options live here, so that `--help` costs no import of what a command needs."""
    rig = "a .rig file, or - for standard input"
    if name == "check":
        one.add_argument("rigs", nargs="+", metavar="RIG", help=f"{rig}; a folder: all .rig files in it and below")
        _jobs(one)
        one.add_argument("--summary", action="store_true", help="of many rigs: a line each, and no more")
        one.add_argument("--json", action="store_true", help="the results contract, for scripts; of many an array")
        one.add_argument("--order", type=_order, default=2, metavar="N", help="failures together, 1 to 4 (default 2)")
        one.add_argument("--only", action="append", metavar="RULE", help="findings of this rule only (repeatable)")
        one.add_argument("--without", action="append", metavar="RULE", help="no findings of this rule (repeatable)")
        one.add_argument("--latent", action="store_true", help="which unseen slip makes which single failure deadly")
        one.add_argument("--budget", type=_seconds, metavar="TIME", help="stop searching after it: 30s, 2m")
    elif name == "whatif":
        one.add_argument("rig", metavar="RIG", help=rig)
        one.add_argument("failures", nargs="+", metavar="FAILURE", help='for example "left-bolt fails"')
        _state_options(one)
        one.add_argument("--json", action="store_true", help="as JSON, for scripts")
    elif name in ("why", "rank"):
        one.add_argument("rig", metavar="RIG", help=rig)
        if name == "why":
            one.add_argument("body", nargs="?", metavar="BODY", help="one person, litter or load (default: each)")
        one.add_argument("--order", type=_order, default=2, metavar="N", help="failures together, 1 to 4 (default 2)")
        _state_options(one)
        one.add_argument("--json", action="store_true", help="as JSON, for scripts")
    elif name == "reorder":
        one.add_argument("rig", metavar="RIG", help=rig)
        one.add_argument("--stage", required=True, metavar="TITLE", help="the stage whose steps may change places")
        one.add_argument("--budget", type=_seconds, metavar="TIME", help="stop searching after it: 30s, 2m")
        one.add_argument("--json", action="store_true", help="as JSON, for scripts")
    elif name == "forces":
        one.add_argument("rig", metavar="RIG", help=rig)
        words = (
            "cases in which the bands of a file are looked at (default 100); every single failure in a fifth of them"
        )
        one.add_argument("--samples", type=_samples, default=100, metavar="N", help=words)
        words = "follow every single failure in time, and show it as a table: drops, swings, peaks, what breaks when"
        one.add_argument("--motion", action="store_true", help=words)
        one.add_argument("--json", action="store_true", help="as JSON, for scripts")
    elif name == "mend":
        one.add_argument("rig", metavar="RIG", help=rig)
        one.add_argument("--most", type=_count, default=5, metavar="N", help="additions shown (default 5)")
        one.add_argument("--json", action="store_true", help="as JSON, for scripts")
    elif name == "compare":
        one.description = f"{one.description} {WORSE}"
        one.add_argument("rigs", nargs="+", metavar="RIG", help="OLD.rig NEW.rig; with --git the one FILE")
        one.add_argument("--git", metavar="REV", help="compare FILE with what it was in this revision of git")
        one.add_argument("--json", action="store_true", help="as JSON, for scripts")
        one.add_argument("--draw", metavar="FILE", help="also both in one diagram: FILE.svg, FILE.png or FILE.dot")
    elif name == "reconstruct":
        one.add_argument("rig", metavar="RIG", help=f"{rig}, with its `observed` block")
        one.add_argument(
            "--order", type=_order, default=2, metavar="N", help="failures assumed together, 1 to 4 (default 2)"
        )
        words = "slips too: a knot not tied, a connector not clipped, a device the wrong way round"
        one.add_argument("--including-slips", action="store_true", help=words)
        words = 'a further fact, supposed: "lip cuts", "not lip cuts", "intact red" (repeatable)'
        one.add_argument("--suppose", action="append", default=[], metavar="FACT", help=words)
        one.add_argument("--json", action="store_true", help="as JSON, for scripts")
        one.add_argument("-o", "--output", metavar="FILE", help="a document: FILE.html or FILE.md")
    elif name == "draw":
        one.add_argument("rig", metavar="RIG", help=rig)
        target = one.add_mutually_exclusive_group(required=True)
        target.add_argument("-o", "--output", metavar="FILE", help="FILE.svg, FILE.png or FILE.dot")
        words = "one picture a state, 00-….svg and on, all laid out alike, into an empty or new folder"
        target.add_argument("--film", metavar="DIR", help=words)
        words = (
            "what happens in time after --failing, to scale: FILE.svg moves by itself, FILE.png is a strip of stills"
        )
        target.add_argument("--motion", metavar="FILE", help=words)
        one.add_argument(
            "--failing", action="append", default=[], metavar="FAILURE", help="draw what is left after it (repeatable)"
        )
        one.add_argument("--forces", action="store_true", help="in the diagram: what each part carries, in kN")
        view = one.add_mutually_exclusive_group()
        view.add_argument("--side", action="store_true", help="to scale, from the side: x across, pulls in kN (.svg)")
        view.add_argument("--front", action="store_true", help="to scale, from the front: y across (.svg)")
        _state_options(one)
        one.add_argument("--system-dot", action="store_true", help="render with the machine's own Graphviz `dot`")
    elif name == "report":
        words = f"{rig}; several, or a folder: a page each and an index, into -o DIR"
        one.add_argument("rigs", nargs="+", metavar="RIG", help=words)
        _jobs(one)
        words = "FILE.html, or FILE.md for a comment; - for standard output, as HTML (default); of several a folder"
        one.add_argument("-o", "--output", default="-", metavar="FILE", help=words)
        one.add_argument("--order", type=_order, metavar="N", help="failures together, 1 to 4 (default 3; .md: 2)")
        words = "the answers of a reviewer, as the page has exported them, baked in"
        one.add_argument("--with", dest="review", metavar="REVIEW.json", help=words)
        one.add_argument("--json", action="store_true", help="the page's data as JSON, for scripts")
    elif name in ("procedure", "failures"):
        files = "FILE.md or FILE.html" if name == "procedure" else "FILE.csv, FILE.md or FILE.html"
        first = "Markdown" if name == "procedure" else "CSV"
        if name == "procedure":
            one.add_argument("rig", metavar="RIG", help=rig)
        else:
            words = f"{rig}; a folder: all .rig files in it and below"
            one.add_argument("rigs", nargs="+", metavar="RIG", help=words)
            _jobs(one)
        words = f"{files}, or - for standard output, as {first} (default)"
        one.add_argument("-o", "--output", default="-", metavar="FILE", help=words)
        if name == "failures":
            words = "the number of a state, worst, or all (default)"
            one.add_argument("--state", type=_state, default="all", metavar="N", help=words)
        one.add_argument("--json", action="store_true", help="as JSON, for scripts")
    elif name in ("walkdown", "card"):
        one.add_argument("rig", metavar="RIG", help=rig)
        files = "FILE.md or FILE.html, or - for standard output, as Markdown" if name == "walkdown" else "FILE.html"
        one.add_argument("-o", "--output", default="-", metavar="FILE", help=files)
        if name == "walkdown":
            words = "what was found otherwise, one difference a line: lists it and checks the rig as found"
            one.add_argument("--found", metavar="FILE", help=words)
        else:
            one.add_argument("--role", metavar="NAME", help="one role, or one person's card (default: all)")
            one.add_argument("--paper", choices=("a6", "a5"), default="a6", help="the card's size (default a6)")
        one.add_argument("--language", choices=("en", "de"), default="en", help="the words on it (default en)")
        one.add_argument("--json", action="store_true", help="as JSON, for scripts")
    elif name == "drill":
        one.add_argument("rig", metavar="RIG", help="a .rig file (one of a lesson: `stillheld start --lessons`)")
        one.add_argument("--seed", type=_seed, default=1, metavar="N", help="the same seed asks the same (default 1)")
        one.add_argument("--questions", type=_count, default=8, metavar="N", help="how many are asked (default 8)")
        one.add_argument("--ascii", action="store_true", help="the drawing in plain ASCII")
        one.add_argument(
            "--score", metavar="FILE", help="add each answer to FILE, a line of JSON each; else none is kept"
        )
        target = one.add_mutually_exclusive_group()
        words = "N questions as a question sheet and an answer sheet, to -o FILE.md or FILE.html"
        target.add_argument("--paper", type=_count, metavar="N", help=words)
        target.add_argument("--page", action="store_true", help="a page for a browser, to -o FILE.html: answers open")
        target.add_argument("--json", action="store_true", help="questions and answers, for scripts")
        words = "where --paper or --page goes; - for standard output (default)"
        one.add_argument("-o", "--output", default="-", metavar="FILE", help=words)
    elif name == "attitude":
        one.add_argument("rig", metavar="RIG", help=rig)
        one.add_argument("litter", metavar="LITTER", help="the litter, or another body with a head and a foot")
        one.add_argument("--head-up", nargs="+", metavar="ANGLE", help="how far head over feet is wished: 5 deg")
        one.add_argument(
            "--lines",
            action="append",
            default=[],
            metavar="A,B",
            help="what is let out (default: the legs at the foot end, or the tackle that they hang from)",
        )
        one.add_argument("--sweep", nargs="+", metavar="FROM..TO", help='let out step by step: 0..6 m, "-0.5..2 m"')
        one.add_argument("--plot", metavar="FILE", help="the sweep as curves, FILE.svg")
        one.add_argument("--along", nargs="+", default=[], metavar="PERSON=LENGTH", help=ALONG)
        one.add_argument("--json", action="store_true", help="as JSON, for scripts")
    elif name == "haul":
        one.add_argument("rig", metavar="RIG", help=rig)
        one.add_argument("rope", nargs="?", metavar="ROPE", help="the rope that hands hold (default: each such rope)")
        one.add_argument("--along", nargs="+", default=[], metavar="PERSON=LENGTH", help=ALONG)
        one.add_argument("--json", action="store_true", help="as JSON, for scripts")
    elif name == "format":
        one.add_argument("rigs", nargs="+", metavar="RIG", help="a .rig file, or - for standard input to output")
        one.add_argument("--check", action="store_true", help="write nothing: list what would change, exit status 1")
        one.add_argument("--diff", action="store_true", help="write nothing: show what would change, exit status 1")
    elif name == "explain":
        words = "a rule, a kind, or a word or phrase of the language (default: list what there is)"
        one.add_argument("name", nargs="*", metavar="NAME", help=words)
        one.add_argument("--json", action="store_true", help="as JSON, for scripts")
    elif name == "rules":
        one.add_argument("--markdown", action="store_true", help="every rule with its page, as grammar/findings.md")
        one.add_argument("--json", action="store_true", help="as JSON, for scripts")
    elif name == "kinds":
        one.add_argument("--json", action="store_true", help="as JSON, for scripts")
    elif name == "start":
        one.add_argument("file", nargs="?", metavar="FILE", help="the file to write, or - for standard output")
        one.add_argument("--from", dest="template", metavar="TEMPLATE", help="which template (--list names them)")
        one.add_argument("--list", action="store_true", help="list the templates and stop")
        words = "twelve short lessons with their page, into a new folder: each a rig to drill, and its mend"
        one.add_argument("--lessons", metavar="FOLDER", help=words)
        one.add_argument("--json", action="store_true", help="with --list: as JSON, for scripts")
    elif name == "watch":
        one.add_argument("rig", metavar="RIG", help="a .rig file")
        one.add_argument(
            "--page",
            nargs="?",
            type=_port,
            const=0,
            metavar="PORT",
            help="a page on 127.0.0.1 that refreshes itself (after RIG; default: a free port, printed)",
        )
        one.add_argument("--order", type=_order, default=2, metavar="N", help="failures together, 1 to 4 (default 2)")
    elif name == "completion":
        one.add_argument("shell", choices=("bash", "zsh", "fish"), metavar="SHELL", help="bash, zsh or fish")
    elif name == "language-server":
        one.add_argument("--stdio", action="store_true", help="as always: many editors say it")


def _jobs(one: argparse.ArgumentParser) -> None:
    """How many processes work on many rigs."""
    words = "processes for many rigs (default: one a core); the answer is the same"
    one.add_argument("--jobs", type=_processes, default=os.cpu_count() or 1, metavar="N", help=words)


def _processes(text: str) -> int:
    if text.isdigit() and 1 <= int(text) <= 256:
        return int(text)
    raise argparse.ArgumentTypeError(f"{text!r} is not a number of processes from 1 to 256")


def _state_options(one: argparse.ArgumentParser) -> None:
    """Which state of a rig with stages: by its number, or by a stage and a step of it."""
    one.add_argument("--state", type=_number, metavar="N", help="the rig in state N (0: as first attached)")
    one.add_argument("--stage", metavar="TITLE", help="the rig after this stage, or after one step of it")
    one.add_argument("--step", type=_number, metavar="N", help="after the stage's Nth step (1 is the first)")


def _number(text: str) -> int:
    if text.isdigit() and len(text) < 6:
        return int(text)
    raise argparse.ArgumentTypeError(f"{text!r} is not a number of a state or step")


def _order(text: str) -> int:
    if text.isdigit() and 1 <= int(text) <= 4:
        return int(text)
    raise argparse.ArgumentTypeError(f"{text!r} is not a number of failures from 1 to 4")


def _state(text: str) -> str:
    if text in ("all", "worst") or (text.isascii() and text.isdigit() and len(text) < 7):
        return text
    raise argparse.ArgumentTypeError(f"{text!r} is not a state: write its number, worst, or all")


def _port(text: str) -> int:
    if text.isdigit() and int(text) <= 65_535:
        return int(text)
    words = f"{text!r} is not a port, a number from 0 (any free one) to 65535"
    raise argparse.ArgumentTypeError(words + ("" if text.isdigit() else "; the rig is named before --page"))


def _count(text: str) -> int:
    if text.isdigit() and 1 <= int(text) <= 100:
        return int(text)
    raise argparse.ArgumentTypeError(f"{text!r} is not a number from 1 to 100")


def _seed(text: str) -> int:
    if text.isascii() and text.isdigit() and len(text) < 10:
        return int(text)
    raise argparse.ArgumentTypeError(f"{text!r} is not a seed, a number from 0 to 999999999")


def _samples(text: str) -> int:
    if text.isdigit() and 1 <= int(text) <= 100_000:
        return int(text)
    raise argparse.ArgumentTypeError(f"{text!r} is not a number of cases from 1 to 100000")


def _seconds(text: str) -> float:
    number, unit = (text[:-1], text[-1]) if text[-1:] in ("s", "m") else (text, "s")
    try:
        seconds = float(number) * (60 if unit == "m" else 1)
    except ValueError:
        seconds = -1.0
    if not 0 <= seconds < 1e6:
        raise argparse.ArgumentTypeError(f"{text!r} is not a time: write 30s or 2m")
    return seconds


GOING_ON = ("watch", "language-server")
"""Commands that have no one answer: they end with their reader."""


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; returns the exit status."""
    if sys.stdin is None:  # closed: what is read from it ends at once
        sys.stdin = Path(os.devnull).open(encoding="utf-8")  # noqa: SIM115  # as long as the process lives
    try:
        with Delivery() as delivery:
            top = parser()
            try:
                options = top.parse_args(arguments)
            except SystemExit as end:  # `--help`, or what could not be understood
                raise SystemExit(delivery.status(int(end.code or 0))) from None
            if options.command in GOING_ON:
                delivery.give_back()
            return delivery.status(_run(top, options))
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except KeyboardInterrupt:
        print("stopped", file=sys.stderr)
        return 130


def _run(top: argparse.ArgumentParser, options: argparse.Namespace) -> int:
    if options.version:
        from importlib.metadata import version

        print(f"stillheld {version('stillheld')}")
        return 0
    if options.command is None:
        top.print_help()
        return 2
    run: Callable[[argparse.Namespace], int] = import_module(f"analyser.doors.commands.{module(options.command)}").run
    return run(options)


if __name__ == "__main__":
    sys.exit(main())

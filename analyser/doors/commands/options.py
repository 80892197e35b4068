"""Options that several commands take, and what is understood as a number, a state, a time. Costs no import."""

from __future__ import annotations

import argparse
import os
from collections.abc import Callable
from typing import TypeVar

from analyser.checking.calling import Refused, count_of, order_of

RIG = "a .rig file, or - for standard input"
ALONG = "where in the litter somebody's centre of mass lies, from its foot: vic=0.9 m"
SEARCHED = "failures together, 1 to 4 (default 2)"

Parser = argparse.ArgumentParser
Number = TypeVar("Number")


def one_rig(one: Parser, words: str = RIG) -> None:
    one.add_argument("rig", metavar="RIG", help=words)


def several_rigs(one: Parser, words: str) -> None:
    """Many rigs, and how many processes work on them."""
    one.add_argument("rigs", nargs="+", metavar="RIG", help=words)
    words = "processes for many rigs (default: one a core); the answer is the same"
    one.add_argument("--jobs", type=processes, default=os.cpu_count() or 1, metavar="N", help=words)
    on(one)


def on(one: Parser) -> None:
    """Where work is done that is done side by side (`doors/commands/getting_out.py` goes there)."""
    words = "let the workers of a cluster work, not processes here (dask:tls://HOST:PORT); the answer is the same"
    one.add_argument("--on", metavar="dask:ADDRESS", help=words)


def as_json(one: argparse._ActionsContainer, words: str = "as JSON, for scripts") -> None:
    one.add_argument("--json", action="store_true", help=words)


def full(one: Parser) -> None:
    one.add_argument("--full", action="store_true", help="everything, where that is more than one sheet")


def order(one: Parser, words: str = SEARCHED, default: int | None = 2) -> None:
    one.add_argument("--order", type=_typed(order_of), default=default, metavar="N", help=words)


def budget(one: Parser) -> None:
    one.add_argument(
        "--budget", type=seconds, metavar="TIME", help="be done within it, and say what was not searched: 30s, 2m"
    )


def output(one: Parser, words: str) -> None:
    one.add_argument("-o", "--output", default="-", metavar="FILE", help=words)


def state(one: Parser) -> None:
    """Which state of a rig with stages: by its number, or by a stage and a step of it."""
    one.add_argument("--state", type=number, metavar="N", help="the rig in state N (0: as first attached)")
    one.add_argument("--stage", metavar="TITLE", help="the rig after this stage, or after one step of it")
    one.add_argument("--step", type=number, metavar="N", help="after the stage's Nth step (1 is the first)")
    words = "within the step to that state: the Kth of what is true only while it is being done"
    one.add_argument("--during", type=number, metavar="K", help=words)


def port(text: str) -> int:
    """A port to listen on."""
    if text.isdigit() and int(text) <= 65_535:
        return int(text)
    words = f"{text!r} is not a port, a number from 0 (any free one) to 65535"
    raise argparse.ArgumentTypeError(words + ("" if text.isdigit() else "; the rig is named before it"))


def language(one: Parser) -> None:
    one.add_argument("--language", choices=("en", "de"), default="en", help="the words on it (default en)")


def _typed(understood: Callable[[str], Number]) -> Callable[[str], Number]:
    """What `import analyser` understands too, refused in the same words."""

    def convert(text: str) -> Number:
        try:
            return understood(text)
        except Refused as error:
            raise argparse.ArgumentTypeError(error.mistakes[0].text) from None

    return convert


count = _typed(count_of)


def processes(text: str) -> int:
    if text.isdigit() and 1 <= int(text) <= 256:
        return int(text)
    raise argparse.ArgumentTypeError(f"{text!r} is not a number of processes from 1 to 256")


def number(text: str) -> int:
    if text.isdigit() and len(text) < 6:
        return int(text)
    raise argparse.ArgumentTypeError(f"{text!r} is not a number of a state or step")


def seconds(text: str) -> float:
    digits, unit = (text[:-1], text[-1]) if text[-1:] in ("s", "m") else (text, "s")
    try:
        told = float(digits) * (60 if unit == "m" else 1)
    except ValueError:
        told = -1.0
    if not 0 <= told < 1e6:
        raise argparse.ArgumentTypeError(f"{text!r} is not a time: write 30s or 2m")
    return told

"""Broken files by the thousand: `python tests/fuzz.py --seconds 600 --seed 1`.

Every case is a rig of this repository with something done to it: bytes flipped, pieces lost, doubled or
moved, two files spliced, deep indentation, long names, huge numbers, odd Unicode, big files. Each is read
and, where it reads, checked at order 2 with a budget, laid out anew and drawn. Asked of each: no
traceback; every mistake has a file, a line that is there and a text; no step takes more than its time;
the process stays below 500 MB. The cases come from the seed alone, so that a fault can be seen again:
`--seed S --only N`.

The work is done in a process of its own, with a limit on its memory; one that hangs is ended by us.
"""

from __future__ import annotations

import argparse
import multiprocessing
import random
import re
import resource
import sys
import time
import traceback
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache
from multiprocessing.connection import Connection
from pathlib import Path

from random_rigs import random_rig_text

ROOT = Path(__file__).parent.parent
SECONDS = 2.0
"""Processor time that a step may take on a file of ordinary size."""
IN_TIME = 15
"""So many times longer may a check take that must follow the motion after every failure: known, and too long."""
SECONDS_MB = 25.0
"""And for each megabyte beyond: a rig of 14,000 parts (0.7 MB) is really read, line by line."""
ORDINARY = 50_000
"""Bytes; the largest example is a tenth of this."""
HANGS = 120.0
"""Seconds by the clock after which a process is ended."""
MEMORY = 500 * 2**20

Change = Callable[[random.Random, bytes], bytes]


@cache
def originals() -> tuple[bytes, ...]:
    """Every rig of this repository, good and bad."""
    places = (ROOT / "examples", ROOT / "tests" / "messages", ROOT / "tests" / "found", ROOT / "grammar")
    return tuple(path.read_bytes() for place in places for path in sorted(place.glob("*.rig")))


@cache
def good() -> tuple[bytes, ...]:
    return tuple(path.read_bytes() for path in sorted((ROOT / "examples").glob("*.rig")))


# ---- what is done to a file


def flip(rng: random.Random, data: bytes) -> bytes:
    """A few bytes become others."""
    changed = bytearray(data)
    for _ in range(rng.randint(1, 8)):
        if changed:
            changed[rng.randrange(len(changed))] = rng.randrange(256 if rng.randrange(4) == 0 else 128)
    return bytes(changed)


def swap_marks(rng: random.Random, data: bytes) -> bytes:
    """A mark of the language where another stood, or a word's letter."""
    changed = bytearray(data)
    for _ in range(rng.randint(1, 6)):
        if changed:
            changed[rng.randrange(len(changed))] = rng.choice(b' \t\n,:-.[]()"#|%0123456789aN')
    return bytes(changed)


def lose(rng: random.Random, data: bytes) -> bytes:
    """A piece is missing."""
    start = rng.randrange(len(data) + 1)
    return data[:start] + data[start + rng.choice((1, 1, 2, 5, 40, 400)) :]


def double(rng: random.Random, data: bytes) -> bytes:
    """A piece stands there twice, or many times."""
    start = rng.randrange(len(data) + 1)
    piece = data[start : start + rng.choice((1, 3, 20, 200))]
    return data[:start] + piece * rng.choice((2, 2, 3, 50)) + data[start + len(piece) :]


def move(rng: random.Random, data: bytes) -> bytes:
    """A piece stands elsewhere."""
    start = rng.randrange(len(data) + 1)
    piece = data[start : start + rng.choice((1, 5, 60))]
    rest = data[:start] + data[start + len(piece) :]
    to = rng.randrange(len(rest) + 1)
    return rest[:to] + piece + rest[to:]


def lines(rng: random.Random, data: bytes) -> bytes:
    """Lines lost, doubled, moved, their indentation changed."""
    found = data.split(b"\n")
    for _ in range(rng.randint(1, 5)):
        at = rng.randrange(len(found))
        does = rng.randrange(6)
        if does == 0 and len(found) > 1:
            del found[at]
        elif does == 1:
            found.insert(at, found[at])
        elif does == 2:
            found.insert(rng.randrange(len(found)), found.pop(at))
        elif does == 3:
            found[at] = b" " * rng.choice((1, 2, 4, 8, 300)) + found[at]
        elif does == 4:
            found[at] = found[at].lstrip()
        else:
            found[at] = b"\t" * rng.choice((1, 2, 40)) + found[at].lstrip()
    return b"\n".join(found)


def words(rng: random.Random, data: bytes) -> bytes:
    """Words lost, doubled, or taken from another rig."""
    other = rng.choice(originals()).split()
    found = data.split(b" ")
    for _ in range(rng.randint(1, 6)):
        at = rng.randrange(len(found))
        does = rng.randrange(3)
        if does == 0 and len(found) > 1:
            del found[at]
        elif does == 1:
            found.insert(at, found[at])
        elif other:
            found[at] = rng.choice(other)
    return b" ".join(found)


def names(rng: random.Random, data: bytes) -> bytes:
    """Two words change places, or one stands where another stood: it may still read."""
    found = re.split(rb"([\w-]+)", data)
    if len(found) > 3:
        for _ in range(rng.randint(1, 4)):
            one, other = (2 * rng.randrange(len(found) // 2) + 1 for _ in range(2))
            if rng.randrange(2):
                found[one], found[other] = found[other], found[one]
            else:
                found[one] = found[other]
    return b"".join(found)


def fewer_lines(rng: random.Random, data: bytes) -> bytes:
    """A few lines are left out, or stand in another order: it may still read."""
    found = data.split(b"\n")
    for _ in range(rng.randint(1, 3)):
        at = rng.randrange(len(found))
        if rng.randrange(2) and len(found) > 1:
            del found[at]
        elif at + 1 < len(found):
            found[at], found[at + 1] = found[at + 1], found[at]
    return b"\n".join(found)


def blanks(rng: random.Random, data: bytes) -> bytes:
    """More blanks, tabs, comments and empty lines: it still reads, as a rule."""
    for _ in range(rng.randint(1, 12)):
        at = rng.choice([n for n, one in enumerate(data) if one in b" \n"] or [0])
        more = rng.choice((b" ", b"   ", b"\t", b"  # note", b"#", b"\n", b"\n\n\n", b" \t \n", b"\n   # between\n"))
        data = data[:at] + more + data[at:]
    return data


def splice(rng: random.Random, data: bytes) -> bytes:
    """The beginning of one file and the end of another."""
    other = rng.choice(originals())
    return data[: rng.randrange(len(data) + 1)] + other[rng.randrange(len(other) + 1) :]


def deep(rng: random.Random, data: bytes) -> bytes:
    """Every line is indented under the last."""
    most = rng.choice((20, 120, 1000))
    return b"\n".join(b" " * min(n, most) + one for n, one in enumerate(data.split(b"\n")))


def stairs(rng: random.Random, data: bytes) -> bytes:
    """Stages or ropes within ropes, deeper than anyone writes."""
    head = rng.choice((b'stage "x"', b"rope r", b"rerig red", b"observed", b"kind k like ring:", b"cause c:", b"a:"))
    return data + b"\n" + b"\n".join(b" " * n + head for n in range(rng.choice((30, 300, 1500))))


def long_name(rng: random.Random, data: bytes) -> bytes:
    """One name is very long."""
    found = data.split()
    name = rng.choice(found) if found else b"x"
    return data.replace(name, name * rng.choice((2, 50, 400)))


def big_number(rng: random.Random, data: bytes) -> bytes:
    """Numbers that no rope has seen."""
    digits = [n for n, one in enumerate(data) if 48 <= one <= 57]
    if not digits:
        return data + b"\nlikelihood x fails: 1e-9999"
    at = rng.choice(digits)
    many = rng.choice(
        (b"9" * 30, b"9" * 400, b"9" * 5000, b"0", b"-1", b"0.0000000001", b"1e400", b"00000", b"1e-9999")
    )
    return data[:at] + many + data[at + 1 :]


ODD = (
    "\ufeff", "\u00a0", "\u2028", "\u2029", "\u200b", "\u200d", "\u202e", "\u0301", "\u00df", "\u0130", "\u1e9e",
    "\u2013", "\u2014", "\u201c", "\u201d", "\u00b2", "\u0663", "\uff11", "\U0001d7d9", "\U0001f9d7", "\ufffd",
    "\u0085", "\x0b", "\x0c", "\x1b[31m", "\0", "\u3000", "\u00aa", "\u0e33", "\ufb01", "\u2168", "\u00bd",
)  # fmt: skip


def odd_unicode(rng: random.Random, data: bytes) -> bytes:
    """Characters that look like others, join, turn round or count as letters."""
    for _ in range(rng.randint(1, 6)):
        at = rng.randrange(len(data) + 1)
        data = data[:at] + rng.choice(ODD).encode() * rng.choice((1, 1, 30)) + data[at:]
    return data


def not_utf8(rng: random.Random, data: bytes) -> bytes:
    """Lone surrogates, cut and overlong sequences, UTF-16, Latin-1."""
    at = rng.randrange(len(data) + 1)
    bad = rng.choice(
        (b"\xed\xa0\x80", b"\xed\xbf\xbf", b"\xc0\x80", b"\xf8\x88\x80\x80\x80", b"\xe2\x82", b"\xff\xfe", b"\xe9")
    )
    if rng.randrange(4) == 0:
        return data.decode("utf-8", "replace").encode(rng.choice(("utf-16", "utf-32", "utf-7")))
    return data[:at] + bad + data[at:]


def endings(rng: random.Random, data: bytes) -> bytes:
    return data.replace(b"\n", rng.choice((b"\r\n", b"\r", b"\n\r", b"\n\n", b"")))


def big(rng: random.Random, data: bytes) -> bytes:
    """Up to 2 MB and a little more."""
    size = rng.choice((100_000, 600_000, 2_000_000, 2_100_000))
    does = rng.randrange(6)
    if does == 0:
        return data + b"\n" + b"#" * size
    if does == 1:
        return data + b"\n" * size
    if does == 2:
        return data + b"\n# a line of words, as in a comment" * (size // 34)
    if does == 3:
        return data + b'\nnote "' + b"x" * size + b'"'
    if does == 4:
        return (data + b"\n") * (size // max(1, len(data)) + 1)
    return rng.choice(data.split(b"\n")).join([b"\n"] * (size // 40))


CHANGES: tuple[Change, ...] = (
    flip, swap_marks, lose, double, move, lines, words, splice, deep, stairs, long_name, big_number, odd_unicode,
    not_utf8, endings, names, names, fewer_lines, fewer_lines, blanks, blanks,
)  # fmt: skip


def case(seed: int, number: int) -> bytes:
    """The bytes of one case: the same for the same seed and number."""
    rng = random.Random(f"{seed}/{number}")
    kind = rng.randrange(6)
    if kind < 2:
        data = random_rig_text(rng, rng.randint(1, 6)).encode()
    else:
        data = rng.choice(good() if kind < 5 else originals())
    for _ in range(rng.choice((0, 1, 1, 1, 2, 3))):
        data = rng.choice(CHANGES)(rng, data)
    if rng.randrange(60) == 0:
        data = big(rng, data)
    return data


# ---- what is asked of each


def faults(data: bytes) -> list[str]:
    """What goes wrong with these bytes, one line each; nothing when all is well."""
    import analyser
    from analyser.language.mistakes import Unreadable

    found: list[str] = []

    @contextmanager
    def step(name: str, times: int = 1) -> Iterator[None]:
        limit = times * (SECONDS + SECONDS_MB * max(0, len(data) - ORDINARY) / 1e6)
        started = time.process_time()
        try:
            yield
        except Unreadable:
            raise
        except BaseException as error:
            told = traceback.format_exception(error)
            found.append(f"{name}: {type(error).__name__}: {str(error)[:200]}\n{''.join(told[-6:])}")
        took = time.process_time() - started
        if took > limit:
            found.append(f"{name}: took {took:.1f} s, and {limit:.1f} s is the limit for {len(data)} bytes")

    rig = None
    started = time.process_time()
    try:
        with step("read"):
            rig = analyser.read_text(data, "a.rig", ROOT / "no-such-folder")
    except Unreadable as error:
        took = time.process_time() - started
        limit = SECONDS + SECONDS_MB * max(0, len(data) - ORDINARY) / 1e6
        if took > limit:
            found.append(f"refused after {took:.1f} s, and {limit:.1f} s is the limit for {len(data)} bytes")
        found += of_mistakes(error, data)
    with step("format", 2):  # done twice
        found += of_layout(data, read=rig is not None)
    if rig is None:
        return found
    result = None
    from analyser.checking.analysing import analyse
    from analyser.checking.requirements import asks_for_what_happens_in_time

    with step("check", IN_TIME if asks_for_what_happens_in_time(rig) else 1):
        ends = time.monotonic() + 0.5
        result = analyse(rig, 2, lambda order, done, every: time.monotonic() < ends)
        result.to_json()
    if result is not None and len(rig.parts) < 400:
        with step("draw"):
            from analyser.pages.drawing.diagram import dot_source

            dot_source(result, ())
    return found


def of_mistakes(error: object, data: bytes) -> list[str]:
    """Mistakes that have no file, no line that is there, or no text."""
    from analyser.language.mistakes import Unreadable
    from analyser.pages.writing.mistakes_page import mistakes_text

    assert isinstance(error, Unreadable)
    found = []
    try:
        mistakes_text(error.mistakes, error.sources).encode("utf-8")
    except Exception as wrong:
        found.append(f"the mistakes cannot be shown: {type(wrong).__name__}: {wrong}")
    count = len(data.replace(b"\r\n", b"\n").replace(b"\r", b"\n").split(b"\n"))
    for one in error.mistakes:
        if one.place.file != "a.rig":
            found.append(f"a mistake in another file: {one}")
        elif not 1 <= one.place.line <= count:
            found.append(f"a mistake in a line that isn't there (of {count}): {one}")
        elif not one.text.strip() or "\n" in one.text or one.place.column < 1 or one.place.end < one.place.column:
            found.append(f"a mistake that says nothing, or nowhere: {one}")
    return found


def of_layout(data: bytes, *, read: bool) -> list[str]:
    """Laid out: refused with mistakes where it doesn't read, else the same again when done twice."""
    from analyser.language.formatting import laid_out
    from analyser.language.mistakes import Unreadable
    from analyser.rig.catalogue import catalogue

    try:
        once = laid_out(data, "a.rig", catalogue())
    except Unreadable as error:
        too_long = any("longer than" in one.text or "larger than" in one.text for one in error.mistakes)
        return [f"format: refused what reads: {error}"] if read and not too_long else []
    twice = laid_out(once.encode(), "a.rig", catalogue())
    return [] if once == twice else ["format: a second time changes it again"]


# ---- the process that does it


def _work(connection: Connection, seed: int) -> None:
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
    from analyser import check, read_text

    check(read_text(good()[0]))  # loads what every case needs, outside its time
    connection.send(("ready", []))
    while True:
        number = connection.recv()
        if number is None:
            return
        try:
            told = faults(case(seed, number))
        except MemoryError:
            told = ["out of memory: 500 MB were not enough"]
        connection.send((number, told))


@dataclass
class Worker:
    """A process that runs cases, begun anew after one that hung or died."""

    seed: int

    def __post_init__(self) -> None:
        self.begin()

    def begin(self) -> None:
        context = multiprocessing.get_context("spawn")
        self.connection, other = context.Pipe()
        self.process = context.Process(target=_work, args=(other, self.seed), daemon=True)
        self.process.start()
        other.close()
        if not self.connection.poll(HANGS):
            raise RuntimeError("the process doesn't begin")
        self.connection.recv()

    def run(self, number: int) -> list[str]:
        try:
            self.connection.send(number)
            if self.connection.poll(HANGS):
                told: list[str] = self.connection.recv()[1]
                return told
            reason = f"hangs: nothing after {HANGS:.0f} s"
        except (EOFError, BrokenPipeError, ConnectionResetError):
            self.process.join(10)
            reason = f"the process died (exit {self.process.exitcode})"
        self.process.kill()
        self.process.join()
        self.begin()
        return [reason]

    def end(self) -> None:
        self.connection.send(None)
        self.process.join(HANGS)


def main() -> int:
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--seconds", type=float, default=60)
    options.add_argument("--seed", type=int, default=1)
    options.add_argument("--only", type=int, help="one case of the seed: run it here, with its bytes in ./only.rig")
    chosen = options.parse_args()
    if chosen.only is not None:
        data = case(chosen.seed, chosen.only)
        Path("only.rig").write_bytes(data)
        told = faults(data)
        print("\n".join(told) or "nothing wrong")
        return 1 if told else 0
    worker = Worker(chosen.seed)
    ends = time.monotonic() + chosen.seconds
    number = wrong = 0
    while time.monotonic() < ends:
        for told in worker.run(number):
            wrong += 1
            print(f"--seed {chosen.seed} --only {number}: {told}", flush=True)
        number += 1
    worker.end()
    print(f"{number} cases, {wrong} faults")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())

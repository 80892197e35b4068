"""Every command on good and broken rigs, in this process: `python tests/fuzz_commands.py --count 200000 --seed 1`.

Each case is a file of `fuzz.py`, or a rig with a stage, and a call put together from what the command line itself
declares: its options, their choices and numbers, and names, failures, states and stages of the rig, now and then
something that isn't there. Asked of each: the status is one that is documented; no traceback; a refusal says
something; what is printed as JSON reads and is what its schema says; no control character is printed; nothing is
written but what was asked for; no call takes more than its time. A case comes from the seed alone: `--seed S --only N`.
"""

from __future__ import annotations

import argparse
import contextlib
import io
import json
import multiprocessing
import os
import random
import re
import sys
import tempfile
import time
import traceback
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path

import fuzz
from contracted import agreed
from random_stages import random_stage

GO_ON = frozenset({"desk", "watch", "language-server"})
"""They go on until they are stopped: `test_desk.py`, `test_watch.py`, `test_language_server.py`."""
SECONDS = 60.0
"""Processor time that a call may take: an accident's search and a motion after each failure take the longest."""
CONTROL = re.compile("[\x00-\x08\x0b-\x1f\x7f\x80-\x9f]")
ODD = ("", "0", "-1", "99999", "1e9", "x" * 300, "é", "nobody", "left-bolt fails", "a,b", "1..2", "sam=0.9 m", "--", "‮")
FOUND = ("missing", "not locking", "is 1 kN", "hangs on nothing", "is thin", "is carabiner")


@dataclass(frozen=True)
class Case:
    """A call, the files that are there before it, and what is typed."""

    words: tuple[str, ...]
    files: dict[str, bytes]
    typed: str = ""


@dataclass
class Known:
    """What can be named of a rig; little of one that doesn't read."""

    failures: list[str] = field(default_factory=lambda: ["left-bolt fails", "red is cut"])
    names: list[str] = field(default_factory=lambda: ["sam", "red", "master", "basket"])
    stages: list[str] = field(default_factory=lambda: ["Change"])


def known(data: bytes) -> Known:
    import analyser
    from analyser.language.mistakes import Unreadable

    try:
        rig = analyser.read_text(data, "a.rig", fuzz.ROOT / "no-such-folder")
    except (Unreadable, RecursionError):
        return Known()
    failures = [str(one.id) for one in rig.failures] or ["x fails"]
    names = [*rig.parts, *(rope.name for rope in rig.ropes)] or ["x"]
    return Known(failures, names, [stage.title for stage in rig.stages] or ["Change"])


@cache
def declared(command: str) -> argparse.ArgumentParser:
    from analyser.doors.commands.main import parser

    top = parser(command)
    (several,) = (one for one in top._actions if isinstance(one, argparse._SubParsersAction))
    found: argparse.ArgumentParser = several.choices[command]
    return found


def case(seed: int, number: int) -> Case:
    """The call of one number: the same for the same seed and number."""
    from analyser.doors.commands.main import COMMANDS

    rng = random.Random(f"commands {seed}/{number}")
    data = fuzz.case(seed, number)
    if rng.randrange(5) == 0:
        data = random_stage(rng.randrange(10_000), rng.randint(1, 6)).encode()
    if len(data) > fuzz.ORDINARY:
        data = rng.choice(fuzz.good())
    command = rng.choice(sorted(set(COMMANDS) - GO_ON))
    told = known(data)
    files = {"a.rig": data, "b.rig": rng.choice((data, fuzz.lines(rng, data), rng.choice(fuzz.good())))}
    said = "\n".join(f"{rng.choice(told.names)} {rng.choice(FOUND)}" for _ in range(rng.randint(0, 3)))
    files["found.txt"] = said.encode()
    files["review.json"] = rng.choice((b"{}", b"[", b'{"document": "review"}', data))
    words = [command]
    for action in declared(command)._actions:
        if isinstance(action, argparse._HelpAction) or rng.random() > (0.95 if not action.option_strings else 0.22):
            continue
        if action.dest == "jobs":
            continue
        if action.option_strings:
            words.append(action.option_strings[-1])
        if action.nargs != 0:
            several = rng.randint(1, 2) if action.nargs in ("+", "*") else 1
            words += [value(rng, action, told) for _ in range(several)]
    if "--jobs" in declared(command)._option_string_actions:
        words += ["--jobs", "1"]  # in this process; a pool is tested elsewhere
    typed = "\n".join(rng.choice((*told.names, "nobody", "", "?")) for _ in range(12)) + "\n"
    return Case(tuple(words), files, typed)


def value(rng: random.Random, action: argparse.Action, told: Known) -> str:
    """Something for an argument: mostly what may stand there."""
    if rng.random() < 0.08:
        return rng.choice(ODD)
    if action.choices:
        return str(rng.choice(list(action.choices)))
    named = str(action.metavar or action.dest).upper()
    if named in ("RIG", "RIGS"):
        return rng.choice(("a.rig", "a.rig", "a.rig", "b.rig", "-", "none.rig"))
    if named == "FAILURE":
        return rng.choice(told.failures)
    if named == "TITLE":
        return rng.choice(told.stages)
    if named in ("N", "K", "PORT", "ANGLE"):
        return str(rng.randint(0, 4))
    if named == "TIME":
        return rng.choice(("0s", "1s", "0.1s", "5s"))
    if named == "RULE":
        return rng.choice(("single-point", "free-to-run", "no-stopper", "shared-edge", "nothing"))
    if named in ("DIR", "FOLDER"):
        return rng.choice(("out", "out/deeper", "."))
    if named == "FILE":
        return rng.choice(("found.txt", "out.md", "out.html", "out.svg", "out.csv", "out.json", "a.rig", "-"))
    if named == "REVIEW.JSON":
        return "review.json"
    if "=" in named:
        return f"{rng.choice(told.names)}=0.9 m"
    if named == "FACT":
        return f"{rng.choice(told.names)} {rng.choice(('fell', 'held', 'is cut', 'slipped', 'not fell'))}"
    return rng.choice((*told.names, "single-point", "carabiner", "bash", "1..20"))


def faults(seed: int, number: int) -> list[str]:
    """What goes wrong in one case, a line each; nothing when all is well."""
    one = case(seed, number)
    here = Path.cwd()
    with tempfile.TemporaryDirectory() as folder:
        for name, data in one.files.items():
            (Path(folder) / name).write_bytes(data)
        os.chdir(folder)
        try:
            return [f"{' '.join(one.words)!r}: {told}" for told in _called(one, Path(folder))]
        finally:
            os.chdir(here)


def _called(one: Case, folder: Path) -> list[str]:
    from analyser.doors.commands.main import main

    out, err = (io.TextIOWrapper(io.BytesIO(), "utf-8", write_through=True) for _ in range(2))
    typed = io.TextIOWrapper(io.BytesIO(one.files["a.rig"] if "-" in one.words else one.typed.encode()), "utf-8")
    began, was = time.process_time(), sys.stdin
    try:
        sys.stdin = typed
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
            status: object = main(one.words)
    except SystemExit as end:
        status = end.code or 0
    except BaseException as error:
        return [f"{type(error).__name__}: {str(error)[:200]}\n{''.join(traceback.format_exception(error)[-6:])}"]
    finally:
        sys.stdin = was
    took = time.process_time() - began
    printed, errors = (stream.buffer.getvalue().decode("utf-8", "replace") for stream in (out, err))  # type: ignore[attr-defined]
    return [*_wrong_with(one, status, printed, errors, folder), *([f"took {took:.1f} s"] if took > SECONDS else [])]


def _wrong_with(one: Case, status: object, printed: str, errors: str, folder: Path) -> list[str]:
    found = []
    if status not in (0, 1, 2):
        found.append(f"ended with {status!r}")
    if "Traceback" in errors or "Traceback" in printed:
        found.append("a traceback is printed")
    if status == 2 and not errors.strip() and not printed.strip():
        found.append("refused without a word")
    written = {str(path.relative_to(folder)) for path in folder.rglob("*") if path.is_file()} - one.files.keys()
    if CONTROL.search(printed.replace("\r\n", "\n")) and "png" not in one.words:
        found.append(f"a control character is printed: {CONTROL.search(printed)!r}")
    if CONTROL.search(errors):
        found.append(f"a control character is told: {CONTROL.search(errors)!r}")
    asked = [word for word in one.words if word.startswith("out") or word in (".", "-o", "--output")]
    if written and not asked and one.words[0] not in ("start", "report", "draw", "drill", "format"):
        found.append(f"written without being asked for: {sorted(written)}")
    if "--json" in one.words and printed.strip() and status != 2:
        try:
            agreed(json.loads(printed))
        except Exception as wrong:
            found.append(f"JSON: {type(wrong).__name__}: {str(wrong)[:300]}")
    if one.words[0] != "format" and (folder / "a.rig").read_bytes() != one.files["a.rig"]:
        found.append("the rig was written over")
    return found


def _some(task: tuple[int, int, int]) -> tuple[int, list[str]]:
    seed, first, count = task
    told = [f"--seed {seed} --only {n}: {one}" for n in range(first, first + count) for one in faults(seed, n)]
    return count, told


def main() -> int:
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--count", type=int, default=1000)
    options.add_argument("--seed", type=int, default=1)
    options.add_argument("--jobs", type=int, default=1)
    options.add_argument("--only", type=int, help="one case of the seed: its call, and what is wrong with it")
    chosen = options.parse_args()
    if chosen.only is not None:
        one = case(chosen.seed, chosen.only)
        for name, data in one.files.items():
            Path("only." + name).write_bytes(data)
        print("stillheld", *one.words, "(its files stand beside, as only.*)")
        told = faults(chosen.seed, chosen.only)
        print("\n".join(told) or "nothing wrong")
        return 1 if told else 0
    size, done, wrong = 50, 0, 0
    tasks = [(chosen.seed, first, min(size, chosen.count - first)) for first in range(0, chosen.count, size)]
    with ProcessPoolExecutor(chosen.jobs, multiprocessing.get_context("spawn")) as pool:
        for count, told in pool.map(_some, tasks):
            done, wrong = done + count, wrong + len(told)
            print(*told, sep="\n", end="\n" if told else "", flush=True)
    print(f"{done} calls, {wrong} faults")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())

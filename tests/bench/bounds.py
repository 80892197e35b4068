"""Whole commands on every shape of rig at several sizes: processor time, peak memory, and how both grow.

Each is a process of its own, with all that a person waits for: start, reading, search to order 2, every rule, the
text or the page. The growth is told as an exponent of the size between the two largest.
"""

from __future__ import annotations

import math
import os
import subprocess
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path

from .generating import KINDS
from .measuring import FOLDER, against, heading, table
from .stages import staged

NAME = "bounds"
PATIENCE = 120
"""Seconds of processor time after which a command is stopped."""


def people(count: int) -> str:
    """So many people, each on a strap of their own from a bolt of their own."""
    lines = ['rig "People side by side"']
    for k in range(count):
        lines += [f"anchor bolt-{k}", f"person p{k}: points waist", f"attach bolt-{k} - strap strap-{k} - p{k}.waist"]
    return "\n".join(lines) + "\n"


def crowd(count: int) -> str:
    """So many people, all on one ring that hangs from two bolts."""
    lines = ['rig "People on one ring"', "anchor left, right", "ring hub"]
    lines += [f"attach {side} - strap {side}-strap - hub" for side in ("left", "right")]
    for k in range(count):
        lines += [f"person p{k}: points waist", f"attach hub - strap strap-{k} - p{k}.waist"]
    return "\n".join(lines) + "\n"


def row(rings: int) -> str:
    """Rings in a row, each strapped to the next, a bolt at both ends and somebody on every tenth."""
    lines = ['rig "A row of rings"', "anchor first, last", *(f"ring r{k}" for k in range(rings))]
    lines += ["attach first - strap s-first - r0", f"attach last - strap s-last - r{rings - 1}"]
    lines += [f"attach r{k} - strap s{k} - r{k + 1}" for k in range(rings - 1)]
    for k in range(0, rings, 10):
        lines += [f"person p{k}: points waist", f"attach r{k} - strap low-{k} - p{k}.waist"]
    return "\n".join(lines) + "\n"


def loose(parts: int) -> str:
    """So many parts that touch nothing, beside one person on two straps."""
    lines = ['rig "Loose parts"', "anchor left, right", "person ann: points waist, chest"]
    lines += ["attach left - strap a - ann.waist", "attach right - strap b - ann.chest"]
    return "\n".join([*lines, f"ring {', '.join(f'spare-{k}' for k in range(parts - 5))}"]) + "\n"


CHECK, REPORT = ["check"], ["report", "-o", "-"]
MEASURED: dict[str, tuple[Callable[[int], str], list[str], tuple[int, ...], float]] = {
    **{kind: (text, CHECK, (750, 1500, 3000), 3.0) for kind, text in KINDS.items()},
    "row of rings": (row, CHECK, (375, 750, 1500), 3.0),
    "loose parts": (lambda size: _split(loose(size)), CHECK, (750, 1500, 3000), 3.0),
    "people apart": (people, CHECK, (250, 500, 1000), 3.0),
    "people on one ring": (crowd, CHECK, (250, 500, 1000), 3.0),
    "steps of 60 parts": (lambda steps: staged(60, steps), CHECK, (250, 500, 1000), 20.0),
    "report, ordinary": (KINDS["ordinary"], REPORT, (100, 200, 400), 5.0),
    "report, joined": (KINDS["joined"], REPORT, (100, 200, 400), 5.0),
    "report, row of rings": (row, REPORT, (50, 100, 200), 5.0),
}
"""By name: the rig of a size, the command, the sizes, and the seconds that the largest may take."""
MOST_MEMORY = 250.0
"""MB that the largest may take."""


def _split(text: str) -> str:
    """The rings on lines of their own, as no line may be so long."""
    return text.replace(", spare", "\nring spare")


def run(*, quick: bool) -> None:
    heading(NAME, "whole commands in processes of their own: seconds of the processor and peak memory")
    rows = []
    with tempfile.TemporaryDirectory() as folder:
        for name, (text, command, sizes, target) in MEASURED.items():
            rows.append(measured(name, text, command, sizes[:2] if quick else sizes, target, Path(folder)))
    table(("shape", "sizes", "seconds", "exponent", "MB", "exponent", "MB out", f"under {MOST_MEMORY:g} MB and"), rows)


def measured(
    name: str, text: Callable[[int], str], command: list[str], sizes: tuple[int, ...], target: float, folder: Path
) -> list[str]:
    """One row of the table."""
    told = []
    for size in sizes:
        rig = folder / f"{name.replace(' ', '-').replace(',', '')}-{size}.rig"
        rig.write_text(text(size), encoding="utf-8")
        told.append(spent([command[0], str(rig), *command[1:]]))
        if told[-1][0] >= PATIENCE:
            break
    seconds, memory, out = zip(*told, strict=True)
    last = sizes[: len(told)]
    met = against(max(seconds[-1] / target, memory[-1] / MOST_MEMORY), 1.0, above=False)
    sized = " ".join(map(str, last))
    return [
        *(name, sized, _each(seconds), _exponent(last, seconds), _each(memory), _exponent(last, memory)),
        *(f"{out[-1]:.1f}", f"{target:g} s: {met}"),
    ]


def _each(figures: tuple[float, ...]) -> str:
    return " ".join(f"{one:.2f}" if one < 10 else f"{one:.0f}" for one in figures)


def _exponent(sizes: tuple[int, ...], figures: tuple[float, ...]) -> str:
    if len(sizes) < 2:
        return "-"
    return f"{math.log(figures[-1] / figures[-2]) / math.log(sizes[-1] / sizes[-2]):.1f}"


def spent(arguments: list[str]) -> tuple[float, float, float]:
    """Seconds of the processor, peak memory and output, both in MB, of one command."""
    command = [sys.executable, "-m", "analyser.doors.commands.main", *arguments]
    with tempfile.TemporaryFile() as out:
        process = subprocess.Popen(
            ["bash", "-c", f'ulimit -t {PATIENCE}; exec "$@"', "bash", *command], cwd=FOLDER, stdout=out, stderr=out
        )
        _, status, usage = os.wait4(process.pid, 0)
        process.returncode = os.waitstatus_to_exitcode(status)
        return usage.ru_utime + usage.ru_stime, usage.ru_maxrss / 1024, os.fstat(out.fileno()).st_size / 1e6

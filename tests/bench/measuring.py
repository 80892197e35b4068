"""Taking times and memory, counting columns, printing tables: shared by all measurements."""

from __future__ import annotations

import json
import os
import platform
import statistics
import subprocess
import sys
import time
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any, TypeVar

from analyser.holding.system import RigSystem

T = TypeVar("T")

FOLDER = Path(__file__).resolve().parents[2]
OUTPUT = Path(__file__).resolve().parent / "output"


def once(function: Callable[..., T], *arguments: object) -> tuple[float, T]:
    """Seconds of one call, and what it returned."""
    start = time.perf_counter()
    result = function(*arguments)
    return time.perf_counter() - start, result


def median(function: Callable[..., T], *arguments: object, runs: int = 7, budget: float = 4.0) -> tuple[float, T]:
    """The median of up to `runs` calls, as many as fit into `budget` seconds (at least one)."""
    seconds, result = once(function, *arguments)
    times = [seconds]
    while len(times) < runs and sum(times) + seconds < budget:
        times.append(once(function, *arguments)[0])
    return statistics.median(times), result


def duration(seconds: float | None) -> str:
    """A time in the unit that reads best.

    >>> duration(0.0421), duration(12.3), duration(None)
    ('42.1 ms', '12.3 s', '-')
    """
    if seconds is None:
        return "-"
    if seconds < 1e-3:
        return f"{seconds * 1e6:.0f} µs"
    return f"{seconds * 1e3:.3g} ms" if seconds < 1 else f"{seconds:.3g} s"


def against(value: float, target: float, *, above: bool) -> str:
    """Whether a target was met, in words."""
    return "met" if (value >= target) == above else "NOT MET"


def table(head: Sequence[str], rows: Iterable[Sequence[object]]) -> None:
    """Print a table: the first column to the left, the others to the right."""
    texts = [[str(cell) for cell in row] for row in rows]
    widths = [max(len(cell) for cell in column) for column in zip(head, *texts, strict=True)]
    for k, row in enumerate([list(head), ["-" * width for width in widths], *texts]):
        cells = [row[0].ljust(widths[0]), *(c.rjust(w) for c, w in zip(row[1:], widths[1:], strict=True))]
        print(("  " + "  ".join(cells)).rstrip(), flush=k > 1)


def heading(name: str, text: str) -> None:
    print(f"\n{name}: {text}\n", flush=True)


def machine() -> str:
    """What this was measured on: Python, cores, and what else was running."""
    load = ", ".join(f"{one:.2f}" for one in os.getloadavg())
    return f"Python {platform.python_version()}, {os.cpu_count()} cores, shared; load averages {load}"


@contextmanager
def counting() -> Iterator[dict[str, int]]:
    """Count the sweeps and columns that the search asks for meanwhile."""
    counted = {"sweeps": 0, "columns": 0}
    original = RigSystem.sweep

    def counted_sweep(self: RigSystem, bits: Sequence[int], width: int, asked: Mapping[str, int]) -> dict[str, int]:
        counted["sweeps"] += 1
        counted["columns"] += width
        return original(self, bits, width, asked)

    RigSystem.sweep = counted_sweep  # type: ignore[method-assign]
    try:
        yield counted
    finally:
        RigSystem.sweep = original  # type: ignore[method-assign]


def memory() -> float:
    """The most memory this process has held so far, in MB (of itself alone, not of its parent)."""
    for line in Path("/proc/self/status").read_text().splitlines():
        if line.startswith("VmHWM:"):
            return int(line.split()[1]) / 1024
    raise OSError("this system does not tell a process's peak memory")


def in_a_child(arguments: Sequence[object], limit: float) -> dict[str, Any] | None:
    """What a fresh process of this benchmark says as JSON; None if it took longer than `limit` seconds."""
    command = [sys.executable, "-m", "tests.bench", "--child", *map(str, arguments)]
    try:
        done = subprocess.run(command, cwd=FOLDER, capture_output=True, text=True, timeout=limit, check=False)
    except subprocess.TimeoutExpired:
        return None
    if done.returncode:
        raise RuntimeError(done.stderr[-2000:])
    found: dict[str, Any] = json.loads(done.stdout)
    return found

"""How much the workers of a cluster bring: many rigs, on 1, 2, 4 and 8 workers of a scheduler on this machine.

What is seen here is bounded by the machine's own cores, which the table names: it shows what giving work away costs,
and nothing of more machines. What others do there meanwhile disturbs how long it took, and less the seconds of the
processor that all took together (the scheduler's are not counted). Answers are compared with those of one process.
The rigs are copies of examples, invented.
"""

from __future__ import annotations

import os
import sys
import tempfile
import time
from functools import partial
from pathlib import Path

import psutil

from analyser.doors.commands.check import Checked, Wanted, checked, lost
from analyser.doors.commands.several import Named, each, rigs_named
from analyser.working.cluster import opened
from analyser.working.place import working

from .measuring import FOLDER, duration, heading, once, table

sys.path.insert(0, str(FOLDER / "tests"))
from clusters import Started

NAME = "cluster"
WORKERS = (1, 2, 4, 8)
COPIES = 4


def _library(folder: Path, copies: int) -> list[Named]:
    """Copies of every changeover of the examples: 10 to 20 states each."""
    for path in sorted((FOLDER / "examples" / "crossings").glob("*.rig")):
        for k in range(copies):
            (folder / f"{path.stem}-{k}.rig").write_bytes(path.read_bytes())
    return rigs_named([str(folder)])


def _answers(rigs: list[Named]) -> list[Checked]:
    task = partial(checked, Wanted(2, None, (), (), False, False, False, True, None))
    return list(each(task, rigs, 1, lost))


def _processor(cluster: Started | None = None) -> float:
    """Seconds of the processor so far: of this process and of the workers."""
    used = [psutil.Process(one.pid).cpu_times() for one in cluster.running[1:]] if cluster else []
    return time.process_time() + sum(one.user + one.system for one in used)


def run(*, quick: bool) -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "rigs").mkdir()
        rigs = _library(folder / "rigs", 1 if quick else COPIES)
        heading(NAME, f"{len(rigs)} rigs with stages, as JSON; {os.cpu_count()} cores for all workers together")
        _answers(rigs[:1])
        before = _processor()
        alone, expected = once(_answers, rigs)
        rows: list[list[object]] = [["one process, no cluster", duration(alone), "", duration(_processor() - before)]]
        for workers in WORKERS[:2] if quick else WORKERS:
            place = folder / str(workers)
            place.mkdir()
            with Started(place, workers) as cluster, opened(cluster.on) as there, working(there):
                _answers(rigs[: 4 * workers])  # what is loaded is loaded
                before = _processor(cluster)
                took, told = once(_answers, rigs)
                used = _processor(cluster) - before
            assert told == expected, workers
            rows.append(
                [f"{workers} worker{'s' * (workers > 1)}", duration(took), f"{alone / took:.2f}", duration(used)]
            )
        table(["", "took", "times as fast", "of the processor"], rows)

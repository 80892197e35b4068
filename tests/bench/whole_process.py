"""`stillheld check examples/litter-lower.rig` as a whole process, and what its imports cost."""

from __future__ import annotations

import statistics
import subprocess
import sys
import time
from pathlib import Path

from .measuring import FOLDER, duration, heading, table

NAME = "whole-process"
EXAMPLE = "examples/litter-lower.rig"
MAIN = "import sys; from analyser.doors.commands.main import main; sys.exit(main())"


def run(*, quick: bool) -> None:
    heading(NAME, f"stillheld check {EXAMPLE}, from start to end")
    script = Path(sys.executable).with_name("stillheld")
    call = [str(script)] if script.exists() else [sys.executable, "-c", MAIN]
    runs = 5 if quick else 15
    rows = []
    for words, command in (
        (f"stillheld check {EXAMPLE}", [*call, "check", EXAMPLE]),
        (f"stillheld check --json {EXAMPLE}", [*call, "check", "--json", EXAMPLE]),
        ("stillheld --help", [*call, "--help"]),
        ("python -c pass", [sys.executable, "-c", "pass"]),
    ):
        times = [_seconds(command) for _ in range(runs)]
        rows.append([words, runs, duration(statistics.median(times)), duration(min(times)), duration(max(times))])
    table(("command", "runs", "median", "fastest", "slowest"), rows)
    found = _imports([sys.executable, "-X", "importtime", "-c", MAIN, "check", EXAMPLE])
    total = sum(own for own, _, _ in found)
    print(f"\n  imports: {len(found)} modules, {duration(total / 1e6)} in all (one run); the ten that take most:\n")
    table(
        ("module", "own", "with its own imports"),
        [[name, duration(own / 1e6), duration(both / 1e6)] for own, both, name in sorted(found, reverse=True)[:10]],
    )
    packages: dict[str, int] = {}
    for own, _, name in found:
        packages[name.split(".")[0]] = packages.get(name.split(".")[0], 0) + own
    print()
    table(
        ("package", "own, all its modules"),
        [[name, duration(own / 1e6)] for name, own in sorted(packages.items(), key=lambda item: -item[1])[:8]],
    )


def _seconds(command: list[str]) -> float:
    start = time.perf_counter()
    done = subprocess.run(command, cwd=FOLDER, capture_output=True, check=False)
    taken = time.perf_counter() - start
    if done.returncode not in (0, 1):
        raise RuntimeError(done.stderr.decode()[-2000:])
    return taken


def _imports(command: list[str]) -> list[tuple[int, int, str]]:
    """Own and cumulative microseconds of every module that was imported."""
    done = subprocess.run(command, cwd=FOLDER, capture_output=True, text=True, check=False)
    found = []
    for line in done.stderr.splitlines():
        fields = line.removeprefix("import time:").split("|")
        if line.startswith("import time:") and len(fields) == 3 and fields[0].strip().isdigit():
            found.append((int(fields[0]), int(fields[1]), fields[2].strip()))
    return found

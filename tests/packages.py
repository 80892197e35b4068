"""The wheel as somebody has it who has no repository: built, installed by itself, every command run.

    python tests/packages.py              with the versions of tests/constraints.txt
    python tests/packages.py --lowest     with the lowest versions that pyproject.toml allows
    python tests/packages.py --bill FILE  and a bill of materials of that environment (CycloneDX, JSON)

Takes a minute or two, and asks the package registry.
"""

from __future__ import annotations

import argparse
import os
import re
import subprocess
import sys
import tempfile
import tomllib
from pathlib import Path

from analyser.doors.commands.main import COMMANDS

ROOT = Path(__file__).parent.parent
CONSTRAINTS = Path(__file__).parent / "constraints.txt"
LOWER, TILT, HAUL = "examples/litter-lower.rig", "examples/litter-tilt.rig", "examples/haul-three-to-one.rig"
PATIENCE = 900
"""Seconds for one command: an installation takes the longest."""
CASE, STAGED = "examples/incidents/one-sling.rig", "examples/crossings/rebelay.rig"
CALLS: dict[str, tuple[list[str], tuple[int, ...]]] = {
    "check": ([LOWER], (0,)),
    "whatif": ([LOWER, "--fail", "main-anchor fails"], (0, 2)),
    "why": ([LOWER], (0,)),
    "rank": ([LOWER], (0,)),
    "forces": (["examples/litter-bridle.rig"], (0, 1)),
    "mend": (["examples/two-lines-one-ring.rig"], (0,)),
    "compare": ([LOWER, "examples/litter-lower-strap-left-off.rig"], (0, 1)),
    "reorder": ([STAGED, "--stage", "?"], (0, 1, 2)),
    "procedure": ([LOWER, "-o", "procedure.html"], (0, 1)),
    "failures": ([LOWER, "-o", "failures.csv"], (0, 1)),
    "walkdown": ([LOWER, "-o", "walkdown.html"], (0, 1)),
    "card": ([LOWER, "-o", "card.html"], (0, 1)),
    "drill": ([LOWER, "--page", "-o", "drill.html"], (0,)),
    "report": ([LOWER, "-o", "report.html"], (0, 1)),
    "reconstruct": ([CASE, "-o", "case.html"], (0, 1)),
    "draw": ([LOWER, "-o", "rig.svg"], (0,)),
    "attitude": ([TILT, "basket"], (0, 1)),
    "haul": ([HAUL], (0, 1)),
    "format": (["--check", LOWER], (0,)),
    "explain": (["descender"], (0,)),
    "rules": ([], (0,)),
    "kinds": ([], (0,)),
    "start": (["first.rig"], (0,)),
    "desk": (["--no-browser", "there-is-none/one.rig"], (2,)),
    "watch": (["there-is-none.rig"], (2,)),
    "completion": (["bash"], (0,)),
    "language-server": ([], (1,)),
}
"""By command: words of a call, and the exit statuses that it may end with."""


EXTRAS = ("cluster", "frame")
"""What a user may install beside, and tried here with the rest."""
FRAME = f"import analyser; assert len(analyser.check(analyser.read('{LOWER}')).to_frame())"
CLUSTER = """
import subprocess, sys
from distributed import LocalCluster
if __name__ == "__main__":
    with LocalCluster(n_workers=1, threads_per_worker=1, dashboard_address=None) as cluster:
        words = [sys.argv[1], "check", *sys.argv[2:], "--on", f"dask:{cluster.scheduler_address}"]
        sys.exit(subprocess.run(words, stdin=subprocess.DEVNULL).returncode)
"""


def lowest() -> list[str]:
    """Each package that is needed, with the extras, pinned to the lower bound of `pyproject.toml`."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    extras = (one for extra in EXTRAS for one in project["optional-dependencies"][extra])
    return [re.sub(r">=", "==", one) for one in (*project["dependencies"], *extras)]


def run(command: list[str], folder: Path, **more: str) -> subprocess.CompletedProcess[str]:
    env = {name: value for name, value in os.environ.items() if name not in ("PYTHONPATH", "VIRTUAL_ENV")} | more
    return subprocess.run(
        command,
        cwd=folder,
        env=env,
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        check=False,
        timeout=PATIENCE,
    )


def must(command: list[str], folder: Path) -> None:
    done = run(command, folder)
    if done.returncode:
        raise SystemExit(f"{' '.join(command)}\n{done.stdout[-2000:]}{done.stderr[-2000:]}")


def installed(folder: Path, *, low: bool) -> Path:
    """An environment with the wheel in it; the folder of its programs."""
    must([sys.executable, "-m", "pip", "wheel", "-q", "--no-deps", "-w", str(folder), str(ROOT)], folder)
    (wheel,) = folder.glob("stillheld-*.whl")
    must([sys.executable, "-m", "venv", str(folder / "there")], folder)
    programs = folder / "there" / "bin"
    pins = folder / "pins.txt"
    pins.write_text("\n".join(lowest()) + "\n" if low else CONSTRAINTS.read_text(encoding="utf-8"), encoding="utf-8")
    must([str(programs / "pip"), "install", "-q", "-c", str(pins), f"{wheel}[{','.join(EXTRAS)}]"], folder)
    return programs


def ran(programs: Path, folder: Path) -> list[str]:
    """Every command once; what went wrong, in words."""
    wrong = []
    (folder / "examples").symlink_to(ROOT / "examples")
    for name in COMMANDS:
        words, statuses = CALLS[name]
        done = run([str(programs / "stillheld"), name, *words], folder)
        fine = done.returncode in statuses and "Traceback" not in done.stderr
        print(f"{'ran' if fine else 'WRONG':<6}{name:<17}{done.returncode}", flush=True)
        if not fine:
            wrong.append(f"{name}: status {done.returncode}\n{done.stderr[-1500:]}")
    (folder / "on_a_cluster.py").write_text(CLUSTER, encoding="utf-8")
    python = str(programs / "python")
    for extra, words in (
        ("frame", [python, "-c", FRAME]),
        ("cluster", [python, "on_a_cluster.py", str(programs / "stillheld"), LOWER, HAUL]),
    ):
        done = run(words, folder)
        print(f"{'WRONG' if done.returncode else 'ran':<6}{extra:<17}{done.returncode}", flush=True)
        if done.returncode:
            wrong.append(f"{extra}: status {done.returncode}\n{done.stderr[-1500:]}")
    return wrong


def bill(programs: Path, folder: Path, target: Path) -> None:
    """A bill of materials of the environment, made by cyclonedx-bom in one of its own."""
    must([sys.executable, "-m", "venv", str(folder / "maker")], folder)
    must([str(folder / "maker" / "bin" / "pip"), "install", "-q", "cyclonedx-bom"], folder)
    maker = str(folder / "maker" / "bin" / "cyclonedx-py")
    must([maker, "environment", str(programs / "python"), "--of", "JSON", "-o", str(target.resolve())], folder)


def main() -> int:
    asked = argparse.ArgumentParser(description="The wheel outside the repository.")
    asked.add_argument("--lowest", action="store_true", help="the lowest versions that pyproject.toml allows")
    asked.add_argument("--bill", type=Path, metavar="FILE", help="write a bill of materials too")
    options = asked.parse_args()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        programs = installed(folder, low=options.lowest)
        wrong = ran(programs, folder)
        if options.bill:
            bill(programs, folder, options.bill)
    print("\n".join(wrong) or "every command ran")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())

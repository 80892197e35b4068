"""A budget bounds the whole command: what could not be done is said, in words and as data."""

from __future__ import annotations

import json
import re
import resource
import subprocess
import sys
from pathlib import Path

import pytest

import analyser
from analyser.checking import analysing
from analyser.doors.commands import watching
from analyser.doors.commands.main import main
from tests.bench.bounds import people
from tests.bench.stages import staged

ROOT = Path(__file__).parent.parent
PROGRAM = (
    "import sys\n"
    "from analyser.doors.commands import watching\n"
    "watching.LEAST = 0.0\n"
    "from analyser.doors.commands.main import main\n"
    "sys.exit(main())"
)
"""The command, with no seconds that it has in any case."""


def run(*words: str) -> tuple[subprocess.CompletedProcess[str], float]:
    """What it said, and the seconds of the processor that it took."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    done = subprocess.run(
        [sys.executable, "-c", PROGRAM, *words], cwd=ROOT, capture_output=True, text=True, check=False
    )
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return done, after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


@pytest.fixture(scope="module")
def start() -> float:
    """Seconds for the start of Python and of the command, and for a small rig: the least of two."""
    return min(run("check", str(ROOT / "examples" / "two-lines-one-ring.rig"))[1] for _ in range(2))


@pytest.fixture(scope="module")
def large(tmp_path_factory: pytest.TempPathFactory) -> str:
    path = tmp_path_factory.mktemp("large") / "large.rig"
    path.write_text(people(3000), encoding="utf-8")
    return str(path)


def test_a_command_ends_within_its_budget(large: str, start: float) -> None:
    done, seconds = run("check", large, "--budget", "1s")
    assert done.returncode == 2 and not done.stdout
    assert done.stderr.startswith("large.rig:1:1: stopped: the budget of 1 s was spent while ")
    assert done.stderr.splitlines()[1].lstrip().startswith("give it more time")
    assert seconds < 1.2 + 1.5 * start, "beside the start of Python and of the command, as long as a small rig takes"


def test_it_is_said_as_data_too(large: str) -> None:
    done, _ = run("check", large, "--json", "--budget", "0.3s")
    assert done.returncode == 2 and not done.stderr
    assert "the budget of 0.3 s was spent" in json.loads(done.stdout)["errors"][0]["text"]


def test_of_many_rigs_the_others_are_told(large: str) -> None:
    small = str(ROOT / "examples" / "two-lines-one-ring.rig")
    done, _ = run("check", large, small, "--summary", "--jobs", "1", "--budget", "3s")
    assert done.returncode == 2
    assert "the budget of 3 s was spent" in done.stdout and "NOT MET" in done.stdout and "ann" in done.stdout


def test_an_order_is_looked_for_within_the_budget(tmp_path: Path, start: float) -> None:
    rig = tmp_path / "steps.rig"
    rig.write_text(staged(60, 60), encoding="utf-8")
    done, seconds = run("reorder", str(rig), "--stage", "Change over", "--budget", "0.05s")
    assert seconds < 0.06 + 2 * start
    assert done.returncode == 2 and "the budget of 0.05 s was spent while orders were looked for" in done.stderr


def test_there_is_time_for_a_usual_rig_however_small_the_budget() -> None:
    command = [sys.executable, "-m", "analyser.doors.commands.main", "check", "examples/two-lines-one-ring.rig"]
    done = subprocess.run([*command, "--budget", "0s"], cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 1 and "master" in done.stdout


def test_who_is_held_is_told_where_there_is_no_time_for_more(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def time_is_up(*given: object, **more: object) -> None:
        raise watching.OutOfTime

    rig = str(ROOT / "examples" / "two-lines-one-ring.rig")
    whole = analyser.check(analyser.read(rig))
    alone = {names[0] for names in whole.failure_sets["ann"] if len(names) == 1}
    monkeypatch.setattr(analysing, "analyse", time_is_up)
    assert main(["check", rig, "--budget", "60s"]) == 2
    told, said = capsys.readouterr()
    assert "no more is told than who is held" in said
    assert told.splitlines()[1].startswith("NOT KNOWN") and "No verdict: " in told
    assert re.search(r"ann +held; not held after 1 ALONE: .*master", told)
    assert main(["check", rig, "--budget", "60s", "--json"]) == 2
    (ann,) = json.loads(capsys.readouterr()[0])["held"]
    assert set(ann["not_held_after"]) == alone and ann["fate"]["fate"] == "held"

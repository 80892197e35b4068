"""The exit status never lies: it is the answer's own, or 2 where the answer could not be delivered."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
BROKEN = "examples/two-lines-one-ring.rig"
MET = "examples/litter-lower.rig"


def run(command: str) -> subprocess.CompletedProcess[str]:
    """A shell's line; `stillheld` in it is the command under test."""
    line = command.replace("stillheld", f"{sys.executable} -m analyser.doors.commands.main")
    shell = ["bash", "-o", "pipefail", "-c", line]
    return subprocess.run(shell, capture_output=True, text=True, cwd=ROOT, check=False)


@pytest.mark.parametrize(("rig", "status"), [(BROKEN, 1), (MET, 0)])
@pytest.mark.parametrize("options", ["", "--json"])
def test_a_reader_who_stops_reading_changes_no_answer(rig: str, status: int, options: str) -> None:
    done = run(f"stillheld check {rig} {options} | head -c 1")
    assert (done.returncode, done.stderr) == (status, "")


@pytest.mark.parametrize("options", ["", "--json"])
@pytest.mark.parametrize("where", [">/dev/full", ">&-"])
def test_an_answer_that_nobody_gets_is_none(options: str, where: str) -> None:
    done = run(f"stillheld check {MET} {options} {where}")
    assert done.returncode == 2
    assert done.stderr.startswith("the answer could not be written to standard output: ")
    assert done.stderr.count("\n") == 1


@pytest.mark.parametrize("command", ["--help", "--version", "kinds", "explain descender", f"failures {MET}"])
def test_no_command_ends_in_a_traceback_on_a_full_disk(command: str) -> None:
    done = run(f"stillheld {command} >/dev/full")
    assert done.returncode == 2
    assert done.stderr.splitlines()[-1].startswith("the answer could not be written")
    assert "Traceback" not in done.stderr


def test_a_document_in_a_file_needs_no_standard_output(tmp_path: Path) -> None:
    target = tmp_path / "rig.dot"
    done = run(f"stillheld draw {MET} -o {target} >&-")
    assert done.returncode == 0
    assert target.read_text(encoding="utf-8").startswith("digraph")


def test_a_closed_input_is_an_empty_one() -> None:
    done = run("stillheld check - <&-")
    assert done.returncode == 2
    assert done.stderr.startswith("standard input:1:1: this file is empty")


def test_a_closed_error_stream_takes_nothing_from_the_answer() -> None:
    done = run(f"stillheld check {BROKEN} 2>&-")
    assert done.returncode == 1
    assert done.stdout.splitlines()[0].startswith("Two lines to one ring")

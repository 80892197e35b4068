"""The exit status never lies: it is the answer's own, or 2 where the answer could not be delivered."""

from __future__ import annotations

import json
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


@pytest.mark.parametrize("command", [f"watch {BROKEN}", f"desk --no-browser {BROKEN}", f"drill {BROKEN} </dev/null"])
@pytest.mark.parametrize("where", [">/dev/full", ">&-"])
def test_what_goes_on_ends_where_nobody_can_be_told(command: str, where: str) -> None:
    done = run(f"stillheld {command} {where}")
    assert done.returncode == 2
    assert done.stderr.startswith("the answer could not be written to standard output: ")
    assert done.stderr.count("\n") == 1


def test_a_drill_ends_with_its_reader() -> None:
    done = run(f"(yes 1 || true) | stillheld drill {BROKEN} | head -1")
    assert (done.returncode, done.stderr) == (0, "")


def test_a_state_that_is_not_there_is_told_as_json_too() -> None:
    done = run(f"stillheld failures {MET} --state 9 --json")
    assert done.returncode == 2
    assert "there is no state 9" in json.loads(done.stdout)["errors"][0]["text"]


@pytest.mark.parametrize("loading", ["argparse", "analyser.doors.commands.rank", "lark", "analyser.holding.search"])
def test_an_interrupt_while_modules_load_is_no_traceback(loading: str) -> None:
    """A real signal, as the module of that name is looked for."""
    program = (
        "import os, signal, sys\n"
        "signal.signal(signal.SIGINT, signal.default_int_handler)\n"  # one started in the background ignores it
        "class Interrupt:\n"
        "    def find_spec(self, name, path=None, target=None):\n"
        f"        if name == {loading!r}:\n"
        "            os.kill(os.getpid(), signal.SIGINT)\n"
        "sys.meta_path.insert(0, Interrupt())\n"
        "from analyser.doors.commands.main import main\n"
        f"sys.exit(main(['rank', {BROKEN!r}]))\n"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, cwd=ROOT, check=False)
    assert (done.returncode, done.stdout, done.stderr) == (130, "", "stopped\n")


def test_nothing_much_is_loaded_before_interrupts_are_heard() -> None:
    program = "import sys; import analyser.doors.commands.main; print(*sys.modules)"
    done = subprocess.run([sys.executable, "-I", "-c", program], capture_output=True, text=True, cwd=ROOT, check=True)
    assert not {"argparse", "pathlib", "typing", "re"} & set(done.stdout.split())

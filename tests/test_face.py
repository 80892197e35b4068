"""`import analyser`: one verb a use, typed; results that show themselves; refused as on the command line."""

from __future__ import annotations

import doctest
import inspect
import re
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from contracted import agreed
from user_script import main as user_script

import analyser
from analyser.checking.delivered import Delivered
from analyser.doors.commands.main import main
from analyser.doors.notebook.showing import COMMANDS
from analyser.rig.model import Rig

ROOT = Path(__file__).parent.parent
EXAMPLES = ROOT / "examples"
RAISED = ("FactsMissing", "Refused", "Unreadable")
VERBS = [name for name in analyser.__all__ if name not in RAISED]


@pytest.fixture(scope="module")
def lower() -> Rig:
    return analyser.read(EXAMPLES / "litter-lower.rig")


def result_of(verb: str) -> Delivered:
    """What each verb gives."""
    rig = analyser.read(EXAMPLES / "litter-lower.rig")
    staged = analyser.read(EXAMPLES / "crossings" / "deviation.rig")
    tilt = analyser.read(EXAMPLES / "litter-tilt.rig")
    asked: dict[str, Callable[[], Delivered]] = {
        "check": lambda: analyser.check(rig),
        "whatif": lambda: analyser.whatif(rig, "left-bolt fails"),
        "why": lambda: analyser.why(rig, "sam"),
        "rank": lambda: analyser.rank(rig),
        "forces": lambda: analyser.forces(tilt, samples=4),
        "attitude": lambda: analyser.attitude(tilt, "basket", head_up=5.0),
        "haul": lambda: analyser.haul(analyser.read(EXAMPLES / "haul-three-to-one.rig")),
        "mend": lambda: analyser.mend(rig),
        "compare": lambda: analyser.compare(rig, rig),
        "reorder": lambda: analyser.reorder(staged, staged.stages[0].title),
        "reconstruct": lambda: analyser.reconstruct(analyser.read(EXAMPLES / "incidents" / "one-sling.rig")),
        "procedure": lambda: analyser.procedure(staged),
        "walkdown": lambda: analyser.walkdown(rig, EXAMPLES / "found" / "litter-lower.found"),
        "report": lambda: analyser.report(rig, 2),
    }
    return asked[verb]()


def test_a_page_that_reads_like_a_notebook_is_run() -> None:
    flags = doctest.ELLIPSIS | doctest.NORMALIZE_WHITESPACE
    ran = doctest.testfile(str(Path(__file__).parent / "notebook.md"), module_relative=False, optionflags=flags)
    assert ran.attempted > 20 and not ran.failed


def test_a_users_script_runs_and_is_typed(tmp_path: Path) -> None:
    told = user_script(tmp_path / "rig.svg")
    assert told["sam"] == (2, 2, []) and (tmp_path / "rig.svg").read_text(encoding="utf-8").count("</svg>") == 1
    command = [sys.executable, "-m", "mypy", "--strict", "tests/user_script.py"]
    ran = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert ran.returncode == 0, ran.stdout


def test_the_script_uses_every_verb() -> None:
    text = (Path(__file__).parent / "user_script.py").read_text(encoding="utf-8")
    assert set(re.findall(r"analyser\.(\w+)\(", text)) == set(VERBS)


def test_it_is_marked_as_typed() -> None:
    for package in ("analyser", "grammar"):
        assert (ROOT / package / "py.typed").exists()


@pytest.mark.parametrize("verb", VERBS)
def test_every_verb_is_documented(verb: str) -> None:
    of = getattr(analyser, verb)
    assert inspect.isfunction(of) and of.__doc__ and len(of.__doc__.split()) > 8
    first = next(iter(inspect.signature(of).parameters))
    assert first in ("rig", "path", "text", "old"), "all alike: the rig first"


@pytest.mark.parametrize("verb", [verb for verb in VERBS if verb not in ("read", "read_text", "draw")])
def test_a_result_shows_itself(verb: str) -> None:
    result = result_of(verb)
    assert len(repr(result)) < 500 and repr(result).startswith(f"<{type(result).__name__}: ")
    document = result.to_dict()
    agreed(document)
    assert document["document"] == verb
    frame = result.to_frame()
    assert len(frame) or verb == "attitude", "no sweep was asked for"
    html = result._repr_html_()
    assert html.count("<div") == html.count("</div") and "<script" not in html


def test_every_result_with_a_command_has_that_commands_page() -> None:
    for name, command in COMMANDS.items():
        assert type(result_of(command)).__name__ == name


def test_the_room_of_a_verbs_name_does_not_take_its_place(lower: Rig) -> None:
    import analyser.forces.loads

    assert inspect.isfunction(analyser.forces) and analyser.forces(lower).states[0].loads is None


@pytest.mark.parametrize(
    ("words", "call"),
    [
        (["check", "R", "--order", "7"], lambda rig: analyser.check(rig, order=7)),
        (["check", "R", "--only", "single-pont"], lambda rig: analyser.check(rig, only=["single-pont"])),
        (["whatif", "R", "left-blot fails"], lambda rig: analyser.whatif(rig, "left-blot fails")),
        (["whatif", "R", "left-bolt fails", "--state", "3"], lambda rig: analyser.whatif(rig, state=3)),
        (["why", "R", "sma"], lambda rig: analyser.why(rig, "sma")),
        (["haul", "R", "x"], lambda rig: analyser.haul(rig, "x")),
        (["haul", "R"], lambda rig: analyser.haul(rig)),
        (["reorder", "R", "--stage", "x"], lambda rig: analyser.reorder(rig, "x")),
        (["mend", "R", "--most", "0"], lambda rig: analyser.mend(rig, most=0)),
        (["attitude", "R", "basket"], lambda rig: analyser.attitude(rig, "basket")),
        (["draw", "R", "--side", "-o", "x.svg"], lambda rig: analyser.draw(rig, view="side")),
        (["reconstruct", "R"], lambda rig: analyser.reconstruct(rig)),
    ],
    ids=lambda one: " ".join(one) if isinstance(one, list) else "",
)
def test_it_refuses_with_the_command_lines_message(
    words: list[str], call: Callable[[Rig], object], lower: Rig, capsys: pytest.CaptureFixture[str]
) -> None:
    path = str(EXAMPLES / "litter-lower.rig")
    try:
        assert main([path if word == "R" else word for word in words]) == 2
    except SystemExit as stopped:  # refused as the options are read
        assert stopped.code == 2
    said = " ".join(capsys.readouterr().err.replace("'", "").split())
    with pytest.raises((ValueError, analyser.Unreadable)) as refused:
        call(lower)
    if isinstance(refused.value, analyser.FactsMissing):
        told = [refused.value.missing.wanted[0].line]
    else:
        assert isinstance(refused.value, analyser.Unreadable)
        told = [words for one in refused.value.mistakes for words in (one.text, one.help)]
    for one in told:
        assert " ".join(one.replace("'", "").split()) in said or "lists them all" in said


def test_what_was_not_read_from_a_text_cannot_be_mended(lower: Rig) -> None:
    from dataclasses import replace

    for other in (analyser.check(lower).states[0].rig, replace(lower, title="Another")):
        with pytest.raises(analyser.Refused, match="was not read from a text"):
            analyser.mend(other)


def test_a_result_is_a_value(lower: Rig) -> None:
    with pytest.raises(AttributeError):
        analyser.whatif(lower, "left-bolt fails").failures = ()  # type: ignore[misc]
    assert analyser.check(lower).to_json() == analyser.check(lower).to_json()


def test_a_user_needs_no_guard_against_other_processes(tmp_path: Path) -> None:
    """Forces over bands work in many processes for a command; in a script they never start one."""
    script = tmp_path / "plain.py"
    rig = EXAMPLES / "slack-second-line.rig"
    script.write_text(f"import analyser\nprint(analyser.forces(analyser.read({str(rig)!r})))\n", encoding="utf-8")
    ran = subprocess.run([sys.executable, str(script)], capture_output=True, text=True, check=False)
    assert (ran.returncode, ran.stderr) == (0, "") and ran.stdout.startswith("<AllForces: ")

"""`stillheld start`: the templates teach and check, and nothing that is there is ever overwritten."""

from __future__ import annotations

import io
import json
import os
import pty
import re
import subprocess
import sys
import threading
import zipfile
from contextlib import suppress
from pathlib import Path

import pytest

import analyser
import grammar
from analyser.doors.commands.getting_out import NotDone
from analyser.doors.commands.main import main
from analyser.doors.commands.start import TEMPLATES, about, template, write

ROOT = Path(__file__).parent.parent
RUN = [sys.executable, "-m", "analyser.doors.commands.main"]
FULL = [name for name in TEMPLATES if name != "empty"]


def test_every_template_is_offered() -> None:
    folder = Path(grammar.__file__).parent / "templates"
    assert sorted(path.stem for path in folder.glob("*.rig")) == sorted(TEMPLATES)


@pytest.mark.parametrize("name", FULL)
def test_a_template_meets_what_it_asks_for(name: str) -> None:
    result = analyser.check(analyser.read_text(template(name)))
    assert result.exit_status == 0, result.closing
    assert not any(one.requirement.assumed for one in result.requirements)
    assert not result.rig.sound and not result.rig.accepted and not result.rig.cautions


@pytest.mark.parametrize("name", TEMPLATES)
def test_a_template_teaches(name: str) -> None:
    text = template(name)
    lines = text.splitlines()
    assert "nvented" in text and max(map(len, lines)) <= 110
    assert sum("#" in line for line in lines) >= 12
    assert about(name) == lines[0][2:] and len(about(name)) < 110
    assert not re.search(r"\bsafe(ly|ty)?\b", text, re.IGNORECASE)


def test_the_empty_template_reads_and_says_what_to_fill_in() -> None:
    text = template("empty")
    result = analyser.check(analyser.read_text(text))
    assert not result.bodies and result.exit_status == 1, "nobody in it: nothing is met"
    assert text.count("Fill in") >= 5
    filled = re.sub(r"^# (?=(anchor|edge|pad|person|attach|left-brake|rope|    |require)\b| {4})", "", text, flags=re.M)
    rig = analyser.read_text(filled)
    assert not rig.cautions and analyser.check(rig).exit_status == 0, "with the # taken off it is a whole rig"


def test_a_file_is_written_without_a_question(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    target = tmp_path / "plan.rig"
    assert main(["start", str(target), "--from", "track-line"]) == 0
    assert target.read_text(encoding="utf-8") == template("track-line")
    assert f"stillheld check {target}" in capsys.readouterr().out


def test_the_default_on_a_pipe(tmp_path: Path) -> None:
    env = os.environ | {"PYTHONPATH": str(ROOT)}
    run = subprocess.run([*RUN, "start"], cwd=tmp_path, input="", capture_output=True, text=True, check=False, env=env)
    assert (run.returncode, run.stderr) == (0, "")
    assert [path.name for path in tmp_path.iterdir()] == [f"{TEMPLATES[0]}.rig"]


def test_on_standard_output(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["start", "-", "--from", "empty"]) == 0
    assert capsys.readouterr().out == template("empty")


def test_a_file_that_is_there_is_left_alone(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    target = tmp_path / "plan.rig"
    target.write_text("mine")
    (tmp_path / "plan-2.rig").write_text("mine too")
    assert main(["start", str(target)]) == 2
    assert target.read_text() == "mine"
    said = capsys.readouterr().err
    assert "is there already, and is never overwritten" in said
    assert f"stillheld start {tmp_path / 'plan-3.rig'} --from {TEMPLATES[0]}" in said


def test_a_dangling_link_is_not_followed(tmp_path: Path) -> None:
    link = tmp_path / "plan.rig"
    link.symlink_to(tmp_path / "elsewhere.rig")
    with pytest.raises(NotDone):
        write("empty", link)
    assert not (tmp_path / "elsewhere.rig").exists()


def test_of_many_at_once_one_writes(tmp_path: Path) -> None:
    """The file is found absent and created in one step: however many race, one wins."""
    start = threading.Barrier(8)
    written = []

    def race() -> None:
        start.wait()
        with suppress(NotDone):
            written.append(write("empty", tmp_path / "plan.rig"))

    threads = [threading.Thread(target=race) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(written) == 1


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["plan.rig", "--from", "tripod"], "did you mean `tripod-raise`?"),
        (["plan.rig", "--from", "zzz"], "there are: two-rope-lower"),
        (["no/such/folder/plan.rig"], "there is no folder no/such/folder"),
        ([".."], "is a folder"),
        (["a\0b"], "cannot be written"),
    ],
)
def test_what_cannot_be_written(
    arguments: list[str], said: str, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(["start", *arguments]) == 2
    assert said in capsys.readouterr().err
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize("name", ["x" * 300, "a\0b"], ids=["long", "nul"])
def test_a_name_that_no_file_can_have_is_told(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    for call in (["start", name], ["start", f"{name}.rig"], ["start", "--lessons", name]):
        assert main(call) == 2
        assert "cannot be written" in capsys.readouterr().err


def test_the_list(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["start", "--list"]) == 0
    *listed, lessons = capsys.readouterr().out.splitlines()
    assert [line.split()[0] for line in listed] == list(TEMPLATES)
    assert lessons == "twelve lessons to drill: stillheld start --lessons FOLDER"
    assert main(["start", "--list", "--json"]) == 0
    assert [one["template"] for one in json.loads(capsys.readouterr().out)["templates"]] == list(TEMPLATES)


def on_a_terminal(folder: Path, answers: str, *arguments: str) -> tuple[int, str]:
    """Run `stillheld start` on a real terminal of its own, and type the answers."""
    main_end, own_end = pty.openpty()
    process = subprocess.Popen(
        [*RUN, "start", *arguments],
        cwd=folder,
        stdin=own_end,
        stdout=own_end,
        stderr=own_end,
        env=os.environ | {"PYTHONPATH": str(ROOT)},
    )
    os.close(own_end)
    os.write(main_end, answers.encode())
    said = io.BytesIO()
    with suppress(OSError):  # how Linux tells that the other end is closed
        while piece := os.read(main_end, 4096):
            said.write(piece)
    os.close(main_end)
    return process.wait(timeout=20), said.getvalue().decode()


def test_a_terminal_is_asked_little(tmp_path: Path) -> None:
    status, said = on_a_terminal(tmp_path, "9\n2\n\n")
    assert status == 0 and "write a number from 1 to 5" in said
    assert (tmp_path / "tripod-raise.rig").read_text() == template("tripod-raise")
    status, said = on_a_terminal(tmp_path, "tripod-raise\nother\n", "--from", "tripod-raise")
    assert status == 0 and "which one?" not in said and "tripod-raise-2.rig is free" in said
    assert (tmp_path / "other.rig").exists()
    status, said = on_a_terminal(tmp_path, "", "third.rig", "--from", "empty")
    assert status == 0 and "?" not in said, "both are told: nothing is asked"


def test_leaving_a_question_writes_nothing(tmp_path: Path) -> None:
    status, said = on_a_terminal(tmp_path, "\x04")
    assert status == 2 and "nothing was written" in said
    assert not list(tmp_path.iterdir())


def test_the_wheel_holds_the_language(tmp_path: Path) -> None:
    """What is read at run time and isn't Python goes along when the package is built."""
    build = pytest.importorskip("hatchling.builders.wheel", reason="hatchling builds the wheel")
    (wheel,) = build.WheelBuilder(str(ROOT)).build(directory=str(tmp_path), versions=["standard"])
    names = set(zipfile.ZipFile(wheel).namelist())
    assert {f"grammar/templates/{name}.rig" for name in TEMPLATES} <= names
    assert {f"grammar/lessons/{name}" for name in grammar.lessons()} <= names
    assert {"grammar/rig.lark", "grammar/card.md", "grammar/rig.tmLanguage.json"} <= names
    assert {"analyser/pages/html/base.html", "analyser/pages/html/report.js"} <= names


def test_a_template_is_no_json(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["start", str(tmp_path / "new.rig"), "--json"]) == 2
    assert "`--json` goes with `--list`" in capsys.readouterr().err and not list(tmp_path.iterdir())

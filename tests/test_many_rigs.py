"""Many rigs at once: files and folders, several processes, one table, one array."""

from __future__ import annotations

import csv
import io
import json
import os
import re
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from analyser.doors.commands.main import main
from analyser.doors.commands.several import each, rigs_named
from analyser.language.mistakes import Unreadable

EXAMPLES = Path(__file__).parent.parent / "examples"
GOOD = 'rig "{0}"\nanchor left, right\nperson sam: points waist, chest\nattach left - strap a - sam.waist\n'
TWO = GOOD + "attach right - strap b - sam.chest\n"
BAD = 'rig "Bad"\nanchor bolt\nattach bolt - strapp s\n'


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Three rigs that can be read and one that can't, in two folders; what is hidden is no rig of ours."""
    (tmp_path / "b").mkdir()
    (tmp_path / ".hidden").mkdir()
    (tmp_path / "one.rig").write_text(GOOD.format("One strap"))
    (tmp_path / "two.rig").write_text(TWO.format("Two straps"))
    (tmp_path / "b" / "bad.rig").write_text(BAD)
    (tmp_path / "b" / "one.rig").write_text(TWO.format("The other one"))
    (tmp_path / ".hidden" / "no.rig").write_text(BAD)
    (tmp_path / ".kept.rig").write_text(BAD)
    (tmp_path / "notes.txt").write_text("nothing")
    return tmp_path


def asked(*arguments: str, within: Path | None = None) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "analyser.doors.commands.main", *arguments]
    surely = {**os.environ, "PYTHONPATH": str(EXAMPLES.parent)}
    return subprocess.run(command, capture_output=True, text=True, check=False, cwd=within, env=surely)


def test_a_folder_is_its_rigs_and_those_below(folder: Path) -> None:
    names = [Path(one.name).relative_to(folder).as_posix() for one in rigs_named([str(folder)])]
    assert names == ["b/bad.rig", "b/one.rig", "one.rig", "two.rig"]
    again = rigs_named([str(folder / "two.rig"), str(folder), str(folder / "two.rig")])
    assert [Path(one.name).name for one in again] == ["two.rig", "bad.rig", "one.rig", "one.rig"]


def test_a_folder_without_rigs_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(Unreadable):
        rigs_named([str(tmp_path)])
    assert main(["check", str(tmp_path)]) == 2
    said = capsys.readouterr().err
    assert "there is no .rig file in this folder or below" in said and "name a file" in said
    assert main(["check", str(tmp_path), "--json"]) == 2
    assert "no .rig file" in json.loads(capsys.readouterr().out)["errors"][0]["text"]
    assert main(["failures", str(tmp_path)]) == 2


def test_a_link_back_to_a_folder_is_not_followed(folder: Path) -> None:
    (folder / "b" / "round").symlink_to(folder, target_is_directory=True)
    assert len(rigs_named([str(folder)])) == 4


def test_the_same_bytes_whatever_the_number_of_processes(folder: Path) -> None:
    for more in ((), ("--json",), ("--summary",)):
        answers = [asked("check", str(folder), *more, "--jobs", jobs) for jobs in ("1", "3")]
        assert {one.returncode for one in answers} == {2}  # one of them can't be read
        assert len({one.stdout for one in answers}) == 1
        assert len({one.stderr for one in answers}) == 1


def test_one_bad_file_stops_no_other(folder: Path) -> None:
    answer = asked("check", ".", within=folder)
    assert "bad.rig:3:15: there is no kind of part called `strapp`" in answer.stderr
    lines = answer.stdout.splitlines()
    told = [re.split(r"  +", line)[:2] for line in lines[2:6]]
    assert told == [["NOT READ", "b/bad.rig"], ["NOT MET", "one.rig"], ["met", "b/one.rig"], ["met", "two.rig"]]
    assert "(line 3)" in lines[2]
    assert "4 rigs: 2 met, 1 not met, 1 could not be read" in answer.stdout
    for title in ("The other one  one.rig", "One strap  one.rig", "Two straps  two.rig"):
        assert title in answer.stdout
    assert "The other one  one.rig" not in asked("check", str(folder), "--summary").stdout


def test_an_array_in_order_with_each_file(folder: Path) -> None:
    told = json.loads(asked("check", str(folder), "--json").stdout)
    assert [Path(one["file"]).name for one in told] == ["bad.rig", "one.rig", "one.rig", "two.rig"]
    assert "errors" in told[0]
    assert [one.get("verdict") for one in told] == [None, "met", "not met", "met"]
    alone = json.loads(asked("check", str(folder / "one.rig"), "--json").stdout)
    assert {**alone, "file": told[2]["file"]} == told[2]
    (single,) = json.loads(asked("check", str(folder / "b" / ".."), str(folder / "one.rig"), "--json").stdout)[-1:]
    assert single["verdict"] == "met" or single["file"]


def test_a_folder_of_one_is_an_array_too(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "two.rig").write_text(TWO.format("Two straps"))
    assert main(["check", str(tmp_path), "--json"]) == 0
    (only,) = json.loads(capsys.readouterr().out)
    assert only["verdict"] == "met"
    assert main(["check", str(tmp_path)]) == 0
    assert "1 rig: 1 met, 0 not met" in capsys.readouterr().out


def test_names_in_no_known_writing(tmp_path: Path) -> None:
    name = os.fsencode(tmp_path) + b"/caf\xe9.rig"
    try:
        with open(name, "wb") as file:  # noqa: PTH123 - a name that no text can hold
            file.write(TWO.format("Two straps").encode())
    except OSError:
        pytest.skip("this file system takes no such name")
    told = asked("check", str(tmp_path), "--json")
    assert told.returncode == 0
    assert json.loads(told.stdout)[0]["verdict"] == "met"


@pytest.mark.skipif(os.geteuid() == 0, reason="root may read everything")
def test_a_file_that_may_not_be_read_is_told(folder: Path) -> None:
    (folder / "one.rig").chmod(0)
    told = asked("check", str(folder), "--summary")
    assert told.returncode == 2 and "2 could not be read" in told.stdout


def test_two_hundred_rigs(tmp_path: Path) -> None:
    for k in range(200):
        (tmp_path / f"r{k:03}.rig").write_text((TWO if k % 2 else GOOD).format(f"Rig {k}"))
    told = asked("check", str(tmp_path), "--summary", "--jobs", "2")
    assert told.returncode == 1
    assert "200 rigs: 100 met, 100 not met" in told.stdout


def _ends_on_bad(name: str) -> str:
    """A task that ends its own process, as the kernel does with one that takes too much memory."""
    if Path(name).name == "bad.rig":
        os._exit(9)
    return name


def test_a_process_that_ends_is_told_and_stops_no_other(folder: Path) -> None:
    rigs = rigs_named([str(folder)])
    answers = list(each(_ends_on_bad, rigs, 2, lambda name: "lost"))
    assert answers == ["lost", *(one.name for one in rigs[1:])]


def test_a_stop_by_hand_ends_all_processes(tmp_path: Path) -> None:
    for k in range(60):
        (tmp_path / f"r{k:03}.rig").write_text((EXAMPLES / "crossings" / "litter-tilt.rig").read_text(encoding="utf-8"))
    command = [sys.executable, "-m", "analyser.doors.commands.main", "check", ".", "--jobs", "2"]
    surely = {**os.environ, "PYTHONPATH": str(EXAMPLES.parent)}
    pipe = subprocess.PIPE

    def heard() -> None:  # a test run in the background has Ctrl-C ignored, and hands that on
        signal.signal(signal.SIGINT, signal.SIG_DFL)

    with subprocess.Popen(
        command, cwd=tmp_path, env=surely, stdout=pipe, stderr=pipe, text=True, start_new_session=True, preexec_fn=heard
    ) as asking:
        time.sleep(3)  # both processes are at work by then; 60 such rigs take a minute
        os.killpg(asking.pid, signal.SIGINT)
        try:
            out, said = asking.communicate(timeout=30)
        except subprocess.TimeoutExpired:
            os.killpg(asking.pid, signal.SIGKILL)
            raise
    assert (asking.returncode, out, said) == (130, "", "stopped\n")
    for _ in range(50):
        try:
            os.killpg(asking.pid, 0)
        except ProcessLookupError:
            return
        time.sleep(0.2)
    os.killpg(asking.pid, signal.SIGKILL)
    pytest.fail("a process of its own was left behind")


def test_standard_input_among_files(folder: Path) -> None:
    command = [sys.executable, "-m", "analyser.doors.commands.main", "check", str(folder / "one.rig"), "-", "--json"]
    done = subprocess.run(command, input=TWO.format("Piped"), capture_output=True, text=True, check=False)
    assert [one["rig"] for one in json.loads(done.stdout)] == ["One strap", "Piped"]


# -- worksheets


def test_the_worksheets_of_many_are_one_table(folder: Path, tmp_path: Path) -> None:
    target = tmp_path / "all.csv"
    told = asked("failures", str(folder), "-o", str(target))
    assert told.returncode == 2  # bad.rig
    assert "bad.rig:3:15" in told.stderr and f"{folder / 'one.rig'}: not met" in told.stderr
    rows = list(csv.reader(io.StringIO(target.read_text(encoding="utf-8-sig"), newline="")))
    alone = list(csv.reader(io.StringIO(asked("failures", str(folder / "one.rig")).stdout, newline="")))
    assert rows[0] == ["file", *alone[0]]
    assert [row[1:] for row in rows if row[0] == str(folder / "one.rig")] == alone[1:]
    assert list(dict.fromkeys(row[0] for row in rows[1:])) == [
        str(folder / one) for one in ("b/one.rig", "one.rig", "two.rig")
    ]


def test_worksheets_of_many_as_json_or_not_at_all(folder: Path) -> None:
    told = json.loads(asked("failures", str(folder), "--json").stdout)
    assert [Path(one["file"]).name for one in told] == ["bad.rig", "one.rig", "one.rig", "two.rig"]
    assert "errors" in told[0] and told[1]["document"] == "failures"
    refused = asked("failures", str(folder), "-o", str(folder / "all.html"))
    assert refused.returncode == 2 and "write a name that ends in .csv" in refused.stderr
    assert not (folder / "all.html").exists()


# -- a library: a page each, and an index


def test_a_library_has_a_page_for_each_rig_and_an_index(folder: Path, tmp_path: Path) -> None:
    (folder / "index.rig").write_text(
        TWO.format('<script>alert("x")</script>').replace('"x"', "x").replace("(x)", "()")
    )
    out = tmp_path / "pages"
    told = asked("report", str(folder), "-o", str(out), "--json")
    assert told.returncode == 2 and "bad.rig:3:15" in told.stderr
    entries = json.loads(told.stdout)
    assert [(one["file"], one["page"]) for one in entries] == [
        ("b/bad.rig", None),
        ("b/one.rig", "b/one.html"),
        ("index.rig", "index-rig.html"),
        ("one.rig", "one.html"),
        ("two.rig", "two.html"),
    ]
    assert all(one["reviewed"] is None for one in entries)
    assert sorted(p.relative_to(out).as_posix() for p in out.rglob("*.html")) == [
        "b/one.html", "index-rig.html", "index.html", "one.html", "two.html",
    ]  # fmt: skip
    index = (out / "index.html").read_text(encoding="utf-8")
    assert "<script" not in index and "&lt;script&gt;" in index
    assert 'href="./b/one.html"' in index and "NOT READ" in index and "not reviewed" in index
    assert "5 rigs: 3 met, 1 not met, 1 could not be read" in index
    alone = tmp_path / "alone.html"
    asked("report", str(folder / "one.rig"), "-o", str(alone))
    assert alone.read_bytes() == (out / "one.html").read_bytes()
    before = index
    assert asked("report", str(folder), "-o", str(out)).returncode == 2  # ours: written again, the same bytes
    assert (out / "index.html").read_text(encoding="utf-8") == before


def test_the_review_beside_a_rig_is_told(folder: Path, tmp_path: Path) -> None:
    data = json.loads(asked("report", str(folder / "one.rig"), "--json").stdout)
    first = data["items"][0]
    entry = {
        "item": first["id"],
        "text": first["text"],
        "answer": "change",
        "note": "",
        "name": "kit",
        "date": "2026-03-01",
    }
    review = {
        "format": data["review_format"], "rig": data["rig"], "revision": data["revision"],
        "content": data["content"], "entries": [entry],
    }  # fmt: skip
    (folder / "one.review.json").write_text(json.dumps(review))
    out = tmp_path / "pages"
    entries = json.loads(asked("report", str(folder), "-o", str(out), "--json").stdout)
    reviewed = next(one["reviewed"] for one in entries if one["file"] == "one.rig")
    assert reviewed["date"] == "2026-03-01" and reviewed["names"] == ["kit"] and reviewed["of_this_text"] is True
    assert reviewed["not_answered"] == len(data["items"]) - 1
    assert "2026-03-01 by kit" in (out / "index.html").read_text(encoding="utf-8")
    (folder / "one.rig").write_text(GOOD.format("One strap") + "# changed\n")
    entries = json.loads(asked("report", str(folder), "-o", str(out), "--json").stdout)
    reviewed = next(one["reviewed"] for one in entries if one["file"] == "one.rig")
    assert reviewed["of_this_text"] is False
    assert "2026-03-01 by kit, of an earlier text" in (out / "index.html").read_text(encoding="utf-8")


def test_a_library_overwrites_nothing_that_is_not_its_own(folder: Path, tmp_path: Path) -> None:
    out = tmp_path / "pages"
    out.mkdir()
    (out / "index.html").write_text("mine")
    told = asked("report", str(folder), "-o", str(out))
    assert told.returncode == 2 and "there are files in it that are not ours" in told.stderr
    assert (out / "index.html").read_text() == "mine"
    assert "go into a folder" in asked("report", str(folder)).stderr
    assert "`--with` is for one rig" in asked("report", str(folder), "-o", str(out), "--with", "a.json").stderr

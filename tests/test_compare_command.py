"""`compare` as a command: JSON, statuses, what cannot be compared, a revision from git."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path
from textwrap import dedent

import pytest
from rigs import GULLY, PLAIN

import analyser
from analyser.doors.commands.main import main
from analyser.pages.drawing.both import both_source
from analyser.uses.comparing.comparison import compare

# -- the command


def test_json_has_its_keys_and_the_same_bytes(capsys: pytest.CaptureFixture[str]) -> None:
    main(["compare", *GULLY, "--json"])
    first = capsys.readouterr().out
    main(["compare", *GULLY, "--json"])
    assert capsys.readouterr().out == first
    data = json.loads(first)
    assert data["format"] == "stillheld/2"
    assert data["compared"]["new"] == {"rig": "Litter lower, north gully", "revision": "2"}
    assert {"different", "worse", "renamed", "changes", "bodies", "failure_sets", "requirements", "given"} <= set(data)
    assert {"findings", "stages", "states", "cautions"} <= set(data)
    numbers = [one["number"] for one in data["changes"]]
    assert numbers == list(range(1, len(numbers) + 1))
    gained = data["failure_sets"]["gained"]
    assert {n for one in gained for way in one["changes"] for n in way} <= set(numbers)


def test_the_same_bytes_whatever_the_hash_seed() -> None:
    outs = {
        subprocess.run(
            [sys.executable, "-m", "analyser.doors.commands.main", "compare", *GULLY, "--json"],
            capture_output=True,
            check=False,
            env={**os.environ, "PYTHONHASHSEED": seed},
        ).stdout
        for seed in ("1", "2", "3")
    }
    assert len(outs) == 1 and outs.pop()


def test_the_help_says_what_worse_is(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        main(["compare", "--help"])
    words = " ".join(capsys.readouterr().out.split())
    for piece in ("fewer attachments", "a requirement that was met", "an accepted risk", "Exit status"):
        assert piece in words


def test_which_of_the_two_cannot_be_read(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for side in ("v1", "v2"):
        (tmp_path / side).mkdir()
    (tmp_path / "v1/a.rig").write_text("rig 'x\n", encoding="utf-8")
    (tmp_path / "v2/a.rig").write_text('rig "b"\nanchor bolt\n', encoding="utf-8")
    names = [str(tmp_path / side / "a.rig") for side in ("v1", "v2")]
    assert main(["compare", *names]) == 2
    assert capsys.readouterr().err.startswith("the old revision (a.rig) can't be understood:\na.rig:1:")
    assert main(["compare", *reversed(names), "--json"]) == 2
    assert {one["of"] for one in json.loads(capsys.readouterr().out)["errors"]} == {"new"}
    assert main(["compare", names[0], str(tmp_path / "none.rig")]) == 2
    err = capsys.readouterr().err
    assert "the old revision" in err and "the new revision (none.rig)" in err
    assert main(["compare", names[1]]) == 2
    assert "stillheld compare OLD.rig NEW.rig" in capsys.readouterr().err


def test_markup_and_direction_marks_stay_text(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    text = 'rig "[red]<script>\\N{x} \u202e"\nanchor a: is "[bold]&lt;"\nperson p: points w\nattach a - strap s - p.w\n'
    for name, kept in (("a.rig", text), ("b.rig", text.replace("&lt;", "]]>"))):
        (tmp_path / name).write_text(kept, encoding="utf-8")
    picture = tmp_path / "both.svg"
    assert main(["compare", str(tmp_path / "a.rig"), str(tmp_path / "b.rig"), "--draw", str(picture)]) == 0
    out = capsys.readouterr().out
    assert "[red]<script>" in out and "a: note “[bold]]]>” (was “[bold]&lt;”)" in out
    assert "<script>" not in picture.read_text(encoding="utf-8")


def test_both_in_one_diagram(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """What is gone is dashed and says so, what is new is heavy and says so."""
    source = both_source(compare(*(analyser.read(path) for path in GULLY)))
    lines = source.splitlines()
    tiles = {
        name: next(line for line in lines if f"<B>{name}</B>" in line)
        for name in ("low-ring", "head-ring", "port-crab")
    }
    assert "GONE" in tiles["low-ring"] and "DASHED" in tiles["low-ring"]
    assert "NEW" in tiles["head-ring"] and 'BORDER="4"' in tiles["head-ring"]
    assert "was called left-crab" in tiles["port-crab"]
    assert any("GONE" in line and "style=dashed" in line for line in lines if "->" in line)
    assert any("NEW" in line and "penwidth=3" in line for line in lines if "->" in line)
    assert "attachments 2 → 1" in source
    picture = tmp_path / "both.svg"
    assert main(["compare", *GULLY, "--draw", str(picture)]) == 1
    assert picture.read_bytes().startswith(b"<?xml")
    assert main(["compare", *GULLY, "--draw", str(tmp_path / "both.txt")]) == 2
    assert "svg" in capsys.readouterr().err


# -- a revision from git


@pytest.fixture
def repository(tmp_path: Path) -> Path:
    """A repository with a rig and what it includes committed, and the rig changed since."""

    def git(*words: str) -> None:
        who = ["-c", "user.name=nobody", "-c", "user.email=nobody@example.invalid"]
        subprocess.run(["git", *who, *words], cwd=tmp_path, check=True, capture_output=True)

    (tmp_path / "rigs/kit").mkdir(parents=True)
    rig = tmp_path / "rigs/lower.rig"
    text = 'rig "Lower"\ninclude "kit/kit.rig"\n' + dedent(PLAIN)
    rig.write_text(text, encoding="utf-8")
    (tmp_path / "rigs/kit/kit.rig").write_text("kind tape like strap\n", encoding="utf-8")
    git("init", "-q")
    git("add", ".")
    git("commit", "-q", "-m", "first")
    rig.write_text(
        'rig "Lower"\n' + dedent(PLAIN).replace("attach right - strap back - sam.chest\n", ""), encoding="utf-8"
    )
    (tmp_path / "rigs/kit/kit.rig").unlink()
    return rig


def test_an_earlier_revision_with_what_it_included(repository: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["compare", "--git", "HEAD", str(repository)]) == 1
    out = capsys.readouterr().out
    assert "lower.rig in HEAD → lower.rig" in out
    assert "strap back, between right and sam.chest" in out


@pytest.mark.parametrize("revision", ["nowhere", "--output=x", "HEAD:rigs", "", "a\x1b[31m", "-h", "x\0y"])
def test_a_revision_that_is_not_there(repository: Path, revision: str, capsys: pytest.CaptureFixture[str]) -> None:
    before = sorted(repository.parent.rglob("*"))
    assert main(["compare", f"--git={revision}", str(repository)]) == 2
    err = capsys.readouterr().err
    assert err.startswith("the old revision (lower.rig in ")
    assert "\x1b" not in err
    assert sorted(repository.parent.rglob("*")) == before


def test_no_git_and_no_repository(
    repository: Path, tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    outside = tmp_path_factory.mktemp("outside") / "lower.rig"
    outside.write_text(repository.read_text(encoding="utf-8"), encoding="utf-8")
    assert main(["compare", "--git", "HEAD", str(outside)]) == 2
    assert "not in the working tree of a git repository" in capsys.readouterr().err
    monkeypatch.setenv("PATH", str(outside.parent))
    assert main(["compare", "--git", "HEAD", str(repository)]) == 2
    assert "git is not installed here" in capsys.readouterr().err


def test_a_file_that_the_revision_has_not(repository: Path, capsys: pytest.CaptureFixture[str]) -> None:
    other = repository.with_name("other.rig")
    other.write_text(repository.read_text(encoding="utf-8"), encoding="utf-8")
    assert main(["compare", "--git", "HEAD", str(other), "--json"]) == 2
    (error,) = json.loads(capsys.readouterr().out)["errors"]
    assert (error["of"], error["text"]) == ("old", "revision HEAD has no such file")

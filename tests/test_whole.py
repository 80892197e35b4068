"""Documents are written whole or not at all: whatever goes wrong, what was there before is there, byte for byte.

Faults are put under the running program by the system itself: a limit on the size of files, a small file system
that is full, and strace, which makes a chosen system call fail or kills the process in it.
"""

from __future__ import annotations

import os
import resource
import shutil
import signal
import stat
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from analyser.doors.commands.main import main
from analyser.doors.live.whole import Changed, OwnInput, put_new, put_whole

ROOT = Path(__file__).parent.parent
EXAMPLES = ROOT / "examples"
LOWER = str(EXAMPLES / "litter-lower.rig")
TILT = str(EXAMPLES / "litter-tilt.rig")
COMMAND = [sys.executable, "-c", "import sys; from analyser.doors.commands.main import main; sys.exit(main())"]
STRACE = shutil.which("strace")
EARLIER = b"what was there before\n"
WRITERS = {
    "report.html": ["report", LOWER, "-o"],
    "report.md": ["report", LOWER, "-o"],
    "report.json": ["report", LOWER, "--json", "-o"],
    "procedure.html": ["procedure", LOWER, "-o"],
    "failures.csv": ["failures", LOWER, "-o"],
    "walkdown.html": ["walkdown", LOWER, "-o"],
    "card.html": ["card", LOWER, "-o"],
    "drill.html": ["drill", LOWER, "--page", "-o"],
    "rig.svg": ["draw", LOWER, "-o"],
    "rig.dot": ["draw", LOWER, "-o"],
    "both.dot": ["compare", LOWER, LOWER, "--draw"],
    "plot.svg": ["attitude", TILT, "basket", "--sweep", "0..0.2", "m", "--plot"],
    "case.html": ["reconstruct", str(EXAMPLES / "incidents" / "one-sling.rig"), "-o"],
}
"""One call for every way in which a command writes a file; its name is put at the end."""
SPOILED = ("report.md", "rig.dot")


def run(arguments: list[str], folder: Path, *before: str, limit: int | None = None) -> subprocess.CompletedProcess[str]:
    def limited() -> None:
        assert limit is not None
        resource.setrlimit(resource.RLIMIT_FSIZE, (limit, limit))

    return subprocess.run(
        [*before, *COMMAND, *arguments],
        cwd=folder,
        env={**os.environ, "PYTHONPATH": str(ROOT), "PYTHONDONTWRITEBYTECODE": "1"},
        capture_output=True,
        text=True,
        check=False,
        preexec_fn=limited if limit is not None else None,
    )


def untouched(folder: Path, name: str) -> None:
    """Only the earlier document is there, as it was (a killed process may leave what it was writing beside it)."""
    assert (folder / name).read_bytes() == EARLIER
    assert [one.name for one in folder.iterdir() if not one.name.endswith(".new")] == [name]


@pytest.mark.parametrize("name", WRITERS)
def test_a_document_takes_the_place_of_an_earlier_one(name: str, tmp_path: Path) -> None:
    """Its permissions stay, a link still leads to it, and nothing is left beside it."""
    real, link = tmp_path / f"real-{name}", tmp_path / name
    real.write_bytes(EARLIER)
    real.chmod(0o640)
    link.symlink_to(real)
    assert main([*WRITERS[name], str(link)]) in (0, 1)
    assert link.is_symlink() and real.read_bytes() != EARLIER
    assert stat.S_IMODE(real.stat().st_mode) == 0o640
    assert sorted(one.name for one in tmp_path.iterdir()) == sorted([name, real.name])


@pytest.mark.parametrize("name", [*WRITERS][::2])
def test_a_file_that_may_not_grow_leaves_the_earlier_one(name: str, tmp_path: Path) -> None:
    (tmp_path / name).write_bytes(EARLIER)
    told = run([*WRITERS[name], name], tmp_path, limit=100)
    assert told.returncode == 2
    assert f"{name}: cannot be written: File too large" in told.stderr and "Traceback" not in told.stderr
    untouched(tmp_path, name)
    assert len(list(tmp_path.iterdir())) == 1


@pytest.mark.skipif(STRACE is None, reason="strace isn't installed here")
@pytest.mark.parametrize("call", ["write:error=ENOSPC", "fsync:error=EIO", "rename:error=EIO"])
@pytest.mark.parametrize("name", SPOILED)
def test_an_error_or_a_kill_in_any_call_leaves_the_earlier_one(name: str, call: str, tmp_path: Path) -> None:
    at = called_at(name, call.split(":")[0], tmp_path)
    told = spoiled(name, call, at, tmp_path)
    assert told.returncode == 2
    assert f"{name}: cannot be written: " in told.stderr and "Traceback" not in told.stderr
    untouched(tmp_path, name)
    assert len(list(tmp_path.iterdir())) == 1
    told = spoiled(name, f"{call.split(':')[0]}:signal=KILL", at, tmp_path)
    assert told.returncode == -signal.SIGKILL
    untouched(tmp_path, name)


def traced(call: str, log: Path) -> list[str]:
    assert STRACE
    return [STRACE, "-f", "-qq", "-y", "-e", f"trace={call}", "-o", str(log)]


def called_at(name: str, call: str, folder: Path) -> int:
    """Which of its system calls, in its process or thread, is the first on the new file beside the earlier one: counted
    in a run without a fault."""
    log = folder.parent / f"{folder.name}.log"
    (folder / name).write_bytes(EARLIER)
    run([*WRITERS[name], name], folder, *traced(call, log))
    rows = [line for line in log.read_text(encoding="utf-8", errors="replace").splitlines() if f" {call}(" in line]
    first = next((line for line in rows if ".new" in line), None)
    assert first is not None, f"{call} is not called on the new file"
    return [line for line in rows if line.split()[0] == first.split()[0]].index(first) + 1


def spoiled(name: str, fault: str, at: int, folder: Path) -> subprocess.CompletedProcess[str]:
    """One call with a fault in that system call of its own."""
    log = folder.parent / f"{folder.name}.log"
    (folder / name).write_bytes(EARLIER)
    inject = f"inject={fault}:when={at}"
    return run([*WRITERS[name], name], folder, *traced(fault.split(":")[0], log), "-e", inject)


@pytest.fixture
def small(tmp_path: Path) -> Iterator[Path]:
    """A file system of 64 kB, where this machine lets one be mounted."""
    mounted = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=64k", "tmpfs", str(tmp_path)], capture_output=True, check=False
    )
    if mounted.returncode:
        pytest.skip("no file system can be mounted here")
    yield tmp_path
    subprocess.run(["umount", str(tmp_path)], check=False)


def test_a_full_disk_leaves_the_earlier_one(small: Path) -> None:
    (small / "report.html").write_bytes(EARLIER)
    told = run([*WRITERS["report.html"], "report.html"], small)
    assert (told.returncode, told.stderr) == (2, "report.html: cannot be written: No space left on device\n")
    untouched(small, "report.html")
    assert len(list(small.iterdir())) == 1


def test_start_leaves_no_empty_file(tmp_path: Path) -> None:
    told = run(["start", "first.rig"], tmp_path, limit=100)
    assert told.returncode == 2 and "first.rig cannot be written: File too large" in told.stderr
    assert not list(tmp_path.iterdir())


def test_a_library_and_a_film_are_whole_file_by_file(tmp_path: Path) -> None:
    crossing = str(EXAMPLES / "crossings" / "deviation.rig")
    told = run(["draw", crossing, "--film", "film"], tmp_path, limit=100)
    assert told.returncode == 2 and "film: cannot be written: File too large" in told.stderr
    assert not list((tmp_path / "film").iterdir())
    told = run(["report", LOWER, TILT, "-o", "pages"], tmp_path, limit=100)
    assert told.returncode == 2 and "pages: cannot be written: File too large" in told.stderr
    assert not list((tmp_path / "pages").iterdir())


@pytest.mark.parametrize("arguments", [
    ["procedure", "own.md"],
    ["report", "own.md"],
    ["walkdown", "own.md"],
    ["failures", "own.md"],
    ["reconstruct", "own.md"],
])  # fmt: skip
def test_no_command_overwrites_what_it_was_made_from(
    arguments: list[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    text = Path(EXAMPLES / "incidents" / "one-sling.rig").read_text(encoding="utf-8")
    Path("own.md").write_text(text, encoding="utf-8")
    Path("other.md").symlink_to("own.md")
    for target in ("own.md", "other.md"):
        assert main([*arguments, "-o", target]) == 2
        assert "the answer was made from this file: name another one" in capsys.readouterr().err
    assert Path("own.md").read_text(encoding="utf-8") == text


def test_what_is_included_or_found_is_not_overwritten(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    Path("kit.md").write_text("anchor bolt\n")
    Path("main.rig").write_text('rig "x"\ninclude "kit.md"\nload bag\nattach bolt - sling s - bag\n')
    Path("found.md").write_text("bolt: strength 20 kN\n")
    assert main(["procedure", "main.rig", "-o", "kit.md"]) == 2
    assert main(["walkdown", "main.rig", "--found", "found.md", "-o", "found.md"]) == 2
    assert capsys.readouterr().err.count("the answer was made from this file") == 2
    assert Path("kit.md").read_text() == "anchor bolt\n"
    assert Path("found.md").read_text() == "bolt: strength 20 kN\n"


def test_a_pipe_is_written_to_as_it_is(tmp_path: Path) -> None:
    pipe = tmp_path / "pipe.md"
    os.mkfifo(pipe)
    with subprocess.Popen(["cat", str(pipe)], stdout=subprocess.PIPE) as reader:
        told = run(["procedure", LOWER, "-o", str(pipe)], tmp_path)
        assert reader.stdout is not None
        text = reader.stdout.read()
    assert told.returncode in (0, 1) and text.startswith(b"#")
    assert stat.S_ISFIFO(pipe.stat().st_mode)
    assert main(["procedure", LOWER, "--json", "-o", "/dev/null"]) in (0, 1)


def test_what_cannot_be_written_is_said(tmp_path: Path) -> None:
    with pytest.raises(IsADirectoryError):
        put_whole(tmp_path, b"x")
    with pytest.raises(FileNotFoundError):
        put_whole(tmp_path / "nowhere" / "x", b"x")
    own = tmp_path / "own"
    own.write_bytes(b"before")
    with pytest.raises(OwnInput):
        put_whole(own, b"x", [tmp_path / "gone", own])
    with pytest.raises(Changed):
        put_whole(own, b"x", instead_of=b"earlier")
    with pytest.raises(FileExistsError):
        put_new(own, b"x")
    assert own.read_bytes() == b"before" and list(tmp_path.iterdir()) == [own]
    (tmp_path / "broken").symlink_to(tmp_path / "missing")
    with pytest.raises(FileExistsError):
        put_new(tmp_path / "broken", b"x")


def test_a_new_file_has_the_permissions_that_the_user_gives_new_files(tmp_path: Path) -> None:
    before = os.umask(0o027)
    try:
        put_whole(tmp_path / "one", b"x")
        put_new(tmp_path / "two", b"x")
    finally:
        os.umask(before)
    assert {stat.S_IMODE((tmp_path / name).stat().st_mode) for name in ("one", "two")} == {0o640}

"""The one file that a desk writes, whole or not at all, and the papers beside it."""

from __future__ import annotations

import asyncio
import os
import signal
import socket
import stat
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from desk_client import EXAMPLES, GOOD, PATIENCE, ROOT, Page, Started, page_of
from websockets.exceptions import ConnectionClosed

from analyser.doors.commands.main import main
from analyser.doors.desk import sheets
from analyser.doors.desk.one_writer import OneWriter, Taken
from analyser.doors.desk.opened_file import ChangedMeanwhile, NotOpened, NotSaved, OpenedFile
from analyser.doors.desk.room import LOOKED_AT_EVERY, Room
from analyser.doors.live.whole import LEFT_AFTER

# -- the file


def test_a_save_is_whole_and_keeps_what_the_file_is(tmp_path: Path) -> None:
    rig = tmp_path / "plan.rig"
    rig.write_bytes(b"\xef\xbb\xbf" + GOOD.replace("\n", "\r\n").encode())
    rig.chmod(0o640)
    link = tmp_path / "link.rig"
    link.symlink_to(rig)
    file = OpenedFile(link)
    assert file.version.text == GOOD
    version = file.save(GOOD + "# more\n", file.version.digest)
    assert rig.read_bytes() == b"\xef\xbb\xbf" + (GOOD + "# more\n").replace("\n", "\r\n").encode()
    assert stat.S_IMODE(rig.stat().st_mode) == 0o640 and link.is_symlink()
    assert sorted(one.name for one in tmp_path.iterdir()) == ["link.rig", "plan.rig"]
    with pytest.raises(NotSaved, match="half a character"):
        file.save("\ud800", version.digest)
    assert file.there() == version


def test_what_somebody_else_wrote_is_not_lost(tmp_path: Path) -> None:
    rig = tmp_path / "plan.rig"
    rig.write_text(GOOD, encoding="utf-8")
    file = OpenedFile(rig)
    rig.write_text("# theirs\n" + GOOD, encoding="utf-8")
    with pytest.raises(ChangedMeanwhile) as changed:
        file.save("# mine\n" + GOOD, file.version.digest)
    assert changed.value.there and changed.value.there.text.startswith("# theirs")
    assert rig.read_text(encoding="utf-8").startswith("# theirs")
    file.save("# mine\n" + GOOD, changed.value.there.digest)
    assert rig.read_text(encoding="utf-8").startswith("# mine")
    rig.unlink()
    with pytest.raises(ChangedMeanwhile) as gone:
        file.save(GOOD, file.version.digest)
    assert gone.value.there is None
    file.save(GOOD, "")
    assert rig.read_text(encoding="utf-8") == GOOD


@pytest.mark.skipif(os.geteuid() == 0, reason="root may write what may only be read")
def test_a_file_that_may_only_be_read_is_left(tmp_path: Path) -> None:
    rig = tmp_path / "plan.rig"
    rig.write_text(GOOD, encoding="utf-8")
    rig.chmod(0o444)
    file = OpenedFile(rig)
    with pytest.raises(NotSaved, match="may only be read"):
        file.save("x", file.version.digest)


def test_what_cannot_be_opened(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "binary.rig").write_bytes(b"\xff\xfe\x00x")
    for name in ("binary.rig", "none.rig", "."):
        with pytest.raises(NotOpened):
            OpenedFile(tmp_path / name)
    assert main(["desk", str(tmp_path / "none.rig"), "--no-browser"]) == 2
    said = capsys.readouterr().err
    assert "there is no such file" in said and "begins a new file" in said
    (tmp_path / "plan.rig").write_text(GOOD, encoding="utf-8")
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = str(taken.getsockname()[1])
        assert main(["desk", str(tmp_path / "plan.rig"), "--no-browser", "--port", port]) == 2
    assert f"port {port} on 127.0.0.1 cannot be used" in capsys.readouterr().err


def test_a_save_and_one_that_meets_another(desk_over: Callable[..., Started], folder: Path) -> None:
    desk = desk_over()
    one = page_of(desk, desk.enter())
    rig = folder / "plan.rig"
    mine = GOOD + "# mine\n"
    one.type(mine)
    done = one.ask("desk/save", text=mine, following=one.about["saved"])
    assert rig.read_text(encoding="utf-8") == mine and done["saved"]
    rig.write_text(GOOD + "# theirs\n", encoding="utf-8")
    again = one.ask("desk/save", text=mine + "# more\n", following=done["saved"])
    assert again["saved"] is None and again["there"].endswith("# theirs\n")
    assert rig.read_text(encoding="utf-8").endswith("# theirs\n")
    last = one.ask("desk/save", text=mine + "# more\n", following=again["digest"])
    assert last["saved"] and rig.read_text(encoding="utf-8").endswith("# more\n")
    assert sorted(path.name for path in folder.iterdir()) == ["plan.rig"]


def test_a_change_on_disk_is_told(desk_over: Callable[..., Started], folder: Path) -> None:
    """A text that nobody has touched follows the file; one that was touched is shown beside it."""
    desk = desk_over()
    one = page_of(desk, desk.enter())
    one.found("checked")
    theirs = GOOD.replace("Two lines to one ring", "Theirs")
    (folder / "plan.rig").write_text(theirs, encoding="utf-8")
    assert one.until(lambda m: m.get("method") == "desk/text")["params"]["text"] == theirs
    one.type(theirs + "# mine\n")
    one.found("held")
    (folder / "plan.rig").write_text(GOOD, encoding="utf-8")
    assert one.until(lambda m: m.get("method") == "desk/disk")["params"]["there"] == GOOD
    (folder / "plan.rig").unlink()
    assert one.until(lambda m: m.get("method") == "desk/disk")["params"]["there"] is None


def test_a_file_that_is_included_changes(desk_over: Callable[..., Started], folder: Path) -> None:
    (folder / "kit.rig").write_text("anchor left-bolt, right-bolt\n", encoding="utf-8")
    desk = desk_over(GOOD.replace("anchor left-bolt, right-bolt\n", 'include "kit.rig"\n'))
    one = page_of(desk, desk.enter())
    one.found("checked")
    (folder / "kit.rig").write_text("anchor left-bolt\n", encoding="utf-8")
    told = one.until(lambda m: m.get("method") == "desk/unread")["params"]
    assert any("right-bolt" in mistake["text"] for mistake in told["mistakes"])


@pytest.mark.parametrize("moment", ["os.fsync", "Path.replace"])
def test_killed_in_mid_save(folder: Path, moment: str) -> None:
    """The process is killed at its worst moments: the old text is whole, and what was left is swept up."""
    rig = folder / "plan.rig"
    rig.write_text(GOOD, encoding="utf-8")
    code = (
        "import os, signal, sys\nfrom pathlib import Path\n"
        "from analyser.doors.desk.opened_file import OpenedFile\n"
        "def die(*_): os.kill(os.getpid(), signal.SIGKILL)\n"
        f"file = OpenedFile(Path({str(rig)!r}))\n{moment} = die\nfile.save('rig \"half\"', file.version.digest)\n"
    )
    run = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True)
    assert run.returncode == -signal.SIGKILL, run.stderr.decode()
    assert rig.read_text(encoding="utf-8") == GOOD
    (left,) = (one for one in folder.iterdir() if one != rig)
    mine = folder / ".plan.rig.backup.new"
    mine.write_text("not ours", encoding="utf-8")
    assert OpenedFile(rig).version.text == GOOD and left.exists(), "somebody may be writing it this very moment"
    for one in (left, mine):
        os.utime(one, (0, 0))
    assert OpenedFile(rig).version.text == GOOD
    assert {one.name for one in folder.iterdir()} == {"plan.rig", mine.name}


def test_killed_while_saves_go_on(desk_over: Callable[..., Started], folder: Path) -> None:
    """The whole desk is killed among saves: the file is one of the texts, whole."""
    desk = desk_over()
    one = page_of(desk, desk.enter())
    texts = [GOOD + f"# {number}\n" * 400 for number in range(40)]
    following = one.about["saved"]
    killer = threading.Timer(0.25, desk.process.kill)
    killer.start()
    done = 0
    try:
        for text in texts:
            following = one.ask("desk/save", text=text, following=following)["saved"]
            done += 1
    except (ConnectionClosed, TimeoutError, OSError):
        pass
    killer.join()
    desk.process.wait()
    assert (folder / "plan.rig").read_text(encoding="utf-8") in {GOOD, *texts}
    for left in folder.glob(".plan.rig.*.new"):  # what is younger may be another's save under way
        os.utime(left, (left.stat().st_atime, left.stat().st_mtime - LEFT_AFTER - 1))
    OpenedFile(folder / "plan.rig")
    assert [path.name for path in folder.iterdir()] == ["plan.rig"]


def test_one_desk_a_file(desk_over: Callable[..., Started], folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    desk = desk_over()
    assert main(["desk", str(folder / "plan.rig"), "--no-browser"]) == 2
    said = capsys.readouterr().err
    assert "is open on another desk already" in said and f"http://127.0.0.1:{desk.port}/" in said
    desk.process.kill()
    desk.process.wait()
    lock = _taken_in_time(folder / "plan.rig")
    lock.say("http://127.0.0.1:1/")
    with pytest.raises(Taken, match=r"127\.0\.0\.1:1"):
        OneWriter(folder / "plan.rig")
    lock.release()
    OneWriter(folder / "plan.rig").release()


def _taken_in_time(rig: Path) -> OneWriter:
    """What a desk that was killed has just begun to start may hold its lock for a moment still."""
    end = time.monotonic() + PATIENCE
    while True:
        try:
            return OneWriter(rig)
        except Taken:
            assert time.monotonic() < end
            time.sleep(0.05)


def test_one_page_writes_and_the_others_follow(desk_over: Callable[..., Started]) -> None:
    desk = desk_over()
    cookie = desk.enter()
    first = page_of(desk, cookie)
    second = Page(desk, cookie, "two")
    assert first.about["pen"] and not second.about["pen"]
    first.type(GOOD + "# first\n")
    assert second.until(lambda m: m.get("method") == "desk/text")["params"]["text"].endswith("# first\n")
    with pytest.raises(RuntimeError, match="doesn't have the pen"):
        second.ask("desk/save", text="x", following=second.about["saved"])
    taken = second.ask("desk/pen")
    assert taken["pen"] and taken["text"].endswith("# first\n")
    with pytest.raises(RuntimeError, match="doesn't have the pen"):
        first.ask("desk/save", text="x", following=first.about["saved"])
    second.close()
    first.until(lambda m: m.get("method") == "desk/pen" and not m["params"]["writer"])
    again = Page(desk, cookie, "three")
    assert again.about["pen"] and again.about["text"].endswith("# first\n") and again.about["unsaved"]


@pytest.mark.parametrize("which", ["plan.rig", "kit.rig"])
def test_what_is_written_while_it_is_being_read_is_seen(tmp_path: Path, which: str) -> None:
    """After the reading, and before the desk has looked at the file for the first time."""
    rig, kit = tmp_path / "plan.rig", tmp_path / "kit.rig"
    kit.write_text("anchor far\n", encoding="utf-8")
    rig.write_text(GOOD + 'include "kit.rig"\n', encoding="utf-8")
    long_ago = time.time() - 60
    for one in (rig, kit):
        os.utime(one, (long_ago, long_ago))

    async def seen() -> int:
        room = Room(pen=True, folder=tmp_path)
        file = OpenedFile(rig)
        if which == rig.name:
            rig.write_text(GOOD, encoding="utf-8")
        room.open(file)
        if which == kit.name:
            kit.write_text("anchor other\n", encoding="utf-8")
        room.told(1, "held", {"files": [str(rig), str(kit)]})
        watching = asyncio.create_task(room.watch_disk())
        await asyncio.sleep(3.5 * LOOKED_AT_EVERY)
        watching.cancel()
        room.close()
        return room.number

    assert asyncio.run(seen()) == 2, "once more, and not again and again"


# -- out of it


def test_papers_beside_the_rig_and_never_over_another_file(tmp_path: Path) -> None:
    path = tmp_path / "plan-report.html"
    first = sheets.put(path, b"<html>one</html>")
    assert first == path and sheets.ours(path)
    assert sheets.put(path, b"<html>two</html>") == path and b"two" in path.read_bytes()
    path.write_bytes(path.read_bytes().replace(b"two", b"mine"))
    assert not sheets.ours(path), "somebody has written in it since"
    second = sheets.put(path, b"<html>three</html>")
    assert second.name == "plan-report-2.html" and b"mine" in path.read_bytes()
    (tmp_path / "else.svg").write_bytes(b"<svg/>")
    assert sheets.put(tmp_path / "else.svg", b"<svg>x</svg>").name == "else-2.svg"
    assert (tmp_path / "else.svg").read_bytes() == b"<svg/>"
    target = tmp_path / "target"
    target.write_bytes(b"keep")
    (tmp_path / "link.html").symlink_to(target)
    assert sheets.put(tmp_path / "link.html", b"x").name == "link-2.html" and target.read_bytes() == b"keep"


@pytest.mark.parametrize("which", list(sheets.PAPERS))
def test_each_paper_is_made(desk_over: Callable[..., Started], folder: Path, which: str) -> None:
    desk = desk_over((EXAMPLES / "litter-lower.rig").read_text(encoding="utf-8"))
    cookie = desk.enter()
    one = page_of(desk, cookie)
    made = one.ask("desk/paper", which=which, language="de")
    file = folder / made["file"]
    assert file.name == f"plan-{which}{sheets.PAPERS[which][1]}" and file.stat().st_size > 2000
    assert sheets.ours(file)
    if which in ("cards", "walkdown"):
        assert 'lang="de"' in file.read_text(encoding="utf-8")
    answer = desk.get(made["at"], cookie=cookie)
    assert answer.status == 200 and answer.text.encode() == file.read_bytes()  # type: ignore[attr-defined]
    assert answer.headers["Content-Security-Policy"].startswith("sandbox allow-scripts "), "shut off from the desk"
    assert desk.get(made["at"]).status == desk.get("/paper/else", cookie=cookie).status - 1 == 403, "never unasked"
    file.write_bytes(file.read_bytes() + b"<script>x</script>")
    assert desk.get(made["at"], cookie=cookie).status == 404, "somebody has written in it since"


def test_a_paper_that_cannot_be_made_says_why(desk_over: Callable[..., Started], folder: Path) -> None:
    desk = desk_over(GOOD.replace("ring master", "rnig master"))
    one = page_of(desk, desk.enter())
    with pytest.raises(RuntimeError, match="no kind of part called `rnig`"):
        one.ask("desk/paper", which="report", language="en")
    with pytest.raises(RuntimeError, match="no paper called"):
        one.ask("desk/paper", which="../x", language="en")
    assert [path.name for path in folder.iterdir()] == ["plan.rig"]

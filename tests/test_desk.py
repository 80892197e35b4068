"""`stillheld desk`: the real command, its web server and its conversation, without a browser.

What a browser shows of it stands in test_desk_in_browser.py.
"""

from __future__ import annotations

import json
import os
import signal
import socket
import stat
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import suppress
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from desk_client import PATIENCE, ROOT, Page, Started
from websockets.exceptions import ConnectionClosed, InvalidStatus
from websockets.sync.client import ClientConnection, connect

import analyser
from analyser.checking.analysing import analyse
from analyser.checking.registry import RULES
from analyser.doors.commands.main import main
from analyser.doors.desk import sheets
from analyser.doors.desk.beginning import NotBegun, begin
from analyser.doors.desk.guarding import Admission
from analyser.doors.desk.mended_lines import lines_to_put
from analyser.doors.desk.offered import ITEMS, offered
from analyser.doors.desk.one_writer import OneWriter, Taken
from analyser.doors.desk.opened_file import ChangedMeanwhile, NotOpened, NotSaved, OpenedFile
from analyser.doors.desk.told import at_a_glance, checked
from analyser.doors.editor.readings import Held, Reading, read
from analyser.pages.writing.translation import LANGUAGES

EXAMPLES = ROOT / "examples"
GOOD = (EXAMPLES / "two-lines-one-ring.rig").read_text(encoding="utf-8")
HOSTILE = "<script>alert(1)</script><img src=x onerror=alert(1)>"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    made = tmp_path / "rigs"
    made.mkdir()
    return made


@pytest.fixture
def start(folder: Path) -> Iterator[Callable[..., Started]]:
    started: list[Started] = []

    def run(text: str = GOOD, *arguments: str) -> Started:
        rig = folder / "plan.rig"
        rig.write_text(text, encoding="utf-8")
        started.append(Started(rig, *arguments))
        return started[-1]

    yield run
    for one in started:
        one.kill()


def page(desk: Started, tab: str = "one") -> Page:
    return Page(desk, desk.enter(), tab)


# -- who is let in


def test_the_address_lets_one_browser_in_once(start: Callable[..., Started]) -> None:
    desk = start()
    path = urlsplit(desk.address).path
    answer = desk.get(path)
    cookie = answer.headers["Set-Cookie"]
    assert answer.status == 200 and "HttpOnly" in cookie and "SameSite=strict" in cookie and "Path=/" in cookie
    assert path.rpartition("/")[2] not in answer.text + cookie, "the secret stands nowhere afterwards"  # type: ignore[attr-defined]
    assert desk.get(path).status == 403, "a second time it is worth nothing"
    session = cookie.split(";")[0]
    assert desk.get("/", Cookie=session).status == 200
    assert desk.get("/").status == 403 and desk.get("/", Cookie=f"{session}x").status == 403
    assert desk.get("/enter/guess").status == 403
    assert desk.get("/served/desk.js").status == 403, "not even what the page is made of"
    further = desk.further_address()
    assert further != desk.address and desk.enter(further) != session


def test_a_secret_that_nobody_uses_is_forgotten() -> None:
    admission = Admission()
    many = [admission.address().rpartition("/")[2] for _ in range(12)]
    assert admission.exchange(many[0]) is None and admission.exchange(many[-1])


def test_what_is_answered_and_what_is_refused(start: Callable[..., Started]) -> None:
    desk = start()
    own = f"http://127.0.0.1:{desk.port}"
    cookie = desk.enter()
    answer = desk.get("/", Cookie=cookie)
    policy = answer.headers["Content-Security-Policy"]
    assert policy.startswith("default-src 'none'; ") and "unsafe" not in policy and "*" not in policy
    assert f"connect-src ws://127.0.0.1:{desk.port}" in policy and "frame-ancestors 'none'" in policy
    expected = {
        "X-Content-Type-Options": "nosniff",
        "Cache-Control": "no-store",
        "Referrer-Policy": "no-referrer",
        "Cross-Origin-Resource-Policy": "same-origin",
        "Cross-Origin-Opener-Policy": "same-origin",
        "X-Frame-Options": "DENY",
    }
    assert {name: answer.headers[name] for name in expected} == expected
    assert "Access-Control-Allow-Origin" not in answer.headers and "Server" not in answer.headers
    assert desk.get("/", host=f"localhost:{desk.port}", Cookie=cookie).status == 200
    for host in ("rebound.example", f"rebound.example:{desk.port}", "127.0.0.1", "127.0.0.1:1", f"0.0.0.0:{desk.port}"):
        assert desk.get("/", host=host, Cookie=cookie).status == 403, host
    for origin in ("null", "http://elsewhere.example", f"https://127.0.0.1:{desk.port}", "http://127.0.0.1:1"):
        assert desk.get("/", Cookie=cookie, Origin=origin).status == 403, origin
    assert desk.get("/", Cookie=cookie, Origin=own).status == 200
    assert desk.get("/", Cookie=cookie, Sec_Fetch_Site="cross-site").status == 403
    assert desk.get("/", Cookie=cookie, Sec_Fetch_Site="same-site").status == 403
    for method in ("POST", "PUT", "DELETE", "HEAD", "OPTIONS", "PATCH", "ANYTHING"):
        assert desk.get("/", method, Cookie=cookie).status == 405, method
    for path in (
        "/favicon.ico",
        "/plan.rig",
        "/served/../door.py",
        "/served/..%2fdoor.py",
        "/served/desk.html",
        "/talk",
    ):
        assert desk.get(path, Cookie=cookie).status == 404, path
    for path in ("/served/desk.js", "/served/desk.css", "/served/codemirror.js", "/served/codemirror.LICENSES.txt"):
        assert desk.get(path, Cookie=cookie).status == 200, path


def test_only_a_page_of_this_desk_may_talk(start: Callable[..., Started]) -> None:
    desk = start()
    cookie = desk.enter()
    own = f"http://127.0.0.1:{desk.port}"
    strangers = ((None, cookie), ("http://elsewhere.example", cookie), ("null", cookie), (own, ""), (own, "a=b"))
    for origin, said in strangers:
        with pytest.raises(InvalidStatus) as refused, talking(desk, said, origin):
            pass
        assert refused.value.response.status_code == 403
    with talking(desk, cookie, own):
        pass


def talking(desk: Started, cookie: str, origin: str | None) -> ClientConnection:
    """A conversation to be entered by `with`, from a page of that origin."""
    address = f"ws://127.0.0.1:{desk.port}/talk"
    return connect(address, origin=origin, additional_headers={"Cookie": cookie})  # type: ignore[arg-type,return-value]


def test_the_cookie_alone_is_not_enough(start: Callable[..., Started]) -> None:
    """Browsers send it to every port of this address: whoever has it, and not the page's half, is told nothing."""
    desk = start()
    cookie = desk.enter()
    assert "ann" not in desk.get("/", Cookie=cookie).text  # type: ignore[attr-defined]
    own = f"http://127.0.0.1:{desk.port}"
    for first in (
        '{"jsonrpc":"2.0","id":1,"method":"desk/save","params":{"text":"x","following":""}}',
        '{"jsonrpc":"2.0","id":1,"method":"initialize","params":{"capabilities":{}}}',
    ):
        with talking(desk, cookie, own) as talk, pytest.raises(ConnectionClosed):
            talk.send(first)
            talk.recv(timeout=PATIENCE)
    with talking(desk, cookie, own) as talk:
        talk.send('{"jsonrpc":"2.0","id":1,"method":"desk/hello","params":{"tab":"x","key":"guess"}}')
        assert "was not let in" in json.loads(talk.recv(timeout=PATIENCE))["error"]["message"]
    with talking(desk, cookie, own) as silent, pytest.raises(ConnectionClosed):
        silent.recv(timeout=PATIENCE)
    assert Page(desk, cookie).about["text"] == GOOD


def test_only_this_machine_is_listened_to(start: Callable[..., Started]) -> None:
    desk = start()
    with pytest.raises(OSError):
        socket.create_connection(("127.0.0.2", desk.port), timeout=1)


# -- slow and hostile clients


def test_nobody_who_is_slow_keeps_it_from_others(start: Callable[..., Started]) -> None:
    """Silent connections, one byte a second, a head that never ends, rubbish: the page is served meanwhile, and
    each of them is closed."""
    desk = start()
    cookie = desk.enter()
    slow = [socket.create_connection(("127.0.0.1", desk.port), timeout=PATIENCE) for _ in range(80)]
    dripping, rubbish, endless = slow[-3:]

    def drip() -> None:
        try:
            for letter in f"GET / HTTP/1.1\r\nHost: 127.0.0.1:{desk.port}\r\nX: ".encode() + b"a" * 60:
                dripping.sendall(bytes([letter]))
                time.sleep(0.25)
        except OSError:
            pass

    thread = threading.Thread(target=drip)
    thread.start()
    rubbish.sendall(b"\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03" * 40)
    began = time.monotonic()
    assert desk.get("/", Cookie=cookie).status == 200
    assert time.monotonic() - began < 3
    with suppress(OSError):
        endless.sendall(b"GET / HTTP/1.1\r\n" + b"X: y\r\n" * 20_000)
    one = page_of(desk, cookie)
    assert one.found("checked")["closing"]
    one.close()
    for connection in slow:
        connection.settimeout(PATIENCE)
        try:
            while connection.recv(4096):
                pass
        except OSError:
            pass
    assert time.monotonic() - began < 20, "each of them was closed within its time"
    thread.join()
    assert desk.process.poll() is None and desk.get("/", Cookie=cookie).status == 200
    for connection in slow:
        connection.close()


def page_of(desk: Started, cookie: str, tab: str = "one") -> Page:
    made = Page(desk, cookie, tab)
    made.open()
    return made


def test_a_page_that_says_nonsense_or_too_much_or_reads_nothing(start: Callable[..., Started]) -> None:
    desk = start()
    cookie = desk.enter()
    one = page_of(desk, cookie)
    one.found("checked")
    own = f"http://127.0.0.1:{desk.port}"
    for nonsense in ("[]", "{}", "1", '"x"', '{"jsonrpc":"2.0","method":"desk/none"}', '{"method":"desk/save","id":1}',
                     '{"jsonrpc":"2.0","id":1,"method":"desk/whatif","params":{"number":"x"}}',
                     '{"jsonrpc":"2.0","id":1,"method":"textDocument/hover","params":{}}'):  # fmt: skip
        one.socket.send(nonsense)
    for broken in ("{", "\x00", "[" * 5000):
        with talking(desk, cookie, own) as other:
            other.send(broken)
    with talking(desk, cookie, own) as large, pytest.raises(ConnectionClosed):
        large.send("x" * 9_000_000)
        large.recv(timeout=PATIENCE)
    deaf = socket.create_connection(("127.0.0.1", desk.port))
    deaf.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 4096)
    head = f"GET /talk HTTP/1.1\r\nHost: 127.0.0.1:{desk.port}\r\nOrigin: {own}\r\nCookie: {cookie}\r\n"
    head += "Upgrade: websocket\r\nConnection: Upgrade\r\nSec-WebSocket-Version: 13\r\n"
    head += "Sec-WebSocket-Key: AAAAAAAAAAAAAAAAAAAAAA==\r\n\r\n"
    deaf.sendall(head.encode())
    for number in range(30):
        one.type(f"{GOOD}# {number}\n")
    assert one.found("picture")["svg"].startswith("<svg")
    deaf.close()
    assert one.ask("desk/pen")["pen"]
    assert desk.end() == 143


def test_so_many_pages_and_no_more(start: Callable[..., Started]) -> None:
    desk = start()
    cookie = desk.enter()
    pages = [Page(desk, cookie, f"tab {number}") for number in range(8)]
    with pytest.raises((ConnectionClosed, InvalidStatus)):
        Page(desk, cookie, "one more")
    pages[0].close()
    for _ in range(50):
        try:
            Page(desk, cookie, "again").close()
            break
        except (ConnectionClosed, InvalidStatus):
            time.sleep(0.1)
    else:
        raise AssertionError("the place of a page that has gone is free again")


# -- the text, and what is found of it


def test_from_a_key_to_what_follows(start: Callable[..., Started]) -> None:
    desk = start()
    one = page_of(desk, desk.enter())
    held = one.found("held")
    assert [(body["name"], body["fate"]) for body in held["bodies"]] == [("ann", "one")]
    assert held["bodies"][0]["alone"] == ["master fails"]
    told = one.found("checked")
    assert told["closing"]["en"].startswith("not met (2 of 2 requirements broken)") and not told["met"]
    assert told["closing"]["de"].startswith("nicht erfüllt (2 von 2")
    drawn = one.found("picture")
    assert "<svg" in drawn["svg"] and drawn["ids"]["master"].startswith("p")
    one.type(GOOD.replace("attach master - strap chest", "attach right-bolt - strap chest"))
    assert one.found("held")["bodies"][0]["fate"] == "held"
    one.type(GOOD.replace("ring master", "rnig master"))
    unread = one.found("unread")
    assert [(one["line"], one["text"]) for one in unread["mistakes"]] == [(6, "there is no kind of part called `rnig`")]
    marks = [m for m in one.heard if m.get("method") == "textDocument/publishDiagnostics"][-1]["params"]
    assert marks["version"] == one.version and marks["diagnostics"][0]["range"]["start"] == {"line": 5, "character": 0}


def test_a_newer_text_ends_the_work_on_an_older(start: Callable[..., Started]) -> None:
    """Keys come faster than a check: nothing is told of the texts between."""
    from bench.generating import joined

    text = joined(120)
    desk = start(text)
    one = page_of(desk, desk.enter())
    one.found("picture")
    one.heard.clear()
    for number in range(12):
        one.type(f"{text}# {number}\n")
        time.sleep(0.03)
    one.found("picture")
    told = [message["params"]["version"] for message in one.heard if message.get("method") == "desk/checked"]
    assert told[-1] == one.version and len(told) < 8, told


def test_what_if_tells_what_the_command_tells(start: Callable[..., Started], folder: Path) -> None:
    text = (EXAMPLES / "litter-bridle.rig").read_text(encoding="utf-8")
    desk = start(text)
    one = page_of(desk, desk.enter())
    number = one.found("held")["number"]
    answer = one.ask("desk/whatif", number=number, state=0, failures=["lashing fails"])
    command = [sys.executable, "-m", "analyser.doors.commands.main", "whatif", "--json", str(folder / "plan.rig")]
    said = json.loads(subprocess.run([*command, "lashing fails"], capture_output=True, text=True, cwd=ROOT).stdout)
    assert {name for name, fate in answer["fates"].items() if fate == "falls"} == set(said["falls"])
    one_left = {body["name"] for body in said["bodies"] if body["held"] and body["smallest_failure_set"] == 1}
    assert {name for name, fate in answer["fates"].items() if fate == "one"} == one_left
    assert "caught after a drop of about 0.38 m" in answer["page"] and "model of what was written" in answer["page"]
    assert one.ask("desk/whatif", number=number - 1, state=0, failures=["lashing fails"]) is None, "of an older text"
    assert one.ask("desk/whatif", number=number, state=0, failures=["nothing such"]) is None


def test_each_state_is_asked_by_itself(start: Callable[..., Started]) -> None:
    text = (EXAMPLES / "crossings" / "lower-to-raise.rig").read_text(encoding="utf-8")
    desk = start(text)
    one = page_of(desk, desk.enter())
    told = one.found("checked")
    last = told["states"][-1]
    rig = analyser.read(EXAMPLES / "crossings" / "lower-to-raise.rig")
    result = analyse(rig)
    assert len(told["states"]) == len(result.states)
    failure = last["possible"][0]
    answer = one.ask("desk/whatif", number=told["number"], state=last["number"], failures=[failure])
    expected = {f.id: f for f in result.states[-1].outcome.failures}[failure]
    assert {name for name, fate in answer["fates"].items() if fate in ("falls", "person")} >= set(expected.falls)


def test_a_glance_says_what_the_check_says() -> None:
    """Over the examples: who is held, and what alone brings them down, is the same in both."""
    for path in sorted(EXAMPLES.glob("*.rig")):
        rig = analyser.read(path)
        glance = at_a_glance(rig)
        told = checked(analyse(rig), path.name)["states"][0]["bodies"]
        assert [(b["name"], b["fate"], sorted(b["alone"])) for b in glance["bodies"]] == [
            (b["name"], b["fate"], sorted(b["alone"]) if b["fate"] != "falls" else []) for b in told
        ], path.name


def test_the_language_server_answers_in_the_page(start: Callable[..., Started]) -> None:
    desk = start()
    one = page_of(desk, desk.enter())
    one.found("checked")
    document = {"textDocument": {"uri": one.uri}}
    hover = one.ask("textDocument/hover", **document, position={"line": 5, "character": 6})
    assert "ann" in hover["contents"]["value"] and "falls" in hover["contents"]["value"]
    colours = one.ask("textDocument/semanticTokens/full", **document)["data"]
    assert len(colours) % 5 == 0 and len(colours) > 100
    items = one.ask("textDocument/completion", **document, position={"line": 10, "character": 12})["items"]
    assert {"left-bolt", "right-bolt", "master"} <= {item["label"] for item in items}
    edit = one.ask("textDocument/rename", **document, position={"line": 5, "character": 6}, newName="plate")
    assert len(edit["changes"][one.uri]) == 5


def test_a_name_that_another_file_has_too_is_not_renamed_by_half(start: Callable[..., Started], folder: Path) -> None:
    (folder / "kit.rig").write_text("anchor left-bolt, right-bolt\n", encoding="utf-8")
    desk = start(GOOD.replace("anchor left-bolt, right-bolt\n", 'include "kit.rig"\n'))
    one = page_of(desk, desk.enter())
    one.found("checked")
    with pytest.raises(RuntimeError, match=r"kit\.rig names it too"):
        one.ask(
            "textDocument/rename", textDocument={"uri": one.uri}, position={"line": 9, "character": 13}, newName="x"
        )


def test_what_a_text_says_is_never_markup(start: Callable[..., Started]) -> None:
    text = f'rig "{HOSTILE}"\nnote "{HOSTILE}"\nanchor bolt: is "{HOSTILE}"\nperson ann: points waist\n'
    text += f'attach bolt - sling s - ann.waist\naccept bolt fails: "{HOSTILE}"\n'
    desk = start(text)
    one = page_of(desk, desk.enter())
    assert "<script" not in one.found("picture")["svg"] and "<img" not in one.found("picture")["svg"]
    number = one.found("held")["number"]
    answer = one.ask("desk/whatif", number=number, state=0, failures=["s fails"])
    assert "<script" not in answer["page"] and "<img" not in answer["page"]
    hover = one.ask("textDocument/hover", textDocument={"uri": one.uri}, position={"line": 2, "character": 8})
    assert "<img" not in hover["contents"]["value"] and "&lt;img" in hover["contents"]["value"]
    shown = desk.get("/", Cookie=desk.enter(desk.further_address())).text  # type: ignore[attr-defined]
    assert "alert(1)" not in shown


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


def test_a_save_and_one_that_meets_another(start: Callable[..., Started], folder: Path) -> None:
    desk = start()
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


def test_a_change_on_disk_is_told(start: Callable[..., Started], folder: Path) -> None:
    """A text that nobody has touched follows the file; one that was touched is shown beside it."""
    desk = start()
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


def test_a_file_that_is_included_changes(start: Callable[..., Started], folder: Path) -> None:
    (folder / "kit.rig").write_text("anchor left-bolt, right-bolt\n", encoding="utf-8")
    desk = start(GOOD.replace("anchor left-bolt, right-bolt\n", 'include "kit.rig"\n'))
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


def test_killed_while_saves_go_on(start: Callable[..., Started], folder: Path) -> None:
    """The whole desk is killed among saves: the file is one of the texts, whole."""
    desk = start()
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
    OpenedFile(folder / "plan.rig")
    assert [path.name for path in folder.iterdir()] == ["plan.rig"]


def test_one_desk_a_file(start: Callable[..., Started], folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    desk = start()
    assert main(["desk", str(folder / "plan.rig"), "--no-browser"]) == 2
    said = capsys.readouterr().err
    assert "is open on another desk already" in said and f"http://127.0.0.1:{desk.port}/" in said
    desk.process.kill()
    desk.process.wait()
    lock = OneWriter(folder / "plan.rig")
    lock.say("http://127.0.0.1:1/")
    with pytest.raises(Taken, match=r"127\.0\.0\.1:1"):
        OneWriter(folder / "plan.rig")
    lock.release()
    OneWriter(folder / "plan.rig").release()


def test_one_page_writes_and_the_others_follow(start: Callable[..., Started]) -> None:
    desk = start()
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
def test_each_paper_is_made(start: Callable[..., Started], folder: Path, which: str) -> None:
    desk = start((EXAMPLES / "litter-lower.rig").read_text(encoding="utf-8"))
    one = page_of(desk, desk.enter())
    made = one.ask("desk/paper", which=which, language="de")
    file = folder / made["file"]
    assert file.name == f"plan-{which}{sheets.PAPERS[which][1]}" and file.stat().st_size > 2000
    assert sheets.ours(file)
    if which in ("cards", "walkdown"):
        assert 'lang="de"' in file.read_text(encoding="utf-8")


def test_a_paper_that_cannot_be_made_says_why(start: Callable[..., Started], folder: Path) -> None:
    desk = start(GOOD.replace("ring master", "rnig master"))
    one = page_of(desk, desk.enter())
    with pytest.raises(RuntimeError, match="no kind of part called `rnig`"):
        one.ask("desk/paper", which="report", language="en")
    with pytest.raises(RuntimeError, match="no paper called"):
        one.ask("desk/paper", which="../x", language="en")
    assert [path.name for path in folder.iterdir()] == ["plan.rig"]


# -- building


def reading_of(text: str, path: Path) -> Reading:
    return read(path, {path: Held(path.as_uri(), 1, text)})


def pressed(text: str, item: str, path: Path, line: int = 10**6) -> str:
    """The text after a press in the palette, its blanks left as they are filled."""
    import re

    found = {one["item"]: one for one in offered(reading_of(text, path), text, line)}[item]
    lines = text.split("\n")
    lines[found["after"] : found["after"]] = [re.sub(r"\$\{([^}]*)\}", r"\1", one) for one in found["lines"]]
    return "\n".join(lines)


def test_every_press_gives_lines_that_read(tmp_path: Path) -> None:
    """Each item, on a blank sheet with a ground and a person and again on every example: nothing is made wrong."""
    path = tmp_path / "x.rig"
    base = 'rig "x"\n'
    for item in ("anchor", "person"):
        base = pressed(base, item, path)
    for item in ITEMS:
        once = pressed(base, item, path)
        assert not reading_of(once, path).mistakes, (item, once)
        assert not reading_of(pressed(once, item, path), path).mistakes, item
    for example in sorted(EXAMPLES.glob("*.rig")):
        text = example.read_text(encoding="utf-8")
        if "include" in text:
            continue
        for item in ITEMS:
            assert not reading_of(pressed(text, item, path), path).mistakes, (example.name, item)


def test_a_first_rig_in_ten_presses(tmp_path: Path) -> None:
    """From a blank sheet: two anchors, a person, two ropes, what is required. It meets what it requires."""
    path = tmp_path / "x.rig"
    text = 'rig "A new rig"\nrevision 1\n'
    presses = ("anchor", "person", "rope", "anchor", "rope", "require")
    for item in presses:
        text = pressed(text, item, path)
    rig = reading_of(text, path).rig
    assert rig and len(presses) <= 10
    result = analyse(rig)
    assert result.met and [body.independent for body in result.bodies] == [2], text


def test_a_two_rope_litter_lower_from_the_palette(tmp_path: Path) -> None:
    """As somebody would press it who knows no word of the language: ropes run from the brakes over the edge to the
    ring, each pad and each point of the litter is taken once, each brake has its own pair of hands."""
    path = tmp_path / "x.rig"
    text = 'rig "A new rig"\nrevision 1\n'
    presses = "anchor anchor edge device device ring rope rope litter strap strap strap strap person strap require"
    for item in presses.split():
        text = pressed(text, item, path)
    rig = reading_of(text, path).rig
    assert rig
    result = analyse(rig)
    assert [(body.name, body.held, body.tips) for body in result.bodies] == [
        ("ann", True, False),
        ("basket", True, False),
    ]
    assert {one.part for one in result.failures if "basket" in one.falls} == {"master"}
    assert not [one for one in result.findings if one.rule in ("bare-edge", "one-sleeve", "two-places")]
    assert "brake-2: operated by kim, self-locking" in text and "over lip, padded by right-mat" in text


def test_a_step_comes_behind_the_step_of_the_cursor(tmp_path: Path) -> None:
    text = (EXAMPLES / "crossings" / "lower-to-raise.rig").read_text(encoding="utf-8")
    lines = text.split("\n")
    at = next(number for number, one in enumerate(lines, 1) if one.strip() == "lock off main-brake")
    after = pressed(text, "step", tmp_path / "x.rig", at).split("\n")
    assert after[at].strip() == 'check "all is well"'


def test_a_finding_puts_in_the_line_that_mends_it(tmp_path: Path) -> None:
    """Where a finding names a whole line, the text with it no longer has the finding."""
    path = tmp_path / "x.rig"
    tried = 0
    for rule in RULES:
        text = f'rig "x"\n{rule.wrong}'
        before = reading_of(text, path)
        if before.rig is None:
            continue
        findings = analyse(before.rig).findings
        for number, put in lines_to_put(before, findings).items():
            lines = text.split("\n")
            lines.insert(put.after, put.text)
            after = reading_of("\n".join(lines), path)
            assert after.rig
            gone = findings[number]
            assert (gone.rule, gone.about) not in {(one.rule, one.about) for one in analyse(after.rig).findings}, put
            tried += 1
    assert tried >= 1


def test_mends_are_those_of_the_command(start: Callable[..., Started]) -> None:
    desk = start()
    one = page_of(desk, desk.enter())
    found = one.ask("desk/mends", text=GOOD)
    assert found["mends"] and all(mend["add"] or mend["change"] for mend in found["mends"])
    assert "tail of red" in found["mends"][0]["what"]


def test_a_first_file(tmp_path: Path) -> None:
    assert begin(tmp_path, "a", "blank", "").path == tmp_path / "a.rig"
    assert "brake" in begin(tmp_path, "b.rig", "template", "two-rope-lower").version.text
    assert "Lesson 1" in begin(tmp_path, "c.rig", "lesson", "01-shared-ring").version.text
    for name, sort, which in (
        *(("a.rig", "blank", ""), ("../x", "blank", ""), ("/etc/x", "blank", ""), ("", "blank", "")),
        *((".x", "blank", ""), ("x\n", "nothing", ""), ("x", "template", "../../x"), ("x", "lesson", "README")),
    ):
        with pytest.raises(NotBegun):
            begin(tmp_path, name, sort, which)
    assert sorted(one.name for one in tmp_path.iterdir()) == ["a.rig", "b.rig", "c.rig"]


def test_it_begins_without_a_file(tmp_path: Path) -> None:
    desk = Started(None, folder=tmp_path)
    try:
        cookie = desk.enter()
        one = Page(desk, cookie)
        assert one.about["file"] is None
        with pytest.raises(RuntimeError, match="a file's name"):
            one.ask("desk/start", name="../out", sort="blank", **{"from": ""})
        assert one.ask("desk/start", name="first", sort="blank", **{"from": ""}) == {"file": "first.rig"}
        again = page_of(desk, cookie)
        assert again.found("checked")["title"] == "A new rig"
        assert (tmp_path / "first.rig").exists()
        with pytest.raises(RuntimeError, match="open here already"):
            again.ask("desk/start", name="second", sort="blank", **{"from": ""})
    finally:
        desk.kill()


# -- the words, and how it ends


def test_both_languages_say_the_same_things() -> None:
    """The same keys and the same gaps; every key that the page asks for is there, and none is unused."""
    import re

    from analyser.doors.desk.door import words

    english, german = (words(one) for one in LANGUAGES)

    def gaps(entry: object) -> set[str]:
        texts = entry.values() if isinstance(entry, dict) else [str(entry)]
        return {gap for text in texts for gap in re.findall(r"\{(\w+)\}", str(text))}

    assert {key: gaps(entry) for key, entry in english.items()} == {key: gaps(entry) for key, entry in german.items()}
    served = ROOT / "analyser" / "doors" / "desk" / "served"
    source = "".join(
        (served / name).read_text(encoding="utf-8") for name in ("desk.html", "desk.js", "text.js", "words.js")
    )
    asked = {key for key in english if f'"{key}"' in source}
    put_together = r"(item|means|paper|fate|then|mark|head|if)-|danger|caution|note|language"
    made = {key for key in english if re.match(put_together, key)}
    assert set(english) - asked - made == set()


def test_it_ends_as_it_is_told(start: Callable[..., Started]) -> None:
    for number, status in ((signal.SIGINT, 130), (signal.SIGTERM, 143)):
        desk = start()
        one = page_of(desk, desk.enter())
        one.found("held")
        began = time.monotonic()
        assert desk.end(number) == status
        assert time.monotonic() - began < 5
        assert desk.process.stderr and "Traceback" not in desk.process.stderr.read()
        with pytest.raises(OSError):
            socket.create_connection(("127.0.0.1", desk.port), timeout=1)


def test_an_analyst_that_ends_is_started_anew(start: Callable[..., Started]) -> None:
    desk = start()
    one = page_of(desk, desk.enter())
    one.found("checked")
    children = subprocess.run(["pgrep", "-P", str(desk.process.pid)], capture_output=True, text=True).stdout.split()
    for child in children:
        os.kill(int(child), signal.SIGKILL)
    assert "ended by itself" in one.until(lambda m: m.get("method") == "desk/broke")["params"]["why"]
    one.type(GOOD + "# again\n")
    assert one.found("checked")["version"] == one.version

"""`stillheld desk`: the real command, its web server and its conversation, without a browser.

What a browser shows of it stands in test_desk_in_browser.py and test_desk_kept_in_browser.py, its file in
test_desk_file.py, what it builds in test_desk_building.py, what it says of each body in test_desk_fates.py.
"""

from __future__ import annotations

import io
import json
import os
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from desk_client import EXAMPLES, GOOD, HOSTILE, PATIENCE, ROOT, Page, Started, page_of
from rigs import shipped
from websockets.exceptions import ConnectionClosed, InvalidStatus
from websockets.sync.client import ClientConnection, connect

from analyser.doors.desk.analyst import Analyst
from analyser.doors.desk.guarding import Admission
from analyser.doors.desk.listening import OVER_BY
from analyser.pages.writing.translation import LANGUAGES

# -- who is let in


def test_the_address_lets_one_browser_in_once(desk_over: Callable[..., Started]) -> None:
    desk = desk_over()
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


def test_what_is_answered_and_what_is_refused(desk_over: Callable[..., Started]) -> None:
    desk = desk_over()
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


def test_only_a_page_of_this_desk_may_talk(desk_over: Callable[..., Started]) -> None:
    desk = desk_over()
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


def test_the_cookie_alone_is_not_enough(desk_over: Callable[..., Started]) -> None:
    """Browsers send it to every port of this address: whoever has it, and not the page's half, is told nothing."""
    desk = desk_over()
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


def test_only_this_machine_is_listened_to(desk_over: Callable[..., Started]) -> None:
    desk = desk_over()
    with pytest.raises(OSError):
        socket.create_connection(("127.0.0.2", desk.port), timeout=1)


# -- slow and hostile clients


def test_nobody_who_is_slow_keeps_it_from_others(desk_over: Callable[..., Started]) -> None:
    """Silent connections, one byte a second, a head that never ends, rubbish: the page is served meanwhile, and
    each of them is closed."""
    desk = desk_over()
    cookie = desk.enter()
    began = time.monotonic()
    assert desk.get("/", Cookie=cookie).status == 200
    usual = time.monotonic() - began
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
    assert time.monotonic() - began < 3 + 10 * usual
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
    assert time.monotonic() - began < OVER_BY - 1, "each of them was closed within its time"
    thread.join()
    assert desk.process.poll() is None and desk.get("/", Cookie=cookie).status == 200
    for connection in slow:
        connection.close()


def test_a_page_that_says_nonsense_or_too_much_or_reads_nothing(desk_over: Callable[..., Started]) -> None:
    desk = desk_over()
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


def test_so_many_pages_and_no_more(desk_over: Callable[..., Started]) -> None:
    desk = desk_over()
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


def test_from_a_key_to_what_follows(desk_over: Callable[..., Started]) -> None:
    desk = desk_over()
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


def test_a_page_that_comes_later_is_told_what_is_true_by_now(desk_over: Callable[..., Started]) -> None:
    """Not that a line can't be read which was mended meanwhile."""
    desk = desk_over()
    cookie = desk.enter()
    one = page_of(desk, cookie)
    one.found("mends")
    one.type(GOOD.replace("ring master", "rnig master"))
    one.found("unread")
    one.type(GOOD + "anchor far\n")
    one.found("mends")
    later = page_of(desk, cookie, "two")
    later.ask("desk/palette", text=later.text, line=1)  # what it is told as it comes is heard before this is answered
    told = [message["method"] for message in later.heard if "number" in message.get("params", {})]
    assert {"desk/held", "desk/checked", "desk/picture", "desk/mends"} <= set(told) and "desk/unread" not in told


def test_what_was_found_of_an_older_text_is_not_told_of_the_newer(desk_over: Callable[..., Started]) -> None:
    """A page that hands the same text over again is told all there is: of the last that could be read, too, but
    without its marks and not as of the page's own version."""
    desk = desk_over()
    one = page_of(desk, desk.enter())
    one.found("mends")
    one.type(GOOD.replace("ring master", "rnig master"))
    number = one.found("unread")["number"]
    one.heard.clear()
    one.type(one.text)
    one.found("unread")
    told = [message["params"] for message in one.heard if "number" in message.get("params", {})]
    assert {(of["number"], of["version"]) for of in told} == {(number, one.version), (number - 1, None)}
    marks = [m["params"] for m in one.heard if m.get("method") == "textDocument/publishDiagnostics"]
    assert [(m["version"], len(m["diagnostics"])) for m in marks] == [(one.version, 1)]


def test_who_takes_the_pen_is_told_of_its_own_version(desk_over: Callable[..., Started], folder: Path) -> None:
    """Also before the first key: else what is marked in the text would not be shown."""
    (folder / "kit.rig").write_text("anchor far\n", encoding="utf-8")
    desk = desk_over(GOOD + 'include "kit.rig"\n')
    cookie = desk.enter()
    one = page_of(desk, cookie)
    one.found("mends")
    two = page_of(desk, cookie, "two")
    two.ask("desk/palette", text=two.text, line=1)  # its text is known to the desk before this is answered
    assert two.ask("desk/pen")["pen"]
    (folder / "kit.rig").write_text("anchor other\n", encoding="utf-8")
    number = two.until(lambda m: m.get("method") == "desk/number")["params"]["number"]
    marks = two.until(lambda m: m.get("method") == "textDocument/publishDiagnostics")["params"]
    assert marks["version"] == two.version
    assert two.until(lambda m: m.get("method") == "desk/checked")["params"]["number"] == number


def test_the_renderer_of_the_newest_text_is_let_be(monkeypatch: pytest.MonkeyPatch) -> None:
    """The thread that listens may come to end the work on an older text when the newest is being drawn already."""

    class Renderer:
        killed = False

        def kill(self) -> None:
            self.killed = True

    monkeypatch.setattr("analyser.doors.desk.analyst.signal.pthread_kill", lambda *_: None)
    analyst, older, newest = Analyst(io.StringIO()), Renderer(), Renderer()
    analyst.working = 1
    for number, renderer in ((1, older), (2, newest)):
        analyst.started(number, renderer)  # type: ignore[arg-type]
        analyst.end_older(2)
    assert (older.killed, newest.killed) == (True, False)


def test_a_newer_text_ends_the_work_on_an_older(desk_over: Callable[..., Started]) -> None:
    """Keys come faster than a check: nothing is told of the texts between."""
    from bench.generating import joined

    text = joined(120)
    desk = desk_over(text)
    one = page_of(desk, desk.enter())
    one.found("picture")
    one.heard.clear()
    for number in range(12):
        one.type(f"{text}anchor spare-{number}\n")  # another rig each time: what says the same is not worked out again
        time.sleep(0.03)
    one.found("picture")
    told = [message["params"]["version"] for message in one.heard if message.get("method") == "desk/checked"]
    assert told[-1] == one.version and len(told) < 8, told


def test_what_if_tells_what_the_command_tells(desk_over: Callable[..., Started], folder: Path) -> None:
    text = (EXAMPLES / "litter-bridle.rig").read_text(encoding="utf-8")
    desk = desk_over(text)
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


def test_each_state_is_asked_by_itself(desk_over: Callable[..., Started]) -> None:
    text = (EXAMPLES / "crossings" / "lower-to-raise.rig").read_text(encoding="utf-8")
    desk = desk_over(text)
    one = page_of(desk, desk.enter())
    told = one.found("checked")
    last = told["states"][-1]
    result = shipped("crossings/lower-to-raise")
    assert len(told["states"]) == len(result.states)
    failure = last["possible"][0]
    answer = one.ask("desk/whatif", number=told["number"], state=last["number"], failures=[failure])
    expected = {f.id: f for f in result.states[-1].outcome.failures}[failure]
    assert {name for name, fate in answer["fates"].items() if fate in ("falls", "person")} >= set(expected.falls)


def test_the_language_server_answers_in_the_page(desk_over: Callable[..., Started]) -> None:
    desk = desk_over()
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


def test_a_name_that_another_file_has_too_is_not_renamed_by_half(
    desk_over: Callable[..., Started], folder: Path
) -> None:
    (folder / "kit.rig").write_text("anchor left-bolt, right-bolt\n", encoding="utf-8")
    desk = desk_over(GOOD.replace("anchor left-bolt, right-bolt\n", 'include "kit.rig"\n'))
    one = page_of(desk, desk.enter())
    one.found("checked")
    with pytest.raises(RuntimeError, match=r"kit\.rig names it too"):
        one.ask(
            "textDocument/rename", textDocument={"uri": one.uri}, position={"line": 9, "character": 13}, newName="x"
        )


def test_what_a_text_says_is_never_markup(desk_over: Callable[..., Started]) -> None:
    text = f'rig "{HOSTILE}"\nnote "{HOSTILE}"\nanchor bolt: is "{HOSTILE}"\nperson ann: points waist\n'
    text += f'attach bolt - sling s - ann.waist\naccept bolt fails: "{HOSTILE}"\n'
    desk = desk_over(text)
    one = page_of(desk, desk.enter())
    assert "<script" not in one.found("picture")["svg"] and "<img" not in one.found("picture")["svg"]
    number = one.found("held")["number"]
    answer = one.ask("desk/whatif", number=number, state=0, failures=["s fails"])
    assert "<script" not in answer["page"] and "<img" not in answer["page"]
    hover = one.ask("textDocument/hover", textDocument={"uri": one.uri}, position={"line": 2, "character": 8})
    assert "<img" not in hover["contents"]["value"] and "&lt;img" in hover["contents"]["value"]
    shown = desk.get("/", Cookie=desk.enter(desk.further_address())).text  # type: ignore[attr-defined]
    assert "alert(1)" not in shown


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


def test_it_ends_as_it_is_told(desk_over: Callable[..., Started]) -> None:
    for number, status in ((signal.SIGINT, 130), (signal.SIGTERM, 143)):
        desk = desk_over()
        one = page_of(desk, desk.enter())
        one.found("held")
        assert desk.end(number) == status
        assert desk.process.stderr and "Traceback" not in desk.process.stderr.read()
        with pytest.raises(OSError):
            socket.create_connection(("127.0.0.1", desk.port), timeout=1)


def test_an_analyst_that_ends_is_started_anew(desk_over: Callable[..., Started]) -> None:
    desk = desk_over()
    one = page_of(desk, desk.enter())
    one.found("checked")
    children = subprocess.run(["pgrep", "-P", str(desk.process.pid)], capture_output=True, text=True).stdout.split()
    for child in children:
        os.kill(int(child), signal.SIGKILL)
    assert "ended by itself" in one.until(lambda m: m.get("method") == "desk/broke")["params"]["why"]
    one.type(GOOD + "# again\n")
    assert one.found("checked")["version"] == one.version

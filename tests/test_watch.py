"""`stillheld watch`: the real command, a real browser's requests, real saves."""

from __future__ import annotations

import http.client
import os
import pty
import re
import select
import shutil
import signal
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Callable, Iterator
from html.parser import HTMLParser
from pathlib import Path

import pytest

import analyser
from analyser.doors.commands.main import main
from analyser.doors.live.looking import look
from analyser.doors.live.saves import Changes, now
from analyser.pages.drawing.diagram import dot_source
from analyser.pages.drawing.rendering import NotDrawn, render
from analyser.pages.writers.hypertext import live, live_policy, whole
from analyser.pages.writers.terminal import Screen, written
from analyser.pages.writing.check_page import check_page
from analyser.pages.writing.mistakes_page import mistakes_page
from analyser.pages.writing.pictures import drawn

ROOT = Path(__file__).parent.parent
EXAMPLES = ROOT / "examples"
GOOD = (EXAMPLES / "two-lines-one-ring.rig").read_text(encoding="utf-8")
BAD = GOOD.replace("ring master", "rnig master")
PATIENCE = 20.0


def titled(title: str) -> str:
    return GOOD.replace("Two lines to one ring", title)


def interruptible() -> None:
    """A shell starts what runs in its background deaf to Ctrl-C, and so would be what the tests start."""
    signal.signal(signal.SIGINT, signal.SIG_DFL)


class Watched:
    """A running `stillheld watch` on a file of its own folder."""

    def __init__(self, folder: Path, *arguments: str, text: str = GOOD) -> None:
        self.rig = folder / "plan.rig"
        self.rig.write_text(text, encoding="utf-8")
        self.printed = folder.parent / f"{folder.name}.printed"
        with self.printed.open("wb") as out:
            self.process = subprocess.Popen(
                [sys.executable, "-m", "analyser.doors.commands.main", "watch", str(self.rig), *arguments],
                stdout=out,
                stderr=subprocess.STDOUT,
                env=os.environ | {"PYTHONPATH": str(ROOT)},
                preexec_fn=interruptible,
            )

    def save(self, text: str) -> None:
        """As many editors do: a new file takes the old one's place."""
        fresh = self.rig.with_name(".plan.rig.swap")
        fresh.write_text(text, encoding="utf-8")
        fresh.replace(self.rig)

    def text(self) -> str:
        return self.printed.read_text(encoding="utf-8")

    def until(self, words: str, *, times: int = 1) -> None:
        self.wait(lambda: self.text().count(words) >= times, f"{words!r} on the stream")

    def wait(self, happened: Callable[[], bool], what: str) -> None:
        start = time.monotonic()
        while not happened():
            assert self.process.poll() is None, f"it ended before {what}:\n{self.text()}"
            assert time.monotonic() - start < PATIENCE, f"waited in vain for {what}:\n{self.text()}"
            time.sleep(0.02)

    @property
    def address(self) -> str:
        self.until("page: ")
        found = re.search(r"^page: (http://127\.0\.0\.1:\d+/)$", self.text(), re.MULTILINE)
        assert found
        return found[1]

    def page(self, seen: str = "") -> tuple[str, str]:
        """The page's tag and text, as the script in it asks for them."""
        headers = {"If-None-Match": seen, "Prefer": "wait=20"} if seen else {}
        with urllib.request.urlopen(urllib.request.Request(self.address, headers=headers), timeout=PATIENCE) as answer:
            return answer.headers["ETag"], answer.read().decode()

    def shows(self, words: str, seen: str = "") -> tuple[str, str]:
        """The page once it says something: what comes up late (a diagram) is a page of its own."""
        start = time.monotonic()
        tag, html = self.page(seen)
        while words not in html:
            assert time.monotonic() - start < PATIENCE, f"waited in vain for {words!r} on the page:\n{html}"
            tag, html = self.page(tag)
        return tag, html

    def end(self, number: signal.Signals) -> int:
        self.process.send_signal(number)
        return self.process.wait(timeout=5)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    made = tmp_path / "rigs"
    made.mkdir()
    return made


@pytest.fixture
def start(folder: Path) -> Iterator[Callable[..., Watched]]:
    started: list[Watched] = []

    def run(*arguments: str, text: str = GOOD) -> Watched:
        started.append(Watched(folder, *arguments, text=text))
        return started[-1]

    yield run
    for one in started:
        one.process.kill()
        one.process.wait()


def test_from_the_first_look_to_the_end(start: Callable[..., Watched]) -> None:
    """Saves, a mistake, its mending, on stream and page; Ctrl-C ends it, with a request still open."""
    watched = start("--page")
    watched.until("\npage: ")
    tag, html = watched.shows("</svg>")
    assert "Two lines to one ring" in html and "master fails" in html
    watched.save(titled("The second save"))
    tag, html = watched.shows("<title>The second save</title>", tag)
    assert "NOT MET" in html and html.count("The second save") >= 2
    watched.until("The second save  plan.rig")
    good = re.search(r"plan\.rig, as read at (\S+); checked in", html)
    assert good
    watched.save(BAD)
    tag, html = watched.shows("there is no kind of part called", tag)
    assert "^^^^" in html and "NOT MET" not in html and "<svg" not in html
    kept = f"The last results, of {good[1]}: not met (2 of 2 requirements broken), on connections only"
    assert kept in html, "the time of the last results, and their verdict, are not lost"
    watched.until(kept)
    assert "plan.rig:6:1: there is no kind of part called `rnig`" in watched.text()
    watched.save(titled("Mended"))
    tag, html = watched.shows("<title>Mended</title>", tag)
    tag, html = watched.shows("</svg>")
    assert "rnig" not in html

    port = int(watched.address.rstrip("/").rpartition(":")[2])
    waiting = http.client.HTTPConnection("127.0.0.1", port, timeout=PATIENCE)
    waiting.request("GET", "/", headers={"If-None-Match": tag, "Prefer": "wait=20"})
    silent = socket.create_connection(("127.0.0.1", port))
    began = time.monotonic()
    assert watched.end(signal.SIGINT) == 130
    assert time.monotonic() - began < 2
    assert watched.text().endswith("stopped\n") and "Traceback" not in watched.text()
    waiting.close()
    silent.close()
    with pytest.raises(OSError):
        socket.create_connection(("127.0.0.1", port), timeout=1)


def test_terminated(start: Callable[..., Watched]) -> None:
    watched = start("--page")
    watched.until("\npage: ")
    assert watched.end(signal.SIGTERM) == 143
    assert "Traceback" not in watched.text()


def test_a_file_that_goes_and_comes_back(start: Callable[..., Watched]) -> None:
    watched = start()
    watched.until("checked in")
    watched.rig.unlink()
    watched.until("there is no such file")
    watched.rig.write_text(titled("Back again"), encoding="utf-8")
    watched.until("Back again  plan.rig")


def test_a_folder_that_goes_and_comes_back(start: Callable[..., Watched], folder: Path) -> None:
    watched = start()
    watched.until("checked in")
    aside = folder.with_name("aside")
    folder.rename(aside)
    watched.until("there is no such file")
    aside.rename(folder)
    watched.until("checked in", times=2)
    watched.save(titled("In the folder again"))
    watched.until("In the folder again  plan.rig")


def test_a_save_in_place(start: Callable[..., Watched]) -> None:
    watched = start()
    watched.until("checked in")
    with watched.rig.open("r+", encoding="utf-8") as file:
        file.truncate(0)
        file.write(titled("Written in place"))
    watched.until("Written in place  plan.rig")


def test_included_files(start: Callable[..., Watched], folder: Path) -> None:
    """One in a folder below, which isn't there at first; what is changed beside them is nobody's concern."""
    watched = start(text='rig "With a kit"\ninclude "kit/team.rig"\nanchor bolt\nperson ann: points waist\n'
                    "attach bolt - team-strap strap-1 - ann.waist\n")  # fmt: skip
    watched.until("`kit/team.rig`: there is no such file")
    (folder / "kit").mkdir()
    (folder / "kit" / "team.rig").write_text('kind team-strap like strap: is "one"\n')
    watched.until("strap-1")
    (folder / "kit" / "team.rig").write_text("kind team-strap like starp\n")
    watched.until("there is no kind `starp`")
    said = len(watched.text())
    (folder / "notes.txt").write_text("nothing to do with it")
    (folder / "kit" / "other.rig").write_text("nor this")
    time.sleep(0.5)
    assert len(watched.text()) == said


def test_in_place_on_a_terminal(folder: Path) -> None:
    """Each page takes the last one's place: the screen is cleared before it."""
    rig = folder / "plan.rig"
    rig.write_text(titled("First page"), encoding="utf-8")
    main_end, own_end = pty.openpty()
    process = subprocess.Popen(
        [sys.executable, "-m", "analyser.doors.commands.main", "watch", str(rig)],
        stdin=own_end,
        stdout=own_end,
        stderr=own_end,
        env=os.environ | {"PYTHONPATH": str(ROOT), "TERM": "xterm"},
        preexec_fn=interruptible,
    )
    os.close(own_end)

    def until(words: str) -> str:
        said = ""
        while words not in said and select.select([main_end], [], [], PATIENCE)[0]:
            said += os.read(main_end, 65536).decode("utf-8", "replace")
        assert words in said
        return said

    try:
        until("Ctrl-C ends")
        fresh = rig.with_suffix(".new")
        fresh.write_text(titled("Second page"), encoding="utf-8")
        fresh.replace(rig)
        second = until("Ctrl-C ends")
        assert re.search(r"\x1b\[2J.*Second page", second, re.DOTALL)
        assert "First page" not in second
        process.send_signal(signal.SIGINT)
        assert process.wait(timeout=5) == 130
    finally:
        process.kill()
        process.wait()
        os.close(main_end)


# -- what the server refuses


@pytest.fixture
def asked(start: Callable[..., Watched]) -> Callable[..., http.client.HTTPResponse]:
    watched = start("--page")
    watched.shows("</svg>")
    port = int(watched.address.rstrip("/").rpartition(":")[2])

    def ask(
        method: str = "GET", path: str = "/", host: str = f"127.0.0.1:{port}", **more: str
    ) -> http.client.HTTPResponse:
        connection = http.client.HTTPConnection("127.0.0.1", port, timeout=PATIENCE)
        connection.putrequest(method, path, skip_host=True)
        for name, value in {"Host": host, **more}.items():
            if value:
                connection.putheader(name, value.format(port=port))
        connection.endheaders()
        answer = connection.getresponse()
        answer.read()
        connection.close()
        return answer

    return ask


def test_what_is_answered_and_what_is_refused(asked: Callable[..., http.client.HTTPResponse]) -> None:
    answer = asked()
    assert (answer.status, asked(path="/?again").status, asked(host="localhost:{port}").status) == (200, 200, 200)
    assert answer.headers["Content-Security-Policy"].startswith("default-src 'none'; ")
    assert "unsafe" not in answer.headers["Content-Security-Policy"]
    assert answer.headers["X-Content-Type-Options"] == "nosniff" and answer.headers["Cache-Control"] == "no-store"
    assert "Access-Control-Allow-Origin" not in answer.headers
    for host in ("rebound.example", "rebound.example:{port}", "127.0.0.1", "127.0.0.1:1", "", "0.0.0.0:{port}"):
        assert asked(host=host).status == 403, host
    for method in ("POST", "PUT", "DELETE", "HEAD", "OPTIONS", "PATCH", "ANYTHING"):
        assert asked(method).status == 405, method
    for path in ("/favicon.ico", "/../plan.rig", "/plan.rig", "http://127.0.0.1/x"):
        assert asked(path=path).status == 404, path
    tag = answer.headers["ETag"]
    began = time.monotonic()
    assert asked(**{"If-None-Match": tag, "Prefer": "wait=1"}).status == 304
    assert 0.9 < time.monotonic() - began < 5, "no news: it waits as long as it was asked to"
    assert asked(**{"If-None-Match": '"of another session-1"', "Prefer": "wait=20"}).status == 200


def test_only_this_machine_is_listened_to(start: Callable[..., Watched]) -> None:
    port = int(start("--page").address.rstrip("/").rpartition(":")[2])
    elsewhere = "127.0.0.2"  # also this machine, but another address: 0.0.0.0 would answer here
    with pytest.raises(OSError):
        socket.create_connection((elsewhere, port), timeout=1)


def test_what_cannot_begin(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["watch", "-"]) == 2
    assert "standard input can't be watched" in capsys.readouterr().err
    assert main(["watch", str(tmp_path / "none.rig")]) == 2
    assert "there is no such file" in capsys.readouterr().err
    assert main(["watch", str(tmp_path)]) == 2
    assert "this is a folder" in capsys.readouterr().err
    with pytest.raises(SystemExit) as stopped:
        main(["watch", "--page", "plan.rig"])
    assert stopped.value.code == 2 and "the rig is named before --page" in capsys.readouterr().err
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
        assert main(["watch", str(EXAMPLES / "litter-lower.rig"), "--page", str(port)]) == 2
    assert f"port {port} on 127.0.0.1 cannot be used" in capsys.readouterr().err


# -- the page


class Outline(HTMLParser):
    """The words of a page, and whether its elements are closed as they were opened."""

    EMPTY = ("meta", "br")

    def __init__(self, html: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.tags: list[str] = []
        self.attributes: list[tuple[str, str | None]] = []
        self.words: list[str] = []
        self.feed(html)
        self.close()
        assert not self.open, self.open

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.attributes += attrs
        if tag not in self.EMPTY:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.attributes += attrs

    def handle_data(self, data: str) -> None:
        if self.open and self.open[-1] not in ("style", "script"):
            self.words += data.split()


RIGS = [*sorted(EXAMPLES.glob("*.rig")), *sorted((ROOT / "tests" / "found").glob("*.rig"))]


@pytest.mark.parametrize("path", RIGS, ids=lambda path: path.stem)
def test_the_page_says_all_that_the_terminal_says(path: Path) -> None:
    """The same words in the same order, none lost and none added but the one for the diagram."""
    result = analyser.check(analyser.read(path))
    printed = "".join(written(check_page(result, path.name), Screen()).split())
    html = whole(check_page(result, path.name, figure=drawn(None)), ("page.css",))
    main = html[html.index("<main>") : html.index("</body>")]
    found = "".join(Outline(main).words).replace("Thediagramisbeingdrawn.", "", 1)
    assert found.casefold() == printed.casefold(), "headings stand in capitals on a terminal"


def test_what_a_file_says_is_never_markup() -> None:
    nasty = "<script>alert(1)</script><img src=x onerror=alert(1)>&amp;'{{ 7*7 }}"
    text = f'rig "{nasty}"\nnote "{nasty}"\nanchor bolt: is "{nasty}"\nperson ann: points waist\n'
    text += f'attach bolt - sling s - ann.waist\naccept bolt fails: "{nasty}"\nsound s fails: "{nasty}"\n'
    result = analyser.check(analyser.read_text(text))
    svg = render(dot_source(result), "svg")
    html = live(check_page(result, nasty, figure=drawn(svg)), nasty)
    outline = Outline(html)
    assert outline.tags.count("script") == 1 and "img" not in outline.tags
    assert not [name for name, _ in outline.attributes if name.startswith("on") or name == "style"]
    assert html.count("alert(1)") == html.count("&lt;script&gt;alert(1)") + html.count("onerror=alert(1)&gt;")
    assert "49" not in Outline(live(mistakes_page(nasty, (), {}), "")).words


def test_nothing_is_fetched_from_elsewhere() -> None:
    result = analyser.check(analyser.read(EXAMPLES / "litter-lower.rig"))
    svg = render(dot_source(result), "svg")
    outline = Outline(live(check_page(result, "a.rig", figure=drawn(svg)), ""))
    assert not {"link", "img", "iframe", "image", "use", "a"} & set(outline.tags)
    links = [value for name, value in outline.attributes if name in ("src", "href", "xlink:href", "action")]
    assert not links
    assert "http" not in live_policy() and "'unsafe" not in live_policy()


def test_a_single_view_needs_no_script() -> None:
    """The same page as a file, with nothing that refreshes it."""
    result = analyser.check(analyser.read(EXAMPLES / "litter-lower.rig"))
    html = whole(check_page(result, "a.rig", figure=drawn(NotDrawn("no renderer"))), ("page.css",))
    assert "<script" not in html and "No diagram: no renderer" in html and "script-src &#39;none&#39;" in html
    assert html == whole(check_page(result, "a.rig", figure=drawn(NotDrawn("no renderer"))), ("page.css",))
    alone = live(check_page(analyser.check(analyser.read_text(GOOD)), "a.rig"), "")
    assert '<td><strong class="alarm">1 ALONE</strong></td>' in alone, "said in a word, and in weight and colour"
    figure = drawn(render(dot_source(result), "svg"))
    assert "<svg" in whole(check_page(result, "a.rig", figure=figure), ("page.css",))


# -- looking


def test_a_change_while_it_is_checked_stops_the_check(tmp_path: Path) -> None:
    rig = tmp_path / "plan.rig"
    rig.write_text(GOOD, encoding="utf-8")
    asked = []

    def going_on(order: int, done: int, every: int) -> bool:
        asked.append(order)
        return False

    seen = look(rig, 4, going_on, None)
    assert asked and seen.result and seen.result.states[0].outcome.complete_to < 4


def test_changes_are_told_of_and_only_those(tmp_path: Path) -> None:
    rig, other = tmp_path / "plan.rig", tmp_path / "other.txt"
    rig.write_text(GOOD, encoding="utf-8")
    with Changes() as changes:
        changes.follow([rig], now())
        changes.seen()
        assert not changes.pending()
        other.write_text("nothing")
        assert not changes.pending()
        rig.write_text(BAD, encoding="utf-8")
        changes.wait()
        changes.seen()
        assert not changes.pending()
        since = now()
        late = tmp_path / "kit.rig"
        late.write_text("kind k like ring\n")  # written after the rig that includes it was read
        changes.follow([rig, late], since)
        changes.wait()
        changes.seen()
        shutil.rmtree(tmp_path)
        changes.wait()
        changes.seen()
        changes.follow([rig, late], now())
        tmp_path.mkdir()
        rig.write_text(GOOD, encoding="utf-8")
        changes.wait()

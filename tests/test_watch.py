"""`stillheld watch`: the real command, a real browser's requests, real saves."""

from __future__ import annotations

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
from collections.abc import Callable, Iterator
from html.parser import HTMLParser
from pathlib import Path

import pytest
from desk_client import ENDS_IN, Page, Started
from rigs import shipped

import analyser
from analyser.doors.commands.main import main
from analyser.doors.live.looking import look
from analyser.doors.live.saves import Changes, now
from analyser.pages.drawing.diagram import dot_source
from analyser.pages.drawing.rendering import NotDrawn, render
from analyser.pages.writers import terminal
from analyser.pages.writers.hypertext import whole
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

    def end(self, number: signal.Signals) -> int:
        self.process.send_signal(number)
        return self.process.wait(timeout=ENDS_IN)


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
    """Saves, a mistake, its mending, on the stream; Ctrl-C ends it."""
    watched = start()
    watched.until("checked in")
    watched.save(titled("The second save"))
    watched.until("The second save  plan.rig")
    good = re.findall(r"plan\.rig, as read at (\S+); checked in", watched.text())[-1]
    watched.save(BAD)
    watched.until("plan.rig:6:1: there is no kind of part called `rnig`")
    watched.until(f"The last results, of {good}: not met (2 of 2 requirements broken), on connections only")
    watched.save(titled("Mended"))
    watched.until("Mended  plan.rig")
    assert watched.end(signal.SIGINT) == 130
    assert watched.text().endswith("stopped\n") and "Traceback" not in watched.text()


def test_the_page_follows_the_file_and_writes_nothing(folder: Path) -> None:
    """The desk's page without its pen: saves, a mistake, a file that goes; ended with the conversation still open."""
    rig = folder / "plan.rig"
    rig.write_text(GOOD, encoding="utf-8")
    desk = Started(rig, "--page", command="watch")
    try:
        page = Page(desk, desk.enter())
        assert (page.about["writes"], page.about["pen"], page.about["text"]) == (False, False, GOOD)
        page.tell("initialized", {})
        held = page.until(lambda one: one.get("method") == "desk/checked")["params"]
        assert held["title"] == "Two lines to one ring" and not held["met"]
        page.until(lambda one: one.get("method") == "desk/picture")
        rig.write_text(titled("Saved elsewhere"), encoding="utf-8")
        assert page.until(lambda one: one.get("method") == "desk/text")["params"]["text"] == titled("Saved elsewhere")
        assert page.until(lambda one: one.get("method") == "desk/checked")["params"]["title"] == "Saved elsewhere"
        rig.write_text(BAD, encoding="utf-8")
        told = page.until(lambda one: one.get("method") == "desk/unread")["params"]["mistakes"]
        assert [(one["line"], one["text"]) for one in told] == [(6, "there is no kind of part called `rnig`")]
        rig.unlink()
        gone = page.until(lambda one: one.get("method") == "desk/unread")["params"]["mistakes"]
        assert "there is no such file" in gone[0]["text"]
        rig.write_text(titled("Back again"), encoding="utf-8")
        assert page.until(lambda one: one.get("method") == "desk/checked")["params"]["title"] == "Back again"
        for method, params in (
            ("desk/save", {"text": "x", "following": page.about["saved"]}),
            ("desk/paper", {"which": "report", "language": "en"}),
            ("desk/start", {"name": "x", "sort": "blank", "from": ""}),
            ("desk/reread", {}),
        ):
            with pytest.raises(RuntimeError):
                page.ask(method, **params)
        assert page.ask("desk/pen")["pen"] is False
        assert [one.name for one in folder.iterdir()] == ["plan.rig"]
        assert desk.end(signal.SIGINT) == 130
    finally:
        desk.kill()


def test_terminated(start: Callable[..., Watched]) -> None:
    watched = start("--page")
    watched.until("\npage: http://127.0.0.1:")
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
        assert process.wait(timeout=ENDS_IN) == 130
    finally:
        process.kill()
        process.wait()
        os.close(main_end)


def test_what_cannot_begin(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["watch", "-"]) == 2
    assert "standard input can't be watched" in capsys.readouterr().err
    assert main(["watch", str(tmp_path / "none.rig")]) == 2
    assert "there is no such file" in capsys.readouterr().err
    assert main(["watch", str(tmp_path)]) == 2
    assert "this is a folder" in capsys.readouterr().err
    with pytest.raises(SystemExit) as stopped:
        main(["watch", "--page", "plan.rig"])
    assert stopped.value.code == 2 and "the rig is named before it" in capsys.readouterr().err
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
def test_the_page_says_all_that_the_terminal_says(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The same words in the same order, none lost and none added but the one for the diagram."""
    result = shipped(path)
    monkeypatch.setattr(terminal, "WIDTH_OF_A_PAGE", 400)  # so that no cell of a table is folded
    printed = "".join(written(check_page(result, path.name), Screen()).replace("`", "").split())
    html = whole(check_page(result, path.name, figure=drawn(None)), ("page.css",))
    main = html[html.index("<main>") : html.index("</body>")]
    found = "".join(Outline(main).words).replace("Thediagramisbeingdrawn.", "", 1)
    assert "`" not in found, "words to type are set as code there"
    assert found.casefold() == printed.casefold(), "headings stand in capitals on a terminal"


def test_what_a_file_says_is_never_markup() -> None:
    nasty = "<script>alert(1)</script><img src=x onerror=alert(1)>&amp;'{{ 7*7 }}"
    text = f'rig "{nasty}"\nnote "{nasty}"\nanchor bolt: is "{nasty}"\nperson ann: points waist\n'
    text += f'attach bolt - sling s - ann.waist\naccept bolt fails: "{nasty}"\nsound s fails: "{nasty}"\n'
    result = analyser.check(analyser.read_text(text))
    svg = render(dot_source(result), "svg")
    html = whole(check_page(result, nasty, figure=drawn(svg)), ("page.css",))
    outline = Outline(html)
    assert "script" not in outline.tags and "img" not in outline.tags
    assert not [name for name, _ in outline.attributes if name.startswith("on") or name == "style"]
    assert html.count("alert(1)") == html.count("&lt;script&gt;alert(1)") + html.count("onerror=alert(1)&gt;")
    assert "49" not in Outline(whole(mistakes_page(nasty, (), {}), ("page.css",))).words


def test_nothing_is_fetched_from_elsewhere() -> None:
    result = shipped("litter-lower")
    svg = render(dot_source(result), "svg")
    outline = Outline(whole(check_page(result, "a.rig", figure=drawn(svg)), ("page.css",)))
    assert not {"link", "img", "iframe", "image", "use", "a"} & set(outline.tags)
    links = [value for name, value in outline.attributes if name in ("src", "href", "xlink:href", "action")]
    assert not links
    (policy,) = (value for name, value in outline.attributes if name == "content" and "default-src" in str(value))
    assert policy and "http" not in policy and "'unsafe" not in policy


def test_a_single_view_needs_no_script() -> None:
    """The same page as a file, with nothing that refreshes it."""
    result = shipped("litter-lower")
    html = whole(check_page(result, "a.rig", figure=drawn(NotDrawn("no renderer"))), ("page.css",))
    assert "<script" not in html and "No diagram: no renderer" in html and "script-src &#39;none&#39;" in html
    assert html == whole(check_page(result, "a.rig", figure=drawn(NotDrawn("no renderer"))), ("page.css",))
    alone = whole(check_page(analyser.check(analyser.read_text(GOOD)), "a.rig"), ("page.css",))
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

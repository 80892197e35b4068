"""The desk in a real browser: written at, pressed, dragged, by keyboard alone, narrow, enlarged, dark, in German,
saved, killed, attacked and scanned. Driven with Debian's Chromium; never skipped in `.ci/run` (CI is set there).
"""

from __future__ import annotations

import json
import re
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from browsing import FATES, LISTEN, listening, needs_chromium
from desk_client import EXAMPLES, GOOD, HOSTILE, ROOT, Started

pytestmark = needs_chromium
PATIENCE = 180_000
"""Milliseconds until a wait is given up: only those that are in vain take so long."""
FOCUSED = """() => { const e = document.activeElement;
    return e.id || e.dataset.item || e.dataset.part || e.className.split(' ')[0] || e.tagName; }"""
SAID = """() => Object.fromEntries([...document.querySelectorAll('#said, #gone, #head, #closing, #older, #held')].map(
    (one) => [one.id, one.hidden ? 'hidden' : one.id === 'held' ? {...one.dataset} : one.textContent])
    .concat([['picture', document.getElementById('picture')?.firstElementChild?.tagName]]))"""
BRIDLE = (EXAMPLES / "litter-bridle.rig").read_text(encoding="utf-8")
LOWER = (EXAMPLES / "litter-lower.rig").read_text(encoding="utf-8")
STAGED = (EXAMPLES / "crossings" / "lower-to-raise.rig").read_text(encoding="utf-8")


class Sheet:
    """A desk, and a browser's page of it; whatever was blocked, thrown or fetched from elsewhere is kept."""

    def __init__(self, browser: Any, desk: Started, **how: Any) -> None:
        self.desk = desk
        self.context = browser.new_context(**{"viewport": {"width": 1300, "height": 850}, "locale": "en-GB", **how})
        self.errors: list[str] = []
        self.requests: list[str] = []
        self.page = self.opened(desk.address)

    def opened(self, address: str) -> Any:
        page = self.context.new_page()
        page.set_default_timeout(PATIENCE)
        listening(page, self.errors, self.requests)
        page.add_init_script(LISTEN)
        page.goto(address)
        page.wait_for_url(re.compile(r":\d+/(\?.*)?$"))
        return page

    def settled(self) -> None:
        """The check and the picture are of the text as it is."""
        self.page.wait_for_function(
            """() => document.querySelector('#picture svg') && document.getElementById('held').dataset.checked
            && document.getElementById('held').dataset.checked === document.getElementById('held').dataset.number
            && !document.getElementById('older').textContent"""
        )

    def told(self) -> str:
        """What every page says as a test ends, its errors, and what the desk wrote: shown where the test has failed."""
        said = [f"{page.url}: {page.evaluate(SAID)}" for page in self.context.pages if "/paper/" not in page.url]
        self.context.close()
        self.desk.kill()
        return "\n".join([*said, *self.errors, *self.desk.wrote])

    def fates(self) -> dict[str, str]:
        found: dict[str, str] = self.page.evaluate(FATES)
        return found

    def head(self, words: str) -> None:
        self.page.locator("#head", has_text=words).wait_for()

    def part(self, name: str) -> Any:
        return self.page.locator(f'#picture [data-part="{name}"]').first

    def write(self, words: str, *, end: bool = True) -> None:
        self.page.locator("#editor .cm-content").focus()
        if end:
            self.page.keyboard.press("Control+End")
        self.page.keyboard.type(words)

    def sound(self) -> None:
        """Nothing was blocked, thrown or fetched from elsewhere."""
        assert self.page.evaluate("window.heard") == []
        assert self.errors == []
        own = f"127.0.0.1:{self.desk.port}/"
        assert [url for url in self.requests if own not in url and not url.startswith("data:")] == []


@pytest.fixture
def start(tmp_path: Path, browser: Any) -> Iterator[Callable[..., Sheet]]:
    started: list[Sheet] = []

    def run(text: str = GOOD, *arguments: str, command: str = "desk", **how: Any) -> Sheet:
        rig = tmp_path / "rigs" / "plan.rig"
        rig.parent.mkdir(exist_ok=True)
        rig.write_text(text, encoding="utf-8")
        started.append(Sheet(browser, Started(rig, *arguments, command=command), **how))
        return started[-1]

    yield run
    for one in started:
        print(one.told())


def file_of(tmp_path: Path) -> Path:
    return tmp_path / "rigs" / "plan.rig"


# -- coming in


def test_the_secret_is_gone_from_the_address_and_nothing_is_blocked(start: Callable[..., Sheet]) -> None:
    one = start()
    one.settled()
    assert one.page.url == f"http://127.0.0.1:{one.desk.port}/"
    assert one.page.evaluate("document.cookie") == "", "no script sees the cookie"
    assert one.page.evaluate("history.length") <= 2
    cookie = one.context.cookies()[0]
    assert (cookie["httpOnly"], cookie["sameSite"]) == (True, "Strict")
    assert one.page.locator("#title").inner_text() == "Two lines to one ring"
    one.sound()


# -- the text and what follows from it


def test_who_is_held_changes_as_one_writes(start: Callable[..., Sheet]) -> None:
    one = start()
    one.settled()
    one.head("ann is one failure from not being held")
    assert one.fates() == {"ann": "one from falling"}
    assert "not held if master fails" in one.page.locator("#bodies").inner_text()
    assert "not met (2 of 2" in one.page.locator("#closing").inner_text().lower()
    one.write("attach right-bolt - strap further - ann.chest\n")
    one.head("After any one failure everybody is held")
    one.settled()
    assert one.fates() == {"ann": "held"}
    assert one.page.locator('#picture [data-part="further"]').count() == 1
    assert "model of what was written" in one.page.locator("footer").inner_text()
    one.sound()


def test_the_last_good_picture_stays_while_a_line_is_unfinished(start: Callable[..., Sheet]) -> None:
    one = start()
    one.settled()
    one.write("anchr far\n")
    one.head("One line can't be read: line 18")
    one.page.locator("#older", has_text="Older picture: line 18 can't be read").wait_for()
    one.page.locator("#sheet.older #picture svg").wait_for()  # greyed, and still there
    assert (
        one.fates() == {"ann": "one from falling"} and "Of the text before" in one.page.locator("#closing").inner_text()
    )
    one.page.locator("#notes", has_text="no kind of part called").wait_for()  # not of half the word
    one.page.locator("#notes button.mend", has_text="anchor").click()
    one.settled()
    assert "anchor far" in one.page.locator("#editor .cm-content").inner_text()
    assert one.page.locator("#older").inner_text() == ""
    one.sound()


def test_what_the_language_server_knows_is_at_hand(start: Callable[..., Sheet]) -> None:
    """Colours, what may follow, what stands under the pointer, rename everywhere, the layout on a key."""
    one = start()
    one.settled()
    page = one.page
    page.locator(".cm-content .is-keyword", has_text="rope").first.wait_for()
    assert page.locator(".cm-content .is-type", has_text="ring").count() >= 1
    one.write("attach mas")
    page.locator(".cm-tooltip-autocomplete li", has_text="master").wait_for()
    page.wait_for_timeout(200)  # the editor takes an Enter within 75 ms of the list's opening for a new line
    page.keyboard.press("Enter")
    page.keyboard.type(" - strap far - ann.")
    page.locator(".cm-tooltip-autocomplete li", has_text="waist").wait_for()
    page.keyboard.press("Escape")
    page.keyboard.type("waist\n")
    one.settled()
    page.locator(".cm-line", has_text="ring master").get_by_text("master").hover()
    page.locator(".cm-tooltip", has_text="if master fails: ann falls").wait_for()
    page.mouse.move(2, 2)
    page.locator(".cm-line", has_text="ring master").click()
    page.keyboard.press("End")
    page.keyboard.press("F2")
    page.locator(".cm-panel input").fill("plate")
    page.keyboard.press("Enter")
    page.locator(".cm-line", has_text="ring plate").wait_for()
    assert "master" not in page.locator("#editor .cm-content").inner_text()
    page.locator("#editor .cm-content").focus()
    page.keyboard.press("Control+Home")
    page.keyboard.type("\n\n\n")
    page.keyboard.press("Shift+Alt+f")
    page.wait_for_function("() => document.querySelector('.cm-line').textContent.startsWith('#')")
    one.settled()
    one.sound()


def test_what_can_be_undone_survives_a_reload(start: Callable[..., Sheet], tmp_path: Path) -> None:
    one = start()
    one.settled()
    one.write("# one more line")
    one.page.locator("#kept", has_text="not saved").wait_for()
    one.page.wait_for_timeout(600)
    one.page.reload()
    one.settled()
    assert "# one more line" in one.page.locator("#editor .cm-content").inner_text()
    assert one.page.locator("#kept").inner_text() == "not saved"
    one.page.locator("#editor .cm-content").focus()
    for _ in range(3):
        one.page.keyboard.press("Control+z")
    one.page.wait_for_function("() => !document.querySelector('#editor .cm-content').innerText.includes('one more')")
    one.page.locator("#kept", has_text=re.compile("^saved$")).wait_for()
    assert file_of(tmp_path).read_text(encoding="utf-8") == GOOD
    one.sound()


# -- text and picture are one


def test_a_part_and_its_line_find_each_other(start: Callable[..., Sheet]) -> None:
    one = start()
    one.settled()
    one.part("master").click()
    line = one.page.locator(".cm-line.lit-part")
    line.wait_for()
    assert line.inner_text() == "ring master"
    assert "lit" in (one.part("master").get_attribute("class") or "")
    one.page.locator(".cm-line", has_text="strap chest-strap").click()
    one.page.locator("#picture .lit").first.wait_for()
    one.page.keyboard.press("Home")
    for _ in range(30):
        one.page.keyboard.press("ArrowRight")
    one.page.locator('#picture [data-part="chest-strap"].lit').wait_for()
    one.page.locator(".cm-line", has_text="rope red").click()
    one.page.keyboard.press("End")
    one.page.locator('#picture [data-part^="red["].lit').first.wait_for()
    one.page.locator("#find").fill("green-low")
    one.page.keyboard.press("Enter")
    one.page.locator('#picture [data-part="green-low"].lit').wait_for()
    assert "green-low" in one.page.locator(".cm-line.lit-part").inner_text()
    one.sound()


def said_by_the_command(path: Path, *failures: str) -> dict[str, Any]:
    run = subprocess.run(
        [sys.executable, "-m", "analyser.doors.commands.main", "whatif", "--json", str(path), *failures],
        capture_output=True, text=True, cwd=ROOT,
    )  # fmt: skip
    told: dict[str, Any] = json.loads(run.stdout)
    return told


def agrees(one: Sheet, told: dict[str, Any]) -> None:
    fates = one.fates()
    assert {name for name, word in fates.items() if word.startswith("FALLS")} == set(told["falls"])
    on_one = {body["name"] for body in told["bodies"] if body["held"] and body["smallest_failure_set"] == 1}
    assert {name for name, word in fates.items() if word == "one from falling"} == on_one


def test_what_if_by_mouse_by_dragging_and_by_keyboard(start: Callable[..., Sheet], tmp_path: Path) -> None:
    one = start(BRIDLE)
    one.settled()
    page = one.page
    whole = page.evaluate(
        "(({scrollWidth: w, clientWidth: W, scrollHeight: h, clientHeight: H}) => w <= W && h <= H)(picture)"
    )
    assert whole, "the people at the bottom, and who is marked, are in sight before anything is pressed"
    for name in ("left-crab", "red-top"):
        one.part(name).click()
        assert page.locator("#modes button").first.inner_text().startswith(f"{name} "), "no other part of its line"
    one.part("lashing").click()
    page.locator("#modes button", has_text="lashing fails").click()
    one.head("If lashing fails:")
    agrees(one, said_by_the_command(file_of(tmp_path), "lashing fails"))
    page.locator("#in-full summary").click()
    assert "caught after a drop of about 0.38 m" in page.locator("#page").inner_text()
    assert page.locator("#picture .slot.failed text").all_text_contents() == ["FAILED"]

    page.locator("#fit").click()
    strap = one.part("vic-strap").bounding_box()
    tray = page.locator("#whatif").bounding_box()
    page.mouse.move(strap["x"] + strap["width"] / 2, strap["y"] + strap["height"] / 2)
    page.mouse.down()
    page.mouse.move(tray["x"] + 60, tray["y"] + 20, steps=6)
    page.locator(".ghost", has_text="vic-strap").wait_for()
    page.mouse.up()
    one.head("If lashing fails and vic-strap fails: vic falls")
    agrees(one, said_by_the_command(file_of(tmp_path), "lashing fails", "vic-strap fails"))
    assert "FALLS" in page.locator("#picture .slot.falls text").all_text_contents()

    page.locator("#failed button", has_text="Nothing failed").click()
    page.wait_for_function("() => !document.getElementById('held').classList.contains('what-if')")
    page.keyboard.press("Alt+2")
    names = set()
    while page.evaluate("document.activeElement.dataset.part") != "master":
        names.add(page.evaluate("document.activeElement.dataset.part"))
        page.keyboard.press("ArrowRight")
        assert len(names) < 60
    page.keyboard.press("x")
    one.head("If master fails:")
    assert page.evaluate("document.activeElement.dataset.part") == "master"
    assert page.evaluate("document.activeElement.getAttribute('aria-pressed')") == "true"
    agrees(one, said_by_the_command(file_of(tmp_path), "master fails"))
    page.keyboard.press("0")
    page.wait_for_function("() => !document.getElementById('held').classList.contains('what-if')")
    page.keyboard.press("Enter")
    assert one.page.locator(".cm-line.lit-part").inner_text().startswith("ring master")
    one.sound()


def test_what_if_by_touch_on_a_phone(start: Callable[..., Sheet]) -> None:
    one = start(GOOD, viewport={"width": 390, "height": 800}, has_touch=True, is_mobile=True)
    page = one.page
    page.wait_for_selector("#picture svg", state="attached")
    assert page.locator("#editor").is_visible() and not page.locator("#picture").is_visible()
    page.locator("#tab-picture").tap()
    assert not page.locator("#editor").is_visible()
    one.part("master").tap()
    page.locator("#modes button", has_text="master fails").tap()
    one.head("If master fails: ann falls")
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    one.sound()


def test_what_was_supposed_is_asked_again_of_the_next_text(start: Callable[..., Sheet]) -> None:
    one = start()
    one.settled()
    one.part("master").click()
    one.page.locator("#modes button").first.click()
    one.head("If master fails: ann falls")
    one.write("attach right-bolt - strap further - ann.chest\n")
    one.head("If master fails: ann is then one failure from not being held")
    one.sound()


def test_states_and_their_steps(start: Callable[..., Sheet]) -> None:
    one = start(STAGED)
    one.settled()
    page = one.page
    buttons = page.locator("#strip button")
    assert buttons.count() > 10
    buttons.nth(5).click()
    page.locator(".cm-line.lit-step").wait_for()
    assert "attach grab to main between" in page.locator(".cm-line.lit-step").inner_text()
    assert "attach grab to main between" in page.locator("#state-words").inner_text()
    page.keyboard.press("ArrowRight")
    page.keyboard.press("Enter")
    assert buttons.nth(6).get_attribute("aria-pressed") == "true"
    page.locator(".cm-line", has_text="detach main-brake from main").click()
    page.locator("#state-words", has_text="detach main-brake from main").wait_for()
    there = "() => [...document.querySelectorAll('#picture g.absent')].map((one) => one.classList[1]).join()"
    hidden = page.evaluate(there)
    buttons.first.click()
    page.wait_for_function(f"(before) => ({there})() !== before", arg=hidden)
    one.sound()


# -- building without knowing the words


def test_a_first_rig_in_ten_presses(start: Callable[..., Sheet], tmp_path: Path, browser: Any) -> None:
    """From the first page on: begun, built, saved."""
    desk = Started(None, folder=tmp_path)
    one = Sheet(browser, desk)
    try:
        page = one.page
        assert page.locator("button[data-sort=lesson]").count() == 12
        page.locator("#name").fill("first")
        presses = 0

        def press(what: str) -> None:
            nonlocal presses
            page.locator(what).click()
            presses += 1

        press("button[data-sort=blank]")
        page.locator("#palette").wait_for()
        for item, line in (
            *(("anchor", "anchor left-bolt"), ("person", "person ann"), ("rope", "rope red")),
            *(("anchor", "anchor right-bolt"), ("rope", "rope green"), ("require", "require everyone")),
        ):
            page.wait_for_function("() => document.getElementById('held').dataset.checked")
            press(f'button[data-item="{item}"]')
            page.locator(".cm-line", has_text=line).wait_for()
        one.head("After any one failure everybody is held")
        press("#save")
        page.locator("#kept", has_text=re.compile("^saved$")).wait_for()
        assert presses <= 10
        text = (tmp_path / "first.rig").read_text(encoding="utf-8")
        assert (
            "    tied to left-bolt with figure-eight\n" in text and "    tied to ann.chest with figure-eight\n" in text
        )
        page.locator("#closing", has_text=re.compile("^met, on connections only")).wait_for()
        one.sound()
    finally:
        one.context.close()
        desk.kill()


def test_blanks_are_filled_by_what_may_stand_there(start: Callable[..., Sheet]) -> None:
    one = start()
    one.settled()
    page = one.page
    page.locator('button[data-item="strap"]').click()
    options = page.locator(".cm-tooltip-autocomplete li")
    options.first.wait_for()
    assert {"left-bolt", "right-bolt", "master"} <= {words.split()[0] for words in options.all_inner_texts()}
    options.get_by_text("right-bolt").first.click()
    page.keyboard.press("Tab")
    page.keyboard.type("third")
    page.keyboard.press("Tab")
    options.get_by_text("ann.chest", exact=False).first.click()
    page.locator(".cm-line", has_text="attach right-bolt - strap third - ann.chest").wait_for()
    one.head("After any one failure everybody is held")
    one.sound()


def test_what_would_mend_most_is_put_in_at_a_press(start: Callable[..., Sheet]) -> None:
    one = start()
    one.settled()
    one.page.locator("button", has_text="What would mend most?").click()
    one.page.locator(".proposal button").first.click()
    one.head("After any one failure everybody is held")
    assert "ann-tail-crab" in one.page.locator("#editor .cm-content").inner_text()
    one.page.locator("#undo").click()
    one.head("ann is one failure from not being held")
    one.sound()


# -- saving


def test_saving_and_what_somebody_else_has_saved(start: Callable[..., Sheet], tmp_path: Path) -> None:
    one = start()
    one.settled()
    page, rig = one.page, file_of(tmp_path)
    one.write("# mine")
    page.locator("#kept", has_text="not saved").wait_for()
    assert page.title().startswith("•")
    page.keyboard.press("Control+s")
    page.locator("#kept", has_text=re.compile("^saved$")).wait_for()
    assert rig.read_text(encoding="utf-8") == GOOD + "# mine"

    rig.write_text(GOOD + "# theirs\n", encoding="utf-8")
    page.locator("#editor .cm-line", has_text="# theirs").wait_for()  # nothing was open here: it is taken over
    one.write("# mine again")
    rig.write_text(GOOD + "# theirs again\n", encoding="utf-8")
    page.locator("#changed[open]").wait_for()
    both = page.locator("#versions").inner_text()
    assert "# theirs again" in both and "# mine again" in both
    page.locator("#decide-later").click()
    page.locator("#save").click()
    page.locator("#changed[open]").wait_for()
    assert rig.read_text(encoding="utf-8") == GOOD + "# theirs again\n", "nothing was written before a choice"
    page.locator("#keep-mine").click()
    page.locator("#kept", has_text=re.compile("^saved$")).wait_for()
    assert rig.read_text(encoding="utf-8").endswith("# mine again")

    one.write("\n# a third")
    rig.write_text(GOOD + "# the last\n", encoding="utf-8")
    page.locator("#changed[open]").wait_for()
    page.locator("#take-theirs").click()
    page.locator("#editor .cm-line", has_text="# the last").wait_for()
    page.locator("#kept", has_text=re.compile("^saved$")).wait_for()
    assert "a third" not in page.locator("#editor .cm-content").inner_text()
    page.locator("#undo").click()
    page.locator("#editor .cm-line", has_text="# a third").wait_for()
    one.sound()


def test_the_desk_is_killed_in_mid_save(start: Callable[..., Sheet], tmp_path: Path) -> None:
    """The file is whole, the text stays in the page, and the page says that the desk is gone."""
    one = start()
    one.settled()
    one.write("# what would be lost")
    one.page.evaluate("document.getElementById('save').click()")
    one.desk.process.send_signal(signal.SIGKILL)
    one.desk.process.wait()
    one.page.locator("#gone").wait_for()
    assert "can't be reached" in one.page.locator("#gone").inner_text()
    assert file_of(tmp_path).read_text(encoding="utf-8") in (GOOD, GOOD + "# what would be lost")
    assert "# what would be lost" in one.page.locator("#editor .cm-content").inner_text()
    one.page.keyboard.press("Control+s")
    one.page.locator("#said", has_text="Not saved").wait_for()
    assert one.page.locator("#kept").inner_text() == "not saved" or "# what would" in file_of(tmp_path).read_text()


def test_one_page_has_the_pen(start: Callable[..., Sheet]) -> None:
    one = start()
    one.settled()
    second = one.opened(one.page.url)
    second.locator("#follows").wait_for()
    assert second.locator("#save").is_disabled()
    one.write("# followed")
    second.locator(".cm-line", has_text="# followed").wait_for()
    second.locator("#editor .cm-content").focus()
    second.keyboard.type("x")
    assert second.locator("#editor .cm-content").inner_text() == one.page.locator("#editor .cm-content").inner_text()
    second.locator("#take").click()
    one.page.locator("#follows").wait_for()
    second.locator("#follows").wait_for(state="hidden")  # who takes the pen hears of it by another message
    second.locator("#editor .cm-content").focus()
    second.keyboard.press("Control+End")
    second.keyboard.type(" by the other")
    one.page.locator(".cm-line", has_text="# followed by the other").wait_for()
    one.sound()


def test_a_key_on_its_way_while_the_file_changes_is_not_lost(start: Callable[..., Sheet], tmp_path: Path) -> None:
    one = start()
    one.settled()
    one.page.evaluate(
        """() => { const send = WebSocket.prototype.send; window.onTheWay = [];
        WebSocket.prototype.send = function (text) { window.onTheWay.push(() => send.call(this, text)); };
        window.arrive = () => { WebSocket.prototype.send = send; window.onTheWay.forEach((one) => one()); }; }"""
    )
    one.write("# mine")
    theirs = GOOD + "# theirs\n"
    file_of(tmp_path).write_text(theirs, encoding="utf-8")
    one.page.locator("#changed[open]").wait_for()
    one.page.evaluate("window.arrive()")
    one.page.locator("#keep-mine").click()
    one.page.wait_for_function("() => !document.getElementById('changed').open")
    assert file_of(tmp_path).read_text(encoding="utf-8") == GOOD + "# mine"
    one.sound()


# -- out of it


def test_papers_at_a_press(start: Callable[..., Sheet], tmp_path: Path) -> None:
    one = start()
    one.settled()
    one.write("# on paper")
    one.page.locator("#papers").click()
    one.page.locator('[data-paper="diagram"]').click()
    one.page.locator("#said", has_text="plan-diagram.svg, beside the rig").wait_for()
    assert (file_of(tmp_path).parent / "plan-diagram.svg").read_text(encoding="utf-8").startswith("<?xml")
    assert file_of(tmp_path).read_text(encoding="utf-8").endswith("# on paper"), "saved first"
    with one.context.expect_page() as opening:
        one.page.locator("#said a").click()
    paper = opening.value
    paper.wait_for_load_state()
    assert paper.evaluate("document.documentElement.tagName") == "svg" and paper.evaluate("self.origin") == "null"
    paper.close()
    one.page.locator("#papers").click()
    one.page.keyboard.press("Escape")
    assert not one.page.locator("#papers-list").is_visible()
    one.sound()


# -- for everybody


def test_the_keyboard_alone_reaches_everything(start: Callable[..., Sheet]) -> None:
    """By Tab from the head of the page: every control once, and out of the text again."""
    one = start()
    one.settled()
    page = one.page
    page.evaluate("document.activeElement.blur()")
    seen = []
    for _ in range(40):
        page.keyboard.press("Tab")
        here = page.evaluate(FOCUSED)
        seen.append(here)
        if here == "cm-content":
            page.keyboard.press("Escape")
    for wanted in (
        "save",
        "papers",
        "keys-open",
        "bodies-box",
        "anchor",
        "cm-content",
        "undo",
        "notes",
        "find",
        "smaller",
    ):
        assert wanted in seen, (wanted, seen)
    assert any(page.locator(f'#picture [data-part="{name}"]').count() for name in seen if name), seen
    page.locator("#palette button").first.focus()
    page.keyboard.press("ArrowRight")
    assert page.evaluate("document.activeElement.dataset.item") == "person"
    page.locator("#keys-open").focus()
    page.keyboard.press("Enter")
    assert page.locator("#keys").is_visible()
    page.keyboard.press("Escape")
    assert not page.locator("#keys").is_visible()
    one.sound()


def test_in_german(start: Callable[..., Sheet]) -> None:
    one = start(locale="de-DE")
    one.settled()
    assert one.page.locator("html").get_attribute("lang") == "de"
    assert one.page.locator("#save").inner_text() == "Sichern"
    one.part("master").click()
    one.page.locator("#modes button", has_text="master fails").click()
    one.head("Wenn master fails:")
    assert "STÜRZT AB" in one.page.locator("#picture .slot.falls text").all_text_contents()
    one.page.locator("header a", has_text="English").click()
    one.settled()
    assert one.page.locator("#save").inner_text() == "Save"
    one.sound()


SCANNED = [
    *(("desk", {}), ("desk", {"color_scheme": "dark"}), ("desk", {"viewport": {"width": 390, "height": 800}})),
    *(("desk", {"locale": "de-DE", "forced_colors": "active"}), ("watch", {}), ("begin", {"color_scheme": "dark"})),
]


@pytest.mark.parametrize(("what", "how"), SCANNED, ids=lambda one: one if isinstance(one, str) else "-".join(one))
def test_the_scan_for_barriers_finds_none(
    start: Callable[..., Sheet], tmp_path: Path, browser: Any, what: str, how: dict[str, Any]
) -> None:
    from axe_playwright_python.sync_playwright import Axe

    if what == "begin":
        desk = Started(None, folder=tmp_path)
        one = Sheet(browser, desk, bypass_csp=True, **how)
        try:
            found = Axe().run(one.page).response["violations"]
        finally:
            one.context.close()
            desk.kill()
    else:
        arguments = ["--page"] if what == "watch" else []
        one = start(STAGED, *arguments, command=what, bypass_csp=True, **how)
        one.page.wait_for_selector("#picture svg", state="attached")
        one.page.wait_for_function("() => document.getElementById('held').dataset.checked")
        if one.page.locator("#tab-picture").is_visible():
            found = Axe().run(one.page).response["violations"]
            one.page.locator("#tab-picture").click()
        else:
            found = []
        one.part("main-brake").dispatch_event("click")
        one.page.locator("#modes button").first.click()
        one.page.wait_for_function("() => document.getElementById('held').classList.contains('what-if')")
        found += Axe().run(one.page).response["violations"]
    assert [(v["id"], [(n["target"], n["html"][:120]) for n in v["nodes"]][:3]) for v in found] == []


@pytest.mark.parametrize("width", [320])
def test_enlarged_or_narrow_nothing_runs_over_the_edge(start: Callable[..., Sheet], width: int) -> None:
    """1300 px at 200 % are 650; 1280 px at 400 % are 320, narrower than a phone."""
    one = start(LOWER, viewport={"width": width, "height": 500})
    one.page.wait_for_selector("#picture svg", state="attached")
    for side in ("text", "picture"):
        one.page.locator(f"#tab-{side}").click()
        assert one.page.evaluate("document.documentElement.scrollWidth") <= width
    one.sound()


def test_no_meaning_by_colour_alone(start: Callable[..., Sheet]) -> None:
    """What is single, has failed or falls has a word; what is lit is underlined; a broken state has a line."""
    one = start(GOOD)
    one.settled()
    words = one.page.locator("#picture .slot text").all_text_contents()
    assert "SINGLE" in words and "1 FROM FALLING" in words
    one.part("master").click()
    decorated = one.page.evaluate(
        "getComputedStyle(document.querySelector('#picture .lit > text:first-of-type')).textDecorationLine"
    )
    assert decorated == "underline"


def test_text_of_a_rig_stays_text(start: Callable[..., Sheet]) -> None:
    text = f'rig "{HOSTILE}"\nnote "{HOSTILE}"\nanchor bolt: is "{HOSTILE}"\nperson ann: points waist\n'
    text += f'attach bolt - sling s - ann.waist\naccept bolt fails: "{HOSTILE}"\n'
    text += f'stage "{HOSTILE}"\n    say "{HOSTILE}"\n    check "{HOSTILE}"\n'
    one = start(text)
    one.settled()
    assert one.page.locator("#title").inner_text() == HOSTILE
    one.part("s").click()
    one.page.locator("#modes button").first.click()
    one.page.wait_for_function("() => document.getElementById('held').classList.contains('what-if')")
    one.page.locator("#strip button").nth(1).click()
    one.page.locator(".cm-line", has_text="anchor bolt").get_by_text("bolt").first.hover()
    one.page.locator(".cm-tooltip").wait_for()
    assert one.page.locator("img").count() == 0 and one.page.locator("script").count() == 2
    one.sound()


# -- `watch --page`, the same page without the pen


def test_watch_has_the_same_page_without_the_pen(start: Callable[..., Sheet], tmp_path: Path) -> None:
    one = start(GOOD, "--page", command="watch")
    one.settled()
    page = one.page
    assert page.locator("#save, #palette, #papers, #undo").count() == 0
    page.locator("#editor .cm-content").focus()
    page.keyboard.type("x")
    assert page.locator("#editor .cm-content").inner_text().count("x") == GOOD.count("x")
    one.part("master").click()
    page.locator("#modes button").first.click()
    one.head("If master fails: ann falls")
    page.locator("#failed button", has_text="Nothing failed").click()
    file_of(tmp_path).write_text(GOOD.replace("ring master", "rnig master"), encoding="utf-8")
    one.head("One line can't be read: line 6")
    assert page.locator("#sheet.older #picture svg").is_visible()
    assert page.locator("#older").inner_text() == "Older picture: line 6 can't be read"
    page.locator(".cm-lintRange-error").wait_for()
    file_of(tmp_path).write_text(GOOD.replace("Two lines", "Three lines"), encoding="utf-8")
    page.locator("#title", has_text="Three lines").wait_for()
    one.settled()
    one.sound()

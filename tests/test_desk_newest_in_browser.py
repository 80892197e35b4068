"""The page knows of which text each answer is, whenever it comes: what it is told is kept back here, then let go."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from browsing import needs_chromium
from desk_client import GOOD
from desk_sheet import Sheet, file_of

pytestmark = needs_chromium
KEEP_BACK = """
window.kept = null; window.lines = [];
const listen = WebSocket.prototype.addEventListener;
WebSocket.prototype.addEventListener = function (kind, heard) {
    if (kind === "open") window.lines.push(this);
    return listen.call(this, kind, (event) => (window.kept ? window.kept.push({ event, heard }) : heard(event)));
};
const method = (one) => (one.event.data ? JSON.parse(one.event.data).method : one.event.type);
window.hasCome = (wanted) => window.kept.some((one) => method(one) === wanted);
window.letGo = (wanted) => { // all of one sort; without it everything, in one breath, and nothing is kept back any more
    const [going, staying] = [[], []];
    for (const one of window.kept) (!wanted || method(one) === wanted ? going : staying).push(one);
    window.kept = wanted ? staying : null;
    for (const one of going) one.heard(one.event);
    return document.getElementById("older").textContent;
};
"""
"""A page that is slow to hear: the conversation is the desk's own."""
THREE = GOOD.replace("Two lines", "Three lines")


def keeping(one: Sheet) -> Any:
    """The sheet's page, from now on able to keep back what it is told."""
    one.page.add_init_script(KEEP_BACK)
    one.page.reload()
    one.settled()
    return one.page


def keep_back(page: Any) -> None:
    page.evaluate("window.kept = []")


def come(page: Any, method: str) -> None:
    page.wait_for_function("(wanted) => window.hasCome(wanted)", arg=method)


def handed_over(page: Any) -> None:
    """The editor has had time to hand its text over."""
    page.evaluate("() => new Promise((done) => setTimeout(done, 200))")


def drawn_anew(page: Any) -> str:
    """The page is drawn anew, as by whoever presses a part; what it then says of its picture."""
    page.locator('#picture [data-part="master"]').first.dispatch_event("click")
    page.locator("#modes button").first.click()
    page.locator("#failed button", has_text="Nothing failed").click()
    return str(page.locator("#older").inner_text())


@pytest.mark.parametrize("command", ["watch", "desk"])
def test_a_text_and_all_its_answers_in_one_breath(at_desk: Callable[..., Sheet], tmp_path: Path, command: str) -> None:
    """The picture is there before the editor has handed the text over: it is of this text all the same."""
    one = at_desk(GOOD, *(["--page"] if command == "watch" else []), command=command)
    page = keeping(one)
    keep_back(page)
    file_of(tmp_path).write_text(THREE, encoding="utf-8")
    come(page, "desk/mends")
    assert page.evaluate("window.letGo()") == ""
    page.locator("#title", has_text="Three lines").wait_for()
    one.settled()
    one.sound()


def test_who_follows_a_pen_hears_all_in_one_breath(at_desk: Callable[..., Sheet]) -> None:
    one = at_desk()
    one.settled()
    page = one.opened(one.page.url)
    page.locator("#follows").wait_for()
    page.add_init_script(KEEP_BACK)
    page.reload()
    page.locator("#follows").wait_for()
    page.wait_for_selector("#picture svg")
    keep_back(page)
    one.write("# followed")
    one.settled()
    come(page, "desk/mends")
    page.wait_for_function(
        """() => window.kept.findLast((one) => one.event.data.includes('"desk/text"')).event.data.includes("# followed")
        && window.kept.at(-1).event.data.includes('"desk/mends"')"""
    )
    assert page.evaluate("window.letGo()") == ""
    one.sound()


@pytest.mark.parametrize("who", ["follows", "writes"])
def test_a_picture_is_older_until_that_of_the_text_has_come(
    at_desk: Callable[..., Sheet], tmp_path: Path, who: str
) -> None:
    """Also once the text was handed over, and however often the page is drawn anew meanwhile."""
    one = at_desk(GOOD, "--page", command="watch") if who == "follows" else at_desk(GOOD)
    page = keeping(one)
    keep_back(page)
    if who == "follows":
        file_of(tmp_path).write_text(THREE, encoding="utf-8")
    else:
        one.write("# mine")
    come(page, "desk/picture")
    page.evaluate("window.letGo('desk/text')")
    handed_over(page)
    assert drawn_anew(page) == "Older picture"
    page.evaluate("window.letGo()")
    one.settled()
    one.sound()


def test_who_was_away_has_the_text_that_was_written_meanwhile(at_desk: Callable[..., Sheet], tmp_path: Path) -> None:
    one = at_desk(GOOD, "--page", command="watch")
    page = keeping(one)
    other = one.opened(page.url)
    other.locator("#title", has_text="Two lines").wait_for()
    keep_back(page)
    page.evaluate("window.lines.at(-1).close()")
    come(page, "close")
    file_of(tmp_path).write_text(THREE, encoding="utf-8")
    other.locator("#title", has_text="Three lines").wait_for()
    page.evaluate("window.letGo()")
    page.locator("#title", has_text="Three lines").wait_for()
    page.locator("#editor .cm-line", has_text="Three lines").wait_for()
    one.settled()
    one.sound()


def away(page: Any) -> None:
    """The page's line is cut: the desk knows, the page doesn't yet."""
    keep_back(page)
    page.evaluate("window.lines.at(-1).close()")
    come(page, "close")


def test_who_writes_was_away_while_the_file_was_written(at_desk: Callable[..., Sheet], tmp_path: Path) -> None:
    """What was open here is not lost, nor is what stands on the disk written over unasked."""
    one = at_desk()
    page = keeping(one)
    for theirs, mine in ((THREE, ""), (GOOD, "# mine")):
        away(page)
        other = one.opened(page.url)  # it is told when the desk has seen the file
        file_of(tmp_path).write_text(theirs, encoding="utf-8")
        other.locator("#title", has_text="Three lines" if theirs == THREE else "Two lines").wait_for()
        if mine:
            one.write(mine)
        other.close()
        page.evaluate("window.letGo()")
        if mine:
            page.locator("#changed[open]").wait_for()
            page.locator("#keep-mine").click()
            page.wait_for_function("() => !document.getElementById('changed').open")
        page.locator("#title", has_text="Three lines").wait_for()
        one.settled()
        assert page.locator("#kept").inner_text() == "saved"
    assert file_of(tmp_path).read_text(encoding="utf-8") == THREE + "# mine"
    assert all("the desk can't be reached" in error for error in one.errors), one.errors  # of keys while it was away


def test_a_file_that_is_included_is_another(at_desk: Callable[..., Sheet], tmp_path: Path) -> None:
    """The text is as it was, the picture is older all the same, until the new one has come."""
    kit = file_of(tmp_path).parent / "kit.rig"
    kit.parent.mkdir()
    kit.write_text("anchor far-bolt\n", encoding="utf-8")
    one = at_desk(GOOD.replace("anchor left-bolt", 'include "kit.rig"\nanchor left-bolt'))
    page = keeping(one)
    keep_back(page)
    kit.write_text("anchor other-bolt\n", encoding="utf-8")
    come(page, "desk/picture")
    page.evaluate("window.letGo('desk/number')")
    assert drawn_anew(page) == "Older picture"
    page.evaluate("window.letGo()")
    one.settled()
    one.part("other-bolt").wait_for()
    one.sound()


def test_a_key_that_is_taken_back_before_anybody_saw_it(at_desk: Callable[..., Sheet]) -> None:
    """Nothing is handed over then, and nothing is told: the picture is that of the text again."""
    one = at_desk()
    page = keeping(one)
    page.locator("#editor .cm-content").focus()
    page.keyboard.press("Control+End")
    said = page.evaluate(
        """() => { const older = document.getElementById("older"), said = [];
        document.execCommand("insertText", false, "#"); said.push(older.textContent);
        document.execCommand("delete"); said.push(older.textContent); return said; }"""
    )
    assert said[-1] == "", said
    handed_over(page)
    one.settled()
    one.sound()

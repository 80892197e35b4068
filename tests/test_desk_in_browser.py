"""The desk in a real browser: written at, pressed, dragged, by touch, built on without knowing the words. Driven with
Debian's Chromium; never skipped in `.ci/run` (CI is set there).
"""

from __future__ import annotations

import json
import re
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

from browsing import needs_chromium
from desk_client import EXAMPLES, GOOD, ROOT, Started
from desk_sheet import Sheet, file_of

pytestmark = needs_chromium
BRIDLE = (EXAMPLES / "litter-bridle.rig").read_text(encoding="utf-8")
STAGED = (EXAMPLES / "crossings" / "lower-to-raise.rig").read_text(encoding="utf-8")


# -- coming in


def test_the_secret_is_gone_from_the_address_and_nothing_is_blocked(at_desk: Callable[..., Sheet]) -> None:
    one = at_desk()
    one.settled()
    assert one.page.url == f"http://127.0.0.1:{one.desk.port}/"
    assert one.page.evaluate("document.cookie") == "", "no script sees the cookie"
    assert one.page.evaluate("history.length") <= 2
    cookie = one.context.cookies()[0]
    assert (cookie["httpOnly"], cookie["sameSite"]) == (True, "Strict")
    assert one.page.locator("#title").inner_text() == "Two lines to one ring"
    one.sound()


# -- the text and what follows from it


def test_who_is_held_changes_as_one_writes(at_desk: Callable[..., Sheet]) -> None:
    one = at_desk()
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


def test_the_last_good_picture_stays_while_a_line_is_unfinished(at_desk: Callable[..., Sheet]) -> None:
    one = at_desk()
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


def test_what_the_language_server_knows_is_at_hand(at_desk: Callable[..., Sheet]) -> None:
    """Colours, what may follow, what stands under the pointer, rename everywhere, the layout on a key."""
    one = at_desk()
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


def test_what_can_be_undone_survives_a_reload(at_desk: Callable[..., Sheet], tmp_path: Path) -> None:
    one = at_desk()
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


def test_a_part_and_its_line_find_each_other(at_desk: Callable[..., Sheet]) -> None:
    one = at_desk()
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


def test_what_if_by_mouse_by_dragging_and_by_keyboard(at_desk: Callable[..., Sheet], tmp_path: Path) -> None:
    one = at_desk(BRIDLE)
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


def test_what_if_by_touch_on_a_phone(at_desk: Callable[..., Sheet]) -> None:
    one = at_desk(GOOD, viewport={"width": 390, "height": 800}, has_touch=True, is_mobile=True)
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


def test_what_was_supposed_is_asked_again_of_the_next_text(at_desk: Callable[..., Sheet]) -> None:
    one = at_desk()
    one.settled()
    one.part("master").click()
    one.page.locator("#modes button").first.click()
    one.head("If master fails: ann falls")
    one.write("attach right-bolt - strap further - ann.chest\n")
    one.head("If master fails: ann is then one failure from not being held")
    one.sound()


def test_states_and_their_steps(at_desk: Callable[..., Sheet]) -> None:
    one = at_desk(STAGED)
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


def test_a_first_rig_in_ten_presses(at_desk: Callable[..., Sheet], tmp_path: Path, browser: Any) -> None:
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


def test_blanks_are_filled_by_what_may_stand_there(at_desk: Callable[..., Sheet]) -> None:
    one = at_desk()
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


def test_what_would_mend_most_is_put_in_at_a_press(at_desk: Callable[..., Sheet]) -> None:
    one = at_desk()
    one.settled()
    one.page.locator("button", has_text="What would mend most?").click()
    one.page.locator(".proposal button").first.click()
    one.head("After any one failure everybody is held")
    assert "ann-tail-crab" in one.page.locator("#editor .cm-content").inner_text()
    one.page.locator("#undo").click()
    one.head("ann is one failure from not being held")
    one.sound()

"""The desk in a real browser: saved, killed, printed from, by keyboard alone, narrow, enlarged, dark, in German,
attacked and scanned.
"""

from __future__ import annotations

import re
import signal
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from browsing import needs_chromium
from desk_client import EXAMPLES, GOOD, HOSTILE, Started
from desk_sheet import Sheet, file_of

pytestmark = needs_chromium
FOCUSED = """() => { const e = document.activeElement;
    return e.id || e.dataset.item || e.dataset.part || e.className.split(' ')[0] || e.tagName; }"""
LOWER = (EXAMPLES / "litter-lower.rig").read_text(encoding="utf-8")
STAGED = (EXAMPLES / "crossings" / "lower-to-raise.rig").read_text(encoding="utf-8")


# -- saving


def test_saving_and_what_somebody_else_has_saved(at_desk: Callable[..., Sheet], tmp_path: Path) -> None:
    one = at_desk()
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


def test_the_desk_is_killed_in_mid_save(at_desk: Callable[..., Sheet], tmp_path: Path) -> None:
    """The file is whole, the text stays in the page, and the page says that the desk is gone."""
    one = at_desk()
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


def test_one_page_has_the_pen(at_desk: Callable[..., Sheet]) -> None:
    one = at_desk()
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


def test_a_key_on_its_way_while_the_file_changes_is_not_lost(at_desk: Callable[..., Sheet], tmp_path: Path) -> None:
    one = at_desk()
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


def test_papers_at_a_press(at_desk: Callable[..., Sheet], tmp_path: Path) -> None:
    one = at_desk()
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


def test_the_keyboard_alone_reaches_everything(at_desk: Callable[..., Sheet]) -> None:
    """By Tab from the head of the page: every control once, and out of the text again."""
    one = at_desk()
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


def test_in_german(at_desk: Callable[..., Sheet]) -> None:
    one = at_desk(locale="de-DE")
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
    at_desk: Callable[..., Sheet], tmp_path: Path, browser: Any, what: str, how: dict[str, Any]
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
        one = at_desk(STAGED, *arguments, command=what, bypass_csp=True, **how)
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
def test_enlarged_or_narrow_nothing_runs_over_the_edge(at_desk: Callable[..., Sheet], width: int) -> None:
    """1300 px at 200 % are 650; 1280 px at 400 % are 320, narrower than a phone."""
    one = at_desk(LOWER, viewport={"width": width, "height": 500})
    one.page.wait_for_selector("#picture svg", state="attached")
    for side in ("text", "picture"):
        one.page.locator(f"#tab-{side}").click()
        assert one.page.evaluate("document.documentElement.scrollWidth") <= width
    one.sound()


def test_no_meaning_by_colour_alone(at_desk: Callable[..., Sheet]) -> None:
    """What is single, has failed or falls has a word; what is lit is underlined; a broken state has a line."""
    one = at_desk(GOOD)
    one.settled()
    words = one.page.locator("#picture .slot text").all_text_contents()
    assert "SINGLE" in words and "1 FROM FALLING" in words
    one.part("master").click()
    decorated = one.page.evaluate(
        "getComputedStyle(document.querySelector('#picture .lit > text:first-of-type')).textDecorationLine"
    )
    assert decorated == "underline"


def test_text_of_a_rig_stays_text(at_desk: Callable[..., Sheet]) -> None:
    text = f'rig "{HOSTILE}"\nnote "{HOSTILE}"\nanchor bolt: is "{HOSTILE}"\nperson ann: points waist\n'
    text += f'attach bolt - sling s - ann.waist\naccept bolt fails: "{HOSTILE}"\n'
    text += f'stage "{HOSTILE}"\n    say "{HOSTILE}"\n    check "{HOSTILE}"\n'
    one = at_desk(text)
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


def test_watch_has_the_same_page_without_the_pen(at_desk: Callable[..., Sheet], tmp_path: Path) -> None:
    one = at_desk(GOOD, "--page", command="watch")
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

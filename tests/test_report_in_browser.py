"""The report's page in a real browser: pressed, typed at, without its script, printed, narrow, scanned, attacked.

Driven with Debian's Chromium. Where there is none these tests are skipped, but never in `.ci/run` (CI is set there).
"""

from __future__ import annotations

import json
from functools import cache
from itertools import combinations
from pathlib import Path
from typing import Any

import pytest
from browsing import FATES, LISTEN, listening, needs_chromium
from test_report import HARM, HARMFUL, a_review, made

from analyser.pages.writing.report_page import report_html
from analyser.uses.review.answered_page import Report, report
from analyser.uses.review.sheet import REVIEW, read_review

EXAMPLES = Path(__file__).parent.parent / "examples"
pytestmark = needs_chromium


class Opened:
    """A page in a browser of its own; every console error and blocked thing is kept."""

    def __init__(self, browser: Any, text: str, folder: Path, **how: Any) -> None:
        file = folder / "report.html"
        file.write_text(text, encoding="utf-8")
        self.context = browser.new_context(**{"viewport": {"width": 1200, "height": 900}, **how})
        self.page = self.context.new_page()
        self.errors: list[str] = []
        self.requests: list[str] = []
        listening(self.page, self.errors, self.requests)
        if how.get("java_script_enabled", True):
            self.page.add_init_script(LISTEN)
        self.page.goto(file.as_uri())

    def sound(self) -> None:
        """Nothing was blocked, thrown or fetched."""
        assert self.page.evaluate("window.heard") == []
        assert self.errors == []
        assert [url for url in self.requests if not url.startswith(("file:", "blob:"))] == []

    def press(self, part: str) -> None:
        self.page.locator(f'#picture [data-part="{part}"]').first.dispatch_event("click")


def text_of(one: Report) -> str:
    return report_html(one)


@cache
def bridle() -> Report:
    return made(EXAMPLES / "litter-bridle.rig")


@cache
def strap() -> Report:
    return made(EXAMPLES / "litter-lower-strap-left-off.rig")


BY = [
    *("by green → right-bolt", "by red → left-bolt", "by red → left-bolt", "by sam-line → left-bolt"),
    *("or by green → right-bolt", "or by green → right-bolt"),
]
"""By what everybody hangs in the bridle, in their boxes."""


def test_a_press_says_who_falls_who_is_down_to_one_and_by_what(browser: Any, tmp_path: Path) -> None:
    one = Opened(browser, text_of(bridle()), tmp_path)
    assert one.page.evaluate(FATES)["sam"] == "held: 2 independent"
    by = one.page.locator("#picture .slot.by text")
    assert sorted(filter(None, by.all_text_contents())) == BY
    one.page.locator('#picture [data-part="lashing"]').click()
    told = one.page.evaluate(FATES)
    assert told == {
        "basket": "held, one failure from not being held",
        "sam": "held",
        "vic": "DROPS 0.38 m; one failure from not being held",
    }
    panel = one.page.locator("#bodies").inner_text()
    assert "caught after a drop of about 0.38 m" in panel
    assert "falls if one more follows: master fails, vic-strap fails" in panel
    assert "by left-bolt – left-crab – red – master – vic-strap" in panel
    assert "Tensions in kN" in one.page.locator("#forces").inner_text()
    one.press("vic-strap")
    assert one.page.evaluate(FATES)["vic"] == "FALLS", "two that drop somebody only together say how"
    assert "vic is not held" in one.page.locator("#heard").inner_text()
    assert "for one failure alone" in one.page.locator("#forces").inner_text()
    assert one.page.locator("#picture .slot.falls text").all_text_contents() == ["FALLS"]
    one.press("lashing")
    one.press("vic-strap")
    assert one.page.evaluate(FATES)["vic"] == "held: 1 independent"
    one.sound()


def test_the_script_reads_what_the_engine_said(browser: Any, tmp_path: Path) -> None:
    """Every single, pair and triple of a rig, chosen on the page itself, against the stored answers read in Python
    (which are held against the engine in test_report.py)."""
    one = Opened(browser, text_of(strap()), tmp_path)
    now = strap().at(0)
    every = [c for n in (1, 2) for c in combinations(now.possible, n)]
    every += list(combinations(now.possible, 3))[::97]
    drive = (
        "(sets) => sets.map((set) => { document.getElementById('none').click();"
        "const more = document.getElementById('more');"
        "for (const k of set) { more.value = k; more.dispatchEvent(new Event('change')); }"
        f"return ({FATES})(); }})"
    )
    for start in range(0, len(every), 200):
        some = every[start : start + 200]
        for chosen, told in zip(some, one.page.evaluate(drive, [list(c) for c in some]), strict=True):
            known = now.told(chosen)
            if len(chosen) > 1:
                fates = dict.fromkeys(known.falls, "NOT HELD") | dict(known.fates or {})
                assert {n: words for n, words in told.items() if n in known.falls} == fates, chosen
                assert all(words.startswith("held") for n, words in told.items() if n not in fates), chosen
            else:
                alone = {n: words.partition("; one failure from")[0] for n, words in told.items()}
                assert {n: words for n, words in alone.items() if not words.startswith("held")} == known.fates, chosen
            if known.down_to_one is not None:
                assert {n for n, words in told.items() if "one failure from" in words} == set(known.down_to_one), chosen
    one.sound()


def test_the_keyboard_alone_is_enough(browser: Any, tmp_path: Path) -> None:
    one = Opened(browser, text_of(bridle()), tmp_path)
    one.page.locator('#picture [tabindex="0"]').focus()
    names = [one.page.evaluate("document.activeElement.dataset.part")]
    for _ in range(60):
        one.page.keyboard.press("ArrowRight")
        names.append(one.page.evaluate("document.activeElement.dataset.part"))
    assert set(bridle().parts) - set(names) == set()
    while one.page.evaluate("document.activeElement.dataset.part") != "master":
        one.page.keyboard.press("ArrowDown")
    one.page.keyboard.press("Enter")
    assert one.page.evaluate(FATES)["vic"] == "FALLS"
    assert one.page.evaluate("document.activeElement.getAttribute('aria-pressed')") == "true"
    one.page.keyboard.press("Space")
    assert one.page.evaluate(FATES)["vic"] != "FALLS"
    one.sound()


def test_states_the_list_of_failures_and_the_table_go_together(browser: Any, tmp_path: Path) -> None:
    staged = made(EXAMPLES / "crossings" / "litter-tilt.rig")
    one = Opened(browser, text_of(staged), tmp_path)
    slider = one.page.locator("#state")
    slider.focus()
    one.page.keyboard.press("End")
    last = staged.result.states[-1]
    assert str(last.step) in one.page.locator("#state-words").inner_text()
    possible = [staged.failures[k] for k in staged.at(last.number).possible]
    assert one.page.locator("#more option").all_inner_texts()[1:] == possible
    hidden = one.page.locator("#picture g.absent").count()
    one.page.locator("#earlier").click()
    assert f"State {last.number - 1} (0 to " in one.page.locator("#state-words").inner_text()
    one.page.keyboard.press("Home")
    slider.focus()
    one.page.keyboard.press("Home")
    assert one.page.locator("#picture g.absent").count() != hidden
    one.page.locator("#who").select_option("vic")
    assert all("vic" in row for row in one.page.locator("#set-table tbody td:nth-child(3)").all_inner_texts())
    one.page.locator("#set-table button").first.click()
    assert one.page.evaluate(FATES) == {"vic": "FALLS"}
    one.sound()


def test_answers_are_kept_exported_imported_and_cleared(browser: Any, tmp_path: Path) -> None:
    one = Opened(browser, text_of(bridle()), tmp_path)
    page = one.page
    page.locator("#reviewer").fill("Kim")
    page.locator("#date").fill("2026-03-31")
    first = page.locator(".item").first
    first.locator("input[value=accept]").check()
    assert "say why in the note" in page.locator("#kept").inner_text()
    first.locator(".note input").fill(HARM)
    with page.expect_download() as download:
        page.locator("#export").click()
    exported = tmp_path / "review.json"
    download.value.save_as(exported)
    review = read_review(exported.read_bytes(), "review.json")
    assert [(e.item, e.answer, e.note, e.name, e.date) for e in review.entries] == [
        (bridle().items[0].id, "accept", HARM, "Kim", "2026-03-31")
    ]
    assert review.content == bridle().content
    page.reload()
    assert page.locator(".item").first.locator("input[value=accept]").is_checked()
    page.locator("#forget").click()
    assert page.locator("input[type=radio]:checked").count() == 0
    other = {"item": "single-point: gone", "text": "gone now", "answer": "agree", "note": "", "name": "", "date": ""}
    more = json.loads(exported.read_text(encoding="utf-8"))
    more["entries"].append(other)
    exported.write_text(json.dumps(more), encoding="utf-8")
    page.locator("#import").set_input_files(exported)
    page.locator("#kept", has_text="brought in").wait_for()
    assert page.locator(".item").first.locator("input[value=accept]").is_checked()
    assert "gone now" in page.locator("#unfit").inner_text()
    exported.write_text('{"format": "else"}', encoding="utf-8")
    page.locator("#import").set_input_files(exported)
    page.locator("#kept", has_text="nothing was changed").wait_for()
    assert page.locator(".item").first.locator("input[value=accept]").is_checked()
    one.sound()


def test_a_baked_review_stands_there_and_what_fits_no_more_is_told(browser: Any, tmp_path: Path) -> None:
    data = a_review(bridle(), note="pad it")
    data["entries"].append({"item": "single-point: gone", "text": "gone now", "answer": "agree"})  # type: ignore[attr-defined]
    review = read_review(json.dumps(data).encode(), "r.json")
    assert data["format"] == REVIEW
    baked = text_of(report(bridle().result, "a.rig", bridle().text, (), review))
    one = Opened(browser, baked, tmp_path)
    assert one.page.locator(".item").first.locator("input[value=change]").is_checked()
    assert one.page.locator(".item .note input").first.input_value() == "pad it"
    assert "gone now" in one.page.locator("#sheet .verdict").inner_text()
    one.sound()
    plain = Opened(browser, baked, tmp_path, java_script_enabled=False)
    assert "☒ change" in plain.page.locator(".paper-reply").first.inner_text()


def test_without_its_script_it_can_be_read(browser: Any, tmp_path: Path) -> None:
    one = Opened(browser, text_of(bridle()), tmp_path, java_script_enabled=False)
    text = one.page.locator("body").inner_text()
    for words in ("Without JavaScript", "1 ALONE (accepted)", "master fails", "Failure sets", "☐ agree"):
        assert words in text
    assert one.page.locator("#picture svg").is_visible()
    assert not one.page.locator("#more").is_visible()
    assert "SINGLE" in one.page.locator("#picture").text_content()
    assert one.errors == []


@pytest.mark.parametrize("size", ["A4", "Letter"])
def test_it_prints(browser: Any, tmp_path: Path, size: str) -> None:
    one = Opened(browser, text_of(bridle()), tmp_path)
    one.press("lashing")
    printed = one.page.pdf(format=size)
    assert printed.startswith(b"%PDF") and 20_000 < len(printed) < 3_000_000
    one.page.emulate_media(media="print")
    wide = {"A4": 688, "Letter": 710}[size]
    one.page.set_viewport_size({"width": wide, "height": 900})
    assert one.page.evaluate("document.documentElement.scrollWidth") <= wide
    assert not one.page.locator("#more").is_visible() and one.page.locator(".signing").is_visible()
    assert "lashing fails" in one.page.locator("#failed").inner_text()


@pytest.mark.parametrize("name", ["litter-bridle", "litter-tilt", "crossings/litter-tilt"])
def test_nothing_runs_over_the_edge_of_a_phone(browser: Any, tmp_path: Path, name: str) -> None:
    text = text_of(made(EXAMPLES / f"{name}.rig"))
    one = Opened(browser, text, tmp_path, viewport={"width": 360, "height": 740})
    one.page.locator("#picture [role=button]").first.dispatch_event("click")
    assert one.page.evaluate("document.documentElement.scrollWidth") == 360
    one.sound()


@pytest.mark.parametrize(("scheme", "width"), [("light", 1200), ("dark", 1200), ("light", 360)])
def test_the_scan_for_barriers_finds_none(browser: Any, tmp_path: Path, scheme: str, width: int) -> None:
    from axe_playwright_python.sync_playwright import Axe

    review = read_review(json.dumps(a_review(bridle())).encode(), "r.json")
    text = text_of(report(bridle().result, "a.rig", bridle().text, (), review))
    one = Opened(
        browser, text, tmp_path, color_scheme=scheme, bypass_csp=True, viewport={"width": width, "height": 800}
    )
    one.press("lashing")
    found = Axe().run(one.page).response["violations"]
    assert [(v["id"], [n["target"] for n in v["nodes"]][:3]) for v in found] == []


def test_text_of_a_rig_stays_text(browser: Any, tmp_path: Path) -> None:
    one = Opened(browser, text_of(made(HARMFUL)), tmp_path)
    seen = one.page.locator("body").inner_text()
    assert "<b>staged</b>" in seen and "</script><script>alert(1)</script></svg><!-- javascript:alert(2)" in seen
    assert one.page.locator("script").count() == 2
    assert one.page.locator("#footer b, h1 b").count() == 0
    for state in range(len(made(HARMFUL).result.states)):
        one.page.evaluate(
            "(n) => { const s = document.getElementById('state'); s.value = n; s.dispatchEvent(new Event('input')); }",
            state,
        )
    one.sound()

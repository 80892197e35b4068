"""The report of a rig: how long it takes, how large the page is, and how soon it answers a press in Chromium."""

from __future__ import annotations

import shutil
import tempfile
from pathlib import Path

import analyser
from analyser.checking.analysing import analyse
from analyser.pages.writing.report_page import report_html
from analyser.uses.review.answered_page import report

from .generating import joined
from .measuring import against, duration, heading, median, table
from .stages import staged

NAME = "report-page"
TARGET, PRESSED, SETS = 3.0, 0.1, 2000
"""Issue 9: a 60-part rig with 20 states in under 3 s; a press answered in under 100 ms at 2,000 stored sets."""
PRESS = """async () => {
  const parts = [...document.querySelectorAll('#picture [role=button]')].slice(0, 40);
  const times = [];
  for (const part of parts) {
    await new Promise((done) => requestAnimationFrame(() => done()));
    const start = performance.now();
    part.dispatchEvent(new MouseEvent('click', { bubbles: true }));
    document.body.offsetHeight;
    times.push(performance.now() - start);
  }
  return times.sort((a, b) => a - b);
}"""


def run(*, quick: bool) -> None:
    heading(NAME, f"reading, analysing to order 3 and writing the page (target {TARGET:g} s for 60 parts, 20 states)")
    rows = []
    pages = {}
    sizes = ((60, 0), (60, 20)) if quick else ((60, 0), (60, 5), (60, 10), (60, 20), (120, 0), (240, 0))
    for parts, steps in (*sizes, (0, 0)):
        text = staged(parts, steps) if steps else joined(parts or 400)

        def whole(text: str = text) -> str:
            return report_html(report(analyse(analyser.read_text(text), 3), "made.rig", text.split("\n")))

        taken, page = median(whole, runs=3 if parts else 1)
        made = report(analyse(analyser.read_text(text), 3), "made.rig", text.split("\n"))
        sets = sum(len(cuts) for one in made.answers for cuts in one.sets.values())
        verdict = against(taken, TARGET, above=False) if (parts, steps) == (60, 20) else ""
        pages[parts, steps] = page, sets
        rows.append([len(made.result.rig.parts), len(made.result.states), sets, f"{len(page) / 1000:.0f} kB"])
        rows[-1] += [duration(taken), verdict]
    table(("parts", "states", "stored sets", "page", "whole", "target"), rows)
    browser = shutil.which("chromium")
    if browser is None:
        print("\n  no Chromium here: how soon the page answers was not measured")
        return
    print(f"\n  answering a press, layout included (target {duration(PRESSED)} at {SETS} stored sets):\n")
    table(
        ("stored sets", "opened", "median", "slowest", "target"), [_pressed(browser, *made) for made in pages.values()]
    )


def _pressed(browser: str, page: str, sets: int) -> list[object]:
    from playwright.sync_api import sync_playwright

    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        file = Path(folder, "page.html")
        file.write_text(page, encoding="utf-8")
        chromium = playwright.chromium.launch(executable_path=browser, args=["--no-sandbox"])
        tab = chromium.new_page()
        tab.goto(file.as_uri())
        opened = tab.evaluate("performance.getEntriesByType('navigation')[0].domComplete") / 1000
        times = [one / 1000 for one in tab.evaluate(PRESS)]
        chromium.close()
    verdict = against(times[-1], PRESSED, above=False) if sets >= SETS else ""
    return [sets, duration(opened), duration(times[len(times) // 2]), duration(times[-1]), verdict]

"""The desk in Chromium: from a key to the new verdict and to the new picture, while a rig is written.

A key is typed into the rig's title by the browser itself (what is known of a text that says the same is told
again, so a comment would measure too little). It goes the whole way: the editor, the web-socket, the reading, the
check, the drawing, the page. The verdict is timed twice: who is held and what alone brings them down (told first),
and with pairs, findings and requirements (told when settled).
"""

from __future__ import annotations

import os
import re
import shutil
import statistics
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from .generating import joined, made
from .measuring import against, duration, heading, table
from .stages import staged

NAME = "desk"
TARGETS = {60: {"held": 0.15, "picture": 0.4}, 300: {"held": 0.5}}
"""Issue 23: from a key, at 60 parts the verdict in 150 ms and the picture in 400 ms; at 300 the verdict in 500 ms."""
MAIN = "import sys; from analyser.doors.commands.main import main; sys.exit(main())"
WATCH = """() => {
  window.seen = {};
  const held = document.getElementById('held');
  const note = (what, number) => { (window.seen[what] ??= {})[number] ??= performance.now(); };
  new MutationObserver(() => {
    note('held', held.dataset.number);
    note('checked', held.dataset.checked);
  }).observe(held, { attributes: true, subtree: true, childList: true });
  new MutationObserver(() => note('picture', held.dataset.number))
    .observe(document.getElementById('picture'), { childList: true });
  document.querySelector('#editor .cm-content')
    .addEventListener('keydown', () => { window.pressed = performance.now(); }, true);
}"""
TIMES = """async ([what, before, patience]) => {
  const end = performance.now() + patience;
  for (;;) {
    const after = Object.entries(window.seen[what] ?? {}).filter(([n]) => Number(n) > before);
    if (after.length) return after[after.length - 1][1] - window.pressed;
    if (performance.now() > end) return null;
    await new Promise((done) => setTimeout(done, 2));
  }
}"""


def run(*, quick: bool) -> None:
    heading(NAME, "stillheld desk in Chromium, from a key to what the page shows")
    browser = shutil.which("chromium")
    if browser is None:
        print("\n  no Chromium here: nothing was measured")
        return
    rigs = [("60", made("ordinary", 60).text, 60), ("300", made("ordinary", 300).text, 300)]
    if not quick:
        rigs += [("60 joined", joined(60), 60), ("60, 5 steps", staged(60, 5), 0), ("300 joined", joined(300), 300)]
    rows = []
    for name, text, size in rigs:
        found, processor = _measured(browser, text, 8 if quick else 25)
        for what, times in found.items():
            target = TARGETS.get(size, {}).get(what)
            verdict = "" if target is None else against(statistics.median(times), target, above=False)
            words = {"held": "who is held", "checked": "checked whole", "picture": "picture"}[what]
            figures = [duration(one) for one in (min(times), statistics.median(times), max(times))]
            rows.append([f"{name} parts, {words}", len(times), *figures, duration(target), verdict])
        rows.append([f"{name} parts, processor a key", "", "", duration(processor), "", "", ""])
    table(("from a key to", "keys", "fastest", "median", "slowest", "target", ""), rows)


def _measured(browser: str, text: str, keys: int) -> tuple[dict[str, list[float]], float]:
    """Seconds from each of some keys to each thing shown, each waiting until the one before has settled; and the
    processor's seconds a key of the desk, its analyst and its renderer: the same on a busy machine as on an idle one.
    """
    from playwright.sync_api import sync_playwright

    found: dict[str, list[float]] = {"held": [], "checked": [], "picture": []}
    with (
        tempfile.TemporaryDirectory() as folder,
        _desk(Path(folder) / "plan.rig", text) as (address, desk),
        sync_playwright() as playwright,
    ):
        chromium = playwright.chromium.launch(executable_path=browser, args=["--no-sandbox"])
        page = chromium.new_page()
        page.goto(address)
        page.wait_for_selector("#picture svg", timeout=60_000)
        page.locator("#editor .cm-content").focus()
        page.keyboard.press("Control+Home")
        for _ in range(next(number for number, line in enumerate(text.split("\n")) if line.startswith("rig "))):
            page.keyboard.press("ArrowDown")
        page.keyboard.press("End")
        page.keyboard.press("ArrowLeft")
        page.wait_for_timeout(3000)
        page.evaluate(WATCH)
        used = _used(desk)
        for _ in range(keys):
            before = int(page.evaluate("document.getElementById('held').dataset.number"))
            page.keyboard.press("x")
            for what, times in found.items():
                taken: Any = page.evaluate(TIMES, [what, before, 30_000])
                assert taken is not None, f"no {what} in 30 s"
                times.append(taken / 1000)
            page.wait_for_timeout(150)
        processor = (_used(desk) - used) / keys
        chromium.close()
    return found, processor


def _used(pid: int) -> float:
    """The processor's seconds of a process and its children so far; 0 where the system doesn't tell."""
    try:
        children = subprocess.run(["pgrep", "-P", str(pid)], capture_output=True, text=True).stdout.split()
        fields = Path(f"/proc/{pid}/stat").read_text().rpartition(") ")[2].split()
    except OSError:
        return 0.0
    return sum(map(int, fields[11:15])) / os.sysconf("SC_CLK_TCK") + sum(_used(int(child)) for child in children)


@contextmanager
def _desk(rig: Path, text: str) -> Iterator[tuple[str, int]]:
    """A running desk's address, and its process."""
    rig.write_text(text, encoding="utf-8")
    command = [sys.executable, "-c", MAIN, "desk", str(rig), "--no-browser"]
    process = subprocess.Popen(command, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, text=True)
    try:
        assert process.stdout
        found = re.search(r"http://\S+", process.stdout.readline())
        assert found
        yield found[0], process.pid
    finally:
        process.terminate()
        process.wait()

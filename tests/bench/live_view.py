"""`stillheld watch RIG --page`: from a save to the shown result, on the terminal's stream and on the page."""

from __future__ import annotations

import re
import statistics
import tempfile
import time
from pathlib import Path
from threading import Thread

from ..desk_client import Page, Started
from .generating import made
from .measuring import against, duration, heading, table

NAME = "live-view"
TARGET = 0.3
SIZES = (36, 60, 240)


def run(*, quick: bool) -> None:
    heading(
        NAME, f"stillheld watch RIG --page, from the save to what is told (target for 60 parts or more: {TARGET} s)"
    )
    rows = []
    for size in SIZES[:2] if quick else SIZES:
        rig = made("ordinary", size)
        for where, times in _measured(rig.text, 8 if quick else 25).items():
            best, middle, worst = min(times), statistics.median(times), max(times)
            target = against(middle, TARGET, above=False) if size == 60 and where != "picture" else ""
            figures = [duration(one) for one in (best, middle, worst)]
            rows.append([f"{rig.parts} parts, {where}", len(times), *figures, target])
    table(("told", "saves", "fastest", "median", "slowest", "target"), rows)


def _measured(text: str, saves: int) -> dict[str, list[float]]:
    """Seconds from each save until the stream tells it whole, and until the page is told who is held, all that
    the check says, and the picture."""
    found: dict[str, list[float]] = {"stream": [], "held": [], "checked": [], "picture": []}
    with tempfile.TemporaryDirectory() as folder:
        rig = Path(folder) / "live.rig"
        rig.write_text(text, encoding="utf-8")
        desk = Started(rig, "--page", command="watch")
        titles: dict[str, float] = {}
        reader = Thread(target=_follow, args=(desk, titles), daemon=True)
        try:
            page = Page(desk, desk.enter())
            page.until(lambda one: one.get("method") == "desk/picture")
            reader.start()
            for number in range(saves):
                time.sleep(0.3)
                fresh, title = rig.with_suffix(".new"), f"save {number}"
                fresh.write_text(re.sub(r'rig "[^"]*"', f'rig "{title}"', text, count=1), encoding="utf-8")
                start = time.perf_counter()
                fresh.replace(rig)
                page.until(lambda one: one.get("method") == "desk/text")
                for kind in ("held", "checked", "picture"):
                    page.until(lambda one, kind=kind: one.get("method") == f"desk/{kind}")  # type: ignore[misc]
                    found[kind].append(time.perf_counter() - start)
                while title not in titles:
                    time.sleep(0.001)
                found["stream"].append(titles[title] - start)
        finally:
            desk.kill()
    return found


def _follow(desk: Started, titles: dict[str, float]) -> None:
    """When each title was seen complete on the stream."""
    assert desk.process.stdout
    title = ""
    for line in desk.process.stdout:
        if line.startswith("save "):
            title = line.partition("  ")[0]
        elif line.startswith("page: "):  # printed last
            titles[title] = time.perf_counter()

"""`stillheld watch RIG --page`: from a save to the shown result, on the terminal's stream and on the page."""

from __future__ import annotations

import re
import statistics
import subprocess
import sys
import tempfile
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from threading import Thread

from .generating import made
from .measuring import against, duration, heading, table

NAME = "live-view"
TARGET = 0.3
SIZES = (36, 60, 240)
MAIN = "import sys; from analyser.doors.commands.main import main; sys.exit(main())"


def run(*, quick: bool) -> None:
    heading(
        NAME, f"stillheld watch RIG --page, from the save to what is shown (target for 60 parts or more: {TARGET} s)"
    )
    rows = []
    for size in SIZES[:2] if quick else SIZES:
        rig = made("ordinary", size)
        streamed, on_page = _measured(rig.text, 8 if quick else 25)
        for where, times in (("stream", streamed), ("page", on_page)):
            best, middle, worst = min(times), statistics.median(times), max(times)
            target = against(middle, TARGET, above=False) if size == 60 else ""
            figures = [duration(one) for one in (best, middle, worst)]
            rows.append([f"{rig.parts} parts, {where}", len(times), *figures, target])
    table(("shown", "saves", "fastest", "median", "slowest", "target"), rows)


def _measured(text: str, saves: int) -> tuple[list[float], list[float]]:
    """Seconds from each save until the stream, and the page, show it."""
    with tempfile.TemporaryDirectory() as folder, _watching(Path(folder) / "live.rig", text) as (address, titles):
        rig, tag = Path(folder) / "live.rig", ""
        streamed, on_page = [], []
        for number in range(saves):
            time.sleep(0.3)
            tag, _ = _page(address, tag="")
            fresh = rig.with_suffix(".new")
            title = f"save {number}"
            fresh.write_text(re.sub(r'rig "[^"]*"', f'rig "{title}"', text, count=1), encoding="utf-8")
            start = time.perf_counter()
            fresh.replace(rig)
            while title not in (answer := _page(address, tag))[1]:
                tag = answer[0]
            on_page.append(time.perf_counter() - start)
            while title not in titles:
                time.sleep(0.001)
            streamed.append(titles[title] - start)
        return streamed, on_page


@contextmanager
def _watching(rig: Path, text: str) -> Iterator[tuple[str, dict[str, float]]]:
    """The running command: its page's address, and when each title was seen complete on its stream."""
    rig.write_text(text, encoding="utf-8")
    command = [sys.executable, "-c", MAIN, "watch", str(rig), "--page"]
    process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True, encoding="utf-8")
    assert process.stdout
    titles: dict[str, float] = {}
    address = ""
    for line in process.stdout:
        if line.startswith("page: "):
            address = line.removeprefix("page: ").strip()
            break

    def follow() -> None:
        assert process.stdout
        title = ""
        for line in process.stdout:
            if line.startswith("save "):
                title = line.partition("  ")[0]
            elif line.startswith("page: "):  # printed last
                titles[title] = time.perf_counter()

    reader = Thread(target=follow)
    reader.start()
    try:
        yield address, titles
    finally:
        process.terminate()
        process.wait()
        reader.join()


def _page(address: str, tag: str) -> tuple[str, str]:
    """The page's tag and text, once the tag is another."""
    headers = {"If-None-Match": tag, "Prefer": "wait=10"} if tag else {}
    with urllib.request.urlopen(urllib.request.Request(address, headers=headers), timeout=20) as answer:
        return answer.headers["ETag"], answer.read().decode()

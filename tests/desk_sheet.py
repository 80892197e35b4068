"""A desk in a browser: what its tests press, write and read."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

from browsing import FATES, LISTEN, listening
from desk_client import Started

PATIENCE = 180_000
"""Milliseconds until a wait is given up: only those that are in vain take so long."""
SAID = """() => Object.fromEntries([...document.querySelectorAll('#said, #gone, #head, #closing, #older, #held')].map(
    (one) => [one.id, one.hidden ? 'hidden' : one.id === 'held' ? {...one.dataset} : one.textContent])
    .concat([['picture', document.getElementById('picture')?.firstElementChild?.tagName]]))"""


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


def file_of(tmp_path: Path) -> Path:
    return tmp_path / "rigs" / "plan.rig"

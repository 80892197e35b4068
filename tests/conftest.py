"""What several test files start once, and what holds in every test: JSON that goes out is what the contract says."""

from __future__ import annotations

import json
import os
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
import rigs
from browsing import CHROMIUM
from contracted import agreed
from desk_client import GOOD, Started
from desk_sheet import Sheet
from editor_client import Editor

from analyser.checking import contract


@pytest.fixture(scope="module")
def editor(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Editor]:
    one = Editor(tmp_path_factory.mktemp("server"))
    yield one
    status = one.stop()
    errors = b"".join(one.errors).decode()
    one.kill()
    assert (status, errors) == (0, "")


@pytest.fixture(scope="session", autouse=True)
def every_document_is_as_agreed() -> None:
    for name in ("as_text", "as_line"):
        setattr(contract, name, _watched(getattr(contract, name)))


@pytest.fixture(scope="session", autouse=True)
def what_is_shipped_is_checked_by_one_process(tmp_path_factory: pytest.TempPathFactory) -> None:
    if "PYTEST_XDIST_WORKER" in os.environ:
        rigs.shared = tmp_path_factory.getbasetemp().parent


def _watched(write: Callable[[Any], str]) -> Callable[[Any], str]:
    def written(document: Any) -> str:
        text = write(document)
        agreed(json.loads(text))
        return text

    return written


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    made = tmp_path / "rigs"
    made.mkdir()
    return made


@pytest.fixture
def desk_over(folder: Path) -> Iterator[Callable[..., Started]]:
    started: list[Started] = []

    def run(text: str = GOOD, *arguments: str) -> Started:
        rig = folder / "plan.rig"
        rig.write_text(text, encoding="utf-8")
        started.append(Started(rig, *arguments))
        return started[-1]

    yield run
    for one in started:
        one.kill()


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    from playwright.sync_api import sync_playwright

    assert CHROMIUM, "chromium must be there in CI"
    with sync_playwright() as playwright:
        found = playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        yield found
        found.close()


@pytest.fixture
def at_desk(tmp_path: Path, browser: Any) -> Iterator[Callable[..., Sheet]]:
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

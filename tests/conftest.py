"""What several test files start once, and what holds in every test: JSON that goes out is what the contract says."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from contracted import agreed
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


def _watched(write: Callable[[Any], str]) -> Callable[[Any], str]:
    def written(document: Any) -> str:
        text = write(document)
        agreed(json.loads(text))
        return text

    return written

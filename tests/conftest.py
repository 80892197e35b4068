"""What holds in every test: whatever goes out as JSON is what the contract says."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

import pytest
from contracted import agreed

from analyser.checking import contract


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

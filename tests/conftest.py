"""What several test files start once a file: an editor with its language server."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from editor_client import Editor


@pytest.fixture(scope="module")
def editor(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Editor]:
    one = Editor(tmp_path_factory.mktemp("server"))
    yield one
    status = one.stop()
    errors = b"".join(one.errors).decode()
    one.kill()
    assert (status, errors) == (0, "")

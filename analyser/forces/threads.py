"""One thread for small matrices: with more, a busy machine's threads wait for one another.

(A net of 100 nodes, two cores shared with others: 0.1 s with one thread, up to 15 s with two.)
"""

from __future__ import annotations

from contextlib import AbstractContextManager
from functools import lru_cache
from typing import Any

from threadpoolctl import ThreadpoolController


@lru_cache(maxsize=1)
def _controller() -> Any:
    return ThreadpoolController()


def one_thread() -> AbstractContextManager[Any]:
    """A context in which numpy's linear algebra keeps to one thread; afterwards all is as before."""
    limit: AbstractContextManager[Any] = _controller().limit(limits=1, user_api="blas")
    return limit

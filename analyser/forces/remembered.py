"""What was solved once is not solved again: answers kept by everything that goes into them.

Many single failures change nothing that carries (a spare connector, one of two that hang in one chain), and
most steps of a stage leave most of what follows a failure as it was. The numbers that are solved are then the
same to the last bit, and so is the answer. It is kept by a digest of those numbers, nothing else.
"""

from __future__ import annotations

from collections.abc import Callable
from hashlib import blake2b
from typing import TypeVar, cast

import numpy as np

from analyser.forces.network import Network, State

T = TypeVar("T")


class Remembered:
    """Answers by what was asked; good for as many rigs as one likes, one after the other.

    >>> kept = Remembered()
    >>> kept.once(b"asked", lambda: 7), kept.once(b"asked", lambda: 8), len(kept.answers)
    (7, 7, 1)
    """

    def __init__(self) -> None:
        self.answers: dict[bytes, object] = {}

    def once(self, asked: bytes, solve: Callable[[], T]) -> T:
        """The answer kept for `asked`, else what `solve` gives."""
        if asked not in self.answers:
            self.answers[asked] = solve()
        return cast(T, self.answers[asked])


def asked(what: str, network: Network, *states: State, load: float = 0.0) -> bytes:
    """A digest of a question: its kind, every number of the network and of some states of it, and a load."""
    digest = blake2b(f"{what} {network.free} {network.bodies} {load!r}".encode(), digest_size=20)
    arrays = [network.carrier, network.offsets, network.fixed, network.weights, network.start, network.end]
    arrays += [network.line, network.rest, network.rate, network.passing]
    for state in states:
        arrays += [state.free, state.centres, state.turns, state.passed]
    for array in arrays:
        digest.update(f"{array.shape}{array.dtype.str}".encode())
        digest.update(np.ascontiguousarray(array).tobytes())
    return digest.digest()

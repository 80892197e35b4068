"""How long something takes, told by no clock: in good texts that could have been read meanwhile.

A machine that is slow, or has other work, is slow at reading too. The texts are short ones, so what takes long with
the length of a text takes more of them.
"""

from __future__ import annotations

from collections.abc import Callable
from time import process_time
from typing import TypeVar

import analyser

TEXTS = 40
"""What may be read meanwhile: a second of the processor on the machine where that was set."""
TEXT = 'rig "a"\n' + "".join(f"anchor a{k}\nring r{k}\nattach a{k} - r{k}\n" for k in range(100))
ROUNDS = 3
"""The least of them counts: other work on a machine costs processor time too."""
A_MOMENT = 0.1
"""Seconds of the processor that are not looked at any closer, on any machine."""
Given = TypeVar("Given")


def soon(work: Callable[[], Given]) -> Given:
    """What it gives. AssertionError where that takes longer than reading so many good texts of 300 lines."""
    given, took = _timed(work)
    if took > A_MOMENT:
        texts = [_in_texts(work)]
        while texts[-1] > TEXTS and len(texts) < ROUNDS:
            texts.append(_in_texts(work))
        assert min(texts) <= TEXTS, f"{min(texts):.0f} good texts could have been read meanwhile"
    return given


def _in_texts(work: Callable[[], object]) -> float:
    _, one = _timed(lambda: [analyser.read_text(TEXT) for _ in range(4)])
    return _timed(work)[1] / (one / 4)


def _timed(work: Callable[[], Given]) -> tuple[Given, float]:
    begun = process_time()
    given = work()
    return given, process_time() - begun

"""stillheld: if this part of a rope system fails, who is still held, and by what?

>>> import analyser
>>> rig = analyser.read_text('''
... rig "Two lines to one ring"
... anchor left, right
... ring master
... person sam: points waist, chest
... attach left - master
... attach right - master
... attach master - strap a-strap - sam.waist
... attach master - strap b-strap - sam.chest
... ''')
>>> result = analyser.check(rig)
>>> sam = result.body("sam")
>>> sam.attachments, sam.independent, sam.smallest_failure_set
(2, 1, 1)
>>> [failure.id for failure in result.failures if "sam" in failure.falls]
['master fails']

A model of what was written, not of the rope in the hand: local codes, makers' instructions and
licensed or qualified practice come first.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from analyser.checking.results import Result
    from analyser.language.parsing import Document
    from analyser.rig.model import Rig
    from analyser.rig.plan import Plan

__all__ = ["check", "read", "read_text"]


def read(path: str | Path) -> Plan:
    """Read a `.rig` file.

    Raises `analyser.language.mistakes.Unreadable`, which lists every mistake with its place.
    """
    from analyser.language.parsing import parse_file
    from analyser.rig.catalogue import catalogue

    return _built(parse_file(Path(path), set(catalogue())))


def read_text(text: str | bytes, name: str = "rig", folder: str | Path = ".") -> Plan:
    """Read a rig from text; `name` is shown in messages, `folder` is where its includes are.

    Raises `analyser.language.mistakes.Unreadable`, which lists every mistake with its place.
    """
    from analyser.language.parsing import parse_text
    from analyser.rig.catalogue import catalogue

    data = text.encode() if isinstance(text, str) else text
    return _built(parse_text(data, name, Path(folder), set(catalogue())))


def check(rig: Rig, order: int = 2) -> Result:
    """Fail every part in turn, then every pair (`order` 3: every triple): who is still held?

    Returns the whole result as plain data (`analyser.checking.results.Result`), complete up to `order`
    for the failures that the rig can express.
    """
    from analyser.checking.results import analyse

    return analyse(rig, order)


def _built(document: Document) -> Plan:
    from analyser.language.mistakes import Unreadable
    from analyser.rig.building import build

    rig, mistakes = build(document)
    if rig is None:
        raise Unreadable(mistakes, document.sources)
    return rig

"""What was searched for an earlier text is not searched again, and nothing is told otherwise for it."""

from __future__ import annotations

import random

import pytest
from bench.generating import made
from random_stages import random_stage
from random_systems import random_system

import analyser
from analyser.checking.analysing import analyse
from analyser.holding import reviewing
from analyser.language.mistakes import Unreadable
from analyser.rig.plan import Plan


def edited(text: str, seed: int) -> Plan | None:
    """The text with a line left out, as somebody writes; None where it can't be read then."""
    lines = text.splitlines()
    movable = [k for k, line in enumerate(lines) if line.startswith(("attach", "    detach", "    attach", "require"))]
    if movable:
        del lines[random.Random(seed).choice(movable)]
    try:
        return analyser.read_text("\n".join(lines) + "\n")
    except Unreadable:
        return None


@pytest.mark.parametrize("seed", range(860_001, 860_021))
def test_after_another_text_a_system_is_told_as_afresh(seed: int) -> None:
    text = random_system(seed)[0]
    before, now = analyser.read_text(text), edited(text, seed)
    if now is None:
        return
    assert analyse(now, remembered=analyse(before)).to_json() == analyse(now).to_json()
    again = analyse(before, remembered=analyse(now, remembered=analyse(before)))
    assert again.to_json() == analyse(before).to_json(), "and back again"


@pytest.mark.parametrize("seed", range(870_001, 870_013))
def test_after_another_text_a_plan_is_told_as_afresh(seed: int) -> None:
    text = random_stage(seed, 5)
    before, now = analyser.read_text(text), edited(text, seed)
    if now is None:
        return
    assert analyse(now, remembered=analyse(before)).to_json() == analyse(now).to_json()


def test_what_is_as_it_was_is_not_searched_again(monkeypatch: pytest.MonkeyPatch) -> None:
    text, searched = made("ordinary", 120).text, []
    init = reviewing.Search.__init__

    def counted(self: reviewing.Search, system: object) -> None:
        searched.append(system)
        init(self, system)  # type: ignore[arg-type]

    monkeypatch.setattr(reviewing.Search, "__init__", counted)
    first = analyse(analyser.read_text(text))
    whole = len(searched)
    second = analyse(analyser.read_text(text.replace('rig "', 'rig "Another title: ')), remembered=first)
    assert whole > 2 and len(searched) == whole
    changed = text.replace("attach t1-wall - sling t1-dev-sling - ", "attach t1-wall - ")
    third = analyse(analyser.read_text(changed), remembered=second)
    assert whole < len(searched) <= whole + 2
    assert len(third.states[0].outcome.review.known) <= len(first.states[0].outcome.review.known) + 4, "no hoard"

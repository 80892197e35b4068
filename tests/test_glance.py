"""A glance at what has changed says what a glance at the whole says."""

from __future__ import annotations

import pytest
from bench.generating import made
from random_systems import random_system

import analyser
from analyser.checking import glance
from analyser.checking.glance import Glances, at_a_glance


@pytest.mark.parametrize("seed", range(830_001, 830_071))
def test_piece_by_piece_it_is_the_same(seed: int) -> None:
    rig = random_system(seed)[1].alone
    if not rig.origin:
        assert Glances().of(rig) == at_a_glance(rig)


def test_what_is_as_it_was_is_not_asked_again(monkeypatch: pytest.MonkeyPatch) -> None:
    text, asked = made("ordinary", 120).text, []

    def counted(rig: analyser.Rig) -> tuple[glance.Glance, ...]:
        asked.append(sorted(body.name for body in rig.bodies))
        return at_a_glance(rig)

    monkeypatch.setattr(glance, "at_a_glance", counted)
    known = Glances()
    known.of(analyser.read_text(text))
    everything = len(asked)
    known.of(analyser.read_text(text.replace('rig "', 'rig "Another title: ')))
    assert everything > 2 and len(asked) == everything
    changed = analyser.read_text(text.replace("attach t1-wall - sling t1-dev-sling - ", "attach t1-wall - "))
    assert known.of(changed) == at_a_glance(changed)
    assert len(asked) == everything + 1 and "t1-sam" in asked[-1]

"""A sample of what may change of a text without changing any answer, and that a change of an answer would be seen."""

from __future__ import annotations

import random

import pytest
import same_answers
from random_rigs import random_rig_text


@pytest.mark.parametrize("seed", range(1, 9))
def test_the_same_answers_told_otherwise(seed: int) -> None:
    assert same_answers.differences(seed) == []


def test_the_text_is_told_otherwise() -> None:
    texts = [random_rig_text(random.Random(seed), 3) for seed in range(10)]
    rng = random.Random(1)
    moved = [same_answers.in_another_order(text, rng) for text in texts]
    assert sum(one.split() != other.split() for one, other in zip(texts, moved, strict=True)) > 5
    renamed, back = same_answers.with_other_names(texts[0], rng)
    assert renamed != texts[0] and back(renamed) == texts[0]


def test_another_answer_is_seen(monkeypatch: pytest.MonkeyPatch) -> None:
    def wrong(text: str, rng: random.Random) -> str:
        return text.replace("strap", "sling", 1) if "strap" in text else "\n".join(text.splitlines()[:-1])

    monkeypatch.setattr(same_answers, "in_another_order", wrong)
    monkeypatch.setattr(same_answers, "answers", lambda rig, back=str: {"parts": {back(n) for n in rig.parts}})
    assert any(
        told.startswith("in another order: parts: ") for seed in range(1, 6) for told in same_answers.differences(seed)
    )

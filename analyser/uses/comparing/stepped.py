"""Stages and steps that came, went or moved between two revisions."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from difflib import SequenceMatcher

from analyser.rig.model import Rig


@dataclass(frozen=True, slots=True)
class Stepped:
    """A stage or a step that came or went. `step` is None for the whole stage."""

    change: str
    stage: str
    step: str | None


def stepped(old: Rig, new: Rig) -> Iterator[Stepped]:
    before, after = ({stage.title: stage for stage in rig.stages} for rig in (old, new))
    for title, stage in after.items():
        if title not in before:
            yield Stepped("stage added", title, None)
            continue
        was, now = [s.words for s in before[title].steps], [s.words for s in stage.steps]
        gone, came = Counter(was) - Counter(now), Counter(now) - Counter(was)
        for op, a, b, c, d in SequenceMatcher(None, was, now, autojunk=False).get_opcodes():
            if op != "equal":
                for words in was[a:b]:
                    if gone[words]:
                        yield Stepped("step gone", title, words)
                for words in now[c:d]:
                    yield Stepped("step added" if came[words] else "step moved", title, words)
    for title in before:
        if title not in after:
            yield Stepped("stage gone", title, None)
    kept = [title for title in before if title in after]
    if kept != [title for title in after if title in before]:
        yield Stepped("stages in another order", " → ".join(f"“{title}”" for title in after), None)

"""A strap from the body to a part near it that stays held, or a lanyard for one who stands."""

from __future__ import annotations

from collections.abc import Iterator

from analyser.language.edit import Edit, attach, link
from analyser.uses.mending.around import Around
from analyser.uses.mending.proposal import Proposal

MOST_ALIKE = 3
"""Of targets that stay held in the same cases, the most usual few are enough."""


def propose(around: Around) -> Iterator[Proposal]:
    for body in around.worst:
        part = around.rig.parts[body]
        points = around.points(body)
        kind = "lanyard" if part.standing else "strap"
        alike: dict[int, int] = {}
        for taste, target in _targets(around, body):
            stays = around.gains(target, body)
            if not stays or alike.get(stays, 0) >= MOST_ALIKE:
                continue
            alike[stays] = alike.get(stays, 0) + 1
            for point in points:
                if point in around.beside.get(target, ()):
                    continue
                strap = link(around.names.fresh(f"{body}-{kind}"), kind)
                declared = around.declared(point, body)
                edit = Edit((*declared, attach(target, strap, point)))
                words = f"a {kind} from {target} to {point}" + (f", {around.called(point, body)}" if declared else "")
                yield around.proposal("strap", words, 0, (body,), edit, taste=taste)


def _targets(around: Around, body: str) -> list[tuple[int, str]]:
    found = [(around.target(name, body), name) for name in around.near(body)]
    return sorted((taste, name) for taste, name in found if taste is not None)

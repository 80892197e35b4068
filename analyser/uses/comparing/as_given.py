"""What two revisions take as given or accept: what came, went, or has another reason."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from analyser.rig.model import Judged, Rig


@dataclass(frozen=True, slots=True)
class Given:
    """Something taken as given or accepted: its reason before and after, None where it isn't there."""

    sort: str
    what: str
    was: str | None
    now: str | None


def given(old: Rig, new: Rig) -> Iterator[Given]:
    for sort, was, now in (
        ("assumption", _reasons(old.sound), _reasons(new.sound)),
        ("accepted risk", _reasons(old.accepted), _reasons(new.accepted)),
        (
            "accepted finding",
            {f"{one.rule} on {one.about}": one.reason for one in old.waived},
            {f"{one.rule} on {one.about}": one.reason for one in new.waived},
        ),
        ("told as latent", _reasons(old.latent), _reasons(new.latent)),
    ):
        for what in sorted({*was, *now}):
            if was.get(what) != now.get(what):
                yield Given(sort, what, was.get(what), now.get(what))
    stood = {name for name, part in old.parts.items() if part.is_body} - {body.name for body in old.bodies}
    stands = {name for name, part in new.parts.items() if part.is_body} - {body.name for body in new.bodies}
    words = "stands where a fall is impossible, as the file says"
    for name in sorted(stood ^ stands):
        if name in old.parts and name in new.parts:
            yield Given("standing", name, words if name in stood else None, words if name in stands else None)


def _reasons(judged: Iterable[Judged]) -> dict[str, str]:
    return {one.failure: one.reason for one in judged}

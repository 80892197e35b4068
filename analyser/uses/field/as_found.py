"""The rig as it was found: the statements of its file, changed by what a walk-down found, read anew.

What holds is never guessed: a part that is missing is taken out of every line that names it, and what was
found but does not do its work is not counted on. So an unlocked gate, a knot half tied and an open buckle are
taken out like a part that is missing: that is what each of them may come to (`findings/latent.py`). A hitch
that is loose lets its rope run through. Lines of the file that the rig as found can carry no more (a step that
attaches a missing part, a reason why it cannot fail) are left out and told; none is made up.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace

from analyser.holding.outcome import assess
from analyser.language.attributes import BY_KEY
from analyser.language.mistakes import Mistake, Unreadable
from analyser.language.parsing import Document
from analyser.language.syntax import Detail, More, Statement
from analyser.rig.building import build
from analyser.rig.describing import ADDED
from analyser.rig.model import Effects, Rig, Role
from analyser.rig.plan import Plan
from analyser.uses.field.found import Difference, Found
from analyser.uses.field.leaving_out import Leaving, LeftOut
from analyser.uses.field.otherwise import Otherwise
from analyser.uses.field.restated import Restated

MOST_READINGS = 40
"""How often what the found rig can't carry is left out before giving up: each time at least one line goes."""


@dataclass(frozen=True)
class Running:
    """A device found reversed or loose, who runs down the rope in it, and after which step (empty: as attached)."""

    device: str
    bodies: tuple[str, ...]
    step: str


@dataclass(frozen=True)
class AsFound:
    """The rig as found, and the lines of its file that are left out of it."""

    rig: Plan
    found: Found
    left_out: tuple[LeftOut, ...]
    stands_no_more: tuple[tuple[str, tuple[str, ...]], ...] = ()
    """Frames that are as written, and have not what they stand on: each with what of it is not there. They are taken
    out like what is missing: nothing may count on them."""

    def running(self, written: Plan) -> tuple[Running, ...]:
        """Who runs first: devices found reversed or loose, each with whom the rig as found holds in as many
        ways as it does only once they have run down its rope, in the first state in which that is so. The rules
        call that held."""
        before, after = _by_step(written), _by_step(self.rig)
        found = []
        for one in self.found.differences:
            if one.how in ("reversed", "loose"):
                device = one.name.text
                told = (
                    Running(device, names, key[1])
                    for key, now in after.items()
                    if key in before and (names := tuple(_runs(before[key], now, device)))
                )
                found += [first] if (first := next(told, None)) else []
        return tuple(found)

    @property
    def asked_no_more(self) -> bool:
        """Is something that the file requires not to be asked of the rig as found?"""
        return any(one.asked for one in self.left_out)


def as_found(plan: Plan, found: Found) -> AsFound:
    """The rig with every difference made; raises `Unreadable` with the mistakes of the found file."""
    sources = {**plan.document.sources, found.file: list(found.lines)}
    mistakes = [*found.mistakes, *_another(plan, found)]
    otherwise = Otherwise(plan, plan.kinds)
    extra, more_said = _extra(found, otherwise)
    for difference in (*found.differences, *more_said):
        mistakes += otherwise.take(difference)
    if mistakes:
        raise Unreadable(mistakes, {found.file: list(found.lines)})
    restated = Restated(plan, otherwise)
    statements = [*restated.statements(), *extra]
    left_out = [*restated.left_out]
    for _ in range(MOST_READINGS):
        made, wrong = build(Document(tuple(statements), sources=sources))
        if made is not None:
            told = tuple(sorted(set(left_out), key=lambda one: (one.place, one.words)))
            return AsFound(made, found, told, tuple(otherwise.stands_no_more.items()))
        own = [one for one in wrong if one.place.file == found.file]
        if own:
            raise Unreadable(own, sources)
        leaving = Leaving(wrong, plan.document.sources)
        statements = list(leaving.statements(statements))
        if not leaving.left_out:
            break
        left_out += leaving.left_out
    raise Unreadable([replace(one, text=f"as found, this cannot be read: {one.text}") for one in wrong], sources)


def _extra(found: Found, otherwise: Otherwise) -> tuple[list[Statement], list[Difference]]:
    """What is something extra; and figures that are said of a part of the rig: another one is meant."""
    known = {*otherwise.parts, *otherwise.ropes}
    extra: list[Statement] = []
    figures: list[Difference] = []
    for one in found.extra:
        if not isinstance(one, More):
            extra.append(one)
            continue
        rest = []
        for detail in one.details:
            other = tuple(each for each in detail.attributes if BY_KEY[each.key].shape not in ADDED)
            names = [name for name in detail.names if name.text in known and other]
            figures += [Difference("figures", name, one.place, attributes=other) for name in names]
            left = tuple(each for each in detail.attributes if each not in other)
            rest += [Detail((name,), left) for name in names if left]
            rest += [Detail((name,), detail.attributes) for name in detail.names if name not in names]
        if rest:
            extra.append(replace(one, details=tuple(rest)))
    return extra, figures


def _another(rig: Rig, found: Found) -> Iterator[Mistake]:
    """Was another rig walked, or another revision of it?"""
    if found.title and found.title.text != rig.title:
        text = f"this was found on “{found.title.text}”, and the rig is “{rig.title}”"
        yield Mistake(found.title.place, text, "name the rig that was walked, or write its title here")
    same = (rig.revision, rig.revision.number) if rig.revision else ("",)
    if found.revision and found.revision.text not in same:
        now = f"the rig is revision {rig.revision}" if rig.revision else "the rig has no revision"
        text = f"this was found on revision {found.revision.text}, and {now}"
        yield Mistake(found.revision.place, text, "walk the rig again, or compare the revisions: `stillheld compare`")


# -- who runs first


def _by_step(plan: Plan) -> dict[tuple[str, str, int], Rig]:
    """Every state by its stage, the words of its step, and which of those words it is there."""
    found: dict[tuple[str, str, int], Rig] = {("", "", 0): plan.first}
    count: Counter[tuple[str, str]] = Counter()
    for stage in plan.stages:
        for step in stage.steps:
            key = (stage.title, step.words)
            found[(*key, count[key])] = step.rig
            count[key] += 1
    return found


def _runs(written: Rig, now: Rig, device: str) -> Iterator[str]:
    """Who is held in as many ways as they are only beyond the stretch of rope on the wrong side of a device."""
    slack = frozenset(_slack_behind(written, now, device))
    if slack:
        free, taut = assess(now).bodies, assess(now, already=Effects(cut=slack)).bodies
        for a, b in zip(free, taut, strict=True):
            if a.held > b.held or a.attachments > b.attachments:
                yield a.name


def _slack_behind(written: Rig, now: Rig, device: str) -> Iterator[str]:
    """The stretches of the rig as found on the side of a device that is not loaded as written."""
    for rope in written.ropes:
        for station in rope.stations:
            if station.part != device or station.role is not Role.GRIP or station.to_start == station.to_end:
                continue
            for found in now.ropes:
                at = [k for k, one in enumerate(found.stations) if found.name == rope.name and one.part == device]
                for k in at:
                    yield from found.spans[k : k + 1] if station.to_start else found.spans[max(0, k - 1) : k]

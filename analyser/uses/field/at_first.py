"""The first lines of a paper: who hangs on one, on what, and what first; in no language yet."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import groupby

from analyser.checking.first_look import End, FirstLook, Instead, OnOne, Unsettled
from analyser.checking.hung_on import Thing
from analyser.checking.step_to_stop import At, Breaks, Off
from analyser.holding.fate import Kind
from analyser.language.spelling import spelt_chain
from analyser.language.syntax import Attach
from analyser.rig.figures import as_length
from analyser.rig.model import Rig
from analyser.uses.field.named_things import HOLDS_ON, all_of, joined, names_of, places, thing
from analyser.uses.field.said import Said, said
from analyser.uses.mending.for_these import best_for, mends_for
from analyser.uses.mending.ranking import Mend

FEW = 3
"""Things named of what leaves somebody on one; the lists below name all."""
MOST_LINES = 6
"""Lines of who hangs on one."""
FATES = {
    Kind.FALLS: "fate-falls",
    Kind.BY_A_PERSON: "fate-by-person",
    Kind.BY_ANOTHERS_WEIGHT: "fate-by-weight",
    Kind.RUNS: "fate-runs",
    Kind.TO_THE_GROUND: "fate-to-ground",
}
OTHERS = "first-others"
"""The order that others hang on one too."""
BETWEEN = "mend-between"
"""What would mend it: something of a kind between two things."""
NUMBER, APART = "first-number", frozenset({"first-number", "first-tight", "first-not-yet", "first-at"})
"""An order with its number; sentences that begin a line of their own."""
PLAN = "first-label-plan"
"""The label of what is written otherwise."""
WHEN = "first-label-after"
"""The label of the line that tells in which state it is so."""


@dataclass(frozen=True, slots=True)
class Answer:
    """A short line with what it is about: names of bodies, or a word of ours. `orders`: its words are to be done, one
    after the other."""

    label: Said
    words: tuple[Said, ...]
    orders: bool = False

    def without(self, keys: Collection[str]) -> Answer:
        """The same, but for the sentences of these keys."""
        return replace(self, words=tuple(told for told in self.words if told.key not in keys))


@dataclass(frozen=True, slots=True)
class FirstLines:
    """`head` in a sentence, and below it who `hangs` on what and when, what to `look` at or to do now, and the `rest`:
    what is done by whom it is too late for that, what is written otherwise, and until when the paper is not for use;
    at last what the file `accepts`."""

    head: Said
    hangs: tuple[Answer, ...]
    look: tuple[Answer, ...]
    rest: tuple[Answer, ...] = ()
    accepts: tuple[Answer, ...] = ()
    tried: Said | None = None
    """What was looked at for what would mend it, where that is told."""

    @property
    def answers(self) -> tuple[Answer, ...]:
        """All of them, in the order in which they are read."""
        return (*self.hangs, *self.look, *self.rest, *self.accepts)


def first_lines(
    look: FirstLook, *, met: bool, mend: Said | None = None, cause: Said | None = None, you: str | None = None
) -> FirstLines:
    """What a reader is to know before anything else. `met`: no requirement says no; `mend`: what would take away all
    on which the worst off hang, as an order; `cause`: to what that is due, where that is known; `you`: who reads it."""
    head = _head(look, you)
    if not met:
        head = said("first-not-met", words=head)
    elif look.dangers and not look.endangered:
        head = said("first-met-yet", words=said("then", one=said("first-dangers", count=look.dangers), other=head))
    elif look.endangered or (look.unsettled and not look.on_one):
        head = said("first-met-yet", words=head)
    else:
        head = said("first-met", words=head)
    apart = bool(look.endangered or look.step) and not met
    hangs = tuple(_hanging(look, you))
    if apart and look.step:  # which and in what words is told by where to stop
        hangs = tuple(one for one in hangs if one.label.key != WHEN)
    accepts = tuple(_accepting(look, you, apart=apart))
    if apart:
        orders, rest = tuple(_to_do(look, cause, mend)), (_too_late(look, cause, mend), _until(look))
        return FirstLines(head, hangs, orders, rest, accepts, tried(look, cause, mend))
    first = tuple(what_first(look, cause, mend))
    label = said("first-label-now" if look.endangered else "first-label-look")
    return FirstLines(head, (*hangs, *accepts), (Answer(label, first),) if first else ())


def mending(rig: Rig, look: FirstLook) -> Said | None:
    """What would take away all on which the worst off hang, as an order, where that is one chain to attach."""
    return as_order(best_for(mends_for(rig, look), look.endangered[0])) if look.endangered else None


def as_order(best: Mend | None) -> Said | None:
    """A mend as what is to be added, where that is one chain."""
    added = best.proposal.edit.added if best and not best.proposal.changes else ()
    if len(added) != 1 or not isinstance(added[0], Attach):
        return None
    chain = added[0].chain
    if len(chain) == 3 and chain[1].kind and not (chain[0].kind or chain[2].kind):
        one, other = (spelt_chain((end,)) for end in (chain[0], chain[2]))
        return said(BETWEEN, kind=chain[1].kind.text, a=one, b=other)
    return said("mend-chain", chain=spelt_chain(chain, " – "))


def between(mend: Said | None) -> tuple[str, str, str] | None:
    """What of a kind goes between which two things, where that is what would mend it."""
    if mend is None or mend.key != BETWEEN:
        return None
    gaps = dict(mend.gaps)
    return str(gaps["kind"]), str(gaps["a"]), str(gaps["b"])


def _head(look: FirstLook, you: str | None) -> Said:
    """Who hangs on one, or that nobody does."""
    unheld = any(one.unheld for one in look.endangered)
    alone = tuple(name for one in look.endangered if not one.unheld for name in one.bodies)
    others = tuple(name for name in alone if name != you)
    told = [_unheld([one for one in look.endangered if one.unheld])] if unheld else []
    told += [said("first-you-on-one")] if you in alone else []
    if others:
        steps = {one.at for one in look.endangered if not one.unheld}
        step = steps.pop() if len(steps) == 1 else None
        at = _after(step) if step else ""
        told.append(said("first-on-one", bodies=names_of(others), count=len(others), at=at))
    if not told and look.broken:
        told = [said("names", names=look.broken[:1])]
    if not look.bodies:
        told.append(said("first-nobody"))
    elif not look.endangered:
        accepted = tuple(name for one in look.on_one for name in one.bodies)
        told += [said("first-but-accepted", bodies=names_of(accepted))] if accepted else []
        told += [_unsettled(look.unsettled)] if look.unsettled else []
        told = told or [said("first-everybody")]
    return joined("then", told)


def _unheld(several: Sequence[OnOne]) -> Said:
    """Who is not held with nothing failed; from whom they hang, and after which step, where that is one."""
    bodies = tuple(name for one in several for name in one.bodies)
    at = _after(several[0].at) if len(several) == 1 and several[0].at else said("first-as-rigged")
    people = several[0].holders if len(several) == 1 else ()
    if people:
        told = said("first-from-person", bodies=names_of(bodies), people=people, at=at)
    else:
        told = said("first-unheld", bodies=names_of(bodies), count=len(bodies), at=at)
    sooner = several[0].earlier if len(several) == 1 and {*several[0].already} == {*bodies} else None
    return said("first-sooner", words=told, step=sooner.number) if sooner and not sooner.during else told


def _unsettled(one: Unsettled) -> Said:
    """Who tips or drops after a single failure and is held in the end: after which, and in which state."""
    bodies, after = names_of(one.bodies), thing(one.failing[0])
    at = _after(one.at) if one.at else ""
    if one.drop is None:
        return said("first-tips", bodies=bodies, count=len(one.bodies), at=at, thing=after)
    return said("first-drops", bodies=bodies, count=len(one.bodies), far=as_length(one.drop, ".2g"), at=at, thing=after)


def _after(at: At) -> Said:
    return said("first-in-step" if at.during else "first-after", step=at.number)


def _hanging(look: FirstLook, you: str | None) -> Iterator[Answer]:
    """Who hangs on one of whom the file doesn't accept it, and on what; after those of whom it is so at the same time,
    when."""
    yield from _on_one(look.endangered[:MOST_LINES], you)
    if more := sum(len(one.bodies) for one in look.endangered[MOST_LINES:]):
        yield Answer(said("first-label-more", count=more), (said("first-more"),))


def _accepting(look: FirstLook, you: str | None, *, apart: bool) -> Iterator[Answer]:
    """Who hangs on one of whom the file accepts it, `apart` from those of whom it doesn't; who tips or drops, where
    nobody else is told of; what is taken as impossible."""
    accepted = [one for one in look.on_one if one.accepted]
    room = max(MOST_LINES - len(look.endangered), 0)
    yield from map(_accepted, accepted[:room]) if apart else _on_one(accepted[:room], you)
    if more := sum(len(one.bodies) for one in accepted[room:]):
        yield Answer(said("first-label-more", count=more), (said("first-more"),))
    told_above = look.unsettled.bodies if look.unsettled else ()
    others = tuple(name for name in look.shaken if name not in told_above)
    if others and not look.endangered:
        told = said("first-shaken-else" if look.on_one else "first-shaken")
        yield Answer(said("names", names=others), (told,))
    if look.assumed:
        yield Answer(said("first-label-assumed"), (said("names", names=look.assumed),))


def _accepted(one: OnOne) -> Answer:
    words, count = on_what(replace(one, accepted=False)), len(one.bodies)
    at = _after(one.at) if one.at else ""
    return Answer(
        said("first-label-accepted"),
        (said("first-who-on", bodies=names_of(one.bodies), count=count, at=at, words=words),),
    )


def _on_one(several: Sequence[OnOne], you: str | None) -> Iterator[Answer]:
    for when, alike in groupby(several, key=lambda one: (one.at, one.until, one.earlier)):
        yield from (Answer(_label(one, you), tuple(_on_what(one))) for one in alike)
        if when[0]:
            label = said("first-label-during" if when[0].during else WHEN, step=when[0].number)
            yield Answer(label, (_when(when[0], when[1], when[2]),))


def _to_do(look: FirstLook, cause: Said | None, mend: Said | None) -> Iterator[Answer]:
    """What is done now, where somebody hangs on one and what is asked for is not met; then what by whoever comes in
    time for it."""
    stop = [said("first-weight-nothing")]
    if look.step:
        stop = [cause] if cause else list(_stop(look))
    yield Answer(said("first-label-now"), tuple(stop), orders=True)
    if look.step:
        label, told = said("first-label-before", step=look.step.number), tuple(_before(look))
    else:
        label, told = said("first-label-mend"), tuple(_mended(look, cause, mend))
    if told:
        yield Answer(label, told)


def _mended(look: FirstLook, cause: Said | None, mend: Said | None) -> Iterator[Said]:
    """What is looked at and put on where it is so as first attached."""
    if look.ends:
        yield from map(other_end, look.ends)
        return
    worst = look.endangered[0]
    yield from what_first(look, cause, mend)
    if (need := _besides(worst)) and not (mend or cause or worst.free or worst.turned):
        yield said("first-besides", bodies=names_of(worst.bodies), things=all_of(need, FEW))
    if others := _others(look):
        yield said(OTHERS, bodies=names_of(others), count=len(others))


def _before(look: FirstLook) -> Iterator[Said]:
    """What is done by whoever is not yet past the step to stop before."""
    if look.ends:
        if look.movable:
            moves = [said("first-move", strap=one.strap, now=one.now, to=one.to) for one in look.ends]
            yield said("first-moves", moves=joined("both", moves), count=len(moves))
            added = [said("first-beside", other=one.other, to=one.to) for one in look.ends if one.other]
            if len(added) == len(moves):
                yield said("first-tight", added=joined("both", added), count=len(added))
            yield said("first-not-yet")
    elif order := look.instead:
        yield other_order(order)
        yield from [said("first-slack")] if order.slack else []
        yield from [said("first-still", step=order.still.number, words=order.still.words)] if order.still else []
    elif not look.stopped_by_rule:
        yield said("first-not-that-step")


def _stop(look: FirstLook) -> Iterator[Said]:
    """Before which step to stop, and why."""
    if look.stopped_by_rule and (at := look.step) and look.breaks:
        when = said("first-within-it" if at.during else "first-after-it")
        asked = said("names", names=look.breaks.asked)
        yield said("first-stop-breaks", step=at.number, words=at.words, when=when, asked=asked)
    else:
        yield from _cause(look.first or look.endangered[0])


def _others(look: FirstLook) -> tuple[str, ...]:
    """Who hangs on one besides the worst off, and those whose step is the first to stop before."""
    return tuple(name for one in look.endangered[1:] if one is not look.first for name in one.bodies)


def _too_late(look: FirstLook, cause: Said | None, mend: Said | None) -> Answer:
    """What is done where somebody hangs there already, or past the step that breaks something; one after the other."""
    step = look.step
    label = said("first-label-past", step=step.number) if step else said("first-label-on-it")
    if look.stopped_by_rule and look.breaks:
        return Answer(label, _numbered(_past(look.breaks, look)))
    worst, order = look.endangered[0], None if look.ends else look.instead
    first = look.first or worst
    before, taken = first.since, tuple(dict.fromkeys((*first.taken_off, *worst.taken_off)))
    then = [said("past-then", step=before.number)] if step and before and any(_before(look)) else []
    if before and before.undone and not cause:
        over = worst.until.number if worst.until and first is worst and len(look.endangered) == 1 else ""
        nothing = [said("past-until", step=over)] if over else []
        instead = order.first.number if order and not order.later else ""
        other = [said("past-or", step=instead)] if instead and not all(one.opened for one in taken) else []
        return Answer(label, _numbered([said("past-stop"), *nothing, *_back(taken, over), *other, *then]))
    if worst.things and all(one.mode == HOLDS_ON for one in worst.things) and not cause:
        people = tuple(dict.fromkeys(one.name for one in worst.things))
        return Answer(label, _numbered([said("past-let-out"), said("past-hands", people=people), *then]))
    if order and order.next:
        return Answer(label, _numbered([said("past-open-nothing"), said("past-next", step=order.first.number)]))
    stop = said("past-stop" if step else "on-it-stop")
    return Answer(label, _numbered([stop, _clipped(look, first, cause, mend)]))


def _clipped(look: FirstLook, first: OnOne, cause: Said | None, mend: Said | None) -> Said:
    """What is put on by whoever is there already."""
    worst = look.endangered[0]
    others = _others(look) if worst.at is None and not look.ends else ()
    sooner = first.bodies if first is not worst else ()
    if mend and not cause and not others and worst.at is None:
        return said("past-add", order=mend)
    bodies = tuple(dict.fromkeys((*sooner, *(worst.already or worst.bodies), *others)))
    where = said("where-own-way") if others or sooner else _where(look, worst)
    return said("past-clip", bodies=names_of(bodies), where=where)


def _past(breaks: Breaks, look: FirstLook) -> Iterator[Said]:
    taken = tuple(dict.fromkeys((*breaks.taken_off, *(off for one in look.endangered for off in one.taken_off))))
    yield said("past-stop")
    if breaks.at.undone:
        yield from _back(taken)
    elif look.endangered:
        bodies = tuple(dict.fromkeys(name for one in look.endangered for name in one.bodies))
        yield said("past-clip", bodies=names_of(bodies), where=said("where-own-way"))
    else:
        yield said("past-wait")


def _back(taken: Sequence[Off], over: str = "") -> Iterator[Said]:
    """What goes back on what, the last first; of several, each where its step is done. `over`: the step after which
    nothing goes back."""
    for one in taken[::-1]:
        if one.opened:
            yield said("past-shut" if len(taken) == 1 else "past-shut-of", step=one.step, what=one.what)
            continue
        where = said("back-on", where=one.where) if one.where else said("back-where-it-was")
        if till := over or one.on_again:
            yield said("past-back-till", step=one.step, till=till, what=one.what, where=where)
        elif len(taken) == 1:
            yield said("past-back", what=one.what, where=where)
        else:
            yield said("past-back-of", step=one.step, what=one.what, where=where)


def _numbered(several: Iterable[Said]) -> tuple[Said, ...]:
    """Orders one after the other, with their numbers where they are several."""
    orders = tuple(several)
    if len(orders) < 2:
        return orders
    return tuple(said(NUMBER, number=str(number), order=one) for number, one in enumerate(orders, 1))


def tried(look: FirstLook, cause: Said | None = None, mend: Said | None = None) -> Said | None:
    """What was looked at for what would mend it, where something is told that would."""
    if look.ends or look.instead:
        return said("tried")
    if mend and not cause:
        return said("tried-at-first" if look.staged else "tried")
    return None


def _where(look: FirstLook, worst: OnOne) -> Said:
    """To what somebody is clipped who hangs there already: not to what is wrong with it."""
    if look.ends:
        return said("where-too", to=tuple(dict.fromkeys(one.to for one in look.ends)))
    need = _besides(worst)
    if not need:
        return said("where-anchor")
    return said("where-without", thing=thing(need[0])) if len(need) == 1 else said("where-own-way")


def _until(look: FirstLook) -> Answer:
    """What is written otherwise, and until when the plan, and a paper made of it, is not to be worked from."""
    if look.step is None:
        written = bool(look.ends)
        return Answer(said("first-label-use"), (said("first-until-written" if written else "first-until-mended"),))
    return Answer(said(PLAN), (*map(other_end, look.ends), said("first-plan-until")))


def _besides(one: OnOne) -> tuple[Thing, ...]:
    """What another way of holding them must not need: all that they hang on, but for themselves."""
    return tuple(thing for thing in places(one.things) if thing.name not in one.bodies)


def other_order(one: Instead) -> Said:
    """A step done before another, or one put off until after it."""
    key = "first-put-off" if one.later else "first-instead"
    return said(key, a=one.first.number, first=one.first.words, b=one.then.number, then=one.then.words)


def at_steps(look: FirstLook) -> dict[str, Said]:
    """What is said at a step itself, by its number: before which one to stop, what ends elsewhere, what comes later."""
    marks = {look.step.number: said("step-stop")} if look.step else {}
    if (order := look.instead) and not look.ends:
        marks |= {order.still.number: said("step-stop")} if order.still else {}
        marks[order.then.number] = said("step-not-before", step=order.first.number)
    return marks | {
        one.at.number: said("step-otherwise", strap=one.strap, to=one.to, now=one.now) for one in look.ends if one.at
    }


def as_seen(look: FirstLook) -> Iterator[Said]:
    """What is to be done instead, as it is seen when it was done."""
    yield from [said("seen-end", strap=one.strap, to=one.to, now=one.now) for one in look.ends]
    if (order := look.instead) and not look.ends:
        yield said("seen-order", a=order.first.number, first=order.first.words, b=order.then.number)


def other_end(one: End) -> Said:
    """A strap that is to end elsewhere, and in which step."""
    if one.at is None:
        return said("first-end", strap=one.strap, to=one.to, now=one.now)
    return said("first-end-in", strap=one.strap, to=one.to, now=one.now, step=one.at.number)


def _label(one: OnOne, you: str | None) -> Said:
    if one.bodies == (you,):
        return said("first-label-you-on")
    return said("first-label-on", bodies=names_of(one.bodies), count=len(one.bodies))


def _on_what(one: OnOne) -> Iterator[Said]:
    """On what, and on what sooner, where they hang on one before they are not held at all; until when."""
    if one.sooner and one.earlier and one.at:
        things = one.sooner.things
        row = things[1:] and one.sooner.in_a_row
        brief = said("first-chain", a=thing(things[0]), b=thing(things[-1])) if row else all_of(things, FEW)
        yield said("first-at", step=one.earlier.number, words=brief)
        yield said("first-at", step=one.at.number, words=on_what(one))
    elif one.until and not one.until.during:
        yield said("first-till", words=on_what(one), step=one.until.number)
    else:
        yield on_what(one)


def on_what(one: OnOne) -> Said:
    """On what somebody hangs, or that they are not held with nothing failed."""
    if one.holders:
        if one.by:
            return said("fate-by-this-person", people=one.holders, straps=one.by)
        return said("fate-by-hands", people=one.holders)
    if one.unheld:
        return said(FATES[one.fates[0].fate.kind])
    key = "first-things-accepted" if one.accepted else "first-things"
    whose = said("first-whose", straps=one.sharing) if one.sharing else ""
    also = said("first-also", bodies=one.also, count=len(one.also)) if one.also else ""
    left = said("first-left", bodies=one.left, count=len(one.left)) if one.left else ""
    if one.things[1:] and not one.in_a_row:
        return said("first-things-all", things=all_of(one.things), also=also, left=left)
    return said(key, things=all_of(one.things, chain=True), whose=whose, count=len(one.things), also=also, left=left)


def _when(at: At, until: At | None, earlier: At | None) -> Said:
    if at.during:
        return said("first-during", words=at.words)
    over = said("first-until", step=until.number) if until and not until.during else ""
    already = said("first-earlier", step=earlier.number) if earlier else ""
    return said("first-from", words=at.words, until=over, earlier=already)


def what_first(look: FirstLook, cause: Said | None = None, mend: Said | None = None) -> Iterator[Said]:
    """Where to look first: at the cause, where the file shows one; else at what everything hangs on."""
    if look.endangered:
        yield from (cause,) if cause else _cause(look.endangered[0])
        if mend:
            yield said("first-mend", order=mend, bodies=look.endangered[0].bodies)
        return
    alone = tuple(dict.fromkeys(thing for one in look.on_one for thing in one.things))
    if alone:
        yield said("first-accepted", things=all_of(places(alone), FEW))
    if look.unsettled:
        key = "first-then-unsettled" if alone else "first-unsettled"
        yield said(key, things=all_of(places(look.unsettled.failing), FEW))
    if look.next:
        key = "first-then" if alone or look.unsettled else "first-next"
        yield said(key, things=all_of(places(look.next), FEW), bodies=look.left, count=len(look.left))


def _cause(one: OnOne) -> Iterator[Said]:
    if at := one.since:
        key = "first-stop-unheld" if one.unheld and not one.earlier else "first-stop-one"
        bodies = one.already if one.earlier else one.bodies
        when = said("first-within-it" if at.during else "first-after-it")
        names = names_of(bodies)
        yield said(key, step=at.number, words=at.words, when=when, bodies=names, count=len(bodies))
    elif one.free:
        yield said("first-free", points=one.free)
    elif one.turned:
        yield said("first-turned", parts=one.turned)
    elif one.things:
        yield said("first-thing", thing=thing(places(one.things)[0]))

"""The page of `reorder`: how the stage stands as written, the best order to paste, or why none keeps everything."""

from __future__ import annotations

from collections.abc import Iterator

from analyser.checking.sentences import counted, listed
from analyser.language.syntax import StepLine
from analyser.pages.tree import Block, Code, Fact, Line, Page, section, strong
from analyser.pages.writing.ends import closing, rig_title
from analyser.uses.ordering.answer import Answer, Order

NOT_JUDGED = (
    "Whether hands, reach and lengths allow an order is not judged, and a call goes with the step after it: walk it "
    "through before anybody hangs on it."
)


def reorder_page(answer: Answer, file: str) -> Page:
    best = answer.best
    blocks: list[Block] = [rig_title(answer.rig, file), section("The steps of ", _stands(answer), f"“{answer.stage}”")]
    if answer.impossible:
        blocks.append(section("Why no order keeps everything", _why(answer)))
    if best and not best.as_written:
        words = "The best order, which does not keep everything" if best.bad else "An order that keeps everything"
        if (best.openings or answer.drops) and not best.bad:
            words = "An order by the connections alone, not offered as it stands"
        paste = (Line("in place of the steps as they are:"), Code(tuple(best.pasted), indent=0))
        blocks.append(section(words, (*_bad(best), *paste)))
    if best and best.openings:
        blocks.append(section("Opened without a tension computed to be off", _openings(best)))
    blocks += (Fact(strong("drops"), one) for one in answer.drops)
    blocks += (Fact("not checked", one) for one in answer.not_checked)
    blocks.append(Fact("searched", _searched(answer)))
    return Page((*blocks, *closing(strong(_verdict(answer)), also=NOT_JUDGED)), answer.rig.title)


def _step(line: StepLine) -> str:
    return f"“{line.words}” (line {line.place.line})"


def _stands(answer: Answer) -> Iterator[Block]:
    words = "broken already before the first step, which no order of these steps mends"
    yield from (Fact("begins", f"{words}: {one}") for one in answer.begins_broken)
    yield Fact("as written", _standing(answer.written))
    yield from _bad(answer.written)
    yield Fact("other orders", _result(answer))


def _standing(order: Order) -> str:
    count = len(order.lines)
    if not order.bad:
        return f"none of its {count} states breaks a requirement"
    verbs = ("breaks", "drops") if order.bad == 1 else ("break", "drop")
    return f"{order.bad} of its {count} states {verbs[0]} a requirement or {verbs[1]} somebody"


def _result(answer: Answer) -> str:
    """What the search found, in a sentence."""
    best = answer.best
    if best is None:
        if answer.none_keeps:
            return "none keeps every requirement in every state; which is the best was not searched to the end"
        return "none was found before the search was stopped: not that there is none"
    if not best.bad:
        if best.as_written:
            return "not needed: the written order keeps every requirement in every state"
        moved = counted(sum(one.moved for one in best.lines), "line")
        return f"one keeps every requirement in every state, with {moved} moved"
    if best.as_written:
        return "none keeps every requirement in every state, and none breaks fewer than the written one"
    return f"none keeps every requirement in every state; the best still has {best.bad} bad"


def _searched(answer: Answer) -> str:
    count = f"{counted(answer.analysed, 'state')} analysed, each once, on connections only"
    if answer.proven:
        return f"{count}; every order that could be better was looked at or ruled out"
    return f"{count}; the search was stopped: orders that were not looked at may be better"


def _verdict(answer: Answer) -> str:
    """The closing line. An order is never told without what was not worked out."""
    if answer.none_keeps:
        return "no order of these steps keeps every requirement, on connections only"
    if answer.best is None or answer.best.bad:
        return "no order that keeps every requirement was found, and it is not proven that there is none"
    if answer.best.openings:
        steps = counted(len(answer.best.openings), "step opens", "steps open")
        return f"not offered as it stands: {steps} what may still carry; on connections only"
    if answer.drops:
        steps = counted(len(answer.drops), "step drops", "steps drop")
        return f"not offered as it stands: by the lengths in the file {steps} somebody"
    if answer.not_checked:
        return "not offered as it stands: not every requirement was checked; on connections only"
    return (
        f"{'the written order' if answer.best.as_written else 'an order'} keeps every requirement, on connections only"
    )


def _bad(order: Order) -> Iterator[Fact]:
    for one in order.lines:
        for number, wrong in enumerate(one.wrong):
            yield Fact("", f"    {wrong}" if number else f"{_step(one.line)}: {wrong}")


def _why(answer: Answer) -> Iterator[Fact]:
    why = answer.impossible
    assert why is not None
    named = [_step(answer.steps[k]) for k in why.steps]
    if why.how == "end":
        text = "with all steps done, in whatever order, the rig breaks a requirement"
    elif why.how == "step":
        text = f"{named[0]}: right after it something breaks, whatever that keeps everything is done before it"
    elif why.how == "together":
        text = f"{listed(named)} are never all done with everything kept: whichever comes last breaks something"
    else:
        text = "orders that keep everything leave another rig than the written one: some steps do not change places"
    yield Fact("because", strong(text))
    yield from (Fact("", one) for one in why.reasons)
    if why.others:
        yield Fact("", f"the same is true of {listed([_step(answer.steps[k]) for k in why.others])}")


def _openings(order: Order) -> Iterator[Fact]:
    for one in order.openings:
        yield Fact("open", strong(f"{_step(one.step)} may still carry {listed(one.bodies)}"))
        yield Fact("", f"missing: {'; '.join(one.missing)}")
        if one.taken_in:
            before = listed([_step(step) for step in one.taken_in])
            yield Fact("", f"before it: {before}. See that it hangs slack before it is opened")

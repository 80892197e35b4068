"""The page of `reorder`: how the stage stands as written, the best order to paste, or why none keeps everything."""

from __future__ import annotations

import sys

from rich.console import Group, RenderableType
from rich.text import Text

from analyser.checking.delivered import CAUTIONS
from analyser.checking.finding import listed
from analyser.pages.writing.terminal import hanging, heading, line, show, title
from analyser.uses.ordering.answer import Answer, Order

Piece = RenderableType | list[str]
"""Words for people, which wrap, or lines to paste, which never do."""
NOT_JUDGED = (
    "Whether hands, reach and lengths allow an order is not judged: walk it through before anybody hangs on it."
)


def show_reordering(answer: Answer, file: str) -> None:
    for piece in pieces(answer, file):
        if isinstance(piece, list):
            sys.stdout.write("".join(f"{one}\n" for one in piece))
        else:
            show(piece)


def pieces(answer: Answer, file: str) -> list[Piece]:
    rows: list[RenderableType] = [title(answer.rig, file), heading("The steps of ", f"“{answer.stage}”")]
    if answer.begins_broken:
        words = "broken already before the first step, which no order of these steps mends"
        rows += [hanging("begins", f"{words}: {one}") for one in answer.begins_broken]
    rows.append(hanging("as written", standing(answer.written)))
    rows += _bad(answer.written)
    rows.append(hanging("other orders", result(answer)))
    found: list[Piece] = [Group(*rows)]
    if answer.impossible:
        found.append(Group(heading("Why no order keeps everything"), *_why(answer)))
    best = answer.best
    if best and not best.as_written:
        words = "The best order, which does not keep everything" if best.bad else "An order that keeps everything"
        if best.openings and not best.bad:
            words = "An order by the connections alone, not offered as it stands"
        found.append(Group(heading(words), *_bad(best), line("in place of the steps as they are:")))
        found.append(list(best.pasted))
    if best and best.openings:
        found.append(Group(*_openings(best)))
    last: list[RenderableType] = [hanging("not checked", one) for one in answer.not_checked]
    last.append(hanging("searched", searched(answer)))
    last += [Text(), Text(" ".join((*CAUTIONS, NOT_JUDGED)), style="italic"), Text(verdict(answer), style="bold")]
    return [*found, Group(*last)]


def standing(order: Order) -> str:
    count = len(order.lines)
    if not order.bad:
        return f"none of its {count} states breaks a requirement"
    verbs = ("breaks", "drops") if order.bad == 1 else ("break", "drop")
    return f"{order.bad} of its {count} states {verbs[0]} a requirement or {verbs[1]} somebody"


def result(answer: Answer) -> str:
    """What the search found, in a sentence."""
    best = answer.best
    if best is None:
        if answer.none_keeps:
            return "none keeps every requirement in every state; which is the best was not searched to the end"
        return "none was found before the search was stopped: not that there is none"
    if not best.bad:
        if best.as_written:
            return "not needed: the written order keeps every requirement in every state"
        count = sum(one.moved for one in best.lines)
        return f"one keeps every requirement in every state, with {count} line{'' if count == 1 else 's'} moved"
    if best.as_written:
        return "none keeps every requirement in every state, and none breaks fewer than the written one"
    return f"none keeps every requirement in every state; the best still has {best.bad} bad"


def searched(answer: Answer) -> str:
    count = f"{answer.analysed} state{'' if answer.analysed == 1 else 's'} analysed, each once, on connections only"
    if answer.proven:
        return f"{count}; every order that could be better was looked at or ruled out"
    return f"{count}; the search was stopped: orders that were not looked at may be better"


def verdict(answer: Answer) -> str:
    """The closing line. An order is never told without what was not worked out."""
    if answer.none_keeps:
        return "no order of these steps keeps every requirement, on connections only"
    if answer.best is None or answer.best.bad:
        return "no order that keeps every requirement was found, and it is not proven that there is none"
    if answer.best.openings:
        count = len(answer.best.openings)
        steps = "1 step opens" if count == 1 else f"{count} steps open"
        return f"not offered as it stands: {steps} what may still carry; on connections only"
    if answer.not_checked:
        return "not offered as it stands: not every requirement was checked; on connections only"
    return (
        f"{'the written order' if answer.best.as_written else 'an order'} keeps every requirement, on connections only"
    )


def _bad(order: Order) -> list[RenderableType]:
    rows: list[RenderableType] = []
    for one in order.lines:
        for number, wrong in enumerate(one.wrong):
            words = f"after “{one.line.words}” (line {one.line.place.line}): {wrong}"
            rows.append(hanging("", words if not number else f"    {wrong}"))
    return rows


def _why(answer: Answer) -> list[RenderableType]:
    why = answer.impossible
    assert why is not None
    named = [f"“{answer.steps[k].words}” (line {answer.steps[k].place.line})" for k in why.steps]
    if why.how == "end":
        text = "with all steps done, in whatever order, the rig breaks a requirement"
    elif why.how == "step":
        text = f"{named[0]}: right after it something breaks, whatever that keeps everything is done before it"
    elif why.how == "together":
        text = f"{listed(named)} are never all done with everything kept: whichever comes last breaks something"
    else:
        text = "orders that keep everything leave another rig than the written one: some steps do not change places"
    rows: list[RenderableType] = [hanging("because", Text(text, style="bold"))]
    rows += [hanging("", one) for one in why.reasons]
    if why.others:
        others = [f"“{answer.steps[k].words}” (line {answer.steps[k].place.line})" for k in why.others]
        rows.append(hanging("", f"the same is true of {listed(others)}"))
    return rows


def _openings(order: Order) -> list[RenderableType]:
    rows: list[RenderableType] = [heading("Opened without a tension computed to be off")]
    for one in order.openings:
        words = f"“{one.step.words}” (line {one.step.place.line}) may still carry {listed(one.bodies)}"
        rows.append(hanging("open", Text(words, style="bold")))
        rows.append(hanging("", f"missing: {'; '.join(one.missing)}"))
        if one.taken_in:
            before = [f"“{step.words}” (line {step.place.line})" for step in one.taken_in]
            rows.append(hanging("", f"before it: {listed(before)}. See that it hangs slack before it is opened"))
    return rows

"""The procedure as Markdown and as a page to print. Text that came from a file is escaped wherever it goes."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from analyser.checking.finding import listed
from analyser.checking.results import Result
from analyser.pages.drawing.diagram import dot_source
from analyser.pages.drawing.rendering import NotDrawn, render
from analyser.pages.writing.grouping import in_brief
from analyser.pages.writing.old import figure, own, template
from analyser.uses.procedure.document import Procedure, StateAfter
from analyser.uses.procedure.holds import Hold
from analyser.uses.procedure.responding import Table
from analyser.uses.procedure.stopping import Stop, Undoing

UNDER_STRAIN = (
    "One voice leads. Anybody may call stop, and then everybody stops and keeps hold of what they have.",
    "On before off: what shall hold next is on and has taken weight before the other is opened.",
    "Nothing is opened while it carries: see and feel that it is slack.",
)
"""Facts 12.4 (that anybody may call stop: S53) and 12.5; the rest common practice, no source."""


def procedure_html(made: Procedure, result: Result) -> str:
    """A whole page that needs nothing else, for A4 or Letter, in black and white."""
    return template("procedure.html").render(
        **_words(made, result), figure=figure(_drawn(result)), style=own("paper.css")
    )


def procedure_markdown(made: Procedure, result: Result) -> str:
    """The same as Markdown, without the diagram."""
    return template("procedure.md").render(**_words(made, result))


def _words(made: Procedure, result: Result) -> dict[str, object]:
    return {
        "p": made,
        "strain": UNDER_STRAIN,
        "brief": _brief(result),
        "hold": hold_words,
        "stop": stop_words,
        "back": back_words,
        "onward": onward_words,
        "undo": undo_words,
        "states": states_words,
        "when": _when(made),
    }


def _drawn(result: Result) -> bytes | NotDrawn:
    try:
        return render(dot_source(result), "svg")
    except NotDrawn as error:
        return error


def _brief(result: Result) -> Callable[[Table, Sequence[str]], str]:
    return lambda table, failures: in_brief(result.states[table.states[0]].rig, failures).removeprefix("any of: ")


def _when(made: Procedure) -> dict[int, str]:
    """After which step each state is."""
    found = {0: "as first attached"}
    for stage in made.stages:
        found |= {step.after.number: f"after step {step.number}" for step in stage.steps}
    return found


def hold_words(hold: Hold) -> str:
    """How a body is held, after its name."""
    if hold.by_hand_only:
        return "HELD ONLY BY A PERSON or by bare hands"
    if not hold.held:
        return "NOT HELD BY ANYTHING"
    tips = "TIPS; " if hold.tips else ""
    if hold.independent is None:
        return f"{tips}nothing that can fail in this model drops it"
    if hold.independent < 2:
        return f"{tips}ONE independent way, such as by {'; and by '.join(hold.by)}"
    return f"{tips}{hold.independent} independent: by {'; and by '.join(hold.by)}"


def stop_words(stop: Stop) -> tuple[str, str]:
    """May the work stop in this state, and why not."""
    if stop.may_stop:
        return "May stop here", "every requirement is met in this state"
    if stop.broken:
        return "Do not stop here", f"broken in this state: {'; '.join(stop.broken)}"
    if stop.unchecked:
        return "Not told whether to stop here", f"not checked: {'; '.join(stop.unchecked)}"
    return "Not told whether to stop here", "no requirement speaks of this state"


def onward_words(after: StateAfter, when: dict[int, str]) -> str:
    """From a state in which the work may not stop: where it may next."""
    onward = after.back.onward
    if after.stop.may_stop or onward is None:
        return ""
    return f"Ahead, the next state in which it may stop is state {onward}, {when[onward]}."


def back_words(after: StateAfter, when: dict[int, str]) -> str:
    """Where the way back from a state leads."""
    back = after.back
    if after.number == 0:
        return ""
    if back.to is None:
        return "there is none: in no state before this one is what is asked unbroken"
    doubt = "" if back.sure else " (nothing asked is known to be broken there, not all is checked)"
    if not back.undo:
        return f"nothing to undo: all is as in state {back.to}, {when[back.to]}{doubt}"
    return f"to state {back.to}, {when[back.to]}{doubt}"


def undo_words(undo: Undoing, when: dict[int, str]) -> str:
    who = listed(undo.by) or "who: ________"
    return f"{undo.words} ({when[undo.state].replace('after', 'undoes')}; {who})"


def states_words(states: Sequence[int], when: dict[int, str]) -> str:
    """`as first attached, and after steps 1.1, 1.3`."""
    steps = [when[state].removeprefix("after step ") for state in states if state]
    words = ["as first attached"] if 0 in states else []
    if steps:
        words.append(f"after {'step' if len(steps) == 1 else 'steps'} {', '.join(steps)}")
    return ", and ".join(words)

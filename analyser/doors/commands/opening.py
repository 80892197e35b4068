"""Opening a rig for a command: a file or standard input, or its mistakes shown and nothing else; which of its
states and which failures are meant."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Collection, Mapping, Sequence
from pathlib import Path

import analyser
from analyser.language.mistakes import Mistake, Place, Unreadable, did_you_mean, near
from analyser.language.source import MOST_BYTES
from analyser.rig.model import Failure, Rig, Stage

STANDARD_INPUT = "standard input"
COMMAND_LINE = "command line"


def shown(name: str) -> str:
    """How a rig's file is called in output: without the machine's folders."""
    return STANDARD_INPUT if name == "-" else Path(name).name


def open_rig(name: str) -> Rig:
    """The rig; raises `Unreadable`."""
    if name == "-":
        return analyser.read_text(sys.stdin.buffer.read(MOST_BYTES + 1), STANDARD_INPUT, Path())
    return analyser.read(name)


def open_text(name: str) -> tuple[str, str, Path]:
    """A rig's own text, how its file is called in messages, and its folder; raises `Unreadable`."""
    if name == "-":
        data, file, folder = sys.stdin.buffer.read(MOST_BYTES + 1), STANDARD_INPUT, Path()
    else:
        analyser.read(name)  # so that a file which can't be read is told as in every command
        path = Path(name)
        data, file, folder = path.read_bytes(), path.name, path.parent
    try:
        return data.decode("utf-8-sig"), file, folder
    except UnicodeDecodeError:
        analyser.read_text(data, file, folder)  # refused by the reader, with its reason
        raise


def show_mistakes(error: Unreadable, *, as_json: bool) -> int:
    """Print what was wrong with the file; returns the exit status 2."""
    if as_json:
        sys.stdout.write(json.dumps(mistakes(error), indent=2, ensure_ascii=False) + "\n")
    else:
        from analyser.pages.writing.mistakes_page import mistakes_text

        sys.stderr.write(mistakes_text(error.mistakes, error.sources))
    return 2


def mistakes(error: Unreadable) -> dict[str, object]:
    from analyser.checking.results import mistakes_as_data

    return mistakes_as_data(error.mistakes)


def stage_called(rig: Rig, title: str) -> Stage:
    """The stage of that title; raises `Unreadable` with those that there are."""
    for stage in rig.stages:
        if stage.title == title:
            return stage
    titles = [stage.title for stage in rig.stages]
    hint = did_you_mean(title, titles) or "there are: " + ", ".join(f'"{one}"' for one in titles)
    raise not_there(f'this rig has no stage called "{title}"' if titles else "this rig has no stages", hint, titles)


def state_number(rig: Rig, options: argparse.Namespace) -> int:
    """The state asked for by `--state N`, or by `--stage TITLE` and `--step N` (1 is its first step; without it
    the stage's last): 0, the rig as first attached, where nothing is asked. Raises `Unreadable`."""
    if options.state is not None:
        if options.stage is not None or options.step is not None:
            raise not_there("`--state` numbers all states, `--stage` and `--step` one stage's", "give one of the two")
        last = sum(len(stage.steps) for stage in rig.stages)
        if options.state > last:
            hint = f"its states are 0 to {last}" if last else "it has no stages: only state 0, as first attached"
            raise not_there(f"this rig has no state {options.state}", hint)
        return int(options.state)
    if options.stage is None and options.step is None:
        return 0
    if options.stage is None and len(rig.stages) > 1:
        titles = ", ".join(f'"{stage.title}"' for stage in rig.stages)
        raise not_there("`--step` numbers the steps of one stage", f"say which with `--stage`: {titles}")
    title = options.stage if options.stage is not None else rig.stages[0].title if rig.stages else ""
    stage = stage_called(rig, title)
    step = len(stage.steps) if options.step is None else int(options.step)
    if not 1 <= step <= len(stage.steps):
        hint = f"its steps are 1 to {len(stage.steps)}"
        raise not_there(f'the stage "{stage.title}" has no step {step}', hint)
    before = rig.stages[: rig.stages.index(stage)]
    return sum(len(one.steps) for one in before) + step


def rig_in(rig: Rig, number: int) -> Rig:
    """The rig in one of its states."""
    return rig if number == 0 else [step.rig for stage in rig.stages for step in stage.steps][number - 1]


def shown_state(name: str, rig: Rig, number: int) -> str:
    """The file and the state that a page is about."""
    if number == 0:
        return shown(name)
    step = [step for stage in rig.stages for step in stage.steps][number - 1]
    return f"{shown(name)}  state {number}, after “{step.words}” (line {step.place.line})"


def not_there(text: str, hint: str = "", among: Sequence[str] = ("",)) -> Unreadable:
    """Something named on the command line is not there; `hint` where there is anything among which it could be."""
    return Unreadable([Mistake(Place(COMMAND_LINE, 1), text, hint if among else "")], {})


def chosen(rig: Rig, ids: Sequence[str]) -> list[Failure]:
    """The failures named on the command line; raises `Unreadable` for one that cannot be."""
    known = {failure.id: failure for failure in rig.failures}
    sound = {one.failure: one for one in rig.sound}
    found: list[Failure] = []
    wrong: list[Mistake] = []
    names = [" ".join(one.split()) for one in ids]
    while names:
        name = names.pop(0)
        parted = _parted(name, names, known, rig.parts)
        if parted and parted in known:
            text = f"`{name}` alone is not a failure of this rig"
            wrong.append(Mistake(Place(COMMAND_LINE, 1), text, f'put it in quotes: "{parted}"'))
        if parted:
            names = names[parted.count(" ") - name.count(" ") :]
            if parted in known:
                continue
            name = parted
        if name in known:
            found.append(known[name])
        elif name in sound:
            text = f"`{name}` is taken as impossible (line {sound[name].place.line}): {sound[name].reason}"
            hint = "take that `sound` line out to see what it would do"
            wrong.append(Mistake(Place(COMMAND_LINE, 1), text, hint))
        else:
            part = name.split(" ")[0]
            own = _own(part, known)
            hint = did_you_mean(name, known)
            if own and (not hint or part in rig.parts):
                hint = "what can fail of it: " + ", ".join(own)
            if not hint and not own and part in rig.parts:
                hint = f"nothing of `{part}` fails in this rig"
            for other in near(part, rig.parts, 1) if not hint and not own else ():
                hint = f"did you mean `{other}`?"
                if more := _own(other, known):
                    hint += " what can fail of it: " + ", ".join(more)
            wrong.append(Mistake(Place(COMMAND_LINE, 1), f"`{name}` is not a failure of this rig", hint))
    if wrong:
        raise Unreadable(wrong, {})
    return found


def _own(part: str, known: Mapping[str, Failure]) -> list[str]:
    """What can fail of a part, or of the spans of a rope."""
    return [failure for failure, f in known.items() if part in (f.part, f.part.split("[")[0])]


def _parted(name: str, after: Sequence[str], known: Mapping[str, Failure], parts: Collection[str]) -> str:
    """`master`, then `fails`: one failure that lost its quotes, with the words that belong to it."""
    if name in known or name.split(" ")[0] != name:
        return ""
    for count in (1, 2):
        joined = " ".join([name, *after[:count]])
        if joined in known:
            return joined
    if name not in parts and not _own(name, known):
        return ""
    count = 0
    while count < min(2, len(after)) and after[count] not in known and after[count].split(" ")[0] not in parts:
        count += 1
    return " ".join([name, *after[:count]]) if count else ""

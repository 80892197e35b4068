"""What a file requires, with its bodies, numbers and stages looked up."""

from __future__ import annotations

from analyser.language.mistakes import Place, near, with_article
from analyser.language.syntax import (
    Require,
    StageBlock,
)
from analyser.rig.bench import Bench, is_a
from analyser.rig.describing import one_figure
from analyser.rig.figures import as_force
from analyser.rig.model import (
    BODIES,
    Requirement,
)
from analyser.rig.quantities import GRAVITY, measures, quantity

HOUSE_DEFAULTS = (
    ("independent", "every person has 2 independent attachments", 2),
    ("held", "everyone held after any 1 failure", 1),
)
"""What is asked of a rig that asks for nothing itself."""


def requirements(bench: Bench) -> tuple[Requirement, ...]:
    made: list[Requirement] = []
    stages = [s.title for s in bench.document.statements if isinstance(s, StageBlock)]
    for statement in bench.document.statements:
        if not isinstance(statement, Require):
            continue
        names = []
        for word in statement.names:
            meant_all = word.text in ("everybody", "all", "anyone", "people") or near(word.text, ["everyone"])
            if meant_all and word.text not in bench.parts and not bench.doubtful(word.text):
                bench.wrong(word.place, f"there is nobody called `{word.text}`", "did you mean `everyone`?")
                continue
            strength = statement.rule in ("strength", "strength-after")
            if strength and word.text in bench.ropes:
                names.append(word.text)
                continue
            draft = bench.part(word, "part") if strength else bench.part(word, "body", BODIES, "person")
            if draft and not strength and draft.nature not in BODIES:
                text = f"{is_a(draft)}, and this is asked of people, litters and loads"
                bench.wrong(word.place, text, "name a body, or `everyone`")
            elif draft:
                names.append(draft.name)
        for title in (statement.stage, statement.except_stage):
            if title and title.text not in stages and not bench.doubtful("stage"):
                near_titles = [f'"{one}"' for one in near(title.text, stages)]
                hint = (
                    f"did you mean {' or '.join(near_titles)}?"
                    if near_titles
                    else (
                        "the stages are " + ", ".join(f'"{one}"' for one in stages)
                        if stages
                        else "this rig has no stages"
                    )
                )
                bench.wrong(title.place, f'there is no stage "{title.text}"', hint, follows=not near_titles)
        _limits(bench, statement)
        number = _whole(bench, statement)
        made.append(
            Requirement(
                rule=statement.rule,
                text=statement.text,
                place=statement.place,
                names=tuple(names),
                number=number,
                limits=_figures(statement),
                stage=statement.stage.text if statement.stage else None,
                except_stage=statement.except_stage.text if statement.except_stage else None,
            )
        )
    if made or any(isinstance(s, Require) for s in bench.document.statements):
        return tuple(made)
    return house_defaults(Place(next(iter(bench.document.sources)), 1))


def house_defaults(place: Place) -> tuple[Requirement, ...]:
    """What is asked where nothing is."""
    return tuple(Requirement(rule, text, place, number=number, assumed=True) for rule, text, number in HOUSE_DEFAULTS)


def _limits(bench: Bench, statement: Require) -> None:
    """A limit with a unit measures what its requirement is about."""
    wanted = {
        "force": ("force", "at most", "6 kN"),
        "drop": ("length", "at most", "1 m"),
        "anchors-strong": ("force", "at least", "15 kN"),
    }
    if statement.measure and not one_figure(bench, statement.measure):
        return
    if statement.measure and statement.rule in wanted:
        what, bound, usual = wanted[statement.rule]
        measured = measures(statement.measure)
        if measured != what:
            unit = statement.measure.unit
            asked = statement.rule.replace("anchors-strong", "strength")
            text = f"`{asked}` takes a {what}, and {unit} measures {with_article(measured)}"
            hint = f"for example `{bound} {usual}`"
            if measured == "mass" and what == "force":
                found = quantity(statement.measure)
                hint = f"write `{bound} {as_force(found.si * GRAVITY, '.3g')}`, if the weight of {found.text} is meant"
            bench.wrong(statement.measure.place, text, hint)
    if len(statement.between) == 3:
        low, high, angle = statement.between
        if angle.text != "deg":
            bench.wrong(angle.place, f"`head-up` takes an angle, and `{angle.text}` is none", "write `deg`")
        elif float(low.text) > float(high.text):
            text = f"between {low.text} and {high.text} there is nothing: the smaller number comes first"
            bench.wrong(low.place, text, f"write `between {high.text} and {low.text} deg`")


def _figures(statement: Require) -> tuple[float, ...]:
    """The figures that a requirement compares with, in SI."""
    if statement.measure:
        return (quantity(statement.measure).si,)
    if statement.rule == "strength-after":
        return (float(statement.between[0].text),)
    if statement.between:
        return tuple(float(word.text) for word in statement.between[:2])
    if statement.rule == "strength" and statement.number:
        return (float(statement.number.text),)
    return ()


def _whole(bench: Bench, statement: Require) -> int:
    """The number of a counting requirement: a whole one, at least 1."""
    counting = (
        "drop",
        "independent",
        "independent-everyone",
        "held",
        "held-people",
        "held-through",
        "held-through-people",
        "level",
        "no-frame-tips",
        "no-turning-over",
        "strength-after",
    )
    if statement.rule not in counting or statement.number is None:
        return 0
    text = statement.number.text
    if not text.isdigit() or int(text) < 1:
        wrong = f"{text} is not a number of things to count"
        bench.wrong(statement.number.place, wrong, "write a whole number, 1 or more")
        return 1
    if int(text) > 6:
        bench.wrong(statement.number.place, f"{text} is more than can be searched", "ask for 6 at most")
        return 1
    return int(text)

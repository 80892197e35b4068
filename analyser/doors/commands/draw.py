"""`stillheld draw RIG -o FILE`: the rig with its weak points marked, or what a failure leaves; or to scale."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from analyser.doors.commands.getting_out import NotDone, put_file
from analyser.doors.commands.opening import files_of, open_rig, state_asked
from analyser.doors.commands.options import on, one_rig, state
from analyser.doors.live.whole import put_new

if TYPE_CHECKING:
    from analyser.checking.calling import At
    from analyser.forces import Equilibrium
    from analyser.rig.model import Failure, Rig

WHERE_WORST = "Drawn where it is worst."
FORMATS: tuple[Literal["svg", "png", "dot"], ...] = ("svg", "png", "dot")


def options(one: ArgumentParser) -> None:
    one_rig(one)
    target = one.add_mutually_exclusive_group(required=True)
    target.add_argument("-o", "--output", metavar="FILE", help="FILE.svg, FILE.png or FILE.dot")
    words = "one picture a state, 00-….svg and on, all laid out alike, into an empty or new folder"
    target.add_argument("--film", metavar="DIR", help=words)
    words = "of a rig of many parts: an overview, then one sheet a body, into an empty or new folder"
    target.add_argument("--sheets", metavar="DIR", help=words)
    words = "in time, to scale, after --failing: FILE.svg moves by itself, FILE.png is a strip of stills"
    target.add_argument("--motion", metavar="FILE", help=words)
    words = "draw what is left after it (repeatable)"
    one.add_argument("--failing", action="append", default=[], metavar="FAILURE", help=words)
    one.add_argument("--forces", action="store_true", help="what each part carries, in kN")
    view = one.add_mutually_exclusive_group()
    view.add_argument("--side", action="store_true", help="to scale, from the side: x across, pulls in kN (.svg)")
    view.add_argument("--front", action="store_true", help="to scale, from the front: y across (.svg)")
    state(one)
    on(one)
    words = "what --film and --sheets write (default svg)"
    one.add_argument("--as", dest="format", choices=FORMATS[:2], default="svg", help=words)
    one.add_argument("--system-dot", action="store_true", help="render with the machine's own Graphviz `dot`")


def run(asked: Namespace) -> int:
    """Write the picture, or a film's; 2 when the rig, the state, the failure or the name cannot be used."""
    if asked.film is not None:
        return _film(asked)
    if asked.sheets is not None:
        return _sheets(asked)
    if asked.motion is not None:
        return _motion(asked)
    endings = [one for one in FORMATS if Path(asked.output).suffix.lower() == f".{one}"]
    if not endings:
        raise NotDone(f"{asked.output}: write a name that ends in .svg, .png or .dot")
    to_scale = asked.side or asked.front
    if to_scale and endings[0] != "svg":
        raise NotDone(f"{asked.output}: a view to scale is an .svg file")
    from analyser.checking.calling import chosen
    from analyser.checking.scenario import the_worst

    whole = open_rig(asked.rig)
    at = state_asked(whole, asked)
    failures = the_worst(at.rig, chosen(at.rig, asked.failing))
    if to_scale:
        made = drawn_to_scale(at.rig, failures, front=asked.front, forces=asked.forces)
    else:
        as_it_is = not (_state_is_asked(asked) or failures or asked.forces)
        one = None if as_it_is else at
        made = drawn(whole, one, failures, endings[0], forces=asked.forces, system=asked.system_dot)
    put_file(asked.output, made, files_of(asked.rig, whole))
    return 0


def _state_is_asked(asked: Namespace) -> bool:
    return any(getattr(asked, name) is not None for name in ("state", "stage", "step", "during"))


def drawn(
    whole: Rig,
    at: At | None,
    failures: list[Failure],
    format: Literal["svg", "png", "dot"],
    *,
    forces: bool = False,
    system: bool = False,
) -> bytes:
    """The diagram of a state, or of where the plan is worst (`at` None); raises `NotDone`, and `FactsMissing` for
    forces."""
    from analyser.checking.analysing import analyse
    from analyser.checking.foremost import worst_place
    from analyser.pages.drawing.diagram import either_way
    from analyser.pages.drawing.marks import NOTHING_TO_DO
    from analyser.pages.drawing.rendering import NotDrawn, rendered_largest
    from analyser.pages.writing.at_the_head import to_do_now

    carried = _carried(at.rig, failures) if at and forces else {}
    result = analyse(whole, processes=None)
    number, during = (at.number, at.during) if at else worst_place(result)
    chosen = "" if at or not number else WHERE_WORST
    do = NOTHING_TO_DO if failures or result.met else to_do_now(result)
    sources = either_way(result.at(number, during), failures, carried, plan=result, chosen=chosen, do=do)
    try:
        return rendered_largest(sources, format, system=system)
    except NotDrawn as error:
        raise NotDone(str(error)) from None


def _carried(rig: Rig, failures: list[Failure]) -> dict[str, str]:
    """What each part and span carries."""
    from analyser.checking.hanging import statics_of
    from analyser.forces import after, part_forces
    from analyser.forces.motion import motion
    from analyser.pages.drawing.loads_shown import carried_words

    statics = statics_of(rig, {})
    found, then = statics.equilibrium(), None
    if failures and found.accepted:
        then = after(statics, failures, found)
        if then.accepted:
            then = then.moving(motion(statics, failures, found))
        found = then.equilibrium
    _at_rest(found)
    return carried_words(rig, found, part_forces(rig, found), then)


def _at_rest(found: Equilibrium) -> None:
    if not found.accepted:
        off = f"{found.residual:.0e}"
        raise NotDone(f"no rest was found: forces are off by {off} of the load, so nothing is drawn")


def drawn_to_scale(rig: Rig, failures: list[Failure], *, front: bool, forces: bool = False) -> bytes:
    """The view to scale, with `forces` what each part carries beside it; raises `FactsMissing` where places or lengths
    are missing, `NotDone` where no rest is found."""
    from analyser.checking.hanging import statics_of
    from analyser.forces import Case, part_forces
    from analyser.pages.drawing.side import FRONT, SIDE, side_view
    from analyser.rig.model import Effects

    statics = statics_of(rig, {})
    found, before = statics.equilibrium(), None
    if failures:
        effects = Effects.joint(failure.effects for failure in failures)
        before, found = found, statics.equilibrium(Case(effects), found)
    for one in (found, before):
        if one is not None:
            _at_rest(one)
    if not found.lines and not (before and before.lines):
        raise NotDone("no line of this rig has a place: nothing to draw to scale")
    parts = part_forces(rig, found, angles=False) if forces else ()
    across = FRONT if front else SIDE
    return side_view(rig, found, before, [one.id for one in failures], across, parts=parts).encode()


def _motion(asked: Namespace) -> int:
    """What happens in time after some failures, as a film or a strip."""
    if Path(asked.motion).suffix.lower() not in (".svg", ".png"):
        raise NotDone(f"{asked.motion}: write a name that ends in .svg or .png")
    if asked.forces:
        raise NotDone("a film shows what is pulled already: leave `--forces` out")
    from analyser.checking.calling import chosen
    from analyser.checking.scenario import the_worst

    whole = open_rig(asked.rig)
    rig = state_asked(whole, asked).rig
    failures = the_worst(rig, chosen(rig, asked.failing))
    if not failures:
        raise NotDone("`--motion` shows what follows a failure: name it with `--failing`")
    strip = Path(asked.motion).suffix.lower() == ".png"
    put_file(asked.motion, drawn_in_time(rig, failures, front=asked.front, strip=strip), files_of(asked.rig, whole))
    return 0


def drawn_in_time(rig: Rig, failures: list[Failure], *, front: bool, strip: bool) -> bytes:
    """The film, or the strip as a PNG; raises `FactsMissing` where places or lengths are missing, `NotDone` where
    nothing can be told."""
    from analyser.checking.hanging import statics_of
    from analyser.checking.overloaded import why_not_told
    from analyser.forces.grounds import ground_of
    from analyser.forces.motion import motion
    from analyser.pages.drawing.filmed import film_of, strip_png
    from analyser.pages.drawing.motion_view import FRONT, SIDE
    from analyser.pages.drawing.rendering import NotDrawn

    statics = statics_of(rig, {})
    base = statics.equilibrium()
    _at_rest(base)
    ground = ground_of(rig)
    told = motion(statics, failures, base, ground=ground)
    if not told.told or not told.way.pieces:
        why = why_not_told(told) if not told.told else "nothing moves, or what moves falls with nothing to hold it"
        raise NotDone(f"nothing to draw: {why}")
    across = FRONT if front else SIDE
    try:
        if strip:
            return strip_png(statics, base, told, ground, across)
    except NotDrawn as error:
        raise NotDone(str(error)) from None
    return film_of(statics, base, told, ground, across).encode()


def _film(asked: Namespace) -> int:
    """One picture a state, into a folder that is new or empty: nothing is ever overwritten."""
    wrong = [name for name in ("state", "stage", "step", "during") if getattr(asked, name) is not None]
    wrong += [name for name in ("failing", "forces") if getattr(asked, name)]
    if wrong:
        raise NotDone(f"`--film` draws every state as it is: leave `--{wrong[0]}` out, or draw one with `-o`")
    rig = open_rig(asked.rig)
    from functools import partial

    from analyser.checking.analysing import analyse
    from analyser.pages.drawing.film import film
    from analyser.pages.drawing.rendering import lay_out, render

    def pictures() -> Iterator[tuple[str, bytes]]:
        for one in film(analyse(rig, processes=None), partial(lay_out, system=asked.system_dot)):
            yield one.name, render(one.source, asked.format, system=asked.system_dot, placed=True)

    return _into(asked.film, pictures(), asked.format, "film")


def _sheets(asked: Namespace) -> int:
    """An overview and one sheet a body, into a folder that is new or empty."""
    if asked.failing or asked.forces:
        raise NotDone("`--sheets` draws a rig as it is: leave `--failing` and `--forces` out, or draw one with `-o`")
    whole = open_rig(asked.rig)
    at = state_asked(whole, asked)
    from analyser.checking.analysing import analyse
    from analyser.pages.drawing.by_body import sheets
    from analyser.pages.drawing.rendering import rendered_largest

    def pictures() -> Iterator[tuple[str, bytes]]:
        for one in sheets(analyse(whole, processes=None).at(at.number, at.during)):
            yield one.name, rendered_largest(one.sources, asked.format, system=asked.system_dot)

    return _into(asked.sheets, pictures(), asked.format, "set of sheets")


def _into(folder: str, pictures: Iterator[tuple[str, bytes]], format: str, what: str) -> int:
    """Pictures by name into a folder that is new or empty: nothing is ever overwritten."""
    from analyser.pages.drawing.rendering import NotDrawn

    try:
        Path(folder).mkdir(parents=True, exist_ok=True)
        if any(Path(folder).iterdir()):
            text = f"{folder}: there are files in it, and a {what} overwrites none"
            raise NotDone(f"{text}\n        name a new folder, or an empty one")
        for name, picture in pictures:
            put_new(Path(folder) / f"{name}.{format}", picture)
    except NotDrawn as error:
        raise NotDone(str(error)) from None
    except OSError as error:
        raise NotDone(f"{folder}: cannot be written: {error.strerror}") from None
    return 0

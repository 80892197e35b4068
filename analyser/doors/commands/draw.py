"""`stillheld draw RIG -o FILE`: the rig with its weak points marked, or what a failure leaves; or to scale."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from analyser.checking.results import analyse
from analyser.doors.commands.opening import chosen, open_rig, rig_in, show_mistakes, state_number
from analyser.language.mistakes import Unreadable
from analyser.rig.model import Failure, Rig

if TYPE_CHECKING:
    from analyser.forces import Equilibrium

FORMATS: tuple[Literal["svg", "png", "dot"], ...] = ("svg", "png", "dot")


def run(options: argparse.Namespace) -> int:
    """Write the picture, or a film's; 2 when the rig, the state, the failure or the name cannot be used."""
    if options.film is not None:
        return _film(options)
    if options.motion is not None:
        return _motion(options)
    target = Path(options.output)
    endings = [one for one in FORMATS if target.suffix.lower() == f".{one}"]
    if not endings:
        sys.stderr.write(f"{options.output}: write a name that ends in .svg, .png or .dot\n")
        return 2
    to_scale = options.side or options.front
    if to_scale and endings[0] != "svg":
        sys.stderr.write(f"{options.output}: a view to scale is an .svg file\n")
        return 2
    try:
        rig = open_rig(options.rig)
        number = state_number(rig, options)
        failures = chosen(rig_in(rig, number), options.failing)
    except Unreadable as error:
        return show_mistakes(error, as_json=False)
    if options.forces and to_scale:
        sys.stderr.write("a view to scale shows what is carried already: leave `--forces` out\n")
        return 2
    if to_scale:
        return _to_scale(options, rig_in(rig, number), failures)
    from analyser.pages.drawing.diagram import dot_source
    from analyser.pages.drawing.rendering import NotDrawn, render

    carried = _carried(rig_in(rig, number), failures) if options.forces else {}
    if isinstance(carried, int):
        return carried
    source = dot_source(analyse(rig).at(number), failures, carried)
    try:
        picture = render(source, endings[0], system=options.system_dot)
    except NotDrawn as error:
        sys.stderr.write(f"{error}\n")
        return 2
    return _written(options.output, picture)


def _carried(rig: Rig, failures: list[Failure]) -> dict[str, str] | int:
    """What each part and span carries, or the exit status where that can't be told."""
    from analyser.doors.commands.statics import show_missing
    from analyser.forces import Missing, Statics, after, part_forces
    from analyser.pages.drawing.loads_shown import carried_words

    statics = Statics.of(rig)
    if isinstance(statics, Missing):
        return show_missing(rig, statics, as_json=False)
    found, then = statics.equilibrium(), None
    if failures and found.accepted:
        then = after(statics, failures, found)
        found = then.equilibrium
    if not found.accepted:
        return _no_rest(found)
    return carried_words(rig, found, part_forces(rig, found), then)


def _no_rest(found: Equilibrium) -> int:
    sys.stderr.write(f"no rest was found: forces are off by {found.residual:.0e} of the load, so nothing is drawn\n")
    return 2


def _written(name: str, picture: bytes) -> int:
    """Write a picture; 0, or 2 where that can't be."""
    try:
        Path(name).write_bytes(picture)
    except OSError as error:
        sys.stderr.write(f"{name}: cannot be written: {error.strerror}\n")
        return 2
    return 0


def _film(options: argparse.Namespace) -> int:
    """One picture a state, into a folder that is new or empty: nothing is ever overwritten."""
    asked = [name for name in ("state", "stage", "step") if getattr(options, name) is not None]
    asked += [name for name in ("failing", "forces") if getattr(options, name)]
    if asked:
        sys.stderr.write(f"`--film` draws every state as it is: leave `--{asked[0]}` out, or draw one with `-o`\n")
        return 2
    folder = Path(options.film)
    try:
        rig = open_rig(options.rig)
    except Unreadable as error:
        return show_mistakes(error, as_json=False)
    from functools import partial

    from analyser.pages.drawing.film import film
    from analyser.pages.drawing.rendering import NotDrawn, lay_out, render

    try:
        folder.mkdir(parents=True, exist_ok=True)
        if any(folder.iterdir()):
            sys.stderr.write(f"{options.film}: there are files in it, and a film overwrites none\n")
            sys.stderr.write("        name a new folder, or an empty one\n")
            return 2
        system = options.system_dot
        for picture in film(analyse(rig), partial(lay_out, system=system)):
            with (folder / f"{picture.name}.svg").open("xb") as file:
                file.write(render(picture.source, "svg", system=system, placed=True))
    except NotDrawn as error:
        sys.stderr.write(f"{error}\n")
        return 2
    except OSError as error:
        sys.stderr.write(f"{options.film}: cannot be written: {error.strerror}\n")
        return 2
    return 0


def _motion(options: argparse.Namespace) -> int:
    """What happens in time after some failures, as a film or a strip; 2 where that can't be told."""
    from analyser.checking.overloaded import why_not_told
    from analyser.doors.commands.statics import show_missing
    from analyser.forces import Missing, Statics
    from analyser.forces.grounds import ground_of
    from analyser.forces.motion import motion
    from analyser.pages.drawing.filmed import film_of, strip_png
    from analyser.pages.drawing.motion_view import FRONT, SIDE
    from analyser.pages.drawing.rendering import NotDrawn

    ending = Path(options.motion).suffix.lower()
    if ending not in (".svg", ".png"):
        sys.stderr.write(f"{options.motion}: write a name that ends in .svg or .png\n")
        return 2
    if options.forces:
        sys.stderr.write("a film shows what is pulled already: leave `--forces` out\n")
        return 2
    try:
        rig = open_rig(options.rig)
        rig = rig_in(rig, state_number(rig, options))
        failures = chosen(rig, options.failing)
    except Unreadable as error:
        return show_mistakes(error, as_json=False)
    if not failures:
        sys.stderr.write("`--motion` shows what follows a failure: name it with `--failing`\n")
        return 2
    statics = Statics.of(rig)
    if isinstance(statics, Missing):
        return show_missing(rig, statics, as_json=False)
    base = statics.equilibrium()
    if not base.accepted:
        return _no_rest(base)
    ground = ground_of(rig)
    told = motion(statics, failures, base, ground=ground)
    if not told.told or not told.way.pieces:
        why = why_not_told(told) if not told.told else "nothing moves, or what moves falls with nothing to hold it"
        sys.stderr.write(f"nothing to draw: {why}\n")
        return 2
    across = FRONT if options.front else SIDE
    try:
        if ending == ".png":
            return _written(options.motion, strip_png(statics, base, told, ground, across))
    except NotDrawn as error:
        sys.stderr.write(f"{error}\n")
        return 2
    return _written(options.motion, film_of(statics, base, told, ground, across).encode())


def _to_scale(options: argparse.Namespace, rig: Rig, failures: list[Failure]) -> int:
    """The view to scale; 2 where places or lengths are missing, or no rest is found."""
    from analyser.doors.commands.statics import show_missing
    from analyser.forces import Case, Missing, Statics
    from analyser.pages.drawing.side import FRONT, SIDE, side_view
    from analyser.rig.model import Effects

    statics = Statics.of(rig)
    if isinstance(statics, Missing):
        return show_missing(rig, statics, as_json=False)
    found, before = statics.equilibrium(), None
    if failures:
        effects = Effects.joint(failure.effects for failure in failures)
        before, found = found, statics.equilibrium(Case(effects), found)
    off = next((one for one in (found, before) if one is not None and not one.accepted), None)
    if off is not None:
        return _no_rest(off)
    if not found.lines and not (before and before.lines):
        sys.stderr.write("no line of this rig has a place: nothing to draw to scale\n")
        return 2
    picture = side_view(rig, found, before, [one.id for one in failures], FRONT if options.front else SIDE)
    return _written(options.output, picture.encode())

"""stillheld: if this part of a rope system fails, who is still held, and by what?

>>> import analyser
>>> rig = analyser.read_text('''
... rig "Two lines to one ring"
... anchor left, right
... ring master
... person sam: points waist, chest
... attach left - master
... attach right - master
... attach master - strap a-strap - sam.waist
... attach master - strap b-strap - sam.chest
... ''')
>>> result = analyser.check(rig)
>>> sam = result.body("sam")
>>> sam.attachments, sam.independent, sam.smallest_failure_set
(2, 1, 1)
>>> [failure.id for failure in result.failures if "sam" in failure.falls]
['master fails']
>>> analyser.whatif(rig, "left fails").falls
()

Every verb takes a rig that was read and gives a frozen result: figures in SI (newtons, metres, kilograms; angles
in degrees), failures and names as text. A result has `to_dict()` (its document of the results contract, kN, m and
degrees, described in `grammar/contract.md`), `to_json()`, `to_frame()` (needs pandas: `pip install stillheld[frame]`),
and in a notebook it shows its page. Words that can't be used are refused with `analyser.Refused`, a ValueError that
says what to write instead; a file that can't be read with `analyser.Unreadable`; forces for which the file lacks
facts with `analyser.FactsMissing`. The methods and their sources: `analyser/holding/rules.md` for who is held,
`analyser/forces/statics.md` for forces.

A model of what was written, not of the rope in the hand: local codes, makers' instructions and
licensed or qualified practice come first.
"""

from __future__ import annotations

import sys
from importlib import import_module
from types import ModuleType

TYPE_CHECKING = False
if TYPE_CHECKING:  # and no import of `typing`: whoever presses Ctrl-C so early shall see no traceback
    from collections.abc import Mapping, Sequence
    from pathlib import Path
    from typing import Literal

    from analyser.checking.all_forces import AllForces
    from analyser.checking.calling import FactsMissing, Refused
    from analyser.checking.delivered import Delivered
    from analyser.checking.hanging import Attitude, Hauling
    from analyser.checking.rankings import Ranking, Reasoning
    from analyser.checking.results import Result
    from analyser.checking.scenario import After
    from analyser.doors.notebook.picture import Picture
    from analyser.language.mistakes import Unreadable
    from analyser.language.parsing import Document
    from analyser.rig.model import Rig
    from analyser.rig.plan import Plan
    from analyser.uses.comparing.comparison import Comparison
    from analyser.uses.field.walk_sheet import Walkdown
    from analyser.uses.incident.case import Case
    from analyser.uses.mending.ranking import Mending
    from analyser.uses.ordering.answer import Answer
    from analyser.uses.procedure.document import Procedure
    from analyser.uses.review.answered_page import Report

__all__ = [
    "FactsMissing",
    "Refused",
    "Unreadable",
    "attitude",
    "check",
    "compare",
    "draw",
    "forces",
    "haul",
    "mend",
    "procedure",
    "rank",
    "read",
    "read_text",
    "reconstruct",
    "reorder",
    "report",
    "walkdown",
    "whatif",
    "why",
]

_RAISED = {
    "FactsMissing": "analyser.checking.calling",
    "Refused": "analyser.checking.calling",
    "Unreadable": "analyser.language.mistakes",
}


class _Face(ModuleType):
    """This module, whose verb `forces` stays one when the room of that name is loaded."""

    def __setattr__(self, name: str, value: object) -> None:
        if name not in __all__ or not isinstance(value, ModuleType):
            super().__setattr__(name, value)


sys.modules[__name__].__class__ = _Face


def __getattr__(name: str) -> object:
    if name in _RAISED:
        return getattr(import_module(_RAISED[name]), name)
    raise AttributeError(f"module `analyser` has no attribute `{name}`")


def read(path: str | Path) -> Plan:
    """Read a `.rig` file.

    Raises `Unreadable`, which lists every mistake with its place.
    """
    from pathlib import Path

    from analyser.language.parsing import parse_file
    from analyser.rig.catalogue import catalogue

    return _built(parse_file(Path(path), set(catalogue())), Path(path).parent)


def read_text(text: str | bytes, name: str = "rig", folder: str | Path = ".") -> Plan:
    """Read a rig from text; `name` is shown in messages, `folder` is where its includes are.

    Raises `Unreadable`, which lists every mistake with its place.
    """
    from pathlib import Path

    from analyser.language.parsing import parse_text
    from analyser.rig.catalogue import catalogue

    data = text.encode() if isinstance(text, str) else text
    return _built(parse_text(data, name, Path(folder), set(catalogue())), Path(folder))


def check(
    rig: Rig,
    order: int = 2,
    *,
    only: Sequence[str] = (),
    without: Sequence[str] = (),
    latent: bool = False,
    resting_on: bool = False,
) -> Result:
    """Fail every part in turn, then every pair (`order` 3: every triple): who is still held, in every state?

    `order` is 1 to 4; `only` and `without` choose rules of the findings; `latent` adds the slips that may be there
    unseen, `resting_on` the statements that carry the verdict. Complete up to `order` for the failures that the rig
    can express. Raises `Refused`.
    """
    from analyser.doors.notebook.verbs import check

    return check(rig, order, only, without, latent=latent, resting_on=resting_on)


def whatif(
    rig: Rig,
    *failures: str,
    state: int | None = None,
    stage: str | None = None,
    step: int | None = None,
    during: int | None = None,
) -> After:
    """What is left after some failures, by name (`"left-bolt fails"`): who falls, and by what the rest is held.

    `state`, or `stage` and `step`, say in which state of a rig with stages, `during` (1, 2 …) which of what is
    true only while the step to it is being done. Raises `Refused` for a name that is no
    failure of the rig.
    """
    from analyser.doors.notebook.verbs import whatif

    return whatif(rig, failures, (state, stage, step, during))


def why(
    rig: Rig,
    body: str | None = None,
    order: int = 2,
    *,
    state: int | None = None,
    stage: str | None = None,
    step: int | None = None,
    during: int | None = None,
) -> Reasoning:
    """Every way in which a body (None: each) is held, and which of them each failure set breaks.

    Raises `Refused` for a name that is no body of the rig.
    """
    from analyser.doors.notebook.verbs import why

    return why(rig, body, order, (state, stage, step, during))


def rank(
    rig: Rig,
    order: int = 2,
    *,
    state: int | None = None,
    stage: str | None = None,
    step: int | None = None,
    during: int | None = None,
) -> Ranking:
    """Parts by how much hangs on them; with likelihoods in the file, how likely each body falls and what counts
    most for it (Birnbaum, Fussell and Vesely)."""
    from analyser.doors.notebook.verbs import rank

    return rank(rig, order, (state, stage, step, during))


def forces(rig: Rig, *, samples: int = 100) -> AllForces:
    """What carries what in every state, in newtons, and what follows each failure, where the file gives places and
    masses; and what each part may come to carry at worst, without them.

    `samples` is in how many cases the bands of a file are looked at. The method: `forces/statics.md`.
    """
    from analyser.doors.notebook.verbs import forces

    return forces(rig, samples)


def attitude(
    rig: Rig,
    litter: str,
    *,
    head_up: float | None = None,
    lines: Sequence[str] = (),
    sweep: tuple[float, float] | None = None,
    along: Mapping[str, float] | None = None,
) -> Attitude:
    """How a litter hangs; with `head_up` in degrees, how long its legs must be for that; with `sweep` in metres,
    how it hangs with so much let out, in 25 rows.

    `lines` are what is let out (by default the legs at the foot end); `along` says how far from the foot end
    people's centres of mass lie, in metres. Raises `FactsMissing` and `Refused`.
    """
    from analyser.checking.calling import At
    from analyser.checking.hanging import attitude

    return attitude(At(rig), litter, head_up=head_up, lines=lines, reach=sweep, along=along)


def haul(rig: Rig, rope: str | None = None, *, along: Mapping[str, float] | None = None) -> Hauling:
    """What hauling on a rope gains (None: on each that hands hold), and what the hand pulls to raise, hold and lower,
    in newtons. Raises `FactsMissing` and `Refused`."""
    from analyser.checking.calling import At
    from analyser.checking.hanging import haul

    return haul(At(rig), rope, along)


def mend(rig: Rig, *, most: int = 5) -> Mending:
    """Which one addition takes away the most small failure sets, with the lines to paste; `most` are told.

    Ranked by structure, not by practice. Raises `Refused` for a rig that was not read from a text.
    """
    from analyser.doors.notebook.verbs import mend

    return mend(rig, most)


def compare(old: Rig, new: Rig) -> Comparison:
    """Two revisions: what changed, what it did, and whether anything is worse (`uses/comparing/comparison.py` says
    exactly what that means)."""
    from analyser.uses.comparing.comparison import compare

    return compare(old, new)


def reorder(rig: Rig, stage: str, *, budget: float | None = None) -> Answer:
    """Is there an order of a stage's steps that keeps what is required in every state? `budget` in seconds.

    Raises `Refused` for a title that is no stage of the rig.
    """
    from analyser.doors.notebook.verbs import reorder

    return reorder(rig, stage, budget)


def reconstruct(rig: Rig, order: int = 2, *, slips: bool = False, suppose: Sequence[str] = ()) -> Case:
    """After an accident: which smallest failures are consistent with what the file's `observed` block tells.

    `slips` too: a knot not tied, a connector not clipped; `suppose` are further facts as text (`"lip cuts"`).
    Raises `Unreadable` where nothing was observed.
    """
    from analyser.doors.notebook.verbs import reconstruct

    return reconstruct(rig, order, slips, suppose)


def procedure(rig: Rig) -> Procedure:
    """The working document: kit, people, steps with hold points, what to do if a part fails, sign-off."""
    from analyser.doors.notebook.verbs import procedure

    return procedure(rig)


def walkdown(rig: Rig, found: str | Path | None = None) -> Walkdown:
    """The as-built check: what to see and touch, critical points first; with `found`, a file of what was found
    otherwise, the check of the rig as found. Raises `Unreadable` for that file."""
    from analyser.doors.notebook.verbs import walkdown

    return walkdown(rig, found)


def report(rig: Rig, order: int = 3, *, review: str | Path | None = None) -> Report:
    """Everything that a reviewer's page shows, complete up to `order` failures together; `review` is a file of
    answers, as the page exports them."""
    from analyser.doors.notebook.verbs import report

    return report(rig, order, review)


def draw(
    rig: Rig,
    *failures: str,
    view: Literal["diagram", "side", "front"] = "diagram",
    forces: bool = False,
    state: int | None = None,
    stage: str | None = None,
    step: int | None = None,
    during: int | None = None,
) -> Picture:
    """The rig with its weak points marked, or what some failures leave of it; `side` and `front` are to scale.

    Raises `Refused`, and `FactsMissing` for forces and views to scale.
    """
    from analyser.doors.notebook.verbs import draw

    return draw(rig, failures, view, (state, stage, step, during), forces=forces)


def shown(result: Delivered) -> str:
    """A result's page as a piece of HTML, for a notebook."""
    from analyser.doors.notebook.showing import html

    return html(result)


def _built(document: Document, folder: Path) -> Plan:
    from dataclasses import replace

    from analyser.language.mistakes import Unreadable
    from analyser.rig.building import build

    rig, mistakes = build(document)
    if rig is None:
        raise Unreadable(mistakes, document.sources)
    return replace(rig, folder=folder)

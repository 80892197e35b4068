"""The statics of a rig for a command, or what its file must still say."""

from __future__ import annotations

import json
import sys
from collections.abc import Sequence
from typing import TYPE_CHECKING

from analyser.checking.results import FORMAT
from analyser.doors.commands.measuring import measure, named, refused
from analyser.language.mistakes import did_you_mean
from analyser.rig.model import Rig

if TYPE_CHECKING:
    from analyser.forces import Missing, Statics


def statics_of(rig: Rig, along: Sequence[str] = (), *, hands: bool = False) -> Statics | Missing:
    """The statics of a rig; `along` are words such as `vic=0.9 m`: how far from the foot end of their litter
    people's centres of mass lie. Raises `Unreadable`."""
    from analyser.forces import Missing, Statics
    from analyser.forces.levelling import from_foot

    found = Statics.of(rig, hands=hands)
    if not along or isinstance(found, Missing):
        return found
    moved: dict[str, float] = {}
    for name, text in named(along, "--along vic=0.9 m"):
        metres = measure([text], "length", "--along vic=0.9 m")
        told = from_foot(rig, found.said, name, metres)
        if told is None:
            inside = [one for one in rig.parts if from_foot(rig, found.said, one, 0.0)]
            hint = did_you_mean(name, inside, f"in one: {', '.join(inside)}" if inside else "")
            raise refused(f"`{name}` lies in no litter with a head and a foot", hint)
        litter, by, length = told
        if not 0 <= metres <= length:
            text = f"{name} would lie outside {litter}, {metres:g} m from its foot: it is {length:g} m long"
            raise refused(text, f"a number from 0 (at the foot) to {length:g} m (at the head)")
        moved[name] = by
    return Statics.of(rig, moved, hands=hands)


def show_missing(rig: Rig, missing: Missing, *, as_json: bool) -> int:
    """Say what must be added or put right; returns the exit status 2."""
    from analyser.pages.writing.wanting import wanting_data, wanting_text

    if as_json:
        data = {"format": FORMAT, "rig": rig.title, "revision": rig.revision, **wanting_data(missing)}
        sys.stdout.write(json.dumps(data, indent=2, ensure_ascii=False) + "\n")
    else:
        sys.stderr.write(wanting_text(missing))
    return 2

"""`stillheld haul RIG [ROPE]`: what hauling on a rope gains, and what the hand pulls."""

from __future__ import annotations

import argparse
import json
import sys
from typing import TYPE_CHECKING

from analyser.checking.results import CAUTIONS, FORMAT
from analyser.doors.commands.measuring import refused
from analyser.doors.commands.opening import open_rig, show_mistakes, shown
from analyser.doors.commands.statics import show_missing, statics_of
from analyser.language.mistakes import Unreadable, did_you_mean
from analyser.rig.model import Role

if TYPE_CHECKING:
    from analyser.forces.hauling import Advantage, NoHaul, Pull


def run(options: argparse.Namespace) -> int:
    """0 when told; 1 when there is nothing to tell of some rope; 2 when the file or the call can't be used."""
    try:
        rig = open_rig(options.rig)
        ropes = [rope.name for rope in rig.ropes if any(station.role is Role.HAND for station in rope.stations)]
        if options.rope and options.rope not in (rope.name for rope in rig.ropes):
            hint = did_you_mean(options.rope, ropes, f"hauled by hand: {', '.join(ropes)}" if ropes else "")
            raise refused(f"there is no rope called `{options.rope}`", hint)
        if not options.rope and not ropes:
            raise refused("no rope of this rig is in anybody's hands", "write `held by NAME` where it is hauled")
        found = statics_of(rig, options.along, hands=True)
        from analyser.forces import Missing

        if isinstance(found, Missing):
            return show_missing(rig, found, as_json=options.json)
    except Unreadable as error:
        return show_mistakes(error, as_json=options.json)
    from analyser.forces import NoHaul, advantage

    told = {name: advantage(found, name) for name in ([options.rope] if options.rope else ropes)}
    if options.json:
        data = {
            "format": FORMAT,
            "rig": rig.title,
            "revision": rig.revision,
            "ropes": [_data(name, one) for name, one in sorted(told.items())],
            "cautions": list(CAUTIONS),
        }
        sys.stdout.write(json.dumps(data, indent=2, ensure_ascii=False) + "\n")
    else:
        from analyser.pages.writers.terminal import show
        from analyser.pages.writing.haul_page import haul_page

        show(haul_page(rig, shown(options.rig), told, found.equilibrium()))
    return 1 if any(isinstance(one, NoHaul) for one in told.values()) else 0


def _data(name: str, one: Advantage | NoHaul) -> dict[str, object]:
    from analyser.forces import NoHaul

    if isinstance(one, NoHaul):
        return {"rope": name, "told": False, "why": one.why}
    return {
        "rope": name,
        "told": True,
        "hauled_by": one.person,
        "lifted": list(one.lifted),
        "weight_n": round(one.weight, 3),
        "ideal_advantage": round(one.ideal, 3),
        "rope_in_per_rise": round(one.travel, 3),
        "hold_without_friction": _pull(one.hold),
        "raising": _pull(one.raising),
        "lowering": _pull(one.lowering),
        "why_not": one.why_not,
        "practical_advantage": None if one.practical is None else round(one.practical, 3),
        "efficiencies": [{"part": part, "efficiency": round(share, 4)} for part, share in one.wheels],
        "without_efficiency": list(one.without),
        "kept_open": list(one.opened),
        "holds_with_hands_off": list(one.holds_at_rest),
        "falls_with_hands_off": list(one.falls),
        "residual": float(f"{one.residual:.0e}"),
    }


def _pull(pull: Pull | None) -> dict[str, object] | None:
    if pull is None:
        return None
    return {"hand_n": round(pull.hand, 3), "anchors_n": {name: round(n, 3) for name, n in sorted(pull.anchors.items())}}

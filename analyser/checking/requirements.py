"""What a file can require, and how each is checked."""

from __future__ import annotations

from collections.abc import Sequence

from analyser.checking import required_forces as of_forces
from analyser.checking import required_holding as of_holding
from analyser.checking import required_parts as of_parts
from analyser.checking.judging import Check, Judged, Moment, judged
from analyser.checking.required_standing import (
    level_by_forces,
    no_balance,
    no_frame_tips,
    no_turning_over,
    on_tipping_frames,
)
from analyser.holding.reviewing import Watch
from analyser.rig.model import Rig

CHECKS = {
    "independent": Check(of_holding.independent, people=True),
    "independent-everyone": Check(of_holding.independent),
    "held": Check(of_holding.held, known=on_tipping_frames),
    "held-people": Check(of_holding.held, people=True, known=on_tipping_frames),
    "held-through": Check(of_forces.held_through, after=True, in_time=True, known=on_tipping_frames),
    "held-through-people": Check(
        of_forces.held_through, people=True, after=True, in_time=True, known=on_tipping_frames
    ),
    "hands-off": Check(of_holding.hands_off),
    "not-by-person": Check(of_holding.not_by_person),
    "level": Check(of_holding.level, known=level_by_forces, after=True),
    "no-frame-tips": Check(no_frame_tips, of_parts=True, after=True),
    "no-turning-over": Check(no_turning_over, after=True),
    "connectors-lock": Check(of_parts.connectors_lock, of_parts=True),
    "edges-padded": Check(of_parts.edges_padded, of_parts=True),
    "anchors-strong": Check(of_parts.anchors_strong, of_parts=True),
    "ends-stopped": Check(of_parts.ends_stopped, of_parts=True),
    "strength": Check(of_forces.strength, of_parts=True, known=no_balance),
    "strength-after": Check(of_forces.strength_after, of_parts=True, after=True, in_time=True, known=no_balance),
    "force": Check(of_forces.force, people=True, after=True, in_time=True, known=no_balance),
    "drop": Check(of_forces.drop, after=True, tearing=True, known=no_balance),
    "head-up": Check(of_forces.head_up, known=no_balance),
}
"""By the rule of a requirement (`rig/requiring.py` reads the words)."""


def asks_for_forces(rig: Rig) -> bool:
    """Does a requirement of the file ask for forces, and so for places, lengths and masses?"""
    return any(CHECKS[one.rule].forces for one in rig.requirements)


def asks_for_what_follows(rig: Rig) -> bool:
    """Does a requirement ask for what follows every single failure by the forces?"""
    return any(CHECKS[one.rule].after for one in rig.requirements)


def asks_for_what_happens_in_time(rig: Rig) -> bool:
    """Does a requirement ask for what happens in time after every single failure?"""
    checks = [CHECKS[one.rule] for one in rig.requirements]
    return any(one.in_time or (one.tearing and of_forces.may_slip(rig)) for one in checks)


def judge(moments: Sequence[Moment], watch: Watch | None = None) -> tuple[Judged, ...]:
    """Judge every requirement in every state that it speaks of. Accepted failures are shown elsewhere;
    none fails a requirement."""
    return tuple(judged(one, CHECKS[one.rule], moments, watch) for one in moments[0].rig.requirements)

"""The forces of a result as plain data, rounded once: what scripts, the report and the JSON show."""

from __future__ import annotations

from collections.abc import Sequence
from math import isinf
from typing import TYPE_CHECKING

from analyser.checking.overloaded import breaks_words, why_not_told
from analyser.checking.worst_loads import WorstLoad

if TYPE_CHECKING:  # what solves them is loaded only where they are worked out
    from analyser.forces.aftermath import Aftermath, Arrest
    from analyser.forces.breaking import Broken
    from analyser.forces.loads import Loads
    from analyser.forces.motion import Motion
    from analyser.forces.overloads import Overload
    from analyser.forces.spreading import Spread


QUICK = "out of the energy alone: no peak and no bound, it only ranks what is followed in time"
LEFT_OUT_IN_TIME = (
    "the rope's own mass",
    "friction, at edges too",
    "rock and structure between",
    "people's bodies, which give way",
    "the age and wear of ropes",
)
"""What is not in figures of what happens in time."""


def forces_figures(loads: Loads | None, lacking: Sequence[str]) -> dict[str, object] | None:
    """The forces of one state in kN, metres and degrees, or what is lacking for them; None where they were not
    asked for."""
    if loads is None:
        return {"missing": list(lacking)} if lacking else None
    now = loads.now
    return {
        "balanced": now.accepted,
        "lines": [
            {"name": line.name, "kN": _kn(line.tension), "slack": line.slack, "length_m": round(line.length, 4)}
            for line in now.lines
        ],
        "parts": [
            {
                "name": one.name,
                "kN": _kn(one.force),
                "direction": [round(x, 4) + 0.0 for x in one.direction],
                "included_deg": None if one.included is None else round(one.included, 2),
                "at_most": one.at_most,
            }
            for one in loads.parts
        ],
        "factors": [
            {
                "name": row.name,
                "strength_kN": _kn(row.strength),
                "kept": row.kept,
                "knot": row.knot,
                "source": row.source,
                "kN": _kn(row.force),
                "factor": None if isinf(row.factor) else round(row.factor, 3),
            }
            for row in loads.factors.rows
        ],
        "anchors": [
            {
                "name": one.name,
                "kN": _kn(one.force),
                "share": round(one.share, 4),
                "from_plumb_deg": _deg(one.from_plumb),
                "without": {name: None if force is None else _kn(force) for name, force in one.without.items()},
            }
            for one in loads.anchors
        ],
        "no_strength_given": list(loads.factors.without),
        "overloads": [overload_figures(one) for one in loads.overloads],
        "litters": [
            {"name": pose.name, "head_up_deg": _deg(pose.head_up), "roll_deg": _deg(pose.roll)} for pose in now.poses
        ],
        "after": None if loads.after is None else [aftermath_figures(one) for one in loads.after],
        "otherwise_held": [
            {"body": d.body, "by_rules": d.held_by_rules, "by_statics": d.held_by_statics, "why": d.why}
            for d in loads.disagreements
        ],
        "falls": list(now.falls),
        "jammed": [{"what": a, "at": b} for a, b in now.jammed],
        "in_doubt": [
            {"file": one.place.file, "line": one.place.line, "why": one.why, "write": one.line} for one in now.doubts
        ],
        "assumed": list(now.assumed),
        "bands": _spread(loads.spread),
    }


def overload_figures(one: Overload) -> dict[str, object]:
    """What breaks under its load after some failures (none: as it hangs), and who falls then."""
    return {
        "failures": list(one.failures),
        "breaks_at_rest": [_broken(broken) for broken in one.rest.broken],
        "breaks_in_time": [
            {**_broken(broke.broken), "after_s": round(broke.when, 3)}
            for broke in (one.motion.broken if one.motion else ())
        ],
        "breaks_from_a_start_aside": list(one.aside),
        "falls": list(one.surely),
        "falls_from_a_start_aside": list(one.perhaps),
        "text": breaks_words(one),
    }


def _broken(one: Broken) -> dict[str, object]:
    row = one.factor
    kept = {"strength_kN": _kn(row.strength), "kept": row.kept, "kN": _kn(row.force), "factor": round(row.factor, 3)}
    return {"name": one.name, **kept}


def _spread(spread: Spread | None) -> dict[str, object] | None:
    """The forces over the bands of the file; None where it has none."""
    if spread is None:
        return None
    kn, metres, share = ("kN", 1000.0), ("m", 1.0), (None, 1.0)
    units = {"carries": kn, "peak": kn, "drop": metres, "factor": share, "overload": share}
    figures: list[dict[str, object]] = []
    for (what, *names), one in sorted(spread.ranges.items()):
        if what == "falls":
            continue
        unit, by = units.get(what, ("deg", 1.0))
        ends = (one.low, one.high, one.least, one.most)
        low, high, least, most = (None if isinf(x) else round(x / by, 4) + 0.0 for x in ends)
        row: dict[str, object] = {"figure": what, "of": names[0], "unit": unit}
        if len(names) > 1:
            row["after"] = names[1]
        figures.append({**row, "from_5_percent": low, "to_95_percent": high, "least": least, "most": most})
    return {
        "of": [{"of": one.of, "figure": one.figure, "band": one.text} for one in spread.banded],
        "samples": spread.samples,
        "corners": spread.corners,
        "followed_after_failures": spread.after,
        "in_time": list(spread.moving),
        "not_balanced": spread.lost,
        "falls": [{"body": name, "after": failure} for (name, failure), _ in spread.each("falls")],
        "figures": figures,
    }


def aftermath_figures(one: Aftermath) -> dict[str, object]:
    return {
        "failures": list(one.failures),
        "balanced": one.accepted,
        "falls": list(one.falls),
        "moved": [{"body": m.name, "drop_m": round(m.drop, 3), "swing_m": round(m.swing, 3)} for m in one.moved],
        "reaches_ground": list(one.reaches_ground),
        "near_edges": [{"line": line, "edge": edge, "m": round(m, 3)} for line, edge, m in one.near_edges],
        "arrest": None if one.arrest is None else _arrest(one.arrest),
        "lines": [
            {
                "name": b.name,
                "before_kN": _kn(b.before),
                "static_kN": _kn(b.static),
                "peak_kN": _kn_or(b.peak),
                "peak_from_kN": _kn_or(b.low),
                "peak_to_kN": _kn_or(b.high),
                "quick_kN": _kn(b.quick),
            }
            for b in one.lines
        ],
        "quick_is": QUICK,
        "motion": None if one.motion is None else motion_figures(one.motion),
    }


def motion_figures(one: Motion) -> dict[str, object]:
    """What happens in time, in kN, metres and seconds."""
    return {
        "told": one.told,
        "why_not": None if one.told else why_not_told(one),
        "until_s": round(one.until, 3),
        "starts_aside": len(one.aside),
        "bodies": [
            {
                "name": b.name,
                "down_m": round(b.down, 3),
                "aside_m": round(b.aside, 3),
                "pull_kN": _kn(b.pull),
                "pull_to_kN": _kn(b.high),
                "after_s": round(b.when, 3),
            }
            for b in one.bodies
        ],
        "lines": [
            {
                "name": b.name,
                "before_kN": _kn(b.before),
                "peak_kN": _kn_or(b.most),
                "from_kN": _kn_or(b.low),
                "to_kN": _kn_or(b.high),
                "after_s": round(b.when, 3),
            }
            for b in one.lines
        ],
        "strikes": [
            {
                "body": s.body,
                "what": s.what,
                "is": s.struck.value,
                "m_per_s": round(s.speed, 2),
                "after_s": round(s.when, 3),
            }
            for s in one.strikes
        ],
        "breaks": [{**_broken(b.broken), "after_s": round(b.when, 3)} for b in one.broken],
        "breaks_from_starts_aside": [list(a.broken) for a in one.aside],
        "falls": list(one.falls),
        "slips": [
            {"at": r.by, "line": r.line, "m": round(r.metres, 3), "has_m": None if r.room is None else round(r.room, 3)}
            for r in one.ran
        ],
        "energy_drift": round(one.drift, 5),
        "weight_alone": list(one.small),
        "left_out": list(LEFT_OUT_IN_TIME),
    }


def _arrest(one: Arrest) -> dict[str, object]:
    return {
        "line": one.line,
        "free_fall_m": round(one.free_fall, 3),
        "rope_m": round(one.rope, 3),
        "fall_factor": round(one.fall_factor, 3),
        "peak_kN": _kn(one.peak),
    }


def _kn(newtons: float) -> float:
    return round(newtons / 1000, 4) + 0.0


def _kn_or(newtons: float | None) -> float | None:
    return None if newtons is None else _kn(newtons)


def _deg(angle: float | None) -> float | None:
    return None if angle is None else round(angle, 2) + 0.0


def worst_figures(row: WorstLoad) -> dict[str, object]:
    """One row of the worst case for scripts."""
    return {
        "name": row.name,
        "line": row.of.place.line,
        "at_most_n": round(row.load.newtons, 3),
        "bodies": list(row.load.bodies),
        "gear": list(row.load.gear),
        "without_mass": list(row.load.unknown),
        "strength_n": round(row.strength.least, 3) if row.strength else None,
        "strength_over_load": None if row.factor is None else round(row.factor, 3),
    }

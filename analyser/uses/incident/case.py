"""Everything about one incident: what was observed, what is consistent with it, what to look at, what to learn."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from analyser.checking.results import CAUTIONS, FORMAT
from analyser.rig.model import Observation, Rig
from analyser.uses.incident.conflict import Conflict, conflict
from analyser.uses.incident.evidence import Item
from analyser.uses.incident.lessons import Lessons, lessons
from analyser.uses.incident.next_looks import Look, looks
from analyser.uses.incident.reconstruction import (
    CONTRADICTED,
    Explanation,
    Reconstruction,
    reconstruct,
    standing_of,
)
from analyser.uses.incident.sequences import Chain, Sequences, Tested, Weighed, sequences

LIMITS = (
    "These are explanations of a rig as it was described, from facts as they were told. To be consistent with them is "
    "not to be what happened, and nothing here is a finding of fault. What the file does not describe is not among "
    "them."
)
AT_ONCE = "What broke only in the fall, after the first failure, counts as if it had failed at once."
NO_FORCES = "Forces, drops and what one failure overloads next are not looked at"
UNDER_LOAD = (
    "In a sequence, loads come from places, masses, lengths and stretch as written, and from energy that nothing takes "
    "up on the way. Peaks come from following the motion in time, from one start, with nothing damped: real ropes "
    "damp, and a start a centimetre aside may pull harder, so that what does not follow here may have followed. "
    "Friction at edges, wear, knots that slip and bands in the file (taken at their middle) are not in it. A sequence "
    "begins with one failure, or with those of an explanation."
)


@dataclass(frozen=True)
class Case:
    """One incident. `conflict` is there when there is no explanation at all, and `lessons` when there is one."""

    rig: Rig
    """As read, without slips."""
    made: Reconstruction
    conflict: Conflict | None
    looks: tuple[Look, ...]
    lessons: Lessons | None
    sequences: Sequences
    supposed: tuple[str, ...] = ()
    supposed_after: int = 0
    """The last line of the file itself: facts below it are supposed."""

    @property
    def shown(self) -> tuple[tuple[Explanation, Item | None], ...]:
        """The explanations; where there is none, the first of what explains all facts but one, and that fact."""
        if self.conflict is None:
            return tuple((one, None) for one in self.made.explanations)
        return tuple((doubt.explanations[0], doubt.item) for doubt in self.conflict.doubts if doubt.explanations)

    @property
    def limits(self) -> str:
        why = self.sequences.why_not
        return f"{LIMITS} {AT_ONCE} {NO_FORCES}: {why}." if why else f"{LIMITS} {UNDER_LOAD}"

    @property
    def on(self) -> str:
        return "connections only" if self.sequences.why_not else "connections and forces"

    def standing(self, one: Explanation, item: Item, against: Item | None) -> str:
        return CONTRADICTED if item is against else standing_of(one, item)

    def is_supposed(self, fact: Observation) -> bool:
        return fact.place.file == self.rig.place.file and fact.place.line > self.supposed_after

    def slip(self, failure: str) -> str:
        """A failure as a slip in the rigging, where it can be one and slips are included."""
        return self.made.slipped.words.get(failure, "") if self.made.slipped else ""

    def as_data(self) -> dict[str, object]:
        """All of it as plain lists and dictionaries, in a stable order."""
        made = self.made
        return {
            "format": FORMAT,
            "rig": self.rig.title,
            "revision": self.rig.revision,
            "observed": [_item(item) for item in made.observed],
            "remarks": [{"text": f.text, "told": _told(f)} for f in self.rig.observations if f.verb == "note"],
            "supposed": list(self.supposed),
            "states": [{"numbers": list(one.numbers), "words": one.words} for one in made.moments],
            "order": made.order,
            "including_slips": made.slipped is not None,
            "explanations": [self._explanation(one) for one in made.explanations],
            "sets": made.sets,
            "sequences": self._sequences(),
            "contradiction": self._conflict(),
            "look_at_next": [
                {"question": one.question, "as_good": list(one.also), "yes_leaves": one.yes, "no_leaves": one.no,
                 "expected_left": round(one.left, 4)}
                for one in self.looks
            ],
            "would_have_kept": self._lessons(),
            "complete": made.complete,
            "on": self.on,
            "limits": self.limits,
            "cautions": list(CAUTIONS),
        }  # fmt: skip

    def as_json(self) -> str:
        return json.dumps(self.as_data(), indent=2, ensure_ascii=False)

    def _explanation(self, one: Explanation) -> dict[str, object]:
        slips = {failure: said for choice in one.choices for failure in choice if (said := self.slip(failure))}
        return {
            "one_of_each": [list(choice) for choice in one.choices],
            "sets": one.sets,
            "size": one.size,
            "assumed": one.assumed,
            "states": list(one.states),
            "stayed_only_by_a_person": list(one.by_person),
            "fall_as_well": list(one.others),
            "likelihood": one.likelihood,
            "as_slips": slips,
            "facts": {item.words: standing_of(one, item) for item in self.made.observed},
        }

    def _conflict(self) -> dict[str, object] | None:
        if self.conflict is None:
            return None
        return {
            "cannot_all_be": [_item(item) for item in self.conflict.core],
            "with_any_number_of_failures": self.conflict.at_any_order,
            "without": [
                {"fact": one.item.words, "line": one.item.fact.place.line, "sets": one.sets,
                 "first": self._explanation(one.explanations[0]) if one.explanations else None}
                for one in self.conflict.doubts
            ],
        }  # fmt: skip

    def _sequences(self) -> dict[str, object]:
        told = self.sequences
        return {
            "not_looked_at": told.why_not or None,
            "to_add": list(told.wanted),
            "consistent": [
                _chain(one) | {"facts": {item.words: one.standing(item) for item in self.made.observed}}
                for one in told.chains
            ],
            "explanations_under_load": [_tested(one) for one in told.tested],
            "beginnings_looked_at": told.looked_at,
            "beginnings_left_out": told.left_out,
            "drops_left_out": told.unweighed,
            "no_strength_given": list(told.without),
            "bands_at_their_middle": told.middles,
        }

    def _lessons(self) -> dict[str, object] | None:
        if self.lessons is None:
            return None
        kept = self.lessons.keeping
        return {
            "sets_looked_at": kept.scenarios if kept else 0,
            "sets_left_out": self.lessons.left_out,
            "tried": kept.tried if kept else 0,
            "untried": kept.untried if kept else 0,
            "additions": [
                {
                    "what": one.proposal.words,
                    "keeps_in": one.scenarios,
                    "add": list(one.proposal.added),
                    "change": [{"line": c.line, "how": c.how, "text": c.text} for c in one.proposal.changes],
                }
                for one in (kept.kept if kept else ())
            ],
        }


def open_case(
    rig: Rig,
    text: str,
    file: str,
    folder: Path,
    *,
    order: int = 2,
    slips: bool = False,
    supposed: Iterable[str] = (),
) -> Case:
    """Work out a whole case. `text` is that of the rig's own file, `folder` where its includes are."""
    made = reconstruct(rig, order, slips=slips)
    last = text.rstrip().count("\n") + 1
    if not made.explanations:
        against = conflict(made.rig, made.observed, order)
        return Case(rig, made, against, (), None, sequences(made, rig), tuple(supposed), last)
    learnt = lessons(made, rig, text, file, folder)
    return Case(rig, made, None, tuple(looks(made)), learnt, sequences(made, rig), tuple(supposed), last)


def _told(fact: Observation) -> list[dict[str, object]]:
    return [{"how": one.sure, "by": one.by} for one in fact.told]


def _item(item: Item) -> dict[str, object]:
    return {
        "fact": item.verb,
        "of": item.name or item.fact.words,
        "text": item.fact.text or None,
        "told": _told(item.fact),
        "file": item.fact.place.file,
        "line": item.fact.place.line,
    }


def _chain(one: Chain) -> dict[str, object]:
    return {
        "begins_with_one_of_each": [list(choice) for choice in one.begins],
        "assumed": one.assumed,
        "overloads": [
            {"failure": over.failure, "part": over.name, "knot": over.knot, "strength_kN": _kn(over.strength),
             "kept": over.kept, "force_kN": [_kn(over.force), _kn(over.most)],
             "times_its_strength": [round(times, 3) for times in over.times]}
            for over in one.overloads
        ],
        "follows": one.verdict,
        "breaks": ["in time" if share else "at rest" for share in one.shares],
        "states": list(one.states),
        "stayed_only_by_a_person": list(one.by_person),
        "fall_as_well": list(one.others),
        "explanation": one.explanation,
    }  # fmt: skip


def _tested(one: Tested) -> dict[str, object]:
    return {
        "explanation": one.explanation,
        "breaks_as_well_at_rest": list(one.resting),
        "breaks_as_well_in_time": list(one.upper),
        "fits": ["in time" if share else "at rest" for share in one.shares],
        "parts": [_weighed(part) for part in one.parts],
    }


def _weighed(one: Weighed) -> dict[str, object]:
    drop = one.drop
    return {
        "failure": one.failure,
        "by_load": one.by_load,
        "state": one.words or None,
        "no_strength_given": one.lacks_strength,
        "knot": one.knot,
        "strength_kN": _kn(one.strength),
        "kept": one.kept,
        "as_it_hung_kN": _kn(one.resting),
        "others_gone_kN": [_kn(one.left), _kn(one.peak)],
        "times_needed": None if one.needed is None else round(one.needed, 3),
        "drop": drop and {
            "body": drop.body,
            "height_m": drop.height and round(drop.height, 2),
            "not_even_from_m": None if drop.height else round(drop.most, 2),
            "free_fall_m": drop.free_fall and round(drop.free_fall, 2),
            "fall_factor": drop.fall_factor and round(drop.fall_factor, 3),
        },
    }  # fmt: skip


def _kn(newtons: float | None) -> float | None:
    return None if newtons is None else round(newtons / 1000, 3) + 0.0

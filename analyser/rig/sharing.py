"""What several parts share beside what they touch: structures, hazards near them, edges they lie across."""

from __future__ import annotations

from analyser.language.mistakes import near
from analyser.language.syntax import RopeLine, Word
from analyser.rig.bench import Bench, Draft, is_a
from analyser.rig.declaring import add
from analyser.rig.elements import Nature, Part
from analyser.rig.model import Caution

WHOLE = (Nature.STRUCTURE, Nature.GROUND, Nature.JOINT, Nature.PULLEY, Nature.FRAME)
"""What something can be part of."""
HANGING = (Nature.JOINT, Nature.PULLEY)
"""Of these, what hangs itself: nothing that holds without it is part of it."""
HOLDING = (Nature.GROUND, Nature.STRUCTURE)

DIGITS = "0123456789-"


def share(bench: Bench) -> None:
    """Look up what parts are part of, near and across. A structure need not be declared: `part of
    loose-block` makes it."""
    made: dict[str, list[str]] = {}
    declared = set(bench.parts)
    for draft in list(bench.drafts.values()):
        share_part(bench, draft)
        for word in draft.named("part_of"):
            if word.text not in declared and word.text in bench.parts:
                made.setdefault(word.text, []).append(draft.name)
    for statement in bench.document.statements:
        if isinstance(statement, RopeLine):
            near_rope(bench, statement)
    for name, members in made.items():
        others = [one for one, part in bench.parts.items() if part.nature is Nature.STRUCTURE and one != name]
        plain = name.strip(DIGITS)
        alike = near(name, [one for one in others if one.strip(DIGITS) != plain], 1)
        if len(members) == 1 and alike and (alike[0] not in made or len(made[alike[0]]) > 1):
            text = f"only `{members[0]}` is part of `{name}`: did you mean `{alike[0]}`?"
            bench.cautions.append(Caution("lone-structure", (name,), text, bench.parts[name].place))


def near_rope(bench: Bench, line: RopeLine) -> None:
    """Look up what a rope is near."""
    around = [a.words for a in line.attributes if a.key == "near"]
    around += [station.near for station in line.stations]
    for words in around:
        for word in words:
            bench.hazards.setdefault(word.text, word.place)


def share_part(bench: Bench, draft: Draft) -> None:
    """Look up what one part is part of, near and across."""
    for word in draft.named("part_of"):
        if word.text not in bench.parts and word.text not in bench.ropes and not bench.doubtful(word.text):
            add(bench, word, bench.kinds["structure"])
        _part_of(bench, bench.parts[draft.name], word)
    for word in draft.named("near"):
        bench.hazards.setdefault(word.text, word.place)
    for word in draft.named("across"):
        hint = "name the edge that it lies across"
        if edge := bench.one_of(word, (Nature.EDGE,), "edge", "edge", ", not an edge", hint):
            bench.used.add(edge.name)


def _part_of(bench: Bench, member: Part, word: Word) -> None:
    whole = bench.part(word) if word.text not in bench.ropes else None
    if word.text in bench.ropes:
        bench.wrong(word.place, f"`{word.text}` is a rope: no part is part of it", "name the structure")
    elif whole is member:
        bench.wrong(word.place, f"`{member.name}` is part of itself", "name the structure that it is part of")
    elif whole and whole.nature not in WHOLE:
        bench.wrong(word.place, f"{is_a(whole)}: no part is part of it", "name a structure, an anchor or a frame")
    elif whole and whole.nature in HANGING and member.nature in HOLDING:
        text = f"{is_a(whole)}, which holds only while it is held: no {member.kind} is part of it"
        hint = f"what hangs there is attached to it: `attach {whole.name} - …`"
        if "bar" in whole.family:
            point = f"{whole.name}.{member.name}"
            hint = (
                f"what hangs there is attached to a point of it: name `{member.name}` among its `points` in place of "
            )
            hint += f"the {member.kind}, and write `attach {point} - …`"
        bench.wrong(word.place, text, hint)
    elif whole:
        bench.used |= {whole.name, *([member.name] if member.nature is Nature.STRUCTURE else [])}

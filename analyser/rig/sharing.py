"""What several parts share beside what they touch: structures, hazards near them, edges they lie across."""

from __future__ import annotations

from analyser.language.mistakes import near, with_article
from analyser.language.syntax import RopeLine, Word
from analyser.rig.drafting import Bench, Draft
from analyser.rig.model import Caution, Nature

WHOLE = (Nature.STRUCTURE, Nature.GROUND, Nature.JOINT, Nature.PULLEY, Nature.FRAME)
"""What something can be part of."""

DIGITS = "0123456789-"


def share(bench: Bench) -> None:
    """Look up what parts are part of, near and across. A structure need not be declared: `part of
    loose-block` makes it."""
    made: dict[str, list[str]] = {}
    declared = set(bench.parts)
    for draft in list(bench.parts.values()):
        share_part(bench, draft)
        for word in draft.part_of:
            if word.text not in declared and word.text in bench.parts:
                made.setdefault(word.text, []).append(draft.name)
    for statement in bench.document.statements:
        if isinstance(statement, RopeLine):
            near_rope(bench, statement)
    for name, members in made.items():
        others = [one for one, draft in bench.parts.items() if draft.nature is Nature.STRUCTURE and one != name]
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
    for word in draft.part_of:
        if word.text not in bench.parts and word.text not in bench.ropes and not bench.doubtful(word.text):
            bench.add(word, bench.kinds["structure"])
        _part_of(bench, draft, word)
    for word in draft.near:
        bench.hazards.setdefault(word.text, word.place)
    for word in draft.across:
        edge = bench.part(word, "edge", (Nature.EDGE,), "edge")
        if edge and edge.nature is not Nature.EDGE:
            text = f"`{edge.name}` is {with_article(edge.kind.name)}, not an edge"
            bench.wrong(word.place, text, "name the edge that it lies across")
        elif edge:
            bench.used.add(edge.name)


def _part_of(bench: Bench, draft: Draft, word: Word) -> None:
    whole = bench.part(word) if word.text not in bench.ropes else None
    if word.text in bench.ropes:
        bench.wrong(word.place, f"`{word.text}` is a rope: no part is part of it", "name the structure")
    elif whole is draft:
        bench.wrong(word.place, f"`{draft.name}` is part of itself", "name the structure that it is part of")
    elif whole and whole.nature not in WHOLE:
        text = f"`{whole.name}` is {with_article(whole.kind.name)}: no part is part of it"
        bench.wrong(word.place, text, "name a structure, an anchor or a frame")
    elif whole:
        bench.used |= {whole.name, *([draft.name] if draft.nature is Nature.STRUCTURE else [])}

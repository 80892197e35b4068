"""What stands under the pointer: a part and what follows if it fails, a person and by what they are
held, a word of the language and what it says. In Markdown."""

from __future__ import annotations

from analyser.checking.fates import happens, standing, together
from analyser.checking.finding import listed, verb
from analyser.checking.held_by import held_by, in_words
from analyser.checking.letterhead import CAUTIONS
from analyser.checking.results import Result
from analyser.doors.editor.looking_up import name_at
from analyser.doors.editor.names import Named, Sort
from analyser.doors.editor.readings import Reading
from analyser.doors.editor.wording import of_the_language
from analyser.language.mistakes import Place, with_article
from analyser.pages.writers.markdown import literal
from analyser.rig.catalogue import MEANINGS
from analyser.rig.figures import USUAL, use
from analyser.rig.model import Part, Rig, Rope

MOST_SHOWN = 8
"""Contacts, failures and the like shown in one hover."""


def hover(reading: Reading, result: Result | None, shown: str, line: int, column: int) -> tuple[str, Place] | None:
    """The text for a place and what it is about, or None where there is nothing to say.

    `result` is the check of this reading; None while there is none."""
    for one in name_at(reading, shown, line, column):
        text = about(reading, result, one)
        if text:
            return text, one.place
    keyword = reading.names.keyword_at(shown, line, column)
    if keyword:
        text = of_the_language(keyword)
        return (text, keyword.place) if text else None
    return None


def about(reading: Reading, result: Result | None, named: Named) -> str:
    rig = reading.rig
    use(rig.units if rig else USUAL)
    if named.sort is Sort.KIND:
        return _kind(reading, named.name)
    if rig is None or named.sort is Sort.FILE:
        kind = reading.names.kind_of.get(named.name)
        return f"`{named.name}`: {kind}. The rig can't be read yet, so nothing is said of it." if kind else ""
    rope = next((one for one in rig.ropes if one.name == named.name), None)
    lines: list[str] = []
    if rope:
        lines += _rope(rope)
    elif named.name in rig.parts:
        lines += _part(reading, rig, rig.parts[named.name])
    elif any(failure.part == named.name for failure in rig.failures):
        lines.append(f"**{named.name}**: a common cause")
    if not lines:
        return ""
    consequences = _consequences(rig, result, named.name)
    if consequences:
        lines += [*consequences, "", f"*{' '.join(CAUTIONS)}*"]
    return "\n".join(lines)


def _kind(reading: Reading, name: str) -> str:
    kind = reading.kinds.get(name)
    if kind is None:
        return ""
    like = f", like `{kind.like}`" if kind.like else ""
    lines = [f"**{name}**: a kind{like}", "", literal(kind.meaning)]
    if kind.like and MEANINGS[str(kind.nature)] != kind.meaning:
        lines.append(f"\n`{kind.nature}`: {MEANINGS[str(kind.nature)]}")
    return "\n".join(lines)


def _part(reading: Reading, rig: Rig, part: Part) -> list[str]:
    kind = reading.kinds.get(part.kind)
    lines = [f"**{part.name}**: {with_article(part.kind)}" + (f" of `{part.body}`" if part.body else "")]
    meaning = kind.meaning if kind else MEANINGS.get(str(part.nature), "")
    lines += ["", literal(meaning)] if meaning else []
    if part.note:
        lines += ["", f"“{literal(part.note)}”"]
    facts = [f"{name} {quantity.text}" for name, quantity in part.quantities]
    feet = [f"stands on `{part.stands_on}`"] if part.stands_on else ["standing"] * part.standing
    facts += feet + ["exposed"] * (part.exposed and not part.stands_on) + ["self-locking"] * part.self_locking
    facts += ["anti-panic"] * part.anti_panic + ["held open"] * part.held_open + ["lowers by itself"] * part.lowers
    facts += ["carries through"] * part.carries_through
    facts += [part.hitch] if part.hitch else []
    facts += [f"operated by `{part.operated_by}`"] if part.operated_by else []
    facts += [f"minded by `{part.minded_by}`"] if part.minded_by else []
    facts += [f"in the rope `{part.rope}`"] if part.rope else []
    facts += [f"at {part.place_words}"] if part.at else []
    facts += [f"padded by {_names(part.guards)}"] if part.guards else []
    facts += [need.words for need in part.needs]
    if facts:
        lines += ["", " · ".join(facts)]
    touching = [c.b if c.a == part.name else c.a for c in rig.contacts if part.name in (c.a, c.b)]
    ropes = [rope.name for rope in rig.ropes if any(s.part == part.name for s in rope.stations)]
    if touching:
        lines += ["", f"touches {_names(touching)}"]
    if ropes and not part.rope:
        lines += ["", f"on the rope {_names(ropes)}"]
    return lines


def _rope(rope: Rope) -> list[str]:
    facts = [f"{name} {quantity.text}" for name, quantity in rope.quantities] + ["tag line"] * rope.tag_line
    lines = [f"**{rope.name}**: a rope, from `{rope.stations[0].label}` to `{rope.stations[-1].label}`"]
    lines += ["", f"“{literal(rope.note)}”"] if rope.note else []
    return lines + (["", " · ".join(facts)] if facts else [])


def _consequences(rig: Rig, result: Result | None, name: str) -> list[str]:
    """How a body is held; what each failure of a part brings about."""
    if result is None:
        return []
    outcome = result.states[0].outcome
    lines: list[str] = []
    body = next((one for one in outcome.bodies if one.name == name), None)
    if body:
        state = standing(body.fate)
        exact = "" if body.independent_exact else "at least "
        number = "no failure drops them" if body.independent is None else f"{exact}{body.independent} independent"
        lines += ["", f"{state}; {body.attachments} attachments, {number}"]
        if body.smallest_failure_set:
            sets = result.failure_sets[name]
            smallest = next(one for one in sets if len(one) == body.smallest_failure_set)
            lines += ["", f"not held after {body.smallest_failure_set}: {' and '.join(smallest)}"]
        for way in body.ways:
            feet = way == (f"{name} loses footing",)
            by = "their own feet" if feet else in_words(held_by(rig, name, way))
            lines += ["", f"by {by}"]
    own = [one for one in outcome.failures if one.part == name or one.part.startswith(f"{name}[")]
    for failure in own[:MOST_SHOWN]:
        said = [happens(one) for one in together(failure.fates)]
        one_left = [who for who in failure.down_to_one if who not in failure.falls]
        said += [f"{listed(one_left)} {verb(one_left, 'is', 'are')} on one"] if one_left else []
        lines += ["", f"if `{failure.id}`: {'; '.join(said) or 'everybody is held, nobody is left on one'}"]
    if len(own) > MOST_SHOWN:
        lines += ["", f"and {len(own) - MOST_SHOWN} more failures"]
    for judged in (*rig.sound, *rig.accepted):
        if judged.failure.split(" ")[0].split("[")[0] == name:
            taken = "accepted" if judged in rig.accepted else "taken as impossible"
            lines += ["", f"`{judged.failure}`: {taken} (line {judged.place.line}): {literal(judged.reason)}"]
    return lines


def _names(names: list[str] | tuple[str, ...]) -> str:
    shown = [f"`{name}`" for name in dict.fromkeys(names)]
    more = f" and {len(shown) - MOST_SHOWN} more" if len(shown) > MOST_SHOWN else ""
    return ", ".join(shown[:MOST_SHOWN]) + more

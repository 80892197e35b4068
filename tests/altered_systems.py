"""What is done to a random system once it is written: a name in place of another, a rope in two, people joined."""

from __future__ import annotations

import random
import re

from random_rigs import Choices


def mutated(text: str, choices: Choices) -> str:
    """The same with one name put in another's place, or one line left out."""
    lines = text.splitlines()
    met = [k for k, line in enumerate(lines) if re.match(r"attach|    (tied|through|gripped)", line)]
    if not met:
        return text
    at = choices.pick(met)
    if choices.chance(25):
        return "\n".join([*lines[:at], *lines[at + 1 :]]) + "\n"
    names = re.findall(r"\b(?:[a-z]+\d+(?:\.[a-z]+)?)\b", text)
    own = re.findall(r"\b(?:[a-z]+\d+(?:\.[a-z]+)?)\b", lines[at].split(" as ")[0])
    if not own:
        return text
    old, new = choices.pick(own), choices.pick(sorted(set(names)))
    lines[at] = re.sub(rf"(?<![\w.-]){re.escape(old)}(?![\w.-])", new, lines[at], count=1)
    return "\n".join(lines) + "\n"


def with_bend(text: str, rng: random.Random) -> str:
    """The same with one of its ropes in two pieces, joined by a bend; sometimes said on the one, sometimes on the
    other."""
    lines = text.splitlines()
    heads = [k for k, line in enumerate(lines) if line.startswith("rope ")]
    spots = []
    for head in heads:
        under = head + 1
        while under < len(lines) and lines[under].startswith("    "):
            under += 1
        row = lines[head + 1 : under]
        if not any(line.strip().startswith(("closed", "near", "inside", "slack", "again")) for line in row):
            spots += [(head, at, under) for at in range(head + 2, under)]
    if not spots:
        return text
    head, at, under = rng.choice(spots)
    name, _, said = lines[head].removeprefix("rope ").partition(":")
    first, second = lines[head + 1 : at], lines[at:under]
    first, second = (_loaded_from(first, second, "end"), _loaded_from(second, first, "start"))
    bend = f"with sheet-bend as {name}-joint"
    if rng.random() < 0.5:
        first = [*first, f"    joined to start of {name}-two {bend}"]
    else:
        second = [f"    joined to end of {name} {bend}", *second]
    other = f"rope {name}-two" + (f":{said}" if said else "")
    return "\n".join([*lines[: head + 1], *first, other, *second, *lines[under:]]) + "\n"


def with_sling(text: str, rng: random.Random) -> str:
    """The same with a sling from something attached to one of the people, or their device, to another of them."""
    lines = text.splitlines()
    people = re.findall(r"^person ([\w-]+)(?::.*?points ([\w-]+))?", text, re.MULTILINE)
    spots = [k for k, line in enumerate(lines) if line.startswith("attach ")]
    if len(people) < 2 or not spots:
        return text
    name, point = rng.choice(people)
    parts = re.findall(r"[\w.-]+", " ".join(lines[k].removeprefix("attach ") for k in spots))
    ends = [part for part in parts if re.search(r"\d", part) and not part.startswith(name)]
    if not ends:
        return text
    end = f"{name}.{point}" if point else name
    return (
        "\n".join(
            [*lines[: spots[-1] + 1], f"attach {rng.choice(ends)} - sling joining - {end}", *lines[spots[-1] + 1 :]]
        )
        + "\n"
    )


def with_tail(text: str, rng: random.Random) -> str:
    """The same with one contact of two parts made a short rope, tied at both."""
    lines = text.splitlines()
    spots = [k for k, line in enumerate(lines) if re.fullmatch(r"attach [\w.-]+ - [\w.-]+", line)]
    if not spots:
        return text
    grips = re.findall(r"\b(?:friction-hitch|rope-grab|ascender|cam-pulley|descender|brake) ([\w-]+)", text)
    on_grips = [k for k in spots if {*lines[k].split()} & {*grips}]
    at = rng.choice(on_grips or spots)
    _, one, _, other = lines[at].split()
    lines[at] = f"rope tail\n    tied to {one} as tail-one\n    tied to {other} as tail-other"
    return "\n".join(lines) + "\n"


def _loaded_from(mine: list[str], theirs: list[str], way: str) -> list[str]:
    """Stations whose loaded side is told by one of the other piece: that lies beyond this end now."""
    known = re.findall(r"[\w-]+", " ".join(mine))
    named = set(re.findall(r"[\w-]+", " ".join(theirs))) - {"start", "end"}
    found = []
    for line in mine:
        told = re.search(r", load from ([\w.-]+)(#\d+)?$", line)
        beyond = told and (told[2] or (told[1] in named and known.count(told[1]) == 1))
        found.append(line[: told.start()] + f", load from {way}" if told and beyond else line)
    return found

"""What happens to people, told: every sentence of who falls, runs, tips or drops is made here."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from analyser.checking.sentences import either, in_few, listed
from analyser.holding.fate import Fate, Kind
from analyser.rig.figures import as_length


@dataclass(frozen=True, slots=True)
class Verb:
    """What one does, what many do, what is said behind it, and what behind that where there is room; `short`: what is
    said behind it where there is little."""

    one: str
    many: str
    rest: str = ""
    further: str = ""
    short: str = ""


VERBS = {
    Kind.FALLS: Verb("falls", "fall"),
    Kind.BY_A_PERSON: Verb("hangs", "hang", " only from a person"),
    Kind.BY_ANOTHERS_WEIGHT: Verb("stays", "stay", " up only by another's weight"),
    Kind.RUNS: Verb("runs", "run"),
    Kind.TO_THE_GROUND: Verb("comes", "come", " to the ground"),
    Kind.TURNS_OVER: Verb("turns", "turn", " over"),
    Kind.TIPS: Verb("tips", "tip"),
    Kind.DROPS: Verb("drops", "drop"),
    Kind.SLACKENS: Verb("drops", "drop", ", then held", " (how far isn't told)", ", held"),
    Kind.HELD: Verb("is", "are", " held"),
}


@dataclass(frozen=True, slots=True)
class Together:
    """Bodies to which one and the same happens."""

    fate: Fate
    bodies: tuple[str, ...]

    @property
    def loud(self) -> bool:
        """Is it worse than that one drops and is held then?"""
        return self.fate.kind not in (Kind.SLACKENS, Kind.HELD)


SHAKEN = (Kind.TIPS, Kind.TURNS_OVER, Kind.DROPS, Kind.SLACKENS)
"""What happens to somebody who is held all the same, and not as before."""


def together(fates: Iterable[tuple[str, Fate]]) -> tuple[Together, ...]:
    """Bodies and what happens to each, alike ones together, the worst first."""
    found: dict[Fate, list[str]] = {}
    for name, fate in fates:
        found.setdefault(fate, []).append(name)
    ordered = sorted(found.items(), key=lambda item: (item[0].kind.rank, item[1]))
    return tuple(Together(fate, tuple(sorted(names))) for fate, names in ordered)


def ending(fate: Fate) -> str:
    """To what it runs or comes, and by how much it drops, as far as is told: ` to stop, how far isn't told`."""
    if fate.kind is Kind.DROPS and fate.drop is not None:
        return f" {as_length(fate.drop, '.2g')}"
    if fate.kind is Kind.RUNS:
        to = f" to {either(fate.to)}" if fate.to else ""
        far = as_length(fate.drop, ".2g") if fate.drop is not None else "how far isn't told"
        return f"{to}, {far}"
    if fate.kind is Kind.TIPS and fate.to:
        return f", and the end that let go runs to {either(fate.to)}"
    return ""


def happens(one: Together) -> str:
    """`sam and vic run to knot-1, how far isn't told`."""
    return f"{listed(one.bodies)} {_does(one)}"


def happens_to(one: Together) -> str:
    """The same without the names, where they are told already: `fall`, `run to knot-1, how far isn't told`."""
    return _does(one)


def _does(one: Together, *, loud: bool = False) -> str:
    verb = VERBS[one.fate.kind]
    word = verb.one if len(one.bodies) == 1 else verb.many
    return f"{word.upper() if loud and one.loud else word}{verb.rest}{verb.further}{ending(one.fate)}"


def in_few_words(fate: Fate, several: bool) -> str:
    """What happens to one, or to several, in a word or two: `drops, held`, `tip`."""
    verb = VERBS[fate.kind]
    return f"{verb.many if several else verb.one}{verb.short or verb.rest}"


def in_words(several: Sequence[Together]) -> str:
    """`sam falls; vic runs to knot-1, how far isn't told`."""
    return "; ".join(happens(one) for one in several)


def briefly(several: Sequence[Together]) -> str:
    """The same with few names: `a, b, c and 4 more drop, then held (how far isn't told)`."""
    return "; ".join(f"{in_few(one.bodies)} {_does(one)}" for one in several)


def loud(one: Together) -> str:
    """The same with the word that counts in capitals: `sam and vic RUN to knot-1, how far isn't told`."""
    return f"{listed(one.bodies)} {_does(one, loud=True)}"


def loudly(fate: Fate) -> str:
    """What happens to one body, without its name: `RUNS to knot-1, how far isn't told`."""
    return _does(Together(fate, ("",)), loud=True)


def told(fate: Fate) -> str:
    """The same in plain letters."""
    return _does(Together(fate, ("",)))


def standing(fate: Fate, person: str = "") -> str:
    """How one body is held with nothing failed, in as few words: `NOT HELD: hangs only from vic`, `TIPS`; `person`: the
    one it hangs from, where it is one."""
    if fate.not_held:
        return unheld(fate, person)
    return "held" if fate.kind is Kind.HELD else loudly(fate)


def unheld(fate: Fate, person: str = "", at: str = "") -> str:
    """`NOT HELD`, `at` some moment, and how that shows where it is not that they fall: one wording for all pages."""
    if fate.kind is Kind.FALLS:
        return f"NOT HELD{at}"
    if fate.kind is Kind.BY_A_PERSON:
        return f"NOT HELD{at}: hangs only from {person or 'a person'}"
    return f"NOT HELD{at}: {told(fate)}"


def already(several: Sequence[Together], holder: Callable[[str], str], at: str = "") -> str:
    """What happens with nothing failed: `sam is NOT HELD; vic is NOT HELD: runs to knot-1, how far isn't told`;
    `holder`: from whom a body hangs, where that is one person; `at`: when."""
    return "; ".join(_already(one, holder, at) for one in several)


def _already(one: Together, holder: Callable[[str], str], at: str) -> str:
    if not one.fate.not_held:
        return loud(one)
    people = {holder(name) for name in one.bodies} if one.fate.kind is Kind.BY_A_PERSON else {""}
    told = unheld(one.fate, people.pop() if len(people) == 1 else "", at)
    return f"{listed(one.bodies)} {'is' if len(one.bodies) == 1 else 'are'} {told}"


def who(names: Sequence[str], fate: Fate) -> str:
    return happens(Together(fate, tuple(names)))

"""The walk-down and the cards as pages to print, and as Markdown. Text that came from a file is escaped."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby

from analyser.pages.writing.old import own, sealed, template
from analyser.pages.writing.translation import Catalogue, verdict
from analyser.uses.field.cards import Cards
from analyser.uses.field.said import Said, said
from analyser.uses.field.trying import MAY_HOLD, NEVER_JOINED, TOLD, Slip, Trial
from analyser.uses.field.walk_sheet import BUILT, Walkdown
from analyser.uses.field.walking import EDGE, GROUND, LATER, LOAD, ROPE, Item

GRADES = ((1, "grade-1", "grade-1-means"), (2, "grade-2", "grade-2-means"), (3, "grade-3", "grade-3-means"))
SECTION_WORD = {
    GROUND: "section-ground",
    ROPE: "section-rope",
    EDGE: "section-edge",
    LOAD: "section-load",
    LATER: "later-step",
}
SLIP_WORD = {
    "unlocked": "slip-unlocked",
    "undone": "slip-undone",
    "not placed": "slip-not-placed",
    "not tied": "slip-not-tied",
    "half tied": "slip-half-tied",
    "wrong way": "slip-wrong-way",
    "loose": "slip-loose",
}
"""How the slips of `findings.latent.UNSEEN` are told."""
ROLE_WORD = {
    "controller": "role-controller",
    "operator": "role-operator",
    "hands": "role-hands",
    "edge": "role-edge",
    "attendant": "role-attendant",
    "rope": "role-rope",
    "helper": "role-helper",
}
MARK_WORD = {"say": "mark-say", "check": "mark-check", "do": "mark-do"}
PAPERS = ("a6", "a5")


@dataclass(frozen=True)
class _Shown:
    """One test as the sheet tells it."""

    number: int
    what: Said
    slack: Said
    bodies: Said
    along: Said
    shows: tuple[tuple[str, tuple[Said, ...]], ...]


def walkdown_html(made: Walkdown, words: Catalogue) -> str:
    """A whole page that needs nothing else, for A4 or Letter, in black and white."""
    style, script = own("paper.css") + own("walkdown.css"), own("walkdown.js")
    return template("walkdown.html").render(
        **_told(made, words),
        t=words.html,
        words=words.text,
        language=words.language,
        style=style,
        script=script,
        policy=sealed(style, script),
        head=_head(made),
        save_as=f"{made.file.removesuffix('.rig')}.found",
    )


def walkdown_markdown(made: Walkdown, words: Catalogue) -> str:
    return template("walkdown.md").render(**_told(made, words), t=words.text)


def _told(made: Walkdown, words: Catalogue) -> dict[str, object]:
    slips = {slip.failure: slip for slip in made.tests.slips}
    about = "as-built" if made.built == BUILT else "as-written"
    return {
        "w": made,
        "rig": made.result.rig,
        "verdict": said(about, verdict=verdict(made.result, otherwise=made.result.met and not made.met)),
        "grades": GRADES,
        "later": [item for item in made.items if item.step is not None],
        "mark": mark,
        "by_section": by_section,
        "section_word": SECTION_WORD,
        "tests": [_test(test, slips) for test in made.tests.tests],
        "look": tuple(_slips_said([slips[one] for one in made.tests.look])),
    }


def by_section(items: Iterable[Item]) -> list[tuple[str, list[Item]]]:
    """Items that follow one another in a section of the walk."""
    return [(section, list(several)) for section, several in groupby(items, lambda item: item.section)]


def mark(item: Item) -> Said | None:
    """How a critical point is marked."""
    one = item.critical
    if one.falls:
        return said("mark-single-accepted" if one.accepted else "mark-single", bodies=one.falls)
    return said("mark-one", bodies=one.left) if one.left else None


def _test(test: Trial, slips: dict[str, Slip]) -> _Shown:
    what = said("test-own", person=test.of, line=test.line) if test.of else said("test-line", line=test.line)
    slack = said("test-slack", lines=test.slack) if test.slack else said("test-only")
    fresh = [slips[one] for one in test.fresh]
    groups: list[tuple[str, Sequence[Slip]]] = [
        ("test-shows", [slip for slip in fresh if slip.how not in MAY_HOLD]),
        ("test-may", [slip for slip in fresh if slip.how in MAY_HOLD]),
        ("test-uncaught", [slips[one] for one in test.uncaught]),
    ]
    shows = tuple((title, tuple(_slips_said(several))) for title, several in groups if several)
    if not fresh:
        shows = (("test-new", ()), *shows)
    bodies, along = said("test-bodies", bodies=test.bodies), said("test-along", parts=" – ".join(test.along))
    return _Shown(test.number, what, slack, bodies, along, shows)


def _slips_said(slips: Sequence[Slip]) -> Iterator[Said]:
    """Slips of one sort together, as the sheet tells them."""
    for how, key in SLIP_WORD.items():
        parts = tuple(slip.part for slip in slips if slip.how == how)
        if parts:
            yield said(key, parts=parts)
    pairs = [said("pair", part=slip.part, other=slip.other or "") for slip in slips if slip.how == NEVER_JOINED]
    if pairs:
        yield said("slip-never-joined", pairs=_listed(pairs))
    for slip in slips:
        if slip.how == TOLD:
            yield said("slip-told", part=slip.part, reason=slip.reason or "")


def _listed(several: Sequence[Said]) -> Said:
    """Things said one after another, parted by semicolons."""
    whole = several[0]
    for one in several[1:]:
        whole = said("then", one=whole, other=one)
    return whole


def _head(made: Walkdown) -> str:
    """The first lines of a file of differences: what was walked."""
    rig = made.result.rig
    return f'rig "{rig.title}"' + (f'\nrevision "{rig.revision}"' if rig.revision is not None else "")


# -- cards


def cards_html(made: Cards, words: Catalogue, paper: str) -> str:
    """A whole page that needs nothing else: each card begins a sheet of its own.

    Type of 11.5 pt on A6: its capitals are 16 minutes of arc high at an arm's length of 0.6 m, the least that
    is asked of text on displays; 14 pt on A5 is 20, what is preferred (NUREG-0700 rev. 2, guideline 1.3.1-4, an
    extract seen; common practice for paper by head lamp: none found). Black on white, no grey.
    """
    style = own("card.css") + own(f"card-{paper}.css")
    return template("card.html").render(
        c=made,
        t=words.html,
        words=words.text,
        language=words.language,
        style=style,
        policy=sealed(style),
        role_word=ROLE_WORD,
        mark_word=MARK_WORD,
    )

"""What each proposal takes away, and the best of them first.

First every proposal is read into a rig and asked, in one sweep, which of the sets that drop
somebody now it takes away. Of the best, all failure sets are then found anew: what came is
counted beside what went. Sets with a failure that the file accepts are left out throughout.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass

from analyser.checking.delivered import Delivered
from analyser.checking.finding import listed
from analyser.holding.outcome import BodyOutcome, Outcome, assess
from analyser.holding.reading import Reading
from analyser.holding.reviewing import Review
from analyser.holding.system import RigSystem
from analyser.language.edit import edited
from analyser.language.identities import spoken
from analyser.language.syntax import Attach
from analyser.rig.building import build
from analyser.rig.model import Effects, Nature, Rig
from analyser.rig.plan import Plan
from analyser.uses.mending import beside, hands, pads, second_anchors, second_lines, stoppers, straps, tails
from analyser.uses.mending.around import Around, Set
from analyser.uses.mending.later import later_words
from analyser.uses.mending.proposal import Proposal

PROPOSERS: tuple[Callable[[Around], Iterator[Proposal]], ...] = (
    straps.propose,
    tails.propose,
    beside.propose,
    pads.propose,
    stoppers.propose,
    hands.propose,
    second_anchors.propose,
    second_lines.propose,
)

STRUCTURE_ONLY = (
    "Ranked by structure, not by practice: whether an addition can be rigged, reached and loaded well is for the "
    "people on the ground. Check the rig again with it, and look at its forces, edges and drops."
)
MOST_SETS = 1_000
"""Sets of a body that a proposal is first judged by: the smallest ones."""
FEWEST_TRIED, MOST_TRIED, MOST_READ = 20, 200, 20_000
"""Proposals that are tried: fewer in a large rig, as each is read; what is left untried is said."""
MOST_OF_A_SORT = 3
MOST_FINALISTS = 12


@dataclass(frozen=True, slots=True)
class Standing:
    """How a body is held. `independent` is None where no failure can drop it; after an addition also
    where the body had two or more before, and they are not counted anew."""

    held: bool
    attachments: int
    independent: int | None
    exact: bool


@dataclass(frozen=True, slots=True)
class Gain:
    """What one addition does for one body: what goes, and what comes with the parts that are added."""

    name: str
    before: Standing
    after: Standing
    singles_gone: tuple[str, ...]
    singles_left: tuple[str, ...]
    pairs_gone: int
    pairs_new: int

    @property
    def by_pairs(self) -> bool:
        """Is all that it does for this body to take away pairs, or bring some?"""
        more = (self.after.independent or 0) > (self.before.independent or 0)
        return self.before.held and not self.singles_gone and not more

    def words(self) -> str:
        """`sam's 4 single points go; 2 independent attachments instead of 1; 8 pairs go, 6 come`."""
        said = self._first_words()
        was, now = self.before.independent, self.after.independent
        if was is not None and now is not None and now > was:
            least = "" if self.after.exact else "at least "
            said.append(f"{least}{_counted(now, 'independent attachment')} instead of {was}")
        if self.before.held and (self.singles_gone or self.singles_left) and (self.pairs_gone or self.pairs_new):
            pairs = _counted(self.pairs_gone, "pair") if self.pairs_gone else "no pair"
            went = f"{pairs} {'goes' if self.pairs_gone < 2 else 'go'}"
            said.append(f"{went}, {_come(self.pairs_new)}")
        return "; ".join(said)

    def _first_words(self) -> list[str]:
        name, gone, left = self.name, self.singles_gone, self.singles_left
        if self.after.held and not self.before.held:
            said = [f"{name} is held, and was not"]
            return [*said, f"{_counted(len(left), 'single point')} left: {_some(left)}"] if left else said
        if not gone:
            went = f"{self.pairs_gone} of {name}'s pairs {'goes' if self.pairs_gone == 1 else 'go'}"
            return [f"{went}, {_come(self.pairs_new)}"]
        if left:
            every = len(gone) + len(left)
            words = f"{len(gone)} of {name}'s {every} single points {'goes' if len(gone) == 1 else 'go'}"
            return [words + (f" ({gone[0]})" if len(gone) == 1 else ""), f"left: {_some(left)}"]
        one = f"{name}'s single point goes ({spoken(gone[0])})"
        return [one if len(gone) == 1 else f"{name}'s {len(gone)} single points go"]


@dataclass(frozen=True, slots=True)
class Mend:
    """One addition: what to paste, and what it takes away. `as_much` names others that do as much."""

    proposal: Proposal
    gains: tuple[Gain, ...]
    hands_off_gone: tuple[str, ...]
    as_much: tuple[str, ...] = ()

    def words(self) -> str:
        by_pairs = [gain for gain in self.gains if gain.by_pairs]
        said = [gain.words() for gain in self.gains if not gain.by_pairs]
        if len(by_pairs) == 1:
            said.append(by_pairs[0].words())
        elif by_pairs:
            gone, new = sum(gain.pairs_gone for gain in by_pairs), sum(gain.pairs_new for gain in by_pairs)
            whose = listed([gain.name for gain in by_pairs])
            said.append(f"of the pairs of {whose}, {gone} {'goes' if gone == 1 else 'go'}, {_come(new)}")
        if self.hands_off_gone:
            names, one = listed(self.hands_off_gone), len(self.hands_off_gone) == 1
            said.append(f"{names} {'stays' if one else 'stay'} held with every hand off")
        return ". ".join(said)


@dataclass(frozen=True, slots=True)
class InNeed:
    """A body, the failures that drop it alone, and how many pairs do."""

    body: BodyOutcome
    singles: tuple[str, ...]
    pairs: int


@dataclass(frozen=True, slots=True, repr=False)
class Mending(Delivered):
    """The rig's small failure sets, and the additions that take away most of them, best first."""

    SHAPE = "analyser.uses.mending.mend_shapes.MendTold"

    rig: Rig
    before: Outcome
    worst: dict[str, list[Set]]
    """For each body in need its sets, those with accepted failures left out."""
    mends: tuple[Mend, ...]
    tried: int
    untried: int
    later: str = ""
    """What later states need, of which no addition is sought."""

    @property
    def off(self) -> list[str]:
        """Who is held, and falls with every hand off."""
        return _off(self.before)

    @property
    def singles(self) -> bool:
        """Does anybody fall with nothing failed, or by one failure?"""
        return any(len(one) < 2 for sets in self.worst.values() for one in sets)

    @property
    def need(self) -> str:
        """What there is to mend, in a sentence; of later states, that there is something."""
        return f"{self._first}{self.later}"

    @property
    def _first(self) -> str:
        if not self.rig.bodies:
            return "nobody and nothing in this file has to be held"
        accepted = "what the file accepts" if self.rig.accepted else ""
        besides, but = (f" {word} {accepted}" if accepted else "" for word in ("besides", "but for"))
        if self.singles:
            said = []
            for name, sets in self.worst.items():
                count = sum(len(one) == 1 for one in sets)
                if () in sets:
                    said.append(f"{name} is not held with nothing failed")
                elif count:
                    said.append(f"{name} has {_counted(count, 'single point')}")
            return f"{', '.join(said)}{besides}"
        if self.off:
            return f"after any single failure everybody is held{but}, yet with every hand off somebody is not"
        if self.worst:
            return f"after any single failure everybody is held{but}: nothing to mend there; what is left is pairs"
        return f"after any one failure and any two everybody is held{but}: nothing needs mending for that"

    @property
    def nothing(self) -> str:
        """Why no addition is named, where none is."""
        if self.mends or not (self.worst or self.off):
            return ""
        what = "what drops somebody now" if self.singles or not self.worst else "more pairs than it brings"
        return f"{self.tried} additions were tried, one at a time, and none takes away {what}: it needs more than one"

    @property
    def bodies(self) -> tuple[InNeed, ...]:
        """Every body, by name, with its small failure sets."""
        counted = _counted_sets(self.rig, self.before.failure_sets)
        return tuple(
            InNeed(
                body,
                tuple(one[0] for one in self.worst.get(body.name, []) if len(one) == 1),
                sum(len(one) == 2 for one in counted[body.name]),
            )
            for body in sorted(self.before.bodies, key=lambda b: b.name)
        )

    @property
    def accepted(self) -> tuple[str, ...]:
        return tuple(one.failure for one in self.rig.accepted)

    @property
    def assumed(self) -> tuple[str, ...]:
        return tuple(one.failure for one in self.rig.sound)

    @property
    def stages_not_analysed(self) -> tuple[str, ...]:
        return tuple(stage.title for stage in self.rig.stages)

    @property
    def short(self) -> str:
        return f"{self.need}; {_counted(len(self.mends), 'addition')} told"


def mend(plan: Plan, most: int = 5) -> Mending:
    """The additions to a rig, one at a time, that take away the most small failure sets."""
    rig = plan.alone
    before = assess(rig)
    sets = _counted_sets(rig, before.failure_sets)
    worst = {name: [one for one in cuts if len(one) < 2] for name, cuts in sets.items()}
    need = {name: sets[name] for name, cuts in worst.items() if cuts}
    if not need:
        off = _off(before)
        need = {name: cuts for name, cuts in sets.items() if cuts and (not off or name in off)}
        need |= {name: [] for name in off if name not in need}
        worst = need
    ordered = {body.name: need[body.name] for body in rig.bodies if body.name in need}
    trial = _Trial(plan, before, ordered)
    stays = staying(rig, {name: worst[name] for name in ordered})
    around = Around(plan, {name: worst[name] for name in ordered}, stays)
    proposals = proposed(around)
    tried = sorted(proposals, key=lambda one: [-sum(_rank(rig, b) == k for b in one.bodies) for k in range(3)])
    tried = tried[: most_tried(rig)]
    rows = [row for proposal in tried if (row := trial.first(proposal))]
    found = [judged for row in _finalists(rows) if (judged := trial.full(row))]
    best: dict[object, _Found] = {}
    as_much: dict[object, list[str]] = {}
    for full in sorted(found, key=lambda full: full.key):
        if best.setdefault(full.sort, full) is not full and full.does == best[full.sort].does:
            as_much.setdefault(full.sort, []).append(full.row.proposal.words)
    told = [trial.told(full, as_much.get(full.sort, [])) for full in list(best.values())[:most]]
    untried = len(proposals) - len(tried)
    return Mending(plan, before, ordered, tuple(told), len(tried), untried, later_words(plan))


def proposed(around: Around) -> list[Proposal]:
    """Every addition that may help somebody, each once."""
    found: dict[object, Proposal] = {}
    for propose in PROPOSERS:
        for one in propose(around):
            if one.bodies:
                found.setdefault(what_it_joins(one), one)
    return list(found.values())


def most_tried(rig: Rig) -> int:
    """How many additions are tried: fewer in a large rig, as each makes another."""
    return max(FEWEST_TRIED, min(MOST_TRIED, MOST_READ // len(rig.parts)))


Key = tuple[int | str, ...]
Gone = dict[str, list[Set]]


@dataclass(frozen=True, slots=True)
class _Row:
    """A proposal read into a rig: the sets that it takes away, and who no longer falls with hands off."""

    key: Key
    proposal: Proposal
    rig: Rig
    off: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Found:
    """A proposal of which all sets are known: what went and what came, body by body."""

    key: Key
    row: _Row
    review: Review
    gone: Gone
    came: Gone
    after: Gone
    alone: frozenset[str]
    """Who still falls by one failure, accepted ones included."""

    @property
    def sort(self) -> object:
        """Proposals of one sort that take away the same single points are told as one; where there
        are none, those for the same bodies."""
        small = frozenset((name, one) for name, sets in self.gone.items() for one in sets if len(one) < 2)
        bodies = frozenset(name for name, sets in self.gone.items() if sets)
        return self.row.proposal.sort, small or bodies, self.row.off

    @property
    def does(self) -> object:
        """What it does in numbers."""
        return sorted((name, len(sets), len(self.came[name])) for name, sets in self.gone.items())


class _Trial:
    """Judging proposals against one rig."""

    def __init__(self, plan: Plan, before: Outcome, need: dict[str, list[Set]]) -> None:
        self.plan, self.rig, self.before, self.need = plan, plan.alone, before, need
        self.columns: list[Set] = list(dict.fromkeys(one for sets in need.values() for one in sets[:MOST_SETS]))
        self.place = {one: k for k, one in enumerate(self.columns)}
        self.was = _counted_sets(self.rig, before.failure_sets)
        self.singles = any(len(one) < 2 for one in self.columns)

    def first(self, proposal: Proposal) -> _Row | None:
        """Which of the sets that drop somebody now does it take away? None when it does not read
        as a rig, or takes nothing away."""
        made, _ = build(edited(self.plan.document, proposal.edit))
        if made is None:
            return None
        new = made.alone
        system = RigSystem(new)
        rows, impossible = rows_of(new, self.columns)
        width = len(self.columns) + 1
        hands = 1 << (width - 1)
        goals = dict.fromkeys([*self.need, *_off(self.before)], (1 << width) - 1)
        held = system.read(Reading.HELD, [*rows, (new.hands_off, hands)], width, goals)
        gone: Gone = {}
        for name, sets in self.need.items():
            mine = held[name] | impossible
            gone[name] = [one for one in sets[:MOST_SETS] if mine >> self.place[one] & 1]
        off = tuple(name for name in _off(self.before) if held[name] & hands)
        if not off and not any(gone.values()):
            return None
        return _Row(self.worth(gone, off, proposal), proposal, new, off)

    def worth(self, gone: Gone, off: tuple[str, ...], proposal: Proposal, came: Gone | None = None) -> Key:
        """Less is better: nobody fallen, single points, then size, hands, the single points of whoever
        is now held at all, pairs; people first."""
        came = came or {}
        fallen, singles, pairs = self.counts(gone, came)
        left = sum(len(one) == 1 for name, sets in came.items() if () in gone[name] for one in sets)
        at_once = any(count < 0 for count in (*fallen, *singles))
        return (
            *fallen,
            *singles,
            proposal.size if at_once else 0,
            -len(off),
            left,
            *pairs,
            proposal.lines,
            proposal.taste,
            _pasted(proposal),
        )

    def counts(self, gone: Gone, came: Gone) -> list[list[int]]:
        """By size of set, then people, litters, loads: what came less what went. What can now drop
        a body that was not held at all did not come by the addition."""
        counts = [[0, 0, 0] for _ in range(3)]
        for name, sets in gone.items():
            whose = _rank(self.rig, name)
            for one in sets:
                counts[len(one)][whose] -= 1
            for one in came.get(name, ()) if () not in sets else ():
                counts[len(one)][whose] += 1
        return counts

    def full(self, row: _Row) -> _Found | None:
        """All failure sets anew; None when somebody gains a single point by it, or nothing goes."""
        review = Review(row.rig)
        found = review.failure_sets([body.name for body in row.rig.bodies], 2).found
        after = _counted_sets(row.rig, found)
        gone: Gone = {}
        came: Gone = {}
        for name, was in self.was.items():
            now = after[name]
            gone[name] = [one for one in was if one not in set(now)]
            came[name] = [one for one in now if one not in set(was)]
            if () not in was and any(len(one) < 2 for one in came[name]):
                return None
        counts = self.counts(gone, came)
        at_once = any(count < 0 for size in counts[:2] for count in size)
        if not at_once and not row.off and (self.singles or sum(counts[2]) >= 0):
            return None
        alone = frozenset(name for name, cuts in found.items() if any(len(cut) == 1 for cut in cuts))
        return _Found(self.worth(gone, row.off, row.proposal, came), row, review, gone, came, after, alone)

    def told(self, one: _Found, as_much: list[str]) -> Mend:
        """The same for people and scripts: what each body gains by it."""
        gains = []
        for body in self.before.bodies:
            name = body.name
            gone, came, left = one.gone[name], one.came[name], one.after[name]
            if not gone and not came:
                continue
            number, exact = self.independent(one, body)
            gains.append(
                Gain(
                    name,
                    Standing(body.held, body.attachments, body.independent, body.independent_exact),
                    Standing(() not in left, one.review.attachments(name), number, exact),
                    tuple(cut[0] for cut in gone if len(cut) == 1),
                    tuple(cut[0] for cut in left if len(cut) == 1),
                    sum(len(cut) == 2 for cut in gone),
                    sum(len(cut) == 2 for cut in came),
                )
            )
        return Mend(one.row.proposal, tuple(gains), one.row.off, tuple(as_much))

    @staticmethod
    def independent(one: _Found, body: BodyOutcome) -> tuple[int | None, bool]:
        """Independent attachments with the addition: counted for those who had fewer than two."""
        if () in one.after[body.name]:
            return 0, True
        if body.name in one.alone:
            return 1, True
        if body.independent is None or body.independent > 1:
            return None, True
        ways = one.review.independent(body.name)
        return ways.number, ways.exact


def staying(rig: Rig, worst: Mapping[str, list[Set]]) -> dict[str, dict[str, int]]:
    """For each body and part: in which of the body's worst sets (a bit each) the part stays held."""
    columns = list(dict.fromkeys(one for sets in worst.values() for one in sets[:MOST_SETS]))
    place = {one: k for k, one in enumerate(columns)}
    if not columns:
        return {}
    system = RigSystem(rig)
    rows, _ = rows_of(rig, columns)
    held = system.bearing(rows, len(columns))
    found: dict[str, dict[str, int]] = {}
    for body, sets in worst.items():
        mine = [place[one] for one in sets[:MOST_SETS]]
        found[body] = {
            name: sum(1 << k for k, column in enumerate(mine) if bits >> column & 1) for name, bits in held.items()
        }
    return found


def rows_of(rig: Rig, columns: list[Set]) -> tuple[list[tuple[Effects, int]], int]:
    """Each failure with the columns it happens in, and the columns that cannot happen any more."""
    known = rig.index.failures
    bits: dict[str, int] = {}
    impossible = 0
    for k, one in enumerate(columns):
        for name in one:
            if name in known:
                bits[name] = bits.get(name, 0) | 1 << k
            else:
                impossible |= 1 << k
    return [(known[name].effects, columns_of) for name, columns_of in bits.items()], impossible


def _counted_sets(rig: Rig, sets: Mapping[str, Iterable[Set]]) -> dict[str, list[Set]]:
    """The sets up to two that count: none with a failure that the file accepts."""
    accepted = {one.failure for one in rig.accepted}
    return {name: [one for one in cuts if len(one) < 3 and not accepted & set(one)] for name, cuts in sets.items()}


def _finalists(rows: list[_Row]) -> list[_Row]:
    """The best of each sort, so that no sort crowds out the others before all is counted."""
    taken: dict[tuple[str, tuple[str, ...]], int] = {}
    found = []
    for row in sorted(rows, key=lambda row: row.key):
        sort = (row.proposal.sort, row.proposal.bodies)
        taken[sort] = taken.get(sort, 0) + 1
        if taken[sort] <= MOST_OF_A_SORT:
            found.append(row)
    return found[:MOST_FINALISTS]


def _rank(rig: Rig, name: str) -> int:
    nature = rig.parts[name].nature
    return 0 if nature is Nature.PERSON else 1 if nature is Nature.LITTER else 2


def _pasted(proposal: Proposal) -> str:
    return "\n".join([*(f"{c.line} {c.how} {c.text.strip()}" for c in proposal.changes), *proposal.added])


def what_it_joins(proposal: Proposal) -> object:
    """What a proposal joins: a strap and a second strap beside one may be the same thing."""
    if len(proposal.edit.added) == 1 and not proposal.changes:
        (joined,) = proposal.edit.added
        if isinstance(joined, Attach) and [link.kind is not None for link in joined.chain] == [False, True, False]:
            return frozenset(link.name for link in joined.chain[::2])
    return _pasted(proposal)


def _off(before: Outcome) -> list[str]:
    """Who is held, and falls with every hand off."""
    return [name for name in before.hands_off_falls if before.body(name).held]


def _come(number: int) -> str:
    return f"{number or 'none'} {'comes' if number == 1 else 'come'}"


def _counted(number: int, word: str) -> str:
    return f"{number} {word}{'' if number == 1 else 's'}"


def _some(names: tuple[str, ...]) -> str:
    return ", ".join(map(spoken, names[:3])) + (f" and {len(names) - 3} more" if len(names) > 3 else "")

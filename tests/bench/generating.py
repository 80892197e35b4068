"""Generated rigs for the measurements: plain, ordinary and deep ones of about a given size.

All are invented, and valid files of the rig language; the same call gives the same text. The size
is a number of parts: what is declared and what the ropes' knots make, people and loads included,
their points and the ropes' spans not. Each rig stops at the first whole unit past its size.
"""

from __future__ import annotations

import random
from dataclasses import dataclass

import analyser
from analyser.rig.model import Nature, Rig


@dataclass(frozen=True, slots=True)
class Made:
    """A generated rig."""

    kind: str
    rig: Rig
    text: str

    @property
    def parts(self) -> int:
        return sum(part.nature is not Nature.POINT for part in self.rig.parts.values())

    @property
    def failures(self) -> int:
        return len(self.rig.failures)

    @property
    def bodies(self) -> int:
        return len(self.rig.bodies)


def made(kind: str, size: int) -> Made:
    """A rig of one of the KINDS, read from its text."""
    text = KINDS[kind](size)
    return Made(kind, analyser.read_text(text), text)


def plain(size: int) -> str:
    """One contact network: anchors, rings, chains of connectors, two-tie ropes, people and loads.

    Every part has one failure and no rope has a station between its two ties, so that removing
    nodes from a graph gives the same answers.
    """
    draw = random.Random(size)
    lines = ['rig "Plain network"', "anchor a1, a2", "ring r1"]
    solid = ["a1", "a2", "r1"]
    lines += ["attach a1 - carabiner c1 - r1", "attach a2 - carabiner c2 - r1"]
    count, number = 5, 2

    def some(most: int = 40) -> str:
        """Something above to hang from: mostly what came last, so that the network grows deep."""
        return draw.choice(solid[-most:] if draw.random() < 0.8 else solid)

    while count < size:
        number += 1
        shape = draw.randrange(10)
        if shape < 2:
            lines += [f"anchor a{number}", f"ring r{number}"]
            lines += [f"attach a{number} - carabiner c{number} - r{number}"]
            lines += [f"attach {some()} - strap s{number} - r{number}"]
            solid += [f"a{number}", f"r{number}"]
            count += 4
        elif shape < 5:
            lines += [f"ring r{number}"]
            for way in "xy":
                links = [f"carabiner {way}{number}-{k}" for k in range(1, draw.randrange(2, 5))]
                lines += [f"attach {some()} - {' - '.join(links)} - r{number}"]
                count += len(links)
            solid.append(f"r{number}")
            count += 1
        elif shape < 8:
            one = some()
            other = draw.choice([part for part in solid[-40:] if part != one])
            lines += [f"rope p{number}", f"    tied to {one} as p{number}-k1", f"    tied to {other} as p{number}-k2"]
            count += 2
        else:
            body = f"body{number}"
            lines += [f"{'person' if shape == 8 else 'load'} {body}: points p, q"]
            lines += [f"attach {some()} - sling {body}-s1 - {body}.p"]
            lines += [f"attach {some()} - sling {body}-s2 - carabiner {body}-c2 - {body}.q"]
            count += 4
    return "\n".join(lines) + "\n"


def ordinary(size: int) -> str:
    """Teams side by side: people on two lines over guarded edges, now and then a litter lower."""
    return _teams(size, joined=False)


def joined(size: int) -> str:
    """The same teams, all hung from one row of rings strapped together: nothing is apart."""
    return _teams(size, joined=True)


def _teams(size: int, *, joined: bool) -> str:
    lines = ['rig "Teams side by side"']
    count, team = 0, 0
    while count < size:
        team += 1
        more, parts = (_litter if team % 4 == 3 else _two_lines)(team, joined=joined)
        lines += more
        count += parts
    return "\n".join(lines) + "\n"


def _tops(n: int, *, joined: bool) -> tuple[list[str], int, str, str]:
    """What a team's two ropes hang from."""
    lines = [f"anchor t{n}-left, t{n}-right"]
    if not joined:
        return lines, 2, f"t{n}-left", f"t{n}-right"
    lines += [f"ring t{n}-row", f"attach t{n}-left - sling t{n}-ls - t{n}-row - sling t{n}-rs - t{n}-right"]
    if n > 1:
        lines += [f"attach t{n - 1}-row - strap t{n}-tie - t{n}-row"]
    return lines, 6, f"t{n}-row", f"t{n}-row"


def _two_lines(n: int, *, joined: bool) -> tuple[list[str], int]:
    """A person on a descender and a back-up device, two ropes, an edge, a deviation, stoppers."""
    lines, count, left, right = _tops(n, joined=joined)
    t = f"t{n}"
    lines += [
        f"anchor {t}-wall",
        f"edge {t}-lip",
        f"pad {t}-mat1, {t}-mat2",
        f"person {t}-sam",
        f"harness {t}-waist, {t}-chest: worn by {t}-sam",
        f"attach {t}-wall - sling {t}-dev-sling - carabiner {t}-turn",
        f"attach descender {t}-device - screw-link {t}-link - {t}-waist",
        f"{t}-device: operated by {t}-sam, self-locking",
        f"attach rope-grab {t}-grab - absorber {t}-absorber - {t}-chest",
        f"rope {t}-red",
        f"    tied to carabiner {t}-red-crab - {left} with figure-eight as {t}-red-top",
        f"    over {t}-lip, padded by {t}-mat1",
        f"    through {t}-turn",
        f"    gripped by {t}-device",
        f"    stopper as {t}-red-end",
        f"rope {t}-green",
        f"    tied to carabiner {t}-green-crab - {right} with figure-nine as {t}-green-top",
        f"    over {t}-lip, padded by {t}-mat2",
        f"    gripped by {t}-grab",
        f"    stopper as {t}-green-end",
    ]
    return lines, count + 19


def _litter(n: int, *, joined: bool) -> tuple[list[str], int]:
    """Two ropes to one ring, their tails on to patient and attendant; a litter on four legs."""
    lines, count, left, right = _tops(n, joined=joined)
    t = f"t{n}"
    lines += [
        f"edge {t}-lip",
        f"pad {t}-mat1, {t}-mat2",
        f"person {t}-jo: standing",
        f"person {t}-vic, {t}-sam",
        f"harness {t}-vic-seat: worn by {t}-vic",
        f"harness {t}-sam-waist, {t}-sam-chest: worn by {t}-sam",
        f"litter {t}-basket: points head-l, head-r, foot-l, foot-r",
        f"ring {t}-master",
        f"attach {left} - carabiner {t}-lc - brake {t}-lb",
        f"attach {right} - carabiner {t}-rc - brake {t}-rb",
        f"{t}-lb: operated by {t}-jo, self-locking",
        f"{t}-rb: operated by {t}-jo",
        f"rope {t}-red",
        f"    gripped by {t}-lb",
        f"    over {t}-lip, padded by {t}-mat1",
        f"    tied to {t}-master with bowline as {t}-red-knot",
        f"    tied to {t}-vic-seat with figure-eight as {t}-red-tail",
        f"rope {t}-green",
        f"    gripped by {t}-rb",
        f"    over {t}-lip, padded by {t}-mat2",
        f"    tied to {t}-master with bowline as {t}-green-knot",
        f"    gripped by {t}-device",
        f"    stopper as {t}-green-end",
        f"interlock {t}-red-knot, {t}-green-knot",
        f"attach descender {t}-device - carabiner {t}-dc - {t}-sam-waist",
        f"{t}-device: operated by {t}-sam, self-locking",
        f"attach {t}-master - strap {t}-strap - {t}-sam-chest",
        f"attach {t}-basket - strap {t}-lashing - {t}-vic",
    ]
    for k, point in enumerate(("head-l", "head-r", "foot-l", "foot-r"), 1):
        lines.append(f"attach {t}-master - strap {t}-leg{k} - {t}-basket.{point}")
    return lines, count + 28


def chain(size: int) -> str:
    """Two long chains of links to one person: as deep as half the size."""
    return _ladder(size, rungs_every=0)


def ladder(size: int) -> str:
    """The same with a rung every third link: deep, and no two links alike."""
    return _ladder(size, rungs_every=3)


def _ladder(size: int, *, rungs_every: int) -> str:
    half = max(2, size // 2 if not rungs_every else round(size / (2 + 1 / rungs_every)))
    lines = ['rig "Long chains"', "anchor left, right", "person sam: points waist, chest"]
    for side, point in (("left", "waist"), ("right", "chest")):
        lines.append(f"attach {side} - link {side}-1")
        lines += [f"attach {side}-{k} - link {side}-{k + 1}" for k in range(1, half)]
        lines.append(f"attach {side}-{half} - sam.{point}")
    if rungs_every:
        rungs = range(rungs_every, half, rungs_every)
        lines += [f"attach left-{k} - strap rung-{k} - right-{k}" for k in rungs]
    return "\n".join(lines) + "\n"


def hung_ropes(size: int) -> str:
    """Rope below rope: each tied at a ring, up through the pulley above, back to a hitch there."""
    lines = ['rig "Rope below rope"', "anchor bolt", "attach bolt - pulley wheel-0"]
    stages = max(1, size // 5)
    for n in range(1, stages + 1):
        lines += [
            f"ring ring-{n}",
            f"attach ring-{n} - friction-hitch hitch-{n}",
            f"attach ring-{n} - pulley wheel-{n}",
            f"rope rope-{n}",
            f"    tied to ring-{n} with bowline as knot-{n}",
            f"    through wheel-{n - 1}",
            f"    gripped by hitch-{n}",
            f"    stopper as end-{n}",
        ]
    lines += ["person sam: points waist", f"attach wheel-{stages} - carabiner crab - sam.waist"]
    return "\n".join(lines) + "\n"


KINDS = {
    "plain": plain,
    "ordinary": ordinary,
    "joined": joined,
    "chain": chain,
    "ladder": ladder,
    "hung ropes": hung_ropes,
}

"""A second connector, sling or strap beside one that stands alone, or beside a chain of them."""

from __future__ import annotations

from collections.abc import Iterator

from analyser.language.edit import Edit, attach, link
from analyser.rig.model import Nature, Role
from analyser.uses.mending.around import CONNECTORS, LENGTHS, LOOPS, Around
from analyser.uses.mending.proposal import Proposal


def propose(around: Around) -> Iterator[Proposal]:
    doubtful = {body: around.failing_in(body) for body in around.worst}
    simple = _simple(around)
    seen: set[str] = set()
    for name in sorted(simple):
        if name in seen:
            continue
        chain, ends = _chain(around, simple, name)
        seen |= set(chain)
        pieces = [(ends[0], tuple(chain), ends[1])]
        if len(chain) > 1:
            row = [ends[0], *chain, ends[1]]
            pieces += [(row[k - 1], (row[k],), row[k + 1]) for k in range(1, len(row) - 1)]
        for a, middle, b in pieces:
            bodies = tuple(body for body in around.worst if doubtful[body] & set(middle))
            if not bodies or not _may_join(around, a, b):
                continue
            first = middle[0]
            kind = around.rig.parts[first].kind if len(middle) == 1 else "sling"
            second = around.names.fresh(f"{'third' if first.startswith('second-') else 'second'}-{first}")
            beside = first if len(middle) == 1 else f"{middle[0]} to {middle[-1]}"
            words = f"a second {kind} beside {beside}, from {a} to {b}"
            yield around.proposal("beside", words, 0, bodies, Edit((attach(a, link(second, kind), b),)), taste=2)


def _simple(around: Around) -> set[str]:
    """Connectors and lengths between exactly two others, that no rope runs through and no frame needs."""
    rig = around.rig
    busy = {at.part for at in rig.index.stations() if at.station.role is not Role.TIE}
    busy |= {guard for at in rig.index.stations() for guard in at.station.guards}
    busy |= rig.stood_on
    return {
        name
        for name, part in rig.parts.items()
        if part.nature is Nature.JOINT
        and around.sort(name) in (*CONNECTORS, *LENGTHS)
        and name not in busy
        and len(around.beside.get(name, ())) == 2
    }


def _chain(around: Around, simple: set[str], name: str) -> tuple[list[str], tuple[str, str]]:
    """The whole chain that a simple part is in, and the two parts at its ends."""
    chain = [name]
    ends = []
    for first in (0, 1):
        before, here = name, around.beside[name][first]
        while here in simple and here not in chain:
            chain.insert(0, here) if not first else chain.append(here)
            others = [other for other in around.beside[here] if other != before]
            before, here = here, others[0] if others else before
        ends.append(here)
    return chain, (ends[0], ends[1])


def _may_join(around: Around, a: str, b: str) -> bool:
    """Never a bare body or rail, a knot without a loop, nor one body to another."""
    if a == b or b in around.beside.get(a, ()):
        return False
    owners = []
    for name in (a, b):
        part = around.rig.parts[name]
        if not around.attachable(name) or part.nature in (Nature.PERSON, Nature.LITTER):
            return False
        if part.nature is Nature.KNOT and around.sort(name) not in LOOPS:
            return False
        owners.append(around.owner(name))
    return not (owners[0] and owners[1])

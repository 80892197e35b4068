"""The states of a rig: the rig as first attached, and what each step of a stage leaves."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from analyser.language.mistakes import Place
from analyser.language.syntax import StageBlock, StepLine, Word
from analyser.rig.bench import Bench
from analyser.rig.present import Present
from analyser.rig.taking import step


@dataclass(frozen=True, slots=True)
class Staged:
    """One stage with the state after each of its steps."""

    block: StageBlock
    after: tuple[Present, ...]


def staged(bench: Bench, first: Present) -> list[Staged]:
    """Every stage, from the first state on. The bench knows the parts of all states afterwards."""
    rope_places = dict(bench.ropes)
    later = brought_in(bench)
    now = first
    found: list[Staged] = []
    titles: dict[str, Place] = {}
    for block in bench.document.statements:
        if not isinstance(block, StageBlock):
            continue
        if block.title in titles:
            text = f'a second stage "{block.title}": the first is on line {titles[block.title].line}'
            bench.wrong(block.place, text, "give each stage a title of its own")
        titles.setdefault(block.title, block.place)
        if not block.steps and not any(m.place > block.place for m in bench.document.mistakes):
            text = f'the stage "{block.title}" has no steps'
            bench.wrong(block.place, text, "indent its steps under it: `attach …`, `detach …`, `lock off …`")
        after = []
        for line in block.steps:
            now = step(bench, now, later, line)
            after.append(now)
        found.append(Staged(block, tuple(after)))
    states = [*(present for one in found for present in one.after), first]
    bench.contacts = dict(first.contacts)
    bench.parts = {name: part for present in states for name, part in present.parts.items()}
    bench.ropes = {**bench.ropes, **rope_places}
    return found


def brought_in(bench: Bench) -> dict[str, Place]:
    """Names that some step brings in, and where."""
    found: dict[str, Place] = {}
    for block in bench.document.statements:
        for line in block.steps if isinstance(block, StageBlock) else ():
            for word in _brought(line):
                if word.text not in bench.parts and word.text not in bench.ropes:
                    found.setdefault(word.text, word.place)
    return found


def _brought(line: StepLine) -> Iterator[Word]:
    chains = [line.chain]
    if line.onto:
        chains.append(line.onto.station.chain)
        yield from (line.onto.station.name,) if line.onto.station.name else ()
    if line.declaration:
        yield from line.declaration.names
    if line.rope:
        if line.verb == "rope":
            yield line.rope.name
        yield from (station.name for station in line.rope.stations if station.name)
        chains += [station.links for station in line.rope.stations]
    yield from (link.name for chain in chains for link in chain if link.kind and link.name)

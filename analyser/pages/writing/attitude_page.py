"""The page of `attitude`: how a litter hangs, leg lengths for a wish, a sweep as a table."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from analyser.checking.sentences import listed
from analyser.pages.tree import Block, Column, Fact, Gap, Page, Section, Span, Table, alarm, section, strong
from analyser.pages.writing.ends import closing, rig_title
from analyser.pages.writing.forces_page import not_as_meant
from analyser.pages.writing.one_sheet import one_sheet
from analyser.rig.figures import as_force, as_length, force_number, units
from analyser.rig.model import Rig

if TYPE_CHECKING:
    from analyser.forces import Equilibrium, Hung, OutOfReach, Wished


def attitude_page(
    rig: Rig,
    file: str,
    body: str,
    lines: Sequence[str],
    now: Hung,
    wish: Wished | OutOfReach | None,
    table: Sequence[Hung],
    taken: Sequence[str],
    *,
    full: bool = False,
) -> Page:
    """As written; then, where asked for, the wished attitude and the sweep."""
    found = now.equilibrium
    called = listed([found.called(found.line(name)) for name in lines])
    blocks: list[Block] = [rig_title(rig, file)]
    blocks.append(section("How it hangs: ", (Fact("as written", pose_words(now)), _lines(now)), body))
    if wish is not None:
        blocks.append(_wished(found, called, wish))
    if table:
        blocks.append(section("Let out: ", _sweep(table), called))
    blocks += assumed(found, max([now, *table], key=lambda one: one.residual).residual, taken)
    return one_sheet(Page(tuple(blocks), rig.title), _verdict(body, now, wish), full=full)


def _verdict(body: str, now: Hung, wish: Wished | OutOfReach | None) -> Span:
    """How it hangs, by name; that it can't hang as wished; who falls."""
    from analyser.forces import OutOfReach

    found = now.equilibrium
    falls, slack = found.falls, sorted(found.called(found.line(name)) for name in now.slack)
    if falls:
        return alarm(f"FALLS: nothing in the statics holds {listed(falls)}")
    hangs = f"{body} hangs {pose_words(now)}"
    if isinstance(wish, OutOfReach):
        return alarm(f"OUT OF REACH: no length gives what is wished; as written {hangs}")
    return strong(f"{hangs}; slack: {listed(slack)}" if slack else hangs)


def assumed(
    found: Equilibrium, residual: float, taken: Sequence[str], friction: str = "without friction"
) -> Iterator[Block]:
    """Who falls, what jams, what is in doubt; what was taken; how well the answer balances; the cautions."""
    yield Gap()
    yield from not_as_meant(found)
    yield from (Fact("taken" if k == 0 else "", words) for k, words in enumerate(taken))
    yield Fact("checked", f"forces balance at every point to {residual:.0e} of the largest load")
    yield Fact("modelled", f"at rest, ropes without weight, {friction}")
    yield closing()[-1]


def degrees(angle: float) -> str:
    return f"{angle + 0.0:.1f} deg".replace("-0.0 ", "0.0 ")


def _way(out: float) -> str:
    """`let out by 0.210 m`, `taken in by …`."""
    return f"{'let out' if out >= 0 else 'taken in'} by {as_length(abs(out), '.3f')}"


def pose_words(one: Hung) -> str:
    """Head over feet and roll, in words."""
    pose = one.pose
    words = f"{degrees(abs(one.head_up))} {'head up' if one.head_up >= -0.05 else 'HEAD DOWN'}"
    if pose.roll is not None:
        side = "" if abs(pose.roll) < 0.05 else ", left side up" if pose.roll > 0 else ", right side up"
        words += f"; rolled {degrees(abs(pose.roll))}{side}"
    return words


def _wished(found: Equilibrium, called: str, wish: Wished | OutOfReach) -> Section:
    from analyser.forces import OutOfReach

    if isinstance(wish, OutOfReach):
        reach = f"from {degrees(wish.lowest)} to {degrees(wish.highest)}"
        out = Fact("out of reach", f"letting {called} out or taking it in gave {reach}")
        return section(f"For {degrees(wish.wished)} head up", [out])
    lengths = (
        Fact(found.called(found.line(name)), f"{_way(wish.out)}, to {as_length(wish.lengths[name], '.3f')} at rest")
        for name in sorted(wish.lengths)
    )
    then = (Fact("then", pose_words(wish.hung)), _lines(wish.hung))
    return section(f"For {degrees(wish.hung.head_up)} head up", (*lengths, *then))


def _lines(one: Hung) -> Table:
    """Each line's tension and length; slack ones say so."""
    found = one.equilibrium
    columns = (Column("line"), *(Column(head, figures=True) for head in ("pull", "long", "at rest")))
    ordered = sorted(found.lines, key=lambda each: (each.slack, each.name))
    rows = (
        (
            found.called(each),
            "SLACK" if each.slack else as_force(each.tension),
            as_length(each.length, ".3f"),
            as_length(each.rest, ".3f"),
        )
        for each in ordered
    )
    return Table(columns, tuple(rows))


def _sweep(told: Sequence[Hung]) -> Iterator[Block]:
    """Attitude and every tension against the rope let out; lines that carry the same share a column."""
    from analyser.forces.levelling import alike

    groups = alike(told)
    letters = [f"({k})" for k in range(1, len(groups) + 1)]
    rows = []
    for one in told:
        pulls = (force_number(one.tensions[names[0]]) if names[0] not in one.slack else "slack" for names in groups)
        roll = "–" if one.pose.roll is None else degrees(one.pose.roll)
        rows.append((as_length(one.out), degrees(one.head_up), roll, *pulls))
    yield Table(tuple(Column(head, figures=True) for head in ("let out", "head up", "roll", *letters)), tuple(rows))
    yield Gap()
    rest = told[0].equilibrium
    for letter, names in zip(letters, groups, strict=True):
        yield Fact(letter, f"{listed([rest.called(rest.line(name)) for name in names])}, {units().force}")

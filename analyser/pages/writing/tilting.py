"""The pages of `attitude`: how a litter hangs, leg lengths for a wish, a sweep as a table."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from rich.console import Group, RenderableType
from rich.table import Table
from rich.text import Text

from analyser.checking.delivered import CAUTIONS
from analyser.checking.finding import listed
from analyser.pages.writing.forces_page import not_as_meant
from analyser.pages.writing.terminal import hanging, heading, line, title
from analyser.rig.model import Rig

if TYPE_CHECKING:
    from analyser.forces import Equilibrium, Hung, OutOfReach, Wished

MOST_COLUMNS = 5


def attitude_page(
    rig: Rig,
    file: str,
    body: str,
    lines: Sequence[str],
    now: Hung,
    wish: Wished | OutOfReach | None,
    table: Sequence[Hung],
) -> RenderableType:
    """As written; then, where asked for, the wished attitude and the sweep."""
    from analyser.forces import OutOfReach

    lines = [now.equilibrium.called(now.equilibrium.line(name)) for name in lines]
    rows: list[RenderableType] = [title(rig, file), heading("How it hangs: ", body)]
    rows += [hanging("as written", pose_words(now)), *_lines(now)]
    if isinstance(wish, OutOfReach):
        rows.append(heading(f"For {degrees(wish.wished)} head up"))
        reach = f"from {degrees(wish.lowest)} to {degrees(wish.highest)}"
        rows.append(hanging("out of reach", f"letting {listed(lines)} out or taking it in gave {reach}"))
    elif wish is not None:
        rows.append(heading(f"For {degrees(wish.hung.head_up)} head up"))
        for name in sorted(wish.lengths):
            called = now.equilibrium.called(now.equilibrium.line(name))
            rows.append(hanging(called, f"{way(wish.out)}, to {wish.lengths[name]:.3f} m at rest"))
        rows += [hanging("then", pose_words(wish.hung)), *_lines(wish.hung)]
    if table:
        rows += [heading("Let out: ", listed(lines)), _sweep(table)]
    rows += assumed(now.equilibrium, max([now, *table], key=lambda one: one.residual).residual)
    return Group(*rows)


def assumed(found: Equilibrium, residual: float, friction: str = "without friction") -> list[RenderableType]:
    """Who falls, what jams, what is in doubt; what was taken; how well the answer balances; the cautions."""
    rows: list[RenderableType] = [Text()]
    rows += not_as_meant(found)
    said = found.assumed
    rows += [hanging("taken" if k == 0 else "", words) for k, words in enumerate(said)]
    rows.append(hanging("checked", f"forces balance at every point to {residual:.0e} of the largest load"))
    still = f"at rest, ropes without weight, {friction}"
    rows += [hanging("modelled", still), Text(" ".join(CAUTIONS), style="italic")]
    return rows


def degrees(angle: float) -> str:
    return f"{angle + 0.0:.1f} deg".replace("-0.0 ", "0.0 ")


def way(out: float) -> str:
    """`let out by 0.210 m`, `taken in by …`."""
    return f"{'let out' if out >= 0 else 'taken in'} by {abs(out):.3f} m"


def force(newtons: float) -> str:
    return f"{newtons / 1000:.2f} kN"


def pose_words(one: Hung) -> str:
    """Head over feet and roll, in words."""
    pose = one.pose
    words = f"{degrees(abs(one.head_up))} {'head up' if one.head_up >= -0.05 else 'HEAD DOWN'}"
    if pose.roll is not None:
        side = "" if abs(pose.roll) < 0.05 else ", left side up" if pose.roll > 0 else ", right side up"
        words += f"; rolled {degrees(abs(pose.roll))}{side}"
    return words


def _lines(one: Hung) -> list[RenderableType]:
    """Each line's tension and length; slack ones say so."""
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    for column in ("  line", "pull", "long", "at rest"):
        table.add_column(column, header_style="", justify="left" if column == "  line" else "right")
    for each in sorted(one.equilibrium.lines, key=lambda each: (each.slack, each.name)):
        pull = "SLACK" if each.slack else force(each.tension)
        table.add_row(Text(f"  {one.equilibrium.called(each)}"), pull, f"{each.length:.3f} m", f"{each.rest:.3f} m")
    return [table]


def _sweep(told: Sequence[Hung]) -> RenderableType:
    """Attitude and every tension against the rope let out; lines that carry the same share a column."""
    from analyser.forces.levelling import alike

    groups = alike(told)
    letters = [f"({k})" for k in range(1, len(groups) + 1)]
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    for column in ("  let out", "head up", "roll", *letters):
        table.add_column(column, header_style="", justify="right")
    for one in told:
        cells = []
        for names in groups:
            slack = names[0] in one.slack
            cells.append("slack" if slack else f"{one.tensions[names[0]] / 1000:.2f}")
        roll = "–" if one.pose.roll is None else degrees(one.pose.roll)
        table.add_row(f"  {one.out:.2f} m", degrees(one.head_up), roll, *cells)
    rest = told[0].equilibrium
    called = [listed([rest.called(rest.line(name)) for name in names]) for names in groups]
    named = [hanging(letter, f"{words}, kN") for letter, words in zip(letters, called, strict=True)]
    return Group(table, line(), *named)

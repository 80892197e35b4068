"""Orders of a stage's steps: found, impossible, not offered; as brute force finds them, as the file then checks."""

from __future__ import annotations

import json
import random
from collections.abc import Iterator
from itertools import combinations, permutations
from textwrap import dedent, indent

import pytest
from random_stages import MOVABLE, random_stage
from rigs import rig_of

import analyser
from analyser.checking.analysing import analyse
from analyser.checking.results import Result
from analyser.checking.step_orders import States, grouped
from analyser.doors.commands.main import main
from analyser.language.syntax import StageBlock
from analyser.rig.other_orders import ordered
from analyser.rig.plan import Plan
from analyser.uses.ordering.answer import Answer, alike, reorder

RINGS = """
    anchor bolt, post, beam
    person sam: points waist, chest
    attach bolt - ring s - sam.waist
    attach post - ring t - sam.chest
"""
CRATE = """
    anchor bolt
    ring eye
    load crate: points a, b
    attach bolt - eye
    attach eye - strap s - crate.a
    attach eye - strap t - crate.b
    require everyone held with hands off
"""


def staged(steps: str, before: str = RINGS) -> str:
    block = indent(dedent(steps).strip(), "    ")
    return f'rig "a test"\n{dedent(before).strip()}\nstage "Change"\n{block}\n'


def answer(steps: str, before: str = RINGS) -> Answer:
    return reorder(analyser.read_text(staged(steps, before)), "Change")


def words(found: Answer) -> list[str]:
    assert found.best is not None
    return [one.line.words for one in found.best.lines]


def broken(result: Result, stage: str = "Change") -> int:
    """How many states of a stage break a requirement or are entered by dropping somebody: told by the whole check."""
    own = [state for state in result.states if state.stage == stage]
    dropped = {s.number for s in own if any(f.rule == "detached-while-needed" for f in s.findings)}
    return len({s.number for s in own if s.number in result.broken_states} | dropped)


@pytest.mark.parametrize(
    ("steps", "order"),
    [
        ("detach s from bolt\nattach beam - s", ["attach beam - s", "detach s from bolt"]),
        ("attach beam - s\ndetach s from bolt", ["attach beam - s", "detach s from bolt"]),
        (
            'detach s from bolt\nattach beam - s\nsay "off"\ndetach t from post\nattach bolt - t',
            ["attach beam - s", "detach s from bolt", "attach bolt - t", 'say "off"', "detach t from post"],
        ),
        (
            "detach s\nsling u\nattach beam - u - sam.waist",
            ["sling u", "attach beam - u - sam.waist", "detach s"],
        ),
    ],
)
def test_an_order_is_found(steps: str, order: list[str]) -> None:
    found = answer(steps)
    assert (words(found), found.best.bad if found.best else None, found.proven) == (order, 0, True)
    assert found.offered and found.impossible is None


def test_the_order_with_the_fewest_lines_moved_is_the_best_and_of_equals_the_one_nearest_the_written() -> None:
    """Either may be put on the beam before `detach s`: the next line of the file is taken."""
    found = answer("detach s from bolt\nattach beam - s\nattach beam - strap u - sam.waist")
    assert words(found)[:3] == ["attach beam - s", "detach s from bolt", "attach beam - strap u - sam.waist"]
    assert found.best and [one.moved for one in found.best.lines] == [True, False, False]


ROPE = """
    anchor bolt, post
    person sam: points waist, chest
    rope red
        tied to bolt
        tied to sam.waist
    require everyone held with hands off
"""
HELD = RINGS + "    require every person has 1 independent attachment\n"


@pytest.mark.parametrize(
    ("before", "steps", "how", "named", "reason"),
    [
        (RINGS, "detach s from bolt", "end", [], "every person has 2"),
        (RINGS, "detach s from bolt\nattach s - post", "end", [], "every person has 2"),
        (ROPE, "rerig red\n    tied to bolt\n    tied to sam.waist as low", "step", ["rerig red"], "while red is laid"),
        (
            HELD,
            "detach s\ndetach t\nattach beam - s - t - sam.waist",
            "together",
            ["detach s", "detach t"],
            "after `detach s` last: every person has 1 independent attachment: sam has 0",
        ),
    ],
)
def test_none_exists_and_the_step_is_named(before: str, steps: str, how: str, named: list[str], reason: str) -> None:
    found = answer(steps, before)
    assert found.none_keeps and found.proven and not found.offered
    assert found.impossible is not None and found.impossible.how == how
    assert [found.steps[k].words for k in found.impossible.steps] == named
    assert reason in " ".join(found.impossible.reasons)


def test_a_stage_that_begins_broken_says_so() -> None:
    one = RINGS.replace("attach post - ring t - sam.chest", "attach post - ring t")
    found = answer("attach beam - strap u - sam.waist\ndetach t", one)
    assert any("every person has 2" in one for one in found.begins_broken)


def test_taking_in_comes_before_opening_and_what_is_not_computed_is_told() -> None:
    found = answer("detach s from crate\ntake in t by 0.1 m", CRATE)
    assert words(found) == ["take in t by 0.1 m", "detach s from crate"]
    assert found.best and [one.step.words for one in found.best.openings] == ["detach s from crate"]
    opening = found.best.openings[0]
    assert [step.words for step in opening.taken_in] == ["take in t by 0.1 m"]
    assert opening.missing[0] == "the mass of crate" and not found.offered


def test_without_any_take_in_that_is_what_is_missing() -> None:
    found = answer("detach s from crate\nattach eye - strap w - crate.a", CRATE)
    assert found.best and not found.offered
    assert found.best.openings[0].missing[0].startswith("no `take in … by … m` before it, of what shall carry crate")


def test_devices_of_one_name_do_not_change_places() -> None:
    """`lock off` and `open` of one device leave another rig in another order: kept as written."""
    before = """
        anchor left, right
        person jo: standing
        person sam: points waist, chest
        attach left - brake device
        device: operated by jo
        rope red
            gripped by device
            tied to sam.waist
        attach right - strap s - sam.chest
        require everyone held with hands off
    """
    states = States(analyser.read_text(staged("open device\nlock off device", before)), "Change")
    one, other = states.after((0, 0), 0), states.after((0, 0), 1)
    assert one and other
    assert states.after(one, 1) == states.end
    assert states.after(other, 0) == (states.end[0], 1)
    assert words(answer("open device\nlock off device", before)) == ["open device", "lock off device"]


def test_a_name_comes_before_its_use_and_a_contact_before_its_end() -> None:
    states = States(analyser.read_text(staged("sling u\nattach beam - u\ndetach u from beam")), "Change")
    assert [states.after((0, 0), k) is not None for k in range(3)] == [True, False, False]
    with_u = states.after((0, 0), 0)
    assert with_u and states.after(with_u, 2) is None


HOOK = """
    anchor rung, next-rung
    person ann: points waist
    attach ann.waist - lanyard la - carabiner ca - rung
    require ann has 1 independent attachment
"""
ONE_HOOK = "detach ca from rung\nattach ca - next-rung"
KNOT = """
    anchor left, right
    person ann: points waist
    rope red
        tied to left with figure-eight as k
        tied to ann.waist
    require ann has 1 independent attachment
"""


@pytest.mark.parametrize(
    ("before", "steps"),
    [
        (HOOK, ONE_HOOK),
        (HOOK, ONE_HOOK.replace("ca from rung", "rung from ca")),
        (HOOK, "detach la\nattach next-rung - la - ann.waist"),
        (HOOK, "detach la from ca\nattach next-rung - carabiner cb - la"),
        (KNOT, "detach k from left\nattach k - right"),
    ],
)
def test_one_hook_or_knot_is_not_on_two_things_at_once(before: str, steps: str) -> None:
    """To be put on the next it has come off the last, whatever the connections say of both together."""
    found = answer(steps, before)
    assert found.none_keeps and found.proven and not found.offered
    assert [one[2:] for one in in_between(steps, before)] == [(None, None, None)]


def test_a_second_strap_put_on_first_is_an_order_and_what_a_plan_writes_stays() -> None:
    second = "attach ann.waist - lanyard lb - next-rung"
    found = answer(f"{ONE_HOOK}\n{second}", HOOK)
    assert words(found) == [second, *ONE_HOOK.splitlines()] and found.offered
    turned = "\n".join(reversed(ONE_HOOK.splitlines()))
    assert words(answer(turned, HOOK)) == turned.splitlines()


def test_a_device_goes_from_rope_to_rope_in_its_order() -> None:
    ropes = """
        anchor left, right
        person sam: points waist, chest
        rope red
            tied to left as red-top
            through carabiner low
        rope green
            tied to right as green-top
            through carabiner under
        rope-grab grab
        attach grab - strap s - sam.waist
        attach left - strap t - sam.chest
    """
    steps = "attach grab to red between red-top and low\ndetach grab from red\n"
    steps += "attach grab to green between green-top and under"
    states = States(analyser.read_text(staged(steps, ropes)), "Change")
    on_red = states.after((0, 0), 0)
    assert on_red and states.after(on_red, 2) is None and states.after(states.after(on_red, 1) or on_red, 2)


# -- against the whole check, and against every order


def reordered(text: str, found: Answer) -> str:
    assert found.best is not None
    head = text[: text.index('\nstage "Change"\n')]
    return f'{head}\nstage "Change"\n' + "\n".join(found.best.pasted) + "\n"


@pytest.mark.parametrize("seed", range(20))
def test_an_order_that_is_found_checks_as_promised_when_it_is_written_into_the_file(seed: int) -> None:
    text = random_stage(seed, 4 + seed % 4)
    found = reorder(analyser.read_text(text), "Change")
    assert found.best is not None
    written = analyse(analyser.read_text(text))
    assert broken(written) == found.written.bad
    again = analyse(analyser.read_text(reordered(text, found)))
    assert broken(again) == found.best.bad <= found.written.bad
    end = written.states[-1].outcome
    assert again.states[-1].outcome.failure_sets == end.failure_sets
    if found.best.bad:
        assert found.none_keeps and found.impossible is not None


def by_force(rig: Plan) -> tuple[int, int] | None:
    """The best order found by looking at all of them with the whole check: bad states, steps moved."""
    block = next(s for s in rig.document.statements if isinstance(s, StageBlock))
    groups, last = grouped(block.steps)
    end = rig.stages[0].steps[-1].rig if rig.stages[0].steps else rig
    best: tuple[int, int, int] | None = None
    for order in permutations(range(len(groups))):
        if any(order.index(one) > order.index(other) for one, other in _never_both(rig)):
            continue
        made = ordered(rig, "Change", [line for k in order for line in groups[k].lines] + list(last))
        if made is None or not alike(made.stages[0].steps[-1].rig, end):
            continue
        result = analyse(made)
        carrying = sum(any(f.rule == "may-still-carry" for f in state.findings) for state in result.states)
        cost = (broken(result), carrying, len(order) - _longest(order))
        best = cost if best is None else min(best, cost)
    return None if best is None else (best[0], best[2])


def _never_both(rig: Plan) -> Iterator[tuple[int, int]]:
    """Steps of which the later puts elsewhere the strap or sling that the earlier took off, by the words alone."""
    block = next(s for s in rig.document.statements if isinstance(s, StageBlock))
    words = [group.step.words for group in grouped(block.steps)[0]]
    for (one, off), (other, on) in combinations(enumerate(words), 2):
        if off.startswith("detach ") and on.startswith("attach "):
            put = {link.split()[-1] for link in on.removeprefix("attach ").split(" - ")}
            if put & {*off.removeprefix("detach ").split(" from ")} & {*MOVABLE, *"pqr"}:
                yield one, other


def _longest(order: tuple[int, ...]) -> int:
    """The length of the longest series of steps that keep the written order."""
    best: list[int] = []
    for k, number in enumerate(order):
        best.append(1 + max((best[j] for j in range(k) if order[j] < number), default=0))
    return max(best, default=0)


@pytest.mark.parametrize("seed", [*range(100, 108), 364, 1164, 1364, 1582])
def test_the_search_finds_what_looking_at_every_order_finds(seed: int) -> None:
    rig = analyser.read_text(random_stage(seed, 4 if seed % 12 or seed > 108 else 5))
    found = reorder(rig, "Change")
    assert found.best is not None and found.proven
    moved = len({one.line for one in found.best.lines if one.moved and one.line.verb not in ("check", "say", "note")})
    assert (found.best.bad, moved) == by_force(rig)
    assert found.none_keeps == (found.best.bad > 0)


@pytest.mark.parametrize("seed", range(200, 215))
def test_equal_sets_of_steps_give_equal_rigs_and_those_of_the_file(seed: int) -> None:
    """Random orders, stepped one by one, against the file read anew in that order."""
    rig = analyser.read_text(random_stage(seed, 6))
    states, draw = States(rig, "Change"), random.Random(seed)
    for _ in range(6):
        key, order = (0, 0), []
        left = list(range(len(states.groups)))
        while ready := [k for k in left if states.after(key, k) is not None]:
            k = draw.choice(ready)
            left.remove(k)
            after = states.after(key, k)
            assert after is not None
            key, order = after, [*order, k]
        if left:
            continue
        lines = [line for k in order for line in states.groups[k].lines] + list(states.last)
        made = ordered(states.plan, "Change", lines)
        assert made is not None and alike(made.stages[0].steps[-1].rig, states.rig_in(key))


def test_the_same_file_gives_the_same_answer(tmp_path, capsys) -> None:
    path = tmp_path / "a.rig"
    path.write_text(staged("detach s from bolt\nattach beam - s"))
    said = []
    for arguments in (["--json"], ["--json"], [], []):
        assert main(["reorder", str(path), "--stage", "Change", *arguments]) == 0
        said.append(capsys.readouterr().out)
    assert said[0] == said[1] and said[2] == said[3]
    data = json.loads(said[0])
    assert data["best"]["lines"] == ["    attach beam - s  # moved: was step 2", "    detach s from bolt"]
    assert data["offered"] and data["on"] == "connections only" and data["cautions"]


def test_a_search_that_was_stopped_says_so() -> None:
    text = staged("detach s from bolt\ndetach t from post\nattach beam - s\nattach bolt - t")
    found = reorder(analyser.read_text(text), "Change", most=1)
    assert found.best is None and not found.proven and not found.none_keeps and not found.offered
    assert reorder(analyser.read_text(text), "Change").offered


def test_comments_and_stations_go_with_their_step() -> None:
    found = answer(
        """
        # off with the old one
        detach s from bolt
        # the new line
        rope blue
            tied to beam
            # a comment in it
            tied to sam.waist
        """
    )
    assert found.best and list(found.best.pasted) == [
        "    # the new line",
        "    rope blue  # moved: was step 2",
        "        tied to beam",
        "        # a comment in it",
        "        tied to sam.waist",
        "    # off with the old one",
        "    detach s from bolt",
    ]


# -- in the check


def in_between(steps: str, before: str = RINGS) -> tuple[object, ...]:
    result = analyse(analyser.read_text(staged(steps, before)))
    return tuple((one.first, one.last, one.move, one.where, one.of) for one in result.in_between)


@pytest.mark.parametrize(
    ("steps", "told"),
    [
        ("detach s from bolt\nattach beam - s", ((1, 1, 8, "before", 7),)),
        ('detach s from bolt\ncheck "t holds"\nattach beam - s', ((1, 2, 9, "before", 7),)),
        ("detach s\nsling u\nattach beam - u - sam.waist", ((1, 2, 7, "after", 9),)),
        ("attach beam - s\ndetach s from bolt", ()),
        ("detach s from bolt", ()),
    ],
)
def test_what_is_broken_only_in_between_says_what_to_do_first(steps: str, told: tuple[object, ...]) -> None:
    assert in_between(steps) == told


def test_what_it_opens_is_told_as_not_computed() -> None:
    before = CRATE.replace("hands off", "hands off\n    require everyone held after any 1 failure")
    before += '    sound bolt fails: "rock"\n    sound eye fails: "forged"\n'
    steps = "take in t by 0.1 m\ndetach s from crate\nattach eye - strap w - crate.a"
    (one,) = analyse(analyser.read_text(staged(steps, before))).in_between
    assert one.move is not None and len(one.opens) == 1
    without = steps.removeprefix("take in t by 0.1 m\n")
    (other,) = analyse(analyser.read_text(staged(without, before))).in_between
    assert other.move is None


def test_the_strip_says_it_with_the_states_before_and_after(tmp_path, capsys) -> None:
    path = tmp_path / "a.rig"
    path.write_text(staged("detach s from bolt\nattach beam - s"))
    assert main(["check", str(path), "--full"]) == 1
    said = " ".join(capsys.readouterr().out.split())
    assert "do “attach beam - s” (line 8) first, then “detach s from bolt” (line 7)" in said
    assert "before: state 0, as first attached: fewest independent 2 (sam)" in said
    assert "after: state 2, after attach beam - s: fewest independent 2 (sam)" in said
    assert main(["check", str(path), "--json"]) == 1
    (one,) = json.loads(capsys.readouterr().out)["in_between"]
    assert (one["states"], one["move"]) == ([1], {"line": 8, "where": "before", "of": 7})


@pytest.mark.parametrize(
    ("before", "steps", "status", "closing"),
    [
        (RINGS, "detach s from bolt\nattach beam - s", 0, "an order keeps every requirement, on connections only"),
        (RINGS, "attach beam - s\ndetach s from bolt", 0, "the written order keeps every requirement"),
        (RINGS, "detach s from bolt", 1, "no order of these steps keeps every requirement"),
        (CRATE, "detach s from crate\ntake in t by 0.1 m", 1, "not offered as it stands: 1 step opens what may still"),
        (
            RINGS + "    require drop at most 1 m\n    require everyone held with hands off\n",
            "detach s from bolt",
            1,
            "not offered as it stands: not every requirement was checked",
        ),
    ],
)
def test_the_page_closes_with_what_was_found_and_what_was_not(
    before: str, steps: str, status: int, closing: str, tmp_path, capsys
) -> None:
    path = tmp_path / "a.rig"
    path.write_text(staged(steps, before))
    assert main(["reorder", str(path), "--stage", "Change"]) == status
    page = capsys.readouterr().out
    assert page.rstrip().split("\n")[-1].startswith(closing)
    assert "A model of what was written, not of the rope in the hand." in page and "safe" not in page
    assert main(["reorder", str(path), "--stage", "Change", "--json"]) == status
    assert json.loads(capsys.readouterr().out)["offered"] is (status == 0)


def test_a_stage_that_is_not_there_is_told_with_those_that_are(tmp_path, capsys) -> None:
    path = tmp_path / "a.rig"
    path.write_text(staged("detach s from bolt\nattach beam - s"))
    assert main(["reorder", str(path), "--stage", "Chnge"]) == 2
    assert "did you mean `Change`?" in capsys.readouterr().err


def test_rigs_without_stages_have_no_order() -> None:
    with pytest.raises(KeyError):
        reorder(rig_of("anchor a"), "Change")


TAILS = """
anchor near, other: not below
    near: at (0, 0, 10)
    other: at (0.3, 0, 10)
person sam: 80 kg, at (0, 0, 9), points waist, chest
lanyard long: length {long}
attach near - lanyard short - sam.waist
attach long - sam.chest
short: length 1 m
require every person has 1 independent attachment
stage "Swap"
    detach short from near
    attach long - other
"""


@pytest.mark.parametrize(("long", "offered"), [("1.1 m", True), ("8 m", False)])
def test_an_order_by_which_somebody_drops_is_not_offered(long: str, offered: bool) -> None:
    """It keeps everything by the connections; by the lengths sam drops seven metres on to the second tail."""
    answer = reorder(rig_of(TAILS.format(long=long)), "Swap")
    assert answer.best is not None and not answer.best.bad
    assert answer.offered is offered and bool(answer.drops) is not offered

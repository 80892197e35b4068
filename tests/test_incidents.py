"""Thirty incidents by topology, each a rig as it stood: what the analysis must show of it, and no longer of the mend.

Source: the table of anonymised incident patterns in facts.md section 11; each rig names its row, and
tests/incidents/README.md tells for each row what is shown and what isn't. The scenarios are invented. The
expected answers were derived by hand from the holding rules before the tool was asked.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

import pytest
from rigs import criticals, falls, shipped

from analyser.checking.registry import RULES
from analyser.checking.results import Result

FOLDER = Path(__file__).parent / "incidents"
Attachments = Mapping[str, tuple[int, int | None]]
Said = set[tuple[str, str]]


@dataclass(frozen=True)
class Row:
    """What a rig must show: `alone`, every failure that drops a person by itself; `attachments`, counted and
    independent ones; `unheld`, who is held by nothing to begin with; `pairs` of failures that drop somebody
    together and neither alone; `says`, rules with a part that they are about; `slips`, what is deadly alone
    when it is there unseen. `mend` is the neighbour on which none of `says` is said any more."""

    number: str
    rig: str
    attachments: Attachments
    alone: Mapping[str, set[str]] = field(default_factory=dict)
    unheld: set[str] = field(default_factory=set)
    pairs: tuple[tuple[str, str, str], ...] = ()
    says: Said = field(default_factory=set)
    slips: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    mend: str | None = None
    mended: Attachments = field(default_factory=dict)


LEVEL_LINE = {
    *("west fails", "east fails", "west-end slips", "east-end slips"),
    *("level[west-end..ann-first] is cut", "level[ann-first..ann-second] is cut"),
    *("level[ann-second..ben-first] is cut", "level[ben-first..ben-second] is cut"),
    "level[ben-second..east-end] is cut",
}
ONE_LINE = {"tree fails", "brake-bar fails", "brake-bar slips", "line[brake-bar..load-knot] is cut", "load-knot slips"}
ONE_DEVICE = {
    *("left fails", "working-top slips", "working[working-top..device] is cut"),
    *("device fails", "device slips"),
}
TWO = {"ann": (2, 2)}
ONE = {"ann": (1, 1)}
BOTH = {"ann": (2, 2), "ben": (2, 2)}

ROWS = (
    Row(
        "11.1",
        "middle-on-one-pipe",
        ONE,
        {"ann": {"service-pipe fails", "line[middle..device] is cut", "device fails", "device slips", "crab fails"}},
        pairs=(("ann", "bracket fails", "stub fails"),),
        says={("one-structure", "service-pipe"), ("one-attachment", "ann"), ("single-point", "service-pipe")},
        mend="middle-on-two-structures",
        mended=TWO,
    ),
    Row(
        "11.2",
        "one-level-line-for-two",
        {"ann": (2, 1), "ben": (2, 1)},
        {"ann": LEVEL_LINE, "ben": LEVEL_LINE},
        says={("fewer-independent", "ann"), ("fewer-independent", "ben"), ("single-point", "west")},
        slips={"west-end slips": ("ann", "ben"), "east-end slips": ("ann", "ben")},
        mend="level-line-and-anchors",
        mended=BOTH,
    ),
    Row(
        "11.3",
        "level-line-one-end-free",
        {"ann": (0, 0)},
        unheld={"ann"},
        says={("not-held", "ann"), ("unused-part", "east")},
        mend="level-line-both-ends-tied",
        mended={"ann": (2, 1)},
    ),
    Row(
        "11.4",
        "one-rope-by-its-middle",
        {"ann": (2, 1), "ben": (1, 1)},
        {
            "ann": {"outrigger fails", "wheels fails", "ballast fails", "middle slips"},
            "ben": {"outrigger fails", "wheels fails", "ballast fails", "tie fails"},
        },
        says={("fewer-independent", "ann"), ("one-attachment", "ben"), ("single-point", "outrigger")},
        mend="two-ropes-two-outriggers",
        mended=BOTH,
    ),
    Row(
        "11.5",
        "litter-on-one-line",
        {"casualty": (1, 1), "attendant": (1, 1), "helper": (0, 1)},
        {
            "casualty": {*ONE_LINE, "master fails", "basket fails", "lashing fails"},
            "attendant": {*ONE_LINE, "master fails", "tether fails"},
            "helper": {"helper loses footing"},
        },
        says={
            ("exposed-without-line", "helper"),
            ("tied-to-litter-only", "casualty"),
            ("attendant-not-adjustable", "attendant"),
            ("single-point", "brake-bar"),
            ("no-stopper", "brake-bar"),
        },
        slips={"brake-bar slips": ("attendant", "basket", "casualty")},
        mend="litter-on-two-lines",
        mended={"casualty": (2, 2), "attendant": (2, 2), "helper": (1, 2)},
    ),
    Row(
        "11.6",
        "one-deviation-one-sleeve",
        {"ann": (2, 1)},
        {"ann": {"tube fails", "plug strikes"}},
        says={("one-sleeve", "tube"), ("fewer-independent", "ann"), ("single-point", "plug")},
        mend="two-deviations-two-sleeves",
        mended=TWO,
    ),
    Row(
        "11.7",
        "beside-hot-pipework",
        {"ann": (2, 1)},
        {"ann": {"pipework strikes"}},
        says={("fewer-independent", "ann"), ("single-point", "pipework")},
        mend="hanging-clear-of-pipework",
        mended=TWO,
    ),
    Row(
        "11.8",
        "forks-of-one-vehicle",
        {"ann": (2, 1), "ben": (2, 1)},
        {"ann": {"truck fails"}, "ben": {"truck fails"}},
        says={("one-structure", "truck"), ("fewer-independent", "ann"), ("fewer-independent", "ben")},
        mend="vehicle-and-bollard",
        mended=BOTH,
    ),
    Row(
        "11.9",
        "two-ropes-one-bare-edge",
        {"ann": (2, 1)},
        {"ann": {"girder cuts"}},
        says={("bare-edge", "girder"), ("single-point", "girder")},
        mend="one-rope-clear-of-the-edge",
        mended=TWO,
    ),
    Row(
        "11.9",
        "edge-padded-on-one-rope",
        TWO,
        {"ann": set()},
        pairs=(("ann", "girder cuts", "mat shifts"),),
        says={("half-padded-edge", "girder"), ("shared-edge", "girder")},
        slips={"mat shifts": ()},
        mend="one-rope-clear-of-the-edge",
        mended=TWO,
    ),
    Row(
        "11.10",
        "hook-on-a-stiff-strop",
        ONE,
        {"ann": {"boom fails", "strop fails", "hook fails", "eye fails"}},
        says={("single-point", "hook"), ("single-point", "strop"), ("one-attachment", "ann")},
        slips={"hook fails": ("ann",)},
        mend="hook-and-second-strop",
        mended=TWO,
    ),
    Row(
        "11.11",
        "two-strands-one-stopper",
        ONE,
        {
            "ann": {
                *("bolt fails", "eye fails", "device fails", "device slips", "crab fails"),
                *("doubled[device..eye] is cut", "doubled[eye..device#2] is cut"),
            }
        },
        says={("no-stopper", "doubled"), ("single-point", "device")},
        slips={"device slips": ("ann",)},
    ),
    Row(
        "11.11",
        "two-strands-two-stoppers",
        ONE,
        {
            "ann": {
                *("bolt fails", "eye fails", "device fails", "device slips", "crab fails"),
                *("doubled[device..eye] is cut", "doubled[eye..device#2] is cut"),
            }
        },
    ),
    Row(
        "11.12",
        "one-strand-threaded",
        {"ann": (0, 0)},
        unheld={"ann"},
        says={("not-held", "ann")},
        mend="two-strands-two-stoppers",
        mended=ONE,
    ),
    Row(
        "11.12",
        "one-strand-threaded-tether-on",
        ONE,
        {"ann": {"second-bolt fails", "tether fails"}},
        says={("holds-nobody", "device"), ("holds-nobody", "doubled")},
        mend="two-strands-two-stoppers",
        mended=ONE,
    ),
    Row(
        "11.13",
        "all-on-one-harness-loop",
        {"ann": (2, 1)},
        {"ann": {"loop fails"}},
        says={("one-harness-point", "loop"), ("single-point", "loop"), ("fewer-independent", "ann")},
        slips={"loop fails": ("ann",)},
        mend="two-harness-points",
        mended=TWO,
    ),
    Row(
        "11.14",
        "tether-as-it-looked",
        ONE,
        {"ann": {"bolt fails", "tether fails", "crab fails"}},
        says={("one-attachment", "ann"), ("single-point", "crab")},
        slips={"crab fails": ("ann",)},
        mend="tether-and-second-tether",
        mended=TWO,
    ),
    Row(
        "11.14",
        "tether-as-it-was",
        {"ann": (0, 0)},
        unheld={"ann"},
        says={("not-held", "ann"), ("hangs-loose", "tether"), ("hangs-loose", "crab")},
        mend="tether-and-second-tether",
        mended=TWO,
    ),
    Row(
        "11.15",
        "two-plain-connectors-one-bolt",
        ONE,
        {
            "ann": {
                *("bolt fails", "flicked-out strikes", "device fails", "device slips", "link fails"),
                *("doubled[device..one-crab] is cut", "doubled[one-crab..other-crab] is cut"),
                "doubled[other-crab..device#2] is cut",
            }
        },
        pairs=(("ann", "one-crab fails", "other-crab fails"),),
        says={
            ("gate-not-locking", "one-crab"),
            ("gate-not-locking", "other-crab"),
            ("single-point", "bolt"),
            ("single-point", "flicked-out"),
        },
        mend="two-locking-connectors-two-bolts",
        mended=ONE,
    ),
    Row(
        "11.16",
        "one-capture-on-one-rope",
        ONE,
        {
            "ann": {
                "bolt fails",
                "top slips",
                "line[top..capture] is cut",
                "capture fails",
                "capture slips",
                "crab fails",
            }
        },
        says={("one-attachment", "ann"), ("single-point", "capture"), ("runs-to-stopper", "line-stopper")},
        mend="two-captures-on-one-rope",
        mended={"ann": (2, 1)},
    ),
    Row(
        "11.17",
        "sling-girthed-to-sling",
        ONE,
        {"ann": {"eye fails", "top slips", "line[top..device] is cut", "device fails", "device slips", "crab fails"}},
        pairs=(("ann", "upper fails", "other fails"), ("ann", "lower fails", "boulder fails")),
        says={("textile-on-textile", "upper")},
        mend="sling-and-sling-with-a-connector",
        mended=ONE,
    ),
    Row(
        "11.18",
        "descender-on-an-unlocked-gate",
        ONE,
        {
            "ann": {
                *("bolt fails", "rebelay slips", "lower[rebelay..device] is cut"),
                *("device fails", "device slips", "crab fails"),
            }
        },
        says={("one-attachment", "ann"), ("single-point", "crab")},
        slips={"crab fails": ("ann",)},
        mend="descender-tested-with-tether-on",
        mended=TWO,
    ),
    Row(
        "11.19",
        "lower-from-one-connector",
        ONE,
        {
            "ann": {
                *("bolt fails", "top-crab fails", "knot slips"),
                *("stake fails", "brake-bar fails", "brake-bar slips"),  # runs up to the connector
                *("line[knot..top-crab] is cut", "line[top-crab..brake-bar] is cut"),
            }
        },
        says={("runs-through-connector", "top-crab"), ("single-point", "top-crab")},
        slips={"top-crab fails": ("ann",)},
        mend="lower-from-two-connectors",
        mended=ONE,
    ),
    Row(
        "11.20",
        "gate-open-next-one-held",
        ONE,
        {
            "ann": {
                *("knot slips", "stake fails", "brake-bar fails", "brake-bar slips"),
                *("line[knot..upper] is cut", "line[upper..next] is cut", "line[next..brake-bar] is cut"),
            }
        },
        pairs=(("ann", "upper fails", "next fails"), ("ann", "upper fails", "next-bolt fails")),
        says={("gate-not-locking", "upper"), ("gate-not-locking", "next")},
        slips={"upper fails": ()},
    ),
    Row(
        "11.21",
        "one-lanyard-crimped-end",
        ONE,
        {"ann": {"stem fails", "stem-turn slips", "core[stem-turn..crimp] is cut", "crimp slips", "crab fails"}},
        says={("one-attachment", "ann"), ("single-point", "crimp")},
        slips={"crimp slips": ("ann",)},
        mend="lanyard-and-climbing-line",
        mended=TWO,
    ),
    Row(
        "11.22",
        "lower-rope-too-short",
        ONE,
        {
            "ann": {
                *("bolt fails", "wheel fails", "knot slips", "brake-bar fails", "brake-bar slips", "stake fails"),
                *("line[knot..wheel] is cut", "line[wheel..brake-bar] is cut"),
            }
        },
        says={("rope-too-short", "line"), ("no-stopper", "line")},
        mend="lower-rope-long-enough",
        mended=ONE,
    ),
    Row(
        "11.23",
        "one-brakeman-two-lines",
        {"ann": (1, 1), "ben": (1, 1)},
        {
            "ann": {
                *("left fails", "ann-brake fails", "ann-line[ann-brake..ann-knot] is cut", "ann-knot slips"),
                *("ann-brake slips", "jo lets go"),
            },
            "ben": {
                *("right fails", "ben-brake fails", "ben-line[ben-brake..ben-knot] is cut", "ben-knot slips"),
                *("ben-brake slips", "jo lets go"),
            },
        },
        says={("needed-twice", "jo"), ("runs-to-stopper", "ann-line-stopper"), ("one-attachment", "ann")},
        mend="two-brakemen-two-lines-each",
        mended=BOTH,
    ),
    Row(
        "11.24",
        "lowered-through-webbing",
        ONE,
        {
            "ann": {
                *("tree fails", "webbing fails", "knot slips", "stake fails", "brake-bar fails", "brake-bar slips"),
                *("line[knot..webbing] is cut", "line[webbing..brake-bar] is cut"),
            }
        },
        says={("rope-through-textile", "webbing")},
        mend="lowered-through-a-pulley",
        mended=ONE,
    ),
    Row(
        "11.25",
        "two-bolts-one-loose-block",
        {"ann": (2, 1)},
        {"ann": {"block fails"}},
        says={("one-structure", "block"), ("fewer-independent", "ann"), ("single-point", "block")},
        mend="two-bolts-two-rocks",
        mended=TWO,
    ),
    Row(
        "11.26",
        "bowline-with-a-short-tail",
        ONE,
        {"ann": {"tree fails", "top slips", "line[top..device] is cut", "device fails", "device slips", "crab fails"}},
        says={("short-tail", "top")},
        slips={"top slips": ("ann",)},
        mend="bowline-with-a-long-tail",
        mended=ONE,
    ),
    Row(
        "11.27",
        "descender-on-a-gear-loop",
        {"ann": (0, 0)},
        unheld={"ann"},
        says={("not-held", "ann"), ("gear-only", "side-loop"), ("gear-only", "small-ring")},
        mend="descender-on-the-harness",
        mended=TWO,
    ),
    Row(
        "11.28",
        "patient-tied-to-the-litter-only",
        {"vic": (1, 1)},
        {"vic": {"left-ring fails", "legs fails", "basket fails", "rail fails", "lashing fails"}},
        says={("tied-to-litter-only", "vic"), ("one-attachment", "vic"), ("single-point", "lashing")},
        mend="patient-on-a-strap-of-its-own",
        mended={"vic": (2, 2)},
    ),
    Row(
        "11.29",
        "back-up-upside-down",
        ONE,
        {"ann": {*ONE_DEVICE}},
        says={("holds-nobody", "grab"), ("one-attachment", "ann")},
        mend="back-up-the-right-way-up",
        mended=TWO,
    ),
    Row(
        "11.29",
        "back-up-towed-by-hand",
        TWO,
        {"ann": set()},
        pairs=(("ann", "ann holds on", "left fails"), ("ann", "ann holds on", "device fails")),
    ),
    Row(
        "11.30",
        "deviation-keeps-ropes-off-a-ledge",
        TWO,
        {"ann": set()},
        pairs=(("ann", "dev-sling fails", "ledge cuts"),),
        says={("shared-edge", "ledge")},
        mend="deviation-for-each-rope",
        mended=TWO,
    ),
)

each_row = pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row.number}-{row.rig}")
MENDED = [row for row in ROWS if row.mend]
each_mend = pytest.mark.parametrize("row", MENDED, ids=lambda row: f"{row.number}-{row.rig}")


def stood(name: str) -> Result:
    return shipped(FOLDER / f"{name}.rig")


def counted(result: Result, names: Attachments) -> Attachments:
    return {name: (result.body(name).attachments, result.body(name).independent) for name in names}


def said(result: Result) -> Said:
    return {(finding.rule, part) for finding in result.findings for part in finding.about}


@each_row
def test_who_is_held_by_how_many(row: Row) -> None:
    result = stood(row.rig)
    assert counted(result, row.attachments) == row.attachments
    assert {body.name for body in result.bodies if not body.held} == row.unheld
    assert {finding.bodies for finding in result.findings if finding.rule == "not-held"} == {(b,) for b in row.unheld}


@each_row
def test_what_drops_somebody_alone(row: Row) -> None:
    result = stood(row.rig)
    for body, wanted in row.alone.items():
        assert criticals(result, body) == wanted
        assert {failure.id for failure in result.failures if body in failure.falls} == wanted
    for body, one, other in row.pairs:
        assert body not in falls(result, one)
        assert body not in falls(result, other)
        assert tuple(sorted((one, other))) in result.failure_sets[body]


@each_row
def test_what_the_rules_say_of_it(row: Row) -> None:
    result = stood(row.rig)
    assert row.says <= said(result)
    assert {rule for rule, _ in row.says} <= {rule.name for rule in RULES}
    slips = {slip.failure: slip.alone for slip in result.slips}
    assert {failure: slips[failure] for failure in row.slips} == row.slips


@each_mend
def test_the_mend_takes_it_away(row: Row) -> None:
    assert row.mend
    result = stood(row.mend)
    assert counted(result, row.mended) == row.mended
    assert not row.says & said(result)
    assert all(body.held for body in result.bodies)
    slips = {slip.failure: slip.alone for slip in result.slips}
    if row.mended != row.attachments:
        assert all(slips.get(failure) != alone for failure, alone in row.slips.items() if alone)


def test_a_person_above_hangs_on_each_part_of_the_rig_that_is_told() -> None:
    """Of two people on one level line (11.2) both fall with it; of 11.8 both with the vehicle."""
    assert falls(stood("one-level-line-for-two"), "west fails") == ("ann", "ben")
    assert falls(stood("forks-of-one-vehicle"), "truck fails") == ("ann", "ben")
    assert falls(stood("one-rope-by-its-middle"), "outrigger fails") == ("ann", "ben")
    assert falls(stood("one-rope-by-its-middle"), "middle slips") == ("ann",)
    assert falls(stood("litter-on-one-line"), "brake-bar slips") == ("attendant", "basket", "casualty")


def test_an_unseen_slip_makes_single_failures_deadly() -> None:
    """A pad that was never placed (11.9), an unlocked gate with the tether still on (11.18), an open gate
    with the next connector below it (11.20), a back-up the right way round or not (11.29)."""
    wanted = {
        ("edge-padded-on-one-rope", "mat shifts"): {"girder cuts"},
        ("descender-tested-with-tether-on", "crab fails"): {"upper-bolt fails", "tether fails", "tether-crab fails"},
        ("gate-open-next-one-held", "upper fails"): {"next fails", "next-bolt fails"},
        ("back-up-the-right-way-up", "grab slips"): ONE_DEVICE,
        ("two-captures-on-one-rope", "capture slips"): {"second fails", "second slips", "second-crab fails"},
    }
    for (rig, failure), deadly in wanted.items():
        slip = next(one for one in stood(rig).slips if one.failure == failure)
        assert (slip.alone, {other for other, _ in slip.deadly}) == ((), deadly)


def test_a_hand_on_the_back_up_defeats_it() -> None:
    """11.29: what is deadly while the device is towed is what is deadly with none at all."""
    towed = stood("back-up-towed-by-hand")
    with_none = criticals(stood("back-up-upside-down"), "ann")
    pairs = {frozenset(cut) for cut in towed.failure_sets["ann"] if "ann holds on" in cut}
    assert pairs == {frozenset({"ann holds on", failure}) for failure in with_none}


def test_the_turned_back_up_is_named_with_its_mend() -> None:
    finding = next(one for one in stood("back-up-upside-down").findings if one.rule == "holds-nobody")
    assert "grab faces the wrong way" in finding.text
    assert finding.mend


def test_every_rig_is_in_some_row_and_every_row_in_the_table() -> None:
    used = {row.rig for row in ROWS} | {row.mend for row in ROWS if row.mend}
    assert {path.stem for path in FOLDER.glob("*.rig")} == used
    numbers = {f"11.{k}" for k in range(1, 31)}
    assert {row.number for row in ROWS} == numbers
    table = (FOLDER / "README.md").read_text()
    for row in ROWS:
        assert any(line.startswith(f"| {row.number} |") and f"`{row.rig}`" in line for line in table.splitlines())

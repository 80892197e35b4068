"""One addition: the expected one first, every one does what it says, none that the trade wouldn't."""

from __future__ import annotations

import json
import random
import re
from pathlib import Path
from textwrap import dedent

import pytest
from random_rigs import random_rig_text
from rigs import pasted_into

import analyser
from analyser.checking.letterhead import CAUTIONS
from analyser.doors.commands.main import main
from analyser.holding.outcome import after_each
from analyser.holding.reviewing import Review
from analyser.rig.model import Nature, Rig
from analyser.uses.mending.ranking import STRUCTURE_ONLY, Mend, Mending, mend

EXAMPLES = sorted((Path(__file__).parent.parent / "examples").glob("*.rig"))


def mended(text: str, most: int = 20) -> Mending:
    return mend(analyser.read_text(f'rig "a test"\n{dedent(text).strip()}\n'), most)


def best(text: str) -> Mend:
    return mended(text).mends[0]


def first_lines(one: Mend) -> list[str]:
    return [*(change.text.strip() for change in one.proposal.changes), *(line.strip() for line in one.proposal.added)]


def small_sets(rig: Rig) -> dict[str, set[tuple[str, ...]]]:
    """Sets of up to two failures, those with accepted failures left out."""
    accepted = {one.failure for one in rig.accepted}
    found = Review(rig).failure_sets([body.name for body in rig.bodies], 2).found
    return {name: {one for one in sets if not accepted & set(one)} for name, sets in found.items()}


def does_what_it_says(text: str, mending: Mending, folder: Path) -> None:
    """Paste each proposal, read it, analyse it anew, and compare with what was said."""
    before = small_sets(mending.rig)
    for one in mending.mends:
        pasted = analyser.read_text(pasted_into(text, one.proposal.added, one.proposal.changes), "rig", folder)
        review = Review(pasted)
        after = small_sets(pasted)
        told = {gain.name: gain for gain in one.gains}
        taken = [g for g in one.gains if g.singles_gone or g.pairs_gone or g.after.held > g.before.held]
        assert taken or one.hands_off_gone
        for name in before:
            gone, came = before[name] - after[name], after[name] - before[name]
            gain = told.get(name)
            if gain is None:
                assert not gone and not came
                continue
            assert set(gain.singles_gone) == {cut[0] for cut in gone if len(cut) == 1}
            assert set(gain.singles_left) == {cut[0] for cut in after[name] if len(cut) == 1}
            assert gain.pairs_gone == sum(len(cut) == 2 for cut in gone)
            assert gain.pairs_new == sum(len(cut) == 2 for cut in came)
            assert gain.after.held is (() not in after[name])
            if () not in before[name]:
                assert not any(len(cut) < 2 for cut in came), "no mend makes a single point elsewhere"
            if gain.after.independent is not None:
                assert gain.after.independent == review.independent(name).number
            assert gain.after.attachments == review.attachments(name)
        (off,) = after_each(pasted, [pasted.hands_off])
        assert set(off.held).issuperset(one.hands_off_gone)


def is_what_the_trade_does(mending: Mending, text: str, folder: Path) -> None:
    """No litter's rail, gear loop, other person, edge, pad or footing is ever an attachment."""
    old = mending.rig
    for one in mending.mends:
        new = analyser.read_text(pasted_into(text, one.proposal.added, one.proposal.changes), "rig", folder)
        fresh = new.parts.keys() - old.parts.keys()
        known = {frozenset((c.a, c.b)) for c in old.contacts}
        added = [c for c in new.contacts if c.given and frozenset((c.a, c.b)) not in known]
        owners: dict[str, set[str]] = {}
        for contact in added:
            for mine, met in ((contact.a, contact.b), (contact.b, contact.a)):
                part = new.parts[met]
                assert part.nature not in (Nature.EDGE, Nature.PAD, Nature.PERSON, Nature.LITTER)
                assert not re.search(r"gear|accessory|tool|\brail", f"{part.name} {part.note}")
                assert not part.below and part.kind != "footing"
                owner = part.body or (part.name if part.is_body else None)
                if owner and mine in fresh:
                    owners.setdefault(mine, set()).add(owner)
        assert all(len(whose) == 1 for whose in owners.values()), "nothing new joins two bodies"
        for rope in new.ropes:
            for station in rope.stations:
                if rope.name in fresh and new.parts[station.part].nature is Nature.EDGE:
                    assert station.guards, "a new rope is never laid over an edge unguarded"


# -- the expected first


def test_the_strap_left_off_is_found() -> None:
    path = next(path for path in EXAMPLES if path.stem == "litter-lower-strap-left-off")
    one = mend(analyser.read(path)).mends[0]
    assert one.proposal.added == ("attach master - strap sam-strap - sam-chest",)
    assert one.proposal.words == "a strap from master to sam-chest"
    assert one.words().startswith("sam's 5 single points go; 2 independent attachments instead of 1; ")
    assert one.gains[0].singles_left == ()


BARE_EDGE = """
    anchor left, right
    edge lip
    person sam: points waist, chest
    rope red
        tied to left with bowline
        over lip                     # bare
        tied to sam.waist with figure-eight
    rope green
        tied to right with bowline
        over lip, slack 0.2 m
        tied to sam.chest with figure-eight
"""


def test_a_bare_edge_gets_a_pad_for_each_rope() -> None:
    one = best(BARE_EDGE)
    assert first_lines(one) == [
        "over lip, padded by red-lip-pad  # bare",
        "over lip, padded by green-lip-pad, slack 0.2 m",
        "pad red-lip-pad, green-lip-pad",
    ]
    assert (one.gains[0].singles_gone, one.gains[0].pairs_new) == (("lip cuts",), 0)


def test_a_shared_pad_becomes_one_for_each() -> None:
    text = BARE_EDGE.replace("# bare", "").replace("over lip", "over lip, padded by mat") + "    pad mat\n"
    mending = mended(text)
    assert not mending.singles and "nothing to mend there" in mending.need
    pads = next(one for one in mending.mends if one.proposal.sort == "pad")
    assert first_lines(pads) == ["over lip, padded by green-lip-pad, slack 0.2 m", "pad green-lip-pad"]
    assert pads.gains[0].pairs_gone >= 1


HAND_BRAKES = """
    anchor left, right
    person jo: standing
    litter basket: points head, foot
    ring master, spare-ring
    attach left - brake left-brake
    attach right - brake right-brake
    left-brake, right-brake: operated by jo
    rope red
        gripped by left-brake
        tied to master with bowline
        tied to spare-ring with bowline
    rope green
        gripped by right-brake
        tied to master with bowline
    attach master - strap head-leg - basket.head
    attach spare-ring - strap foot-leg - basket.foot
"""


def test_brakes_in_one_hand_become_self_locking() -> None:
    one = best(HAND_BRAKES)
    assert first_lines(one) == ["left-brake, right-brake: self-locking"]
    assert one.gains[0].singles_gone == ("jo lets go",)
    assert one.hands_off_gone == ("basket",)


def test_a_shared_ring_is_passed_by() -> None:
    one = best(
        """
        anchor left, right
        ring master
        person sam: points waist, chest, thigh
        attach left - master
        attach right - master
        attach master - strap a - sam.waist
        attach master - strap b - sam.chest
        """
    )
    assert first_lines(one) == ["attach left - strap sam-strap - sam.thigh"]
    assert one.gains[0].singles_gone == ("master fails",)


def test_one_anchor_for_two_lines_gets_a_second() -> None:
    one = best(
        """
        anchor boulder
        person sam: points waist, chest
        rope red
            tied to boulder with bowline
            tied to sam.waist with figure-eight
        rope green
            tied to boulder with bowline
            tied to sam.chest with figure-eight
        """
    )
    assert one.proposal.sort == "anchor"
    assert any("anchor second-boulder" in line for line in first_lines(one))
    assert one.gains[0].singles_gone == ("boulder fails",)


def test_a_single_rope_gets_a_second_one() -> None:
    mending = mended(
        """
        anchor bolt
        edge lip
        person sam: points waist, chest
        rope red
            tied to bolt with bowline
            over lip
            gripped by descender sam-descender - sam.waist
        """
    )
    one = mending.mends[0]
    assert one.proposal.added == (
        "pad sam-line-pad",
        "rope sam-line",
        "    tied to anchor sam-anchor with figure-eight",
        "    over lip, padded by sam-line-pad",
        "    gripped by rope-grab sam-back-up - sam.chest",
        "    stopper",
    )
    assert one.gains[0].singles_left == ()
    assert not any(m.proposal.sort == "stopper" for m in mending.mends)  # a last catch is no mend


def test_a_patient_who_is_only_lashed_in_is_tied_to_the_ring() -> None:
    one = best(
        """
        anchor left, right
        ring master
        litter basket: points head, foot, rail
        person vic
        attach left - master
        attach right - master
        attach master - strap head-leg - basket.head
        attach master - strap foot-leg - basket.foot
        attach basket - strap lashing - vic
        sound master fails: "for the test"
        """
    )
    added = first_lines(one)
    assert added[0] == "harness vic-harness: worn by vic"
    assert re.fullmatch(r"attach (left|right|master) - strap vic-strap - vic-harness", added[1])
    assert set(one.gains[0].singles_gone) == {"basket fails", "lashing fails"}


def test_who_hangs_on_the_patient_is_held_first() -> None:
    mending = mended(
        """
        anchor left, right
        ring master
        person vic, sam: points waist
        harness sam-gear-loop: worn by sam
        attach left - master
        attach right - master
        attach master - strap vic-strap - vic.waist
        attach vic.waist - lanyard link-up - sam.waist
        """
    )
    assert "sam is not held with nothing failed" in mending.need
    one = mending.mends[0]
    assert one.gains[0].name == "sam" and one.gains[0].after.held and not one.gains[0].before.held
    assert "sam is held, and was not" in one.words()
    assert "gear-loop" not in json.dumps(mending.to_dict()["mends"])


def test_bare_hands_become_a_brake() -> None:
    one = best(
        """
        anchor top
        person jo: standing
        load crate
        attach top - pulley wheel
        rope red
            tied to crate with bowline
            through wheel
            held by jo    # alone
        """
    )
    assert first_lines(one) == [
        "gripped by brake jo-brake - anchor jo-anchor  # alone",
        "stopper",
        "jo-brake: operated by jo, self-locking",
    ]


# -- nothing to do, nothing found


def test_nothing_to_mend_is_said() -> None:
    text = "anchor a, b, c\nperson s: points w, x, y\nattach a - s.w\nattach b - s.x\nattach c - s.y"
    mending = mended(text)
    assert mending.mends == () and mending.nothing == ""
    assert mending.need == "after any one failure and any two everybody is held: nothing needs mending for that"
    assert mended("anchor a").need == "nobody and nothing in this file has to be held"


def test_nothing_helps_is_said() -> None:
    mending = mended(
        """
        anchor slab: below
        person s: points w
        attach slab - strap t - s.w
        """
    )
    assert mending.mends == ()
    assert "none takes away what drops somebody now" in mending.nothing


def test_accepted_failures_are_left_out() -> None:
    text = 'anchor a\nperson s: points w\nattach a - carabiner c - s.w\naccept a fails: "tested"'
    mending = mended(text)
    assert mending.need == "s has 1 single point besides what the file accepts"
    assert all("a fails" not in gain.singles_gone for one in mending.mends for gain in one.gains)


# -- every one does what it says, none that the trade wouldn't


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_every_proposal_for_an_example(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    mending = mend(analyser.read_text(text, folder=path.parent))
    assert mending.mends
    does_what_it_says(text, mending, path.parent)
    is_what_the_trade_does(mending, text, path.parent)


@pytest.mark.parametrize("seed", range(40))
def test_every_proposal_for_a_random_rig(seed: int) -> None:
    text = random_rig_text(random.Random(seed), 3)
    mending = mend(analyser.read_text(text), 6)
    does_what_it_says(text, mending, Path())
    is_what_the_trade_does(mending, text, Path())
    assert bool(mending.nothing) == (not mending.mends and bool(mending.worst or mending.off))


NEVER = """
    anchor left, right
    footing slab
    anchor low: below
    edge lip: padded by mat
    pad mat
    ring master
    ring accessory-ring: is "for tools"
    litter basket: points head-left, foot-left, rail
    person vic: points waist
    person sam: points waist
    harness sam-gear-loop: worn by sam
    attach left - carabiner left-crab - master
    attach right - carabiner right-crab - master
    attach left - accessory-ring
    attach slab - cord tie - master
    attach low - cord low-tie - master
    attach master - strap leg-1 - basket.head-left
    attach master - strap leg-2 - basket.foot-left
    attach basket - strap lashing - vic
    attach basket.rail - strap rail-strap - sam.waist
    attach master - strap vic-strap - vic.waist
"""


def test_what_is_never_proposed() -> None:
    text = f'rig "never"\n{dedent(NEVER)}'
    mending = mend(analyser.read_text(text), 50)
    assert len(mending.mends) > 2
    is_what_the_trade_does(mending, text, Path())
    printed = json.dumps([one["add"] for one in mending.to_dict()["mends"]])  # type: ignore[attr-defined]
    for never in ("accessory-ring", "gear-loop", "rail", "slab", "low", "lashing", "- basket -", "mat"):
        assert never not in printed.replace("second-rail-strap", ""), never


# -- the command


def call(path: Path | str, *, as_json: bool = False, most: int = 5) -> int:
    return main(["mend", str(path), "--most", str(most), *(["--json"] if as_json else [])])


def test_the_page_says_what_it_is(capsys: pytest.CaptureFixture[str]) -> None:
    path = next(path for path in EXAMPLES if path.stem == "litter-lower-strap-left-off")
    assert call(path, most=1) == 0
    page = capsys.readouterr().out
    flat = " ".join(page.split())
    assert "          attach master - strap sam-strap - sam-chest\n" in page
    assert "Ranked by structure, not by practice" in flat and STRUCTURE_ONLY in flat
    assert all(caution in flat for caution in CAUTIONS)
    assert "held does not say how far anybody drops before that" in flat
    assert not re.search(r"\bsafe\b", flat)


def test_lines_to_paste_are_never_cut(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    long = "-".join(["anchor"] * 20)
    path = tmp_path / "long.rig"
    path.write_text(f'rig "x"\nanchor {long}\nperson s: points w, x\nattach {long} - carabiner c - s.w\n')
    assert call(path) == 0
    assert f"          attach {long} - strap s-strap - s.x\n" in capsys.readouterr().out


@pytest.mark.parametrize("path", EXAMPLES[::2], ids=lambda path: path.stem)
def test_the_document_and_the_same_bytes_twice(path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert call(path, as_json=True) == 0
    first = capsys.readouterr().out
    if path in EXAMPLES[::4]:
        assert call(path, as_json=True) == 0
        assert capsys.readouterr().out == first
    data = json.loads(first)
    assert data["format"] == "stillheld/2" and data["cautions"] == list(CAUTIONS)
    assert data["mends"][0].keys() >= {"what", "does", "add", "change", "bodies"}


def test_a_rig_that_cannot_be_read(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "bad.rig"
    path.write_text('rig "x"\nattach nowhere - nothing\n')
    assert call(path) == 2
    assert "nowhere" in capsys.readouterr().err
    path.write_bytes(b"\xff\xfe")
    assert call(path) == 2


def test_includes_windows_lines_and_own_kinds(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "kit.rig").write_text("kind hub like ring\nring spare\n")
    path = tmp_path / "main.rig"
    text = (
        'rig "kit"\ninclude "kit.rig"\nanchor a, b\nhub master\nperson s: points w, x\n'
        'attach a - master\nattach b - master\nattach master - carabiner c - s.w\nsound master fails: "test"'
    )
    path.write_bytes(b"\xef\xbb\xbf" + text.replace("\n", "\r\n").encode())
    assert call(path, as_json=True) == 0
    data = json.loads(capsys.readouterr().out)
    assert data["mends"][0]["add"] in (["attach master - strap s-strap - s.x"], ["attach a - strap s-strap - s.x"])


# -- what moves


def lines_for(text: str, body: str) -> list[str]:
    mends = mended(text).mends
    words = [mend.proposal.words for mend in mends if mend.proposal.sort == "line" and body in mend.proposal.bodies]
    return [one for one in words if body in one]


def test_who_runs_along_a_track_gets_a_track_and_no_line_that_holds_its_place() -> None:
    """A line from the ground, tied at both ends, could not follow along the track."""
    rig = """
        anchor w1, w2, e1, e2: not below
        person rin: points sit, chest
        ring hub
        attach hub - pulley t1
        attach hub - pulley t2
        rope one
            tied to w1 with bowline
            through t1
            tied to e1 with bowline
        rope two
            tied to w2 with bowline
            through t2
            tied to e2 with bowline
        attach hub - strap rin-strap - rin.sit
    """
    told = "a further track beside one, on two new anchors, with a pulley of its own at"
    words = [one.proposal.words for one in mended(rig).mends if one.proposal.sort == "line"]
    assert f"{told} rin.chest" in words and all(one.startswith(told) for one in words)


def test_who_is_hauled_or_belayed_gets_a_line_that_can_follow() -> None:
    hauled = """
        anchor bollard, second
        person kai: standing
        person mo: points tie
        attach bollard - carabiner crab - cam-pulley capture
        rope haul
            tied to mo.tie with figure-eight as haul-knot
            gripped by capture, load from haul-knot
            held by kai, tail towards end
    """
    assert lines_for(hauled, "mo") and all("on a brake of its own" in one for one in lines_for(hauled, "mo"))
    belayed = """
        anchor chain, second
        person nia: points tie-in
        person oz
        harness oz-loop: worn by oz, carries through
        attach second - sling oz-sling - oz-loop
        attach oz-loop - carabiner bel-crab - munter bel
        bel: operated by oz
        rope lead
            gripped by bel
            through chain
            tied to nia.tie-in with figure-eight as lead-knot
    """
    assert lines_for(belayed, "nia") and all("on a brake of its own" in one for one in lines_for(belayed, "nia"))


def test_beside_a_line_that_leads_down_no_further_one_is_a_mend() -> None:
    """Who has lost the rope that lets them down runs to the end of a guiding line, and of a second one too."""
    text = """
anchor top-a, top-c: not below
anchor valley{at}
person jo: standing
person vic: points waist, chest{vic}
attach top-a - brake main-brake
main-brake: operated by jo, self-locking
rope main
    stopper
    gripped by main-brake
    tied to vic.waist with figure-eight
attach pulley wheel - strap s - vic.chest
rope guide
    tied to top-c with figure-eight
    through wheel
    tied to valley with figure-eight
"""
    for at, vic in ((": below", ""), (": at (40, 0, 0)", ", at (5, 0, 20)")):
        told = [one.proposal.words for one in mended(text.format(at=at, vic=vic)).mends]
        assert told and not any("further track" in words for words in told)

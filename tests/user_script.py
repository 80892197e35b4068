"""A user's small program: every verb once. `tests/test_face.py` runs it, and `mypy --strict` over it."""

from __future__ import annotations

import sys
from pathlib import Path

import analyser

EXAMPLES = Path(__file__).parent.parent / "examples"


def main(target: Path) -> dict[str, object]:
    lower = analyser.read(EXAMPLES / "litter-lower.rig")
    wrong = analyser.read(EXAMPLES / "crossings" / "lower-to-raise-wrong.rig")
    right = analyser.read(EXAMPLES / "crossings" / "lower-to-raise.rig")
    tilt = analyser.read(EXAMPLES / "litter-tilt.rig")
    hauled = analyser.read(EXAMPLES / "haul-three-to-one.rig")
    sling = analyser.read(EXAMPLES / "incidents" / "one-sling.rig")
    bag = analyser.read_text('rig "A bag"\nanchor bolt\nload bag\nattach bolt - sling s - bag\n', "bag.rig")

    checked = analyser.check(lower, order=3, without=["short-tail"], latent=True)
    sam = checked.body("sam")
    alone = [failure.id for failure in checked.failures if "sam" in failure.falls]
    after = analyser.whatif(wrong, "main-bolt fails", stage="Stop")
    ways = [way.legs for one in analyser.why(lower, "sam").bodies for way in one.ways]
    best = analyser.rank(lower).parts[0].part
    carried = analyser.forces(tilt, samples=4)
    loads = carried.states[0].loads
    heaviest = max(line.tension for line in loads.now.lines) if loads else 0.0
    hung = analyser.attitude(tilt, "basket", head_up=5.0, sweep=(0.0, 0.2), along={"vic": 0.9})
    lengths = hung.wished.lengths if hung.wished else None
    gain = analyser.haul(hauled).ropes[0].advantage
    mended = analyser.mend(bag, most=2).mends[0].proposal.added
    worse = analyser.compare(right, wrong).worse
    order = analyser.reorder(wrong, wrong.stages[0].title).best
    case = analyser.reconstruct(sling, slips=True)
    steps = [step.words for stage in analyser.procedure(right).stages for step in stage.steps]
    points = [item.name for item in analyser.walkdown(lower).items]
    items = analyser.report(lower, 2).items
    picture = analyser.draw(lower, "left-bolt fails")
    picture.save(target)
    analyser.draw(tilt, view="side")
    frame = checked.to_frame()
    try:
        analyser.whatif(lower, "left-blot fails")
    except analyser.Refused as error:
        refused = error.mistakes[0].help
    return {
        "sam": (sam.attachments, sam.independent, alone),
        "after": after.falls,
        "ways": len(ways),
        "best": best,
        "heaviest": heaviest,
        "lengths": lengths,
        "gain": gain.ideal if gain else None,
        "mended": mended,
        "worse": worse[0],
        "order": order.bad if order else None,
        "explanations": [one.first for one in case.made.explanations],
        "steps": steps[0],
        "points": points[0],
        "items": len(items),
        "columns": list(frame.columns),
        "refused": refused,
    }


if __name__ == "__main__":
    for name, told in main(Path(sys.argv[1])).items():
        print(f"{name}: {told}")

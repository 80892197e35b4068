"""The seven rigs on which every paper is measured: five sizes, a changeover of 20 steps, one with forces."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from rigs import shipped

import analyser
from analyser.checking.results import Result
from analyser.rig.figures import use
from tests.bench.generating import ordinary

EXAMPLES = Path(__file__).parent.parent / "examples"
TEN = """rig "Two straps on a ledge"
anchor left, right
person ann
harness waist, chest: worn by ann
attach left - carabiner left-crab - strap left-strap - waist
attach right - carabiner right-crab - strap right-strap - chest
ring spare
"""
CHANGEOVER = EXAMPLES / "crossings" / "rebelay.rig"
FORCES = EXAMPLES / "litter-bridle.rig"
SEVEN = {
    "10 parts": TEN,
    "25 parts": ordinary(20),
    "40 parts": ordinary(40),
    "80 parts": ordinary(80),
    "150 parts": ordinary(150),
    "changeover": CHANGEOVER.read_text(encoding="utf-8"),
    "forces": FORCES.read_text(encoding="utf-8"),
}
"""Texts of rigs, by what they are measured for; those of teams stop at the first whole team past their size."""


def checked_of_seven(name: str) -> Result:
    """The check of one of them, worked out once for the tests that only read it."""
    files = {"changeover": CHANGEOVER, "forces": FORCES}
    result = shipped(files[name]) if name in files else _checked_once(name)
    use(result.rig.units)
    return result


@cache
def _checked_once(name: str) -> Result:
    return analyser.check(analyser.read_text(SEVEN[name]))

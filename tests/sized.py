"""The seven rigs on which every paper is measured: five sizes, a changeover of 20 steps, one with forces."""

from __future__ import annotations

from pathlib import Path

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

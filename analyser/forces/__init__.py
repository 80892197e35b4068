"""What each part carries: equilibrium, attitude, hauling, and what follows a failure.

Optional: the holding analysis never depends on it. Importing this room loads numpy and clarabel, so
it is imported only inside the commands that need it. The equations are in `statics.md`.
"""

from analyser.forces.aftermath import Aftermath, Band, Cascade, Moved, after, cascade, every_single
from analyser.forces.assembling import Case
from analyser.forces.carried import PartForce, part_forces
from analyser.forces.equilibrium import BodyPose, Equilibrium, LineForce, Statics, equilibrium
from analyser.forces.frames import FrameForce, frame_forces
from analyser.forces.hauling import Advantage, NoHaul, advantage
from analyser.forces.levelling import Hung, OutOfReach, Wished, sweep, wished
from analyser.forces.missing import Missing, Wanted
from analyser.forces.retained import KNOTS, Retained
from analyser.forces.strength import Factor, Factors, factors

__all__ = [
    "KNOTS",
    "Advantage",
    "Aftermath",
    "Band",
    "BodyPose",
    "Cascade",
    "Case",
    "Equilibrium",
    "Factor",
    "Factors",
    "FrameForce",
    "Hung",
    "LineForce",
    "Missing",
    "Moved",
    "NoHaul",
    "OutOfReach",
    "PartForce",
    "Retained",
    "Statics",
    "Wanted",
    "Wished",
    "advantage",
    "after",
    "cascade",
    "equilibrium",
    "every_single",
    "factors",
    "frame_forces",
    "part_forces",
    "sweep",
    "wished",
]

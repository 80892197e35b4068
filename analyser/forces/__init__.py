"""What each part carries: equilibrium, attitude, hauling, and what follows a failure.

Optional: the holding analysis never depends on it. Importing this room loads numpy and clarabel, so
it is imported only inside the commands that need it. The equations are in `statics.md`.
"""

from analyser.forces.assembling import Case
from analyser.forces.equilibrium import BodyPose, Equilibrium, LineForce, Statics, equilibrium
from analyser.forces.missing import Missing, Wanted

__all__ = ["BodyPose", "Case", "Equilibrium", "LineForce", "Missing", "Statics", "Wanted", "equilibrium"]

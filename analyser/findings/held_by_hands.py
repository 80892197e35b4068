"""When every person lets go at once, somebody falls: the whistle test fails.

At any moment a whistle may blow and every hand open; a brake without a hands-free lock, a haul
team without progress capture, a hand on a rope are then nothing. Source: county manual quoted at
firehouse.com/forums t125939, of which an extract was seen (facts 9.12, S93).
"""

from __future__ import annotations

from collections.abc import Iterator

from analyser.findings.finding import Finding, Severity, listed, verb
from analyser.holding.outcome import Outcome
from analyser.rig.model import Rig

NAME = "held-by-hands"


def find(rig: Rig, outcome: Outcome) -> Iterator[Finding]:
    already = {body.name for body in outcome.bodies if not body.held}
    falls = tuple(name for name in outcome.hands_off_falls if name not in already)
    if falls:
        text = f"with every hand off, {listed(falls)} {verb(falls, 'falls', 'fall')}"
        yield Finding(NAME, Severity.DANGER, falls, falls, rig.parts[falls[0]].place, text)

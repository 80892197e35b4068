"""All rules of the findings on rigs of 300 parts: what they take beyond the failure search.

The search is done first and its time told apart. Of each figure the fastest of several runs is compared with
the target: others share the machine, and nothing makes a run faster than it is.
"""

from __future__ import annotations

from analyser.checking.asking import Asking, Seen
from analyser.checking.latent import slips
from analyser.checking.registry import RULES, asked, findings
from analyser.holding.outcome import assess

from .generating import made
from .measuring import against, duration, heading, once, table

NAME = "all-rules"
TARGET = 0.3


def run(*, quick: bool) -> None:
    heading(NAME, f"{len(RULES)} rules on rigs of 300 parts, after the failure search to order 2")
    rows, slowest = [], 0.0
    for kind in ("ordinary", "plain") if quick else ("ordinary", "joined", "plain", "ladder", "hung ropes"):
        one = made(kind, 300)
        searched, outcome = once(assess, one.rig, 2)
        runs = 3 if quick else 7
        seen = Seen(one.rig, outcome, one.rig, outcome)
        fastest = min(once(findings, [seen])[0] for _ in range(runs))
        asking = min(once(asked, seen)[0] for _ in range(runs))
        slipping = min(once(slips, one.rig, outcome)[0] for _ in range(runs))
        number = len(findings([seen])[0])
        slowest = max(slowest, fastest + asking + slipping)
        each = {rule.name: min(once(Asking(), rule.find, seen)[0] for _ in range(3)) for rule in RULES}
        dearest = max(each, key=lambda name: each[name])
        times = (duration(searched), duration(fastest), duration(asking), duration(slipping))
        rows.append((kind, one.parts, one.bodies, number, *times, f"{dearest} {duration(each[dearest])}"))
    table(("rig", "parts", "bodies", "findings", "search", "rules", "asking", "slips", "dearest rule"), rows)
    met = against(slowest, TARGET, above=False)
    print(f"\n  target: rules, asking and slips together under {duration(TARGET)}: at most {duration(slowest)}, {met}")

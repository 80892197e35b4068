"""The measurements of the holding engine and of the statics, printed: from the checkout's folder

    python -m tests.bench               all of them (about twenty minutes on two cores)
    python -m tests.bench --quick       small sizes only (under a minute)
    python -m tests.bench --only NAME   one of them (may be given several times)

Every figure printed was measured in that run, on that machine; nothing is compared with figures
kept from another day. Answers are checked against the references as they are timed: a wrong one
ends the run. The plot goes to tests/bench/output/.
"""

from __future__ import annotations

import argparse

from . import (
    all_rules,
    bounds,
    cluster,
    desk,
    drops,
    failure_sets,
    following,
    growth,
    independent_ways,
    live_view,
    published_trees,
    removing_nodes,
    report_page,
    stages,
    statics,
    whole_process,
)
from .measuring import machine

MEASUREMENTS = {
    module.NAME: module.run
    for module in (
        *(removing_nodes, failure_sets, published_trees, independent_ways),
        *(growth, all_rules, statics, drops, following, whole_process, live_view, desk, stages, report_page, bounds),
        *(cluster,),
    )
}


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.bench", description="How fast the holding engine is.")
    parser.add_argument("--quick", action="store_true", help="small sizes only")
    parser.add_argument("--only", action="append", choices=MEASUREMENTS, help="only this one (may be repeated)")
    parser.add_argument("--child", nargs=3, metavar=("KIND", "SIZE", "ORDER"), help=argparse.SUPPRESS)
    options = parser.parse_args()
    if options.child:
        kind, size, order = options.child
        failure_sets.child(kind, int(size), int(order))
        return
    print(machine())
    for name, run in MEASUREMENTS.items():
        if not options.only or name in options.only:
            run(quick=options.quick)


main()

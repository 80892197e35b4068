"""The least energy of a network as a second-order cone programme, solved by clarabel.

With bodies kept in their attitude the energy is convex in the places of nodes and centres, so the
least energy is found from anywhere, or it is shown that there is none (something falls for ever).
See `statics.md`. The cone's dual variables are the forces in the segments.
"""

from __future__ import annotations

from dataclasses import dataclass

import clarabel
import numpy as np

from analyser.forces.network import Array, Ints, Network, State
from analyser.forces.newton import scale


class Columns:
    """A sparse matrix by columns: the fields that clarabel reads (scipy, which has a class for
    this, takes a fifth of a second to import)."""

    has_canonical_format = True
    has_sorted_indices = True

    def __init__(self, shape: tuple[int, int], rows: Ints, columns: Ints, values: Array) -> None:
        order = np.lexsort((rows, columns))
        self.shape = shape
        self.indices = rows[order]
        self.data = values[order]
        self.indptr = np.concatenate([[0], np.cumsum(np.bincount(columns, minlength=shape[1]))])
        self.nnz = len(values)

    def tocsc(self) -> Columns:
        return self


@dataclass(slots=True)
class Solved:
    """`state` is None where nothing holds; then `falling` marks the moving nodes that fall for ever."""

    state: State | None
    forces: Array | None
    """What each segment pulls on its start, towards its end (newtons)."""
    falling: Array | None
    status: str


def solve(network: Network, turns: Array) -> Solved:
    """The state of least energy, each body kept in the attitude `turns`.

    Variables, in this order: free nodes, centres, rope passed, line stretch, segment lengths (those
    of lines of one segment are their stretch plus their length at rest).
    """
    load = scale(network)
    free, bodies, grips, lines = network.free, network.bodies, network.grips, network.lines
    segments = len(network.start)
    in_line = np.bincount(network.line, minlength=lines)
    single = in_line[network.line] == 1
    own = (np.cumsum(~single) - 1).astype(np.intp)
    place = 3 * (free + bodies)
    first_stretch = place + grips
    first_length = first_stretch + lines
    variables = first_length + int((~single).sum())
    column_of = np.concatenate([np.arange(free), free + network.carrier]).astype(np.intp)
    offsets = np.einsum("kij,kj->ki", turns[network.carrier], network.offsets) if bodies else network.offsets
    constant = np.concatenate([np.zeros((free, 3)), offsets, network.fixed])

    rows: list[Ints] = []
    columns: list[Ints] = []
    values: list[Array] = []

    def put(r: Ints, c: Ints, v: Array) -> None:
        rows.append(r)
        columns.append(c)
        values.append(v)

    # lines of several segments: stretch + rest - passed - sum of lengths >= 0
    several = np.flatnonzero(in_line > 1)
    row_of = np.full(lines, -1, dtype=np.intp)
    row_of[several] = np.arange(len(several))
    put(row_of[several], first_stretch + several, -np.ones(len(several)))
    k = np.flatnonzero(~single)
    put(row_of[network.line[k]], first_length + own[k], np.ones(len(k)))
    line, grip = np.nonzero(network.passing)
    many = in_line[line] > 1
    put(row_of[line[many]], place + grip[many], -network.passing[line[many], grip[many]])
    # rope passed >= 0
    at_grip = np.arange(grips)
    put((len(several) + at_grip).astype(np.intp), (place + at_grip).astype(np.intp), -np.ones(grips))
    top = len(several) + grips
    # each segment: its length is at least the distance between its nodes
    heads = (top + 4 * np.arange(segments)).astype(np.intp)
    bounds = np.zeros(top + 4 * segments)
    bounds[: len(several)] = network.rest[several]
    bounds[heads[single]] = network.rest[network.line[single]]
    put(heads[~single], first_length + own[~single], -np.ones(int((~single).sum())))
    put(heads[single], first_stretch + network.line[single], -np.ones(int(single.sum())))
    alone = ~many
    where = np.full(lines, -1, dtype=np.intp)
    where[network.line[single]] = heads[single]
    put(where[line[alone]], place + grip[alone], -network.passing[line[alone], grip[alone]])
    axes = np.arange(3)
    for nodes, sign in ((network.start, 1.0), (network.end, -1.0)):
        here = np.flatnonzero(nodes < network.moving)
        put(
            (heads[here, None] + 1 + axes).ravel(),
            (3 * column_of[nodes[here], None] + axes).ravel(),
            np.full(3 * len(here), sign),
        )
    apart = constant[network.end] - constant[network.start]
    for axis in range(3):
        bounds[heads + 1 + axis] = apart[:, axis]

    matrix = Columns(
        (len(bounds), variables),
        np.concatenate(rows),
        np.concatenate(columns),
        np.concatenate(values),
    )
    stretch = np.arange(first_stretch, first_stretch + lines)
    square = Columns((variables, variables), stretch, stretch, network.rate / load)
    slope = np.zeros(variables)
    np.add.at(slope, 3 * column_of[: network.moving] + 2, network.weights[: network.moving] / load)
    cones = [clarabel.NonnegativeConeT(top)] if top else []
    cones += [clarabel.SecondOrderConeT(4)] * segments
    settings = clarabel.DefaultSettings()
    settings.verbose = False
    settings.tol_gap_abs = settings.tol_gap_rel = settings.tol_feas = 1e-10
    solution = clarabel.DefaultSolver(square, slope, matrix, bounds, cones, settings).solve()
    status = str(solution.status)
    x = np.asarray(solution.x)
    spots = x[:place].reshape(-1, 3)
    if "DualInfeasible" in status:
        ray = spots[column_of[: network.moving]]
        size = float(np.abs(ray).max(initial=0.0))
        falling: Array = np.linalg.norm(ray, axis=1) > 1e-4 * max(size, 1e-12)
        return Solved(None, None, falling, status)
    state = State(spots[:free].copy(), spots[free:].copy(), turns.copy(), np.maximum(x[place:first_stretch], 0.0))
    duals = np.asarray(solution.z)[top:].reshape(segments, 4)[:, 1:] * load
    return Solved(state, -duals, None, status)

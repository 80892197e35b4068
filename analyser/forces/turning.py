"""Quaternions (w, x, y, z) for bodies that turn, many at once: the last axis holds the four numbers."""

from __future__ import annotations

import numpy as np

from analyser.forces.network import Array


def matrices(quaternions: Array) -> Array:
    """Rotation matrices of unit quaternions: (..., 4) to (..., 3, 3)."""
    w, x, y, z = np.moveaxis(quaternions, -1, 0)
    rows = [
        [1 - 2 * (y * y + z * z), 2 * (x * y - w * z), 2 * (x * z + w * y)],
        [2 * (x * y + w * z), 1 - 2 * (x * x + z * z), 2 * (y * z - w * x)],
        [2 * (x * z - w * y), 2 * (y * z + w * x), 1 - 2 * (x * x + y * y)],
    ]
    return np.stack([np.stack(row, axis=-1) for row in rows], axis=-2)


def quaternion(matrix: Array) -> Array:
    """The unit quaternion of one rotation matrix, by its largest component.

    >>> quaternion(np.eye(3)).tolist()
    [1.0, 0.0, 0.0, 0.0]
    """
    m = matrix
    squares = np.array(
        [
            1 + m[0, 0] + m[1, 1] + m[2, 2],
            1 + m[0, 0] - m[1, 1] - m[2, 2],
            1 - m[0, 0] + m[1, 1] - m[2, 2],
            1 - m[0, 0] - m[1, 1] + m[2, 2],
        ]
    )
    a, b, c = m[2, 1] - m[1, 2], m[0, 2] - m[2, 0], m[1, 0] - m[0, 1]
    d, e, f = m[1, 0] + m[0, 1], m[0, 2] + m[2, 0], m[2, 1] + m[1, 2]
    k = int(np.argmax(squares))
    rows = ([squares[0], a, b, c], [a, squares[1], d, e], [b, d, squares[2], f], [c, e, f, squares[3]])
    found: Array = np.array(rows[k]) / (2 * np.sqrt(squares[k]))
    return found / np.linalg.norm(found)


def spun(quaternions: Array, spin: Array) -> Array:
    """How quaternions change with bodies that turn at `spin` (radians a second, in space): half of spin times them."""
    w, v = quaternions[..., :1], quaternions[..., 1:]
    return 0.5 * np.concatenate([-(spin * v).sum(axis=-1, keepdims=True), w * spin + np.cross(spin, v)], axis=-1)

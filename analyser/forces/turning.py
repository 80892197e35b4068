"""Quaternions (w, x, y, z) for bodies that turn, many at once: the last axis holds the four numbers."""

from __future__ import annotations

import numpy as np

from analyser.forces.network import Array


def matrices(quaternions: Array) -> Array:
    """Rotation matrices of unit quaternions: (..., 4) to (..., 3, 3)."""
    products = quaternions[..., :, None] * quaternions[..., None, :]
    return (products.reshape(*quaternions.shape[:-1], 16) @ _PRODUCTS + _ONE).reshape(*quaternions.shape[:-1], 3, 3)


def _products() -> Array:
    """Which products of a quaternion's numbers make up the nine of its matrix."""
    table = np.zeros((4, 4, 3, 3))
    for i, j, k in ((0, 1, 2), (1, 2, 0), (2, 0, 1)):
        table[j + 1, j + 1, i, i] = table[k + 1, k + 1, i, i] = -2
        table[i + 1, j + 1, i, j] = table[i + 1, j + 1, j, i] = 2
        table[0, k + 1, i, j], table[0, k + 1, j, i] = -2, 2
    return table.reshape(16, 9)


_PRODUCTS = _products()
_ONE = np.eye(3).ravel()


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

"""A place or a pull as three numbers, for those who read it: metres or newtons along x, y and up."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from analyser.forces.network import Array

Point = tuple[float, float, float]


def as_point(at: Array) -> Point:
    return (float(at[0]), float(at[1]), float(at[2]))

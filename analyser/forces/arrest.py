"""The standard equation of an arrest: one mass, one straight line, no friction, no absorber.

An estimate: in tests the spring model was up to 30 % low at high mass and high fall factor (facts 6.7).
"""

from __future__ import annotations

import math

from analyser.forces.stiffness import GRAVITY


def peak(mass: float, ea: float, fall_factor: float, gravity: float = GRAVITY) -> float:
    """Newtons at the peak of an arrest: F = W + sqrt(W2 + 2 W EA f).

    `mass` in kg, `ea` in newtons per unit of strain, `fall_factor` = free fall over rope in service.
    By the balance of energy (Wexler's form of 1950, from memory; facts 6.2). At f = 0 it is 2 W.

    >>> round(peak(100, 30e3, 0.3, 9.81))
    5296
    """
    weight = mass * gravity
    return weight + math.sqrt(weight * weight + 2 * weight * ea * fall_factor)


def modulus(force: float, mass: float, fall_factor: float, gravity: float = GRAVITY) -> float:
    """The EA (newtons) with which an arrest peaks at `force`: F (F - 2 W) / (2 W f)."""
    weight = mass * gravity
    return force * (force - 2 * weight) / (2 * weight * fall_factor)


def fall_factor(force: float, mass: float, ea: float, gravity: float = GRAVITY) -> float:
    """The fall factor that peaks at `force`, by the same equation: F (F - 2 W) / (2 W EA); below 0 where
    letting go without any free fall already peaks higher.

    >>> round(fall_factor(peak(100, 30e3, 0.3), 100, 30e3), 9)
    0.3
    """
    weight = mass * gravity
    return force * (force - 2 * weight) / (2 * weight * ea)


def steady_stop(mass: float, fall: float, stop: float, gravity: float = GRAVITY) -> float:
    """Newtons of a perfectly even stop over `stop` metres after a free fall of `fall`: no stop over
    that distance peaks lower (facts 6.9)."""
    return mass * gravity * (1 + fall / stop)

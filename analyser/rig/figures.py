"""Figures for people: a force, a length, a mass or a speed in SI, written in the units that its file asks for.

`units lbf, ft, lb` in a file asks for them; without it they are kN, m and kg. `using` says whose file is being
read or shown, in this thread or task alone; documents of the results contract are always in SI. Whatever the
units, every figure stands with its unit: one that is shown in the wrong company is odd, and never false.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from itertools import zip_longest

FACTORS = {
    "kN": ("force", 1000.0),
    "N": ("force", 1.0),
    "lbf": ("force", 4.4482216152605),  # exact: 0.45359237 kg x 9.80665 m/s2
    "kg": ("mass", 1.0),
    "lb": ("mass", 0.45359237),  # exact: international pound, 1959
    "m": ("length", 1.0),
    "mm": ("length", 0.001),
    "ft": ("length", 0.3048),  # exact: international foot, 1959
    "in": ("length", 0.0254),  # exact
    "deg": ("angle", 1.0),
    "%": ("share", 0.01),
}
"""Unit -> what it measures, and how many SI units it is (degrees are kept as degrees)."""
PRINTED = {"force": ("kN", "lbf"), "length": ("m", "ft"), "mass": ("kg", "lb")}
"""The units that a file can ask for, the usual one first."""
SMALL = {"m": "mm", "ft": "in"}
"""What a tail or a diameter is told in beside lengths in this."""
FEWER = {"lbf": 2, "ft": 1, "lb": 0, "in": -1}
"""How many decimals fewer say as much as in the usual unit."""


@dataclass(frozen=True, slots=True)
class Units:
    """What a file's figures are printed in."""

    force: str = "kN"
    length: str = "m"
    mass: str = "kg"

    @property
    def usual(self) -> bool:
        return self == USUAL

    @property
    def small(self) -> str:
        return SMALL[self.length]


USUAL = Units()
_in_use: ContextVar[Units] = ContextVar("units", default=USUAL)


def units() -> Units:
    """Those of the file that is being read or shown."""
    return _in_use.get()


def use(chosen: Units) -> None:
    """From here on, the figures of a file with these units are told."""
    _in_use.set(chosen)


@contextmanager
def using(chosen: Units) -> Iterator[None]:
    """Within, the figures of a file with these units are told."""
    before = _in_use.set(chosen)
    try:
        yield
    finally:
        _in_use.reset(before)


def value(si: float, unit: str) -> float:
    """A figure in SI, in this unit."""
    return si / FACTORS[unit][1]


def number(si: float, unit: str, how: str) -> str:
    """The same as text: `how` is its format in the usual unit (`.2f`, `.3g`, `g`)."""
    told = value(si, unit)
    if unit not in FEWER:
        return f"{told:{how}}"
    if how[-1] == "f":
        return f"{told:.{max(0, int(how[1:-1]) - FEWER[unit])}f}"
    if how == "g" and abs(told - round(told, 1)) < 1e-9 * abs(told):
        return f"{told:.10g}"  # written so
    return f"{float(f'{told:.{how[1:-1] or 4}g}'):.10g}"


def as_force(newtons: float, how: str = ".2f") -> str:
    """A force as people read it: `4.32 kN`."""
    return f"{force_number(newtons, how)} {units().force}"


def force_number(newtons: float, how: str = ".2f") -> str:
    return number(newtons, units().force, how)


def as_length(metres: float, how: str = ".2f") -> str:
    """A length: `1.20 m`."""
    return f"{length_number(metres, how)} {units().length}"


def length_number(metres: float, how: str = ".2f") -> str:
    return number(metres, units().length, how)


def as_small(metres: float, how: str = "g") -> str:
    """A small length, as of a tail or a diameter: `120 mm`."""
    return f"{number(metres, units().small, how)} {units().small}"


def mass_number(kilograms: float, how: str = "g") -> str:
    return number(kilograms, units().mass, how)


def as_mass(kilograms: float, how: str = "g") -> str:
    """A mass: `85 kg`."""
    return f"{mass_number(kilograms, how)} {units().mass}"


def as_speed(metres_a_second: float, how: str = ".1f") -> str:
    """A speed: `6.3 m/s`."""
    return f"{length_number(metres_a_second, how)} {units().length}/s"


def as_place(at: Sequence[float], off: Sequence[float] = (), how: str = "g") -> str:
    """A place as one writes it: `(0, 1.5, 12)`, in metres; `(0, 4.92, 39.37) ft`."""
    ends = zip_longest(at, off, fillvalue=0.0)
    told = (("{}" if not d else "{} to {}", (length_number(x - d, how), length_number(x + d, how))) for x, d in ends)
    unit = "" if units().length == "m" else f" {units().length}"
    return f"({', '.join(form.format(*both) for form, both in told)}){unit}"

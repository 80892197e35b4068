"""The same ropes and weights in MuJoCo, a general engine for moving bodies: another solver, on other
equations (it moves things through time), built by hand beside a rig and sharing none of our code.

Lines are its spatial tendons: slack up to their length, then a spring; several sites on one tendon are
wheels without friction. To come to rest everything is damped and time goes by until nothing moves;
`drop` lets a line go with no damping at all.
"""

from __future__ import annotations

import math
import random
from collections.abc import Iterable
from dataclasses import dataclass, field
from itertools import pairwise
from xml.etree.ElementTree import Element, SubElement, tostring

import mujoco
import numpy as np

GRAVITY = 9.80665
EA = 150 * GRAVITY / 0.03
SOFT = "stretch 3 % at 150 kg"
Point = tuple[float, float, float]


@dataclass(slots=True)
class Rest:
    """Newtons of each line, metres of each named place, the turn of each body (rows of a matrix)."""

    tension: dict[str, float]
    at: dict[str, Point]
    turn: dict[str, np.ndarray]
    speed: float
    """The fastest that anything still moves (m/s, rad/s)."""


@dataclass(slots=True)
class Tendon:
    name: str
    stations: tuple[str, ...]
    rest: float
    ea: float

    @property
    def rate(self) -> float:
        return self.ea / self.rest


@dataclass(slots=True)
class World:
    fixed: dict[str, Point] = field(default_factory=dict)
    masses: dict[str, tuple[float, Point]] = field(default_factory=dict)
    bodies: dict[str, tuple[Point, list[tuple[float, Point]], dict[str, Point]]] = field(default_factory=dict)
    """Name: place, weights (kg, where on it), points (name, where on it)."""
    lines: dict[str, Tendon] = field(default_factory=dict)

    def line(self, name: str, *stations: str, rest: float, ea: float) -> None:
        self.lines[name] = Tendon(name, stations, rest, ea)

    def at_rest(self, without: Iterable[str] = (), begin: Rest | None = None, seconds: float = 400) -> Rest:
        """Where all comes to rest, from where it is put or from `begin`, without some lines."""
        model, data = self._made(frozenset(without), damped=True, begin=begin)
        for _ in range(int(seconds / model.opt.timestep / 500)):
            mujoco.mj_step(model, data, 500)
            if np.abs(data.qvel).max() < 1e-7:
                break
        return self._told(model, data)

    def drop(self, without: Iterable[str], begin: Rest, seconds: float = 4) -> dict[str, float]:
        """The highest tension of each line in the seconds after some are let go, nothing damped."""
        model, data = self._made(frozenset(without), damped=False, begin=begin)
        rates, rest = model.tendon_stiffness.ravel()[: model.ntendon], model.tendon_lengthspring[:, 1]
        highest = np.zeros(model.ntendon)
        for _ in range(int(seconds / model.opt.timestep)):
            mujoco.mj_step(model, data)
            np.maximum(highest, rates * (data.ten_length - rest), out=highest)
        return {model.tendon(k).name: float(highest[k]) for k in range(model.ntendon)}

    def _made(self, without: frozenset[str], damped: bool, begin: Rest | None) -> tuple[mujoco.MjModel, mujoco.MjData]:
        lines = [line for line in self.lines.values() if line.name not in without]
        rate = dict.fromkeys(self.masses, 0.0)
        for line in lines:
            for station in line.stations:
                if station in rate:
                    rate[station] += line.rate * (2 if station in line.stations[1:-1] else 1)
        quick = max([1.0, *(math.sqrt(2 * rate[name] / kg) for name, (kg, _) in self.masses.items())])
        step = min((0.3 if damped else 0.02) / quick, 2e-3 if damped else 5e-4)
        top = Element("mujoco")
        # implicit: the damping of what moves never makes it shake; without damping, fourth order in time
        SubElement(top, "option", timestep=repr(step), integrator="implicit" if damped else "RK4",
                   gravity=f"0 0 {-GRAVITY}", density="0", viscosity="0")  # fmt: skip
        world = SubElement(top, "worldbody")
        for name, place in self.fixed.items():
            SubElement(world, "site", name=name, pos=_words(place))
        for name, (kg, place) in self.masses.items():
            body = SubElement(world, "body", name=name, pos=_words(begin.at[name] if begin else place))
            for axis in ("1 0 0", "0 1 0", "0 0 1"):
                SubElement(body, "joint", type="slide", axis=axis, damping=repr(1.0 * kg if damped else 0.0))
            SubElement(body, "inertial", pos="0 0 0", mass=repr(kg), diaginertia="1 1 1")
            SubElement(body, "site", name=name)
        for name, (place, weights, points) in self.bodies.items():
            body = SubElement(world, "body", name=name, pos=_words(begin.at[name] if begin else place))
            if begin:
                quaternion = np.zeros(4)
                mujoco.mju_mat2Quat(quaternion, begin.turn[name].ravel())
                body.set("quat", _words(quaternion))
            total = sum(kg for kg, _ in weights)
            SubElement(body, "joint", type="free", damping=repr(1.0 * total if damped else 0.0))
            for kg, where in weights:
                SubElement(body, "geom", size="0.2", mass=repr(kg), pos=_words(where), contype="0", conaffinity="0")
            for point, where in points.items():
                SubElement(body, "site", name=point, pos=_words(where))
        tendons = SubElement(top, "tendon")
        for line in lines:
            spatial = SubElement(tendons, "spatial", name=line.name, stiffness=repr(line.rate),
                                 springlength=f"0 {line.rest!r}")  # fmt: skip
            for station in line.stations:
                SubElement(spatial, "site", site=station)
        model = mujoco.MjModel.from_xml_string(tostring(top, encoding="unicode"))
        return model, mujoco.MjData(model)

    def _told(self, model: mujoco.MjModel, data: mujoco.MjData) -> Rest:
        mujoco.mj_forward(model, data)
        at = {model.site(k).name: _point(data.site_xpos[k]) for k in range(model.nsite)}
        at |= {name: _point(data.body(name).xpos) for name in (*self.masses, *self.bodies)}
        tension = {}
        for name, line in self.lines.items():
            try:
                model.tendon(name)
            except KeyError:
                continue
            long = sum(math.dist(at[a], at[b]) for a, b in pairwise(line.stations))
            tension[name] = line.rate * max(long - line.rest, 0.0)
        turn = {name: data.body(name).xmat.reshape(3, 3).copy() for name in self.bodies}
        return Rest(tension, at, turn, float(np.abs(data.qvel).max()))


def aside(begin: Rest, names: Iterable[str], metres: float, seed: int = 0) -> Rest:
    """The same start with some masses moved by so much, each another way."""
    rng = random.Random(seed)
    at = dict(begin.at)
    for name in names:
        way = np.array([rng.gauss(0, 1) for _ in range(3)])
        at[name] = _point(np.array(at[name]) + metres * way / np.linalg.norm(way))
    return Rest(begin.tension, at, begin.turn, begin.speed)


def _words(numbers: Iterable[float]) -> str:
    return " ".join(repr(float(number)) for number in numbers)


def _point(at: np.ndarray) -> Point:
    return (float(at[0]), float(at[1]), float(at[2]))


def anchored(world: World, **places: tuple[float, float, float]) -> str:
    """Anchors put into a world, and their lines of a rig."""
    world.fixed |= places
    return "".join(f"anchor {name}: at {place}\n" for name, place in places.items())


def random_net(seed: int) -> tuple[str, World]:
    """Loads on straps and on a rope that runs, from anchors and from each other; the same seed, the same net."""
    rng = random.Random(seed)
    world = World()
    anchors = {
        f"a{k}": (round(rng.uniform(-4, 4), 3), round(rng.uniform(-4, 4), 3), round(rng.uniform(8, 12), 3))
        for k in range(rng.randint(2, 4))
    }
    text = anchored(world, **anchors)
    hooks = list(anchors)
    for k in range(rng.randint(1, 4)):
        place = (round(rng.uniform(-3, 3), 3), round(rng.uniform(-3, 3), 3), round(rng.uniform(2, 7), 3))
        kg = round(rng.uniform(20, 120), 2)
        world.masses[f"m{k}"] = (kg, place)
        text += f"load m{k}: {kg} kg, points eye, at {place}\n"
        for number, hook in enumerate(rng.sample(hooks, min(len(hooks), rng.randint(1, 3)))):
            rest = round(rng.uniform(2, 9), 3)
            world.line(f"s{k}-{number}", hook, f"m{k}", rest=rest, ea=EA)
            on = hook if hook in anchors else f"{hook}.eye"
            text += f"attach {on} - strap s{k}-{number} - m{k}.eye\ns{k}-{number}: length {rest} m, {SOFT}\n"
        hooks.append(f"m{k}")
    one, other = rng.sample(sorted(anchors), 2)
    on = rng.choice(sorted(world.masses))
    place = world.masses[on][1]
    slack = round(rng.uniform(0, 1), 3)
    rest = math.dist(anchors[one], place) + math.dist(place, anchors[other]) + slack
    world.line("runs", one, on, other, rest=rest, ea=EA)
    text += f"rope runs: {SOFT}\n    tied to {one} with bowline\n    through {on}.eye\n"
    text += f"    tied to {other} with bowline, slack {slack} m\n"
    return text, world

"""What must be so of every equilibrium, on random rigs; and two other solvers on the same energy."""

from __future__ import annotations

import itertools
import random
import warnings
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.optimize import minimize
from statics import statics_of, unbalanced

from analyser.forces import Equilibrium, Statics
from analyser.forces.stiffness import GRAVITY

SEEDS = st.integers(0, 10**6)
FEW = settings(max_examples=25, deadline=None)


def random_rig(seed: int, *, mass: float = 1, stretch: float = 3, mirror: int = 1, at: float = 150) -> str:
    """Rings and loads on straps and running ropes under some anchors; the same seed, the same rig.

    `mass` multiplies masses, `stretch` is in % at `at` kg, `mirror` -1 turns x about.
    """
    rng = random.Random(seed)
    anchors = rng.randint(2, 5)
    rings = rng.randint(1, 5)
    text = []
    for k in range(anchors):
        x, y, z = rng.uniform(-4, 4), rng.uniform(-4, 4), rng.uniform(8, 12)
        text.append(f"anchor a{k}: at ({mirror * x:.6f}, {y:.6f}, {z:.6f})")
    hooks = [f"a{k}" for k in range(anchors)]
    for k in range(rings):
        x, y, z = rng.uniform(-3, 3), rng.uniform(-3, 3), rng.uniform(2, 7)
        text.append(f"load m{k}: {mass * rng.uniform(20, 120):.6f} kg, points eye")
        text.append(f"m{k}: at ({mirror * x:.6f}, {y:.6f}, {z:.6f})")
        for number, hook in enumerate(rng.sample(hooks, min(len(hooks), rng.randint(1, 3)))):
            text.append(f"attach {hook} - strap s{k}-{number} - m{k}.eye")
            long = rng.choice(["", f", length {rng.uniform(1, 9):.6f} m"])
            text.append(f"s{k}-{number}: stretch {stretch} % at {at} kg{long}")
        hooks.append(f"m{k}.eye")
    for k in range(rng.randint(0, 2)):
        one, other = rng.sample(range(anchors), 2)
        text.append(f"rope r{k}: stretch {stretch} % at {at} kg")
        text.append(f"    tied to a{one} with bowline")
        text.append(f"    through m{rng.randrange(rings)}.eye")
        text.append(f"    tied to a{other} with bowline, slack {rng.uniform(0, 2):.6f} m")
    return "\n".join(text)


def rest(text: str) -> tuple[Statics, Equilibrium]:
    statics = statics_of(text)
    return statics, statics.equilibrium()


@FEW
@given(SEEDS)
def test_every_answer_balances_by_a_sum_of_our_own(seed: int) -> None:
    statics, found = rest(random_rig(seed))
    assert found.accepted
    assert unbalanced(statics.rig, found) < 1e-6


@FEW
@given(SEEDS)
def test_the_ground_carries_the_weight(seed: int) -> None:
    statics, found = rest(random_rig(seed))
    masses = [dict(p.quantities).get("mass") for p in statics.rig.parts.values()]
    weight = sum(mass.si for mass in masses if mass) * GRAVITY
    total = np.sum([*found.reactions.values()], axis=0)
    assert total == pytest.approx((0, 0, -weight), abs=1e-5 * weight)


@FEW
@given(SEEDS)
def test_twice_the_mass_and_twice_the_stiffness_double_every_force(seed: int) -> None:
    _, once = rest(random_rig(seed))
    _, twice = rest(random_rig(seed, mass=2, at=300))
    for one, two in zip(once.lines, twice.lines, strict=True):
        assert two.tension == pytest.approx(2 * one.tension, abs=1e-5 * twice.load)


@FEW
@given(SEEDS)
def test_a_mirrored_rig_has_the_same_tensions(seed: int) -> None:
    _, one = rest(random_rig(seed))
    _, other = rest(random_rig(seed, mirror=-1))
    for a, b in zip(one.lines, other.lines, strict=True):
        assert a.tension == pytest.approx(b.tension, abs=1e-5 * one.load)


@FEW
@given(SEEDS)
def test_a_slack_line_more_changes_nothing(seed: int) -> None:
    _, one = rest(random_rig(seed))
    _, other = rest(random_rig(seed) + "\nattach a0 - strap loose - m0.eye\nloose: length 40 m")
    assert other.line("loose").slack
    for line in one.lines:
        assert other.line(line.name).tension == pytest.approx(line.tension, abs=1e-5 * one.load)


def test_names_do_not_matter() -> None:
    text = random_rig(7)
    _, one = rest(text)
    _, other = rest(text.replace("m0", "zz0").replace("a1", "aa1"))
    tensions = sorted(line.tension for line in one.lines)
    assert sorted(line.tension for line in other.lines) == pytest.approx(tensions, abs=1e-5 * one.load)


@FEW
@given(SEEDS)
def test_a_general_minimiser_finds_no_lower_energy_and_the_same_tensions(seed: int) -> None:
    """scipy's trust region on an energy written here anew, started from the drawing: another solver,
    not trusted by itself; where it gets to a balance too, tensions agree."""
    statics, found = rest(random_rig(seed))
    names = sorted({p.name for p in statics.rig.parts.values() if p.is_body})
    weights = np.array([dict(statics.rig.parts[n].quantities)["mass"].si * GRAVITY for n in names])
    where = {found.at[name]: k for k, name in enumerate(names)}
    lines = [
        ([where.get(p, np.array(p)) for p in line.places], line.rest, line.ea / max(line.rest, 0.05))
        for line in found.lines
    ]

    def parts(x: np.ndarray) -> tuple[float, np.ndarray, list[float]]:
        at = x.reshape(-1, 3)
        energy = float(weights @ at[:, 2])
        slope = np.zeros_like(at)
        slope[:, 2] = weights
        tensions = []
        for path, long, rate in lines:
            spots = [at[p] if isinstance(p, int) else p for p in path]
            apart = [b - a for a, b in itertools.pairwise(spots)]
            over = max(sum(float(np.linalg.norm(d)) for d in apart) - long, 0.0)
            tensions.append(rate * over)
            energy += 0.5 * rate * over**2
            for (a, b), d in zip(itertools.pairwise(path), apart, strict=True):
                pull = rate * over * d / np.linalg.norm(d)
                if isinstance(a, int):
                    slope[a] -= pull
                if isinstance(b, int):
                    slope[b] += pull
        return energy, slope.ravel(), tensions

    ours = np.array([found.at[name] for name in names]).ravel()
    start = np.array([statics.rig.parts[name].at for name in names]).ravel()
    other = minimize(lambda x: parts(x)[:2], start, jac=True, method="BFGS", options={"gtol": 1e-7, "maxiter": 3000})
    energy, slope, tensions = parts(ours)
    assert np.abs(slope).max() < 1e-5 * found.load
    assert energy <= other.fun + 1e-6 * abs(other.fun) + 1e-6
    if np.abs(other.jac).max() < 1e-3:
        assert parts(other.x)[2] == pytest.approx(tensions, abs=1e-3 * found.load)


def test_the_residual_is_told_as_it_is() -> None:
    """Stopped early, the answer says how far off it is, and isn't accepted."""
    from analyser.forces.newton import settle

    _, found = rest(random_rig(3))
    assembly = found.solved.assembly
    early = settle(assembly.network, assembly.start, most=1)
    assert early.residual > 1e-6
    assert settle(assembly.network, assembly.start, most=200).residual < 1e-9


@FEW
@given(SEEDS)
def test_a_conic_model_through_cvxpy_has_the_same_tensions(seed: int) -> None:
    """The same least energy, modelled anew in cvxpy from places, lengths and stiffnesses alone."""
    import cvxpy

    statics, found = rest(random_rig(seed))
    names = sorted({p.name for p in statics.rig.parts.values() if p.is_body})
    spots = {found.at[name]: cvxpy.Variable(3) for name in names}
    weights = {found.at[n]: dict(statics.rig.parts[n].quantities)["mass"].si * GRAVITY for n in names}
    cost = sum(weights[place] * at[2] for place, at in spots.items()) / found.load
    limits, tensions = [], []
    for line in found.lines:
        path = [spots.get(place, np.array(place)) for place in line.places]
        over = cvxpy.Variable(nonneg=True)
        total = sum(cvxpy.norm(b - a) for a, b in pairwise(path))
        limits.append(total <= line.rest + over)
        rate = line.ea / max(line.rest, 0.05) / found.load
        cost = cost + 0.5 * rate * cvxpy.square(over)
        tensions.append((line.tension / found.load, rate, over))
    problem = cvxpy.Problem(cvxpy.Minimize(cost), limits)
    with warnings.catch_warnings():
        warnings.filterwarnings("ignore", message="Solution may be inaccurate")
        problem.solve(solver="CLARABEL", tol_gap_abs=1e-9, tol_gap_rel=1e-9)
    assume(problem.status == cvxpy.OPTIMAL)  # where the solver itself says that it is near only, it can't be asked
    for ours, rate, over in tensions:
        assert rate * float(over.value) == pytest.approx(ours, abs=1e-3)  # an interior point: near, not exact


def hung_litter(seed: int, turn: float = 0.0) -> str:
    """A litter on four legs of random lengths from a ring on two lines, an attendant on it or on the
    ring; everything turned about the plumb line by `turn` radians."""
    rng = random.Random(seed)
    text = []
    for name, side in (("l", -1), ("r", 1)):
        x, y = side * rng.uniform(0.5, 2), rng.uniform(-0.5, 0.5)
        x, y = x * np.cos(turn) - y * np.sin(turn), x * np.sin(turn) + y * np.cos(turn)
        text.append(f"anchor {name}: at ({x:.9f}, {y:.9f}, 12)")
        text.append(f"attach {name} - strap m{name} - master")
        text.append(f"m{name}: length {rng.uniform(3, 6):.4f} m, stretch {rng.uniform(0.5, 6):.4f} % at 150 kg")
    text += ["ring master", "person vic: 80 kg", "person sam: 85 kg, points waist, chest"]
    text.append("litter basket: 15 kg, points head-left, head-right, foot-left, foot-right")
    for k, point in enumerate(("head-left", "head-right", "foot-left", "foot-right"), 1):
        text.append(f"attach master - strap leg-{k} - basket.{point}")
        text.append(f"leg-{k}: length {rng.uniform(1.1, 1.7):.4f} m")
    text.append("attach basket - strap lashing - vic")
    where = rng.choice(["master", "basket.head-left", "basket.foot-right"])
    text += [f"attach {where} - strap near - sam.waist", f"near: length {rng.uniform(0.5, 2):.4f} m"]
    text += ["attach master - strap far - sam.chest", f"far: length {rng.uniform(1, 3):.4f} m"]
    return "\n".join(text)


@FEW
@given(SEEDS, st.floats(-0.3, 0.3))
def test_litters_balance_in_force_and_moment(seed: int, along: float) -> None:
    statics = statics_of(hung_litter(seed), along={"vic": along})
    found = statics.equilibrium()
    assert found.accepted
    assert unbalanced(statics.rig, found) < 1e-6
    total = np.sum([*found.reactions.values()], axis=0)
    assert total == pytest.approx((0, 0, -180 * GRAVITY), abs=1e-3)


@FEW
@given(SEEDS, st.floats(0.1, 6))
def test_a_litter_turned_about_the_plumb_line_has_the_same_tensions(seed: int, turn: float) -> None:
    """Started from other places (the litter is laid along x both times), it comes to the same rest, or
    both are balanced rests of a rig that has several."""
    _, one = rest(hung_litter(seed))
    _, other = rest(hung_litter(seed, turn))
    assert one.accepted and other.accepted
    assert other.poses[0].centre[2] == pytest.approx(one.poses[0].centre[2], abs=0.05)

"""A sample of the fuzz, and that the fuzz would see a fault. The long run: `python tests/fuzz.py --seconds 600`."""

from __future__ import annotations

import time
from pathlib import Path
from typing import NoReturn

import fuzz
import fuzz_commands
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

import analyser
from analyser.doors.commands import main as commands
from analyser.language.mistakes import Mistake, Place, Unreadable

GOOD = (Path(__file__).parent.parent / "examples" / "two-lines-one-ring.rig").read_bytes()


@pytest.mark.parametrize("sixes", range(4))
def test_a_sample(sixes: int) -> None:
    """A few of each: thousands are run by `python tests/fuzz.py`."""
    for number in range(6 * sixes, 6 * sixes + 6):
        told = fuzz.faults(fuzz.case(0, number))
        assert not told, f"python tests/fuzz.py --seed 0 --only {number}: {told}"


@pytest.mark.parametrize("twenties", range(2))
def test_a_sample_of_calls(twenties: int) -> None:
    for number in (*range(20 * twenties, 20 * twenties + 20), 525, 1072):
        told = fuzz_commands.faults(1, number)
        assert not told, f"python tests/fuzz_commands.py --seed 1 --only {number}: {told}"


@pytest.mark.parametrize(
    ("printed", "status", "told"),
    [
        ("", 3, "ended with 3"),
        ("", 2, "refused without a word"),
        ("Traceback (most recent call last)", 1, "a traceback is printed"),
        ("\x1b[31mred", 0, "a control character is printed"),
        ('{"document": "check"}', 0, "JSON: "),
    ],
)
def test_a_fault_of_a_call_is_seen(printed: str, status: int, told: str, monkeypatch: pytest.MonkeyPatch) -> None:
    def main(_: object) -> int:
        print(printed)
        return status

    one = fuzz_commands.Case(("check", "a.rig", "--json"), {"a.rig": GOOD})
    monkeypatch.setattr(fuzz_commands, "case", lambda *_: one)
    assert fuzz_commands.faults(1, 1) == []
    monkeypatch.setattr(commands, "main", main)
    assert told in "\n".join(fuzz_commands.faults(1, 1))


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(st.one_of(st.sampled_from(GOOD.decode().splitlines()), st.text(max_size=40)), max_size=12))
def test_lines_of_anything(lines: list[str]) -> None:
    assert not fuzz.faults("\n".join(lines).encode("utf-8", "surrogatepass"))


@pytest.mark.parametrize("change", sorted({*fuzz.CHANGES, fuzz.big}, key=lambda one: one.__name__))
def test_every_change_changes_something_the_same_way(change: fuzz.Change) -> None:
    made = [[change(fuzz.random.Random(seed), GOOD) for seed in range(20)] for _ in range(2)]
    assert made[0] == made[1] and any(one != GOOD for one in made[0])


def test_cases_come_from_their_numbers_alone() -> None:
    assert [fuzz.case(7, n) for n in range(30)] == [fuzz.case(7, n) for n in range(30)]
    assert len({fuzz.case(7, n) for n in range(30)} | {fuzz.case(8, n) for n in range(30)}) > 55


def test_a_worker_runs_cases_within_its_memory() -> None:
    worker = fuzz.Worker(0)
    assert [worker.run(number) for number in range(3)] == [[], [], []]
    worker.end()
    assert not worker.process.is_alive()


def test_a_worker_that_dies_is_told_and_begun_anew() -> None:
    worker = fuzz.Worker(0)
    worker.process.kill()
    worker.process.join()
    (told,) = worker.run(0)
    assert "died" in told
    assert worker.run(0) == []
    worker.end()


@pytest.mark.parametrize(
    ("wrong", "told"),
    [
        (RecursionError("too deep"), "read: RecursionError: too deep"),
        (Mistake(Place("a.rig", 99), "a text"), "a line that isn't there"),
        (Mistake(Place("a.rig", 0), "a text"), "a line that isn't there"),
        (Mistake(Place("other.rig", 1), "a text"), "another file"),
        (Mistake(Place("a.rig", 1), " "), "says nothing"),
    ],
)
def test_a_fault_is_seen(wrong: Exception | Mistake, told: str, monkeypatch: pytest.MonkeyPatch) -> None:
    def read(*_: object) -> NoReturn:
        raise Unreadable([wrong], {"a.rig": ["x"]}) if isinstance(wrong, Mistake) else wrong

    assert fuzz.faults(GOOD) == []
    monkeypatch.setattr(analyser, "read_text", read)
    assert told in "\n".join(fuzz.faults(GOOD))


def test_a_slow_step_is_seen(monkeypatch: pytest.MonkeyPatch) -> None:
    def slow(*_: object) -> NoReturn:
        ends = time.process_time() + 0.05
        while time.process_time() < ends:
            pass
        raise Unreadable([Mistake(Place("a.rig", 1), "a text")], {"a.rig": ["x"]})

    monkeypatch.setattr(fuzz, "SECONDS", 0.04)
    monkeypatch.setattr(analyser, "read_text", slow)
    assert "refused after" in "\n".join(fuzz.faults(GOOD))

"""What the packages need is told whole: bounds, versions that were tried, licences."""

from __future__ import annotations

import re
import tomllib
import zipfile
from pathlib import Path

import packages
import pytest

from analyser.doors.commands.main import COMMANDS

ROOT = Path(__file__).parent.parent
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
EXTRAS = PROJECT["optional-dependencies"]
NEEDED = [*PROJECT["dependencies"], *EXTRAS["cluster"], *EXTRAS["frame"]]
EVERY = [*NEEDED, *EXTRAS["dev"]]


def name(need: str) -> str:
    found = re.match(r"[\w.-]+", need)
    assert found
    return re.sub(r"[-_.]+", "-", found[0]).lower()


def numbers(version: str) -> tuple[int, ...]:
    return tuple(int(one) for one in re.findall(r"\d+", version))


def test_every_need_has_a_lower_bound() -> None:
    assert [need for need in EVERY if not re.fullmatch(r"[\w.-]+>=[\d.]+", need)] == []


def test_the_versions_that_were_tried_are_within_the_bounds() -> None:
    lines = [line for line in packages.CONSTRAINTS.read_text(encoding="utf-8").splitlines() if "==" in line]
    tried = {name(line): line.split("==")[1] for line in lines}
    assert "stillheld" not in tried
    for need in EVERY:
        lower = need.split(">=")[1]
        assert numbers(tried[name(need)]) >= numbers(lower), need


def test_the_table_names_what_is_needed_and_nothing_else() -> None:
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8").split("## What the packages need")[1]
    rows = [[cell.strip() for cell in line.strip("|").split("|")] for line in text.splitlines() if line.startswith("|")]
    rows = [row for row in rows[2:] if len(row) == 4]
    assert sorted(row[0].split(" (")[0] for row in rows) == sorted(map(name, NEEDED))
    assert all(all(row) for row in rows), "each with its licence, its purpose and what would replace it"


def test_every_command_is_run_outside_the_repository() -> None:
    assert list(packages.CALLS) == list(COMMANDS)


def test_the_licence_goes_along(tmp_path: Path) -> None:
    build = pytest.importorskip("hatchling.builders.wheel", reason="hatchling builds the wheel")
    (wheel,) = build.WheelBuilder(str(ROOT)).build(directory=str(tmp_path), versions=["standard"])
    with zipfile.ZipFile(wheel) as archive:
        inside = archive.namelist()
        (metadata,) = (one for one in inside if one.endswith("dist-info/METADATA"))
        (licence,) = (one for one in inside if one.endswith("dist-info/licenses/analyser/LICENSE"))
        assert "License-Expression: Apache-2.0\n" in archive.read(metadata).decode()
        assert "Apache License\n                           Version 2.0" in archive.read(licence).decode()

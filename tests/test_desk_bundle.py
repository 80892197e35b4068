"""The desk's editor is what its lock file says: built again from the npm registry it has the same bytes.

Takes about five seconds. Skipped where there is no npm, but never in `.ci/run` (CI is set there).
"""

from __future__ import annotations

import json
import os
import shutil
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
BUNDLE = ROOT / "analyser" / "doors" / "desk" / "bundle"
SERVED = ROOT / "analyser" / "doors" / "desk" / "served"
NPM = shutil.which("npm")


@pytest.mark.skipif(NPM is None and not os.environ.get("CI"), reason="no npm here")
def test_built_again_it_has_the_same_bytes(tmp_path: Path) -> None:
    assert NPM, "npm must be there in CI"
    for name in ("package.json", "package-lock.json", "build.mjs", "codemirror.mjs"):
        shutil.copy(BUNDLE / name, tmp_path / name)
    quiet = {**os.environ, "npm_config_update_notifier": "false"}
    installing = [NPM, "ci", "--ignore-scripts", "--no-audit", "--no-fund"]
    subprocess.run(installing, cwd=tmp_path, check=True, capture_output=True, env=quiet, timeout=300)
    out = tmp_path / "out"
    out.mkdir()
    subprocess.run(["node", "build.mjs", str(out)], cwd=tmp_path, check=True, capture_output=True, timeout=120)
    for name in ("codemirror.js", "codemirror.LICENSES.txt"):
        assert (out / name).read_bytes() == (SERVED / name).read_bytes(), f"{name}: run `npm ci && npm run build`"


def test_every_package_is_locked_and_has_its_licence() -> None:
    lock = json.loads((BUNDLE / "package-lock.json").read_text(encoding="utf-8"))
    packages = {name.removeprefix("node_modules/"): one for name, one in lock["packages"].items() if name}
    assert all(one["integrity"].startswith("sha512-") for one in packages.values())
    told = (SERVED / "codemirror.LICENSES.txt").read_text(encoding="utf-8")
    named = [line for line in told.splitlines() if line.endswith("(MIT)")]
    assert len(named) >= 10 and told.count("Permission is hereby granted") == len(named)
    for line in named:
        name, version, _ = line.split(" ")
        assert packages[name]["version"] == version

"""Every byte that the commands print and write, kept in a folder: what a change of structure may not move.

    python tests/recording.py OUT              records the code of this checkout (some minutes)
    python tests/recording.py OUT --quick      the examples alone, each command's first form
    diff -rq BEFORE AFTER                      what moved

Each file holds one call: its exit status, standard output, standard error, and the documents it wrote.
"""

from __future__ import annotations

import argparse
import contextlib
import io
import os
import random
import sys
import tempfile
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parent.parent
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

from random_rigs import random_rig_text  # noqa: E402
from random_stages import random_stage  # noqa: E402

EVERY_RIG = (
    *("check R", "check R --json", "check R --latent --order 3", "why R", "why R --json", "rank R", "rank R --json"),
    *("mend R", "mend R --json", "failures R", "failures R -o F.md", "failures R -o F.html", "failures R --json"),
    *("failures R --state worst", "walkdown R", "walkdown R -o F.html", "walkdown R --json", "card R -o F.html"),
    *("walkdown R --language de", "card R --language de --paper a5 -o F.html", "card R --json"),
    *("procedure R", "procedure R -o F.html", "procedure R --json", "report R --order 2", "report R -o F.md"),
    *("report R --order 2 --json", "draw R -o F.svg", "draw R -o F.dot", "draw R --forces -o F.dot"),
    *("draw R --side -o F.svg", "draw R --film F", "forces R", "forces R --json", "haul R", "haul R --json"),
    *("drill R --json", "drill R --paper 5", "reconstruct R", "reconstruct R --json", "reconstruct R -o F.html"),
    *("reconstruct R -o F.md", "reconstruct R --including-slips", "format R --diff", "check R --only no-stopper"),
)
RANDOM_RIG = (
    *("check R", "check R --json", "check R --order 3 --json", "why R --json", "failures R", "walkdown R"),
    *("rank R --json", "mend R --json", "procedure R", "draw R -o F.dot", "whatif R ?", "whatif R ? ? --json"),
)
ALONE = (
    *("explain", "explain --json", "rules", "rules --json", "rules --markdown", "kinds", "kinds --json"),
    *("start --list", "start --list --json", "completion bash", "completion zsh", "--help", "check --help"),
)
LITTERS = {"litter-bridle.rig": "basket", "litter-tilt.rig": "basket"}


@dataclass(frozen=True)
class Call:
    name: str
    words: tuple[str, ...]


def called(words: tuple[str, ...], folder: Path) -> str:
    """One call, in a folder of its own for what it writes, as text."""
    from analyser.doors.commands.main import main

    out, error = io.StringIO(), io.StringIO()
    before = Path.cwd()
    os.chdir(folder)
    try:
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(error):
            try:
                status: object = main([word.replace("F", "made", 1) if word[0] == "F" else word for word in words])
            except SystemExit as end:
                status = end.code
            except Exception as wrong:
                status = f"{type(wrong).__name__}: {wrong}"
    finally:
        os.chdir(before)
    documents = "".join(
        f"--- {path.relative_to(folder)}\n{path.read_bytes().decode('utf-8', 'backslashreplace')}\n"
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    )
    return f"status {status}\n--- stdout\n{out.getvalue()}--- stderr\n{error.getvalue()}{documents}"


def record(call: Call, out: Path) -> None:
    with tempfile.TemporaryDirectory() as folder:
        text = called(call.words, Path(folder))
    (out / call.name).write_text(text.replace(str(ROOT), "ROOT"), encoding="utf-8", errors="backslashreplace")


def of_rig(path: Path, forms: tuple[str, ...], failures: tuple[str, ...] = ()) -> list[Call]:
    calls = []
    stem = "+".join(path.relative_to(ROOT).parts) if path.is_relative_to(ROOT) else path.name
    for form in forms:
        words = [str(path) if word == "R" else word for word in form.split()]
        given = iter(failures)
        words = [next(given, "nothing fails") if word == "?" else word for word in words]
        calls.append(Call(f"{stem}+{form.replace(' ', '_').replace('/', '+')}", tuple(words)))
    return calls


def calls(scratch: Path, *, quick: bool) -> list[Call]:
    import analyser

    found: list[Call] = []
    rigs = sorted((ROOT / "examples").rglob("*.rig")) + sorted((ROOT / "tests" / "incidents").glob("*.rig"))
    for path in rigs:
        rig = analyser.read(path)
        found += of_rig(path, EVERY_RIG[:1] if quick else EVERY_RIG)
        two = tuple(failure.id for failure in (*rig.failures[:1], *rig.failures[-1:]))
        found += of_rig(path, ("whatif R ?", "whatif R ? ? --json", "draw R -o F.dot --failing ?"), two)
        for stage in rig.stages:
            name = f"{'+'.join(path.relative_to(ROOT).parts)}+reorder+{stage.title.replace('/', '+')}"
            found.append(Call(name, ("reorder", str(path), "--stage", stage.title)))
            found.append(Call(f"{name}+json", ("reorder", str(path), "--stage", stage.title, "--json")))
        if path.name in LITTERS:
            words = ("attitude", str(path), LITTERS[path.name], "--head-up", "5", "deg")
            found += [Call(f"{path.name}+attitude", words), Call(f"{path.name}+attitude+json", (*words, "--json"))]
    found += [Call(form.replace(" ", "_"), tuple(form.split())) for form in ALONE]
    for path in rigs:
        other = path.with_name(path.stem + "-wrong.rig")
        mended = path.with_name(path.stem + "-mended.rig")
        for second in (other, mended):
            if second.exists():
                words = ("compare", str(path), str(second))
                found.append(Call(f"{path.name}+compare+{second.name}", words))
                found.append(Call(f"{path.name}+compare+{second.name}+json", (*words, "--json", "--draw", "F.dot")))
    one, two = (str(ROOT / "examples" / "revisions" / f"gully-lower-{n}.rig") for n in (1, 2))
    found += [Call("gully+compare", ("compare", one, two)), Call("gully+json", ("compare", one, two, "--json"))]
    lower, as_found = ROOT / "examples" / "litter-lower.rig", ROOT / "examples" / "found" / "litter-lower.found"
    walked = ("walkdown", str(lower), "--found", str(as_found))
    found += [Call("found", walked), Call("found+json", (*walked, "--json"))]
    found += [Call("found+html", (*walked, "-o", "F.html"))]
    if quick:
        return found
    for seed in range(200):
        path = scratch / f"random-{seed}.rig"
        text = random_rig_text(random.Random(seed), 1 + seed % 4) if seed < 140 else random_stage(seed, 8)
        path.write_text(text, encoding="utf-8")
        try:
            failures = tuple(failure.id for failure in analyser.read(path).failures[:3])
        except Exception:
            failures = ()
        found += of_rig(path, RANDOM_RIG, failures)
    return found


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("out", type=Path)
    options.add_argument("--quick", action="store_true")
    asked = options.parse_args()
    out = asked.out.resolve()
    out.mkdir(parents=True)
    os.environ["COLUMNS"] = "100"
    os.environ["NO_COLOR"] = "1"
    scratch = Path(tempfile.gettempdir()) / "recorded-rigs"
    scratch.mkdir(exist_ok=True)
    work = calls(scratch, quick=asked.quick)
    with ProcessPoolExecutor() as pool:
        list(pool.map(record, work, [out] * len(work), chunksize=8))
    print(f"{len(work)} calls recorded in {out}")


if __name__ == "__main__":
    main()

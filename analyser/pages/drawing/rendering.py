"""DOT source to SVG or PNG, with the renderer that comes along or with the system's own."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from subprocess import PIPE
from typing import Literal

Format = Literal["svg", "png", "dot"]

EMBEDDED = "graphviz-pure"
SYSTEM = "dot"
PNG_DPI = 150
TIMEOUT = 120
SCALE = re.compile(rb'<g id="graph0" class="graph" transform="scale\(([\d.]+)')


@dataclass(frozen=True, slots=True)
class Layout:
    """Places in points, as DOT writes them: the whole, each node, and each line (its way and its label's
    place) by its `id`, a number from 0."""

    box: str
    nodes: dict[str, str]
    lines: list[tuple[str, str]]


class NotDrawn(Exception):
    """The diagram could not be rendered; the message says why and what helps."""


def render(
    source: str,
    format: Format,
    *,
    system: bool = False,
    patience: float = TIMEOUT,
    started: Callable[[subprocess.Popen[bytes]], None] = lambda renderer: None,
    placed: bool = False,
) -> bytes:
    """Render DOT source: the same source gives the same bytes.

    "dot" gives the source itself, with no renderer. `system` asks for the `dot` found on the
    system instead of the renderer that comes along; where none is found, the one that comes along
    is used. `placed`: the source gives every place itself. `patience` is in seconds; `started` is given
    the renderer's process, to end it early.
    Raises `NotDrawn`.
    """
    if format == "dot":
        return source.encode("utf-8")
    engine = ("-Kneato", "-n2") if placed else ("-Kdot",)
    command = [str(renderer(system=system)), *engine, f"-T{format}"]
    if format == "png":
        command.append(f"-Gdpi={PNG_DPI}")
    return _rendered(command, source, patience, started)


def rendered_largest(sources: Sequence[str], format: Format, *, system: bool = False) -> bytes:
    """Of the same picture laid out in several ways the one with the largest type. Raises `NotDrawn`."""
    if format == "dot" or len(sources) == 1:
        return render(sources[0], format, system=system)
    pictures = [render(source, "svg", system=system) for source in sources]
    best = max(range(len(sources)), key=lambda k: (scale(pictures[k]), -k))
    return pictures[best] if format == "svg" else render(sources[best], format, system=system)


def scale(picture: bytes) -> float:
    """How large the type of a picture is, 1 as its source says."""
    found = SCALE.search(picture)
    return float(found[1]) if found else 1.0


def lay_out(source: str, *, system: bool = False) -> Layout:
    """Where the layout program puts what a DOT source draws. Raises `NotDrawn`."""
    command = [str(renderer(system=system)), "-Kdot", "-Tjson"]
    data = json.loads(_rendered(command, source, TIMEOUT, lambda renderer: None))
    lines = sorted((one for one in data["edges"] if "id" in one), key=lambda one: int(one["id"]))
    return Layout(
        data["bb"],
        {one["name"]: one["pos"] for one in data["objects"] if "pos" in one},
        [(one["pos"], one.get("lp", "")) for one in lines],
    )


def _rendered(
    command: list[str], source: str, patience: float, started: Callable[[subprocess.Popen[bytes]], None]
) -> bytes:
    try:
        with subprocess.Popen(command, stdin=PIPE, stdout=PIPE, stderr=PIPE) as process:
            started(process)
            try:
                picture, said = process.communicate(source.encode("utf-8"), patience)
            except subprocess.TimeoutExpired:
                raise NotDrawn(
                    f"the diagram took more than {patience:g} seconds to lay out, and was given up"
                ) from None
            finally:
                process.kill()
    except OSError as error:
        raise NotDrawn(f"the diagram renderer {command[0]} could not be started: {error.strerror}") from None
    if process.returncode or not picture:
        why = said.decode("utf-8", "replace").strip() or f"exit status {process.returncode}"
        raise NotDrawn(f"the diagram renderer {Path(command[0]).name} failed: {why.splitlines()[0]}")
    return picture


def renderer(*, system: bool = False) -> Path:
    """The program that renders: the system's where asked for and found, else the one that comes along.

    It lies beside the running Python also where the environment is not activated, so that place is
    looked at before the PATH.
    """
    if system and (found := shutil.which(SYSTEM)):
        return Path(found)
    for name in (EMBEDDED, f"{EMBEDDED}.exe"):
        beside = Path(sys.executable).with_name(name)
        if beside.is_file():
            return beside
    if found := shutil.which(EMBEDDED):
        return Path(found)
    raise NotDrawn(
        f"no diagram renderer: {EMBEDDED} is not installed beside this Python. "
        f"`pip install {EMBEDDED}` brings it; the DOT source can be written without it"
    )

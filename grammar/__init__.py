"""The rig language, readable without the code: its grammar, its catalogue of kinds, its reference."""

from importlib.resources import files
from pathlib import Path

TEMPLATES = ("two-rope-lower", "tripod-raise", "work-positioning", "track-line", "empty")
"""The files of `templates`, in the order in which they are offered; the first is the default."""


def text(name: str) -> str:
    """The text of a file of this folder (`rig.lark`, `kinds.rig`, `reference.md`)."""
    return files(__name__).joinpath(name).read_text(encoding="utf-8")


def template(name: str) -> str:
    """The text of a template."""
    return text(f"templates/{name}.rig")


def about(name: str) -> str:
    """What a template is: its first line."""
    return template(name).partition("\n")[0].removeprefix("# ")


def lessons() -> dict[str, str]:
    """The lessons and the page that leads through them, by file name: twelve rigs, each wrong and mended.

    They are written in examples/lessons, and an installed package has them beside the grammar.
    """
    packed = files(__name__).joinpath("lessons")
    folder = packed if packed.is_dir() else Path(__file__).parent.parent / "examples" / "lessons"
    found = {one.name: one for one in folder.iterdir() if one.name.endswith((".rig", ".md"))}
    return {name: found[name].read_text(encoding="utf-8") for name in sorted(found)}

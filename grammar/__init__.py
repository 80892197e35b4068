"""The rig language, readable without the code: its grammar, its catalogue of kinds, its reference."""

from importlib.resources import files


def text(name: str) -> str:
    """The text of a file of this folder (`rig.lark`, `kinds.rig`, `reference.md`)."""
    return files(__name__).joinpath(name).read_text(encoding="utf-8")

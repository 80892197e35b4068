"""What stands on what: the frames that need a part under their feet."""

from __future__ import annotations

from analyser.rig.model import Rig


def standing_on(rig: Rig, name: str) -> tuple[str, ...]:
    """The frames, by name, that stand on a part: a frame meets it by its need, not by a contact."""
    return tuple(one.name for one in rig.parts.values() if name in one.needed)

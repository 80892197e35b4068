"""A drawing that shows itself in a notebook."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True, slots=True, repr=False)
class Picture:
    """A drawing of a rig, as SVG."""

    title: str
    svg: str

    def save(self, path: str | Path) -> None:
        """Write it, whole or not at all. Raises OSError."""
        from analyser.doors.live.whole import put_whole

        put_whole(path, self.svg.encode())

    def _repr_svg_(self) -> str:
        return self.svg[self.svg.index("<svg") :]

    def __repr__(self) -> str:
        return f"<Picture: {self.title}>"

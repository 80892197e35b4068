"""What a file must still say before forces can be told, as lines to paste; what can't be as it is."""

from __future__ import annotations

from typing import TYPE_CHECKING

from analyser.language.mistakes import Place

if TYPE_CHECKING:
    from analyser.forces.missing import Missing


def wanting_text(missing: Missing) -> str:
    """Plain lines for standard error: each fact once, by line of the file."""
    rows: list[str] = []
    if missing.contradictions:
        rows.append("no forces are told: this cannot be as it is written")
        rows += [f"    {_where(one.place)}: {one.why}" for one in missing.contradictions]
    if missing.wanted:
        rows.append("and these facts are missing:" if rows else "no forces are told: these facts are missing:")
        wide = max(len(one.line) for one in missing.wanted)
        rows += [f"    {one.line:<{wide}}  # {_where(one.place)}: {one.why}" for one in missing.wanted]
    return "\n".join(rows) + "\n"


def _where(place: Place) -> str:
    return f"{place.file}:{place.line}"

"""Gates that lock and devices that grip by themselves: what does so no more in a new revision."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from analyser.rig.model import Nature, Part


def locks_no_more(before: Mapping[str, Part], after: Mapping[str, Part]) -> Iterator[str]:
    """A sentence for each part of both revisions that locked, or gripped hands-off, and isn't said to any more."""
    for name, now in after.items():
        was = before.get(name)
        if was is None:
            continue
        if was.self_locking and not now.self_locking and now.operated_by:
            yield f"{name} was self-locking, and grips only while {now.operated_by}'s hand is on it"
        if was.anti_panic and not now.anti_panic and now.nature is Nature.GRIP:
            yield f"{name} was anti-panic, and may run while it is held on to"
        if was.locking is not False and now.locking is False:
            yield f"{name} has a gate that does not lock"
        elif was.locking and now.locking is None and "connector" in now.family:
            yield f"{name} was locking, and isn't said to be"

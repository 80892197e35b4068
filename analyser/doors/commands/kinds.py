"""`stillheld kinds`: the catalogue."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace

from analyser.doors.commands.getting_out import put_json
from analyser.doors.commands.options import as_json


def options(one: ArgumentParser) -> None:
    as_json(one)


def run(asked: Namespace) -> int:
    from analyser.rig.catalogue import catalogue

    if asked.json:
        from analyser.checking.contract import lay
        from analyser.uses.teaching.language_shapes import Kinds

        put_json(lay(Kinds, catalogue().values()))
    else:
        from analyser.pages.writers.terminal import show
        from analyser.pages.writing.explain_page import kinds_page

        show(kinds_page((kind.name, kind.like or "", kind.meaning) for kind in catalogue().values()))
    return 0

"""`stillheld completion SHELL`: a script for the shell, made from the command line's own parser."""

from __future__ import annotations

import argparse
import sys

from analyser.doors.commands.main import COMMANDS, parser


def options(one: argparse.ArgumentParser) -> None:
    one.add_argument("shell", choices=("bash", "zsh", "fish"), metavar="SHELL", help="bash, zsh or fish")


def run(asked: argparse.Namespace) -> int:
    sys.stdout.write(script(asked.shell))
    return 0


def script(shell: str) -> str:
    """The completion script of a shell: commands, options, files that end in .rig, names of rules and kinds."""
    import shtab

    from analyser.checking.registry import RULES
    from analyser.uses.teaching.entries import entries
    from grammar import TEMPLATES

    top = parser(*COMMANDS)
    rig_files, any_file = shtab.glob("*.rig"), shtab.FILE
    files = {"RIG": rig_files, "FILE": any_file}
    explained = dict.fromkeys(entry.name for entry in entries() if " " not in entry.name)
    names = {"RULE": [rule.name for rule in RULES], "TEMPLATE": TEMPLATES, "NAME": list(explained)}
    for command in _commands(top).values():
        for action in command._actions:
            if action.metavar in names:
                action.choices = names[str(action.metavar)]
            elif action.metavar in files:
                action.complete = files[str(action.metavar)]  # type: ignore[attr-defined]
    return f"{shtab.complete(top, shell).rstrip()}\n"


def _commands(top: argparse.ArgumentParser) -> dict[str, argparse.ArgumentParser]:
    (commands,) = (action for action in top._actions if isinstance(action, argparse._SubParsersAction))
    return dict(commands.choices)

"""`stillheld completion SHELL`: the shell's own machinery completes what the command line takes."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import pytest

from analyser.checking.registry import RULES
from analyser.doors.commands.completion import script
from analyser.doors.commands.main import COMMANDS, main, parser
from analyser.doors.commands.start import TEMPLATES

BASH = shutil.which("bash")
needs_bash = pytest.mark.skipif(BASH is None, reason="bash isn't installed here")


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_the_script_names_every_command_and_option(shell: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["completion", shell]) == 0
    text = capsys.readouterr().out
    assert text == script(shell), "the same each time"
    for name in COMMANDS:
        assert name in text
    for option in ("--order", "--failing", "--page", "--system-dot", "--from"):
        assert option.lstrip("-") in text, option
    for name in ("tripod-raise", RULES[0].name):
        assert name in text


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_the_shell_reads_the_script(shell: str, tmp_path: Path) -> None:
    program = shutil.which(shell)
    if not program:
        pytest.skip(f"{shell} isn't installed here")
    file = tmp_path / f"completion.{shell}"
    file.write_text(script(shell), encoding="utf-8")
    run = subprocess.run([program, "-n", str(file)], capture_output=True, text=True, check=False)
    assert (run.returncode, run.stderr) == (0, "")


def test_another_shell_is_told_which_there_are(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as stopped:
        main(["completion", "csh"])
    assert stopped.value.code == 2
    assert "bash" in capsys.readouterr().err


def completed(folder: Path, *words: str) -> list[str]:
    """What bash offers for the last word, asked as it asks when somebody presses the tab key."""
    (folder / "completion.bash").write_text(script("bash"), encoding="utf-8")
    asked = """
        source completion.bash
        COMP_WORDS=("$@") COMP_CWORD=$(($# - 1))
        function=$(complete -p stillheld | sed 's/.*-F \\([^ ]*\\).*/\\1/')
        "$function" stillheld "${COMP_WORDS[COMP_CWORD]}" "${COMP_WORDS[COMP_CWORD-1]}"
        printf '%s\\n' "${COMPREPLY[@]}"
    """
    assert BASH
    command = [BASH, "--norc", "--noprofile", "-c", asked, "bash", "stillheld", *words]
    run = subprocess.run(command, cwd=folder, capture_output=True, text=True, check=True)
    return sorted(run.stdout.split())


@needs_bash
def test_commands_complete(tmp_path: Path) -> None:
    assert completed(tmp_path, "") == sorted(COMMANDS)
    assert completed(tmp_path, "w") == sorted(name for name in COMMANDS if name.startswith("w"))
    assert completed(tmp_path, "--v") == ["--version"]


@needs_bash
@pytest.mark.parametrize("command", COMMANDS)
def test_options_complete(command: str, tmp_path: Path) -> None:
    """Those of the parser itself: an option that is added is completed."""
    (commands,) = (action for action in parser(*COMMANDS)._actions if action.dest == "command")
    assert isinstance(commands.choices, dict)
    options = {option for action in commands.choices[command]._actions for option in action.option_strings}
    assert completed(tmp_path, command, "--") == sorted(option for option in options if option.startswith("--"))


@needs_bash
def test_rig_files_and_folders_complete(tmp_path: Path) -> None:
    for name in ("lower.rig", "raise.rig", "notes.txt"):
        (tmp_path / name).write_text("")
    (tmp_path / "kits").mkdir()
    (tmp_path / "kits" / "team.rig").write_text("")
    assert completed(tmp_path, "check", "") == ["kits", "lower.rig", "raise.rig"]
    assert completed(tmp_path, "check", "lower.rig", "ra") == ["raise.rig"], "a second rig too"
    assert completed(tmp_path, "check", "--order", "3", "low") == ["lower.rig"]
    assert completed(tmp_path, "watch", "kits/") == ["kits/team.rig"]


@needs_bash
def test_names_complete(tmp_path: Path) -> None:
    assert completed(tmp_path, "explain", "shared") == ["shared-edge"]
    assert {rule.name for rule in RULES} | {"carabiner"} <= set(completed(tmp_path, "explain", ""))
    assert completed(tmp_path, "start", "--from", "") == sorted(TEMPLATES)
    assert completed(tmp_path, "completion", "") == ["bash", "fish", "zsh"]

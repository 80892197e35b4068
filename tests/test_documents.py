"""README.md, DEVELOPERS.md and the page of the lessons show what the program prints today.

A block after `<!-- console -->` begins with `$ command` and goes on with exactly what it prints; a
block after `<!-- file: NAME -->` is that file; grammar/findings.md is made of the rules; a picture
in examples/pictures says what is drawn of the example of its name. `python tests/test_documents.py`
writes all of them anew.
"""

from __future__ import annotations

import contextlib
import io
import os
import re
import shlex
import sys
from pathlib import Path
from xml.etree import ElementTree

import pytest

from analyser.doors.commands.main import main

ROOT = Path(__file__).parent.parent
DOCUMENTS = ("README.md", "DEVELOPERS.md", "examples/lessons/README.md", "examples/revisions/review.md")
"""Their commands are as from the root; those of the lessons as from their folder, as one copies them."""
REPORTED = "examples/revisions/gully-lower-2"
PICTURES = sorted((ROOT / "examples/pictures").glob("*.svg"))
BLOCK = re.compile(r"(<!-- (?:console|file: ([^\n]*)) -->\n```\w*\n)(.*?)(```)", re.DOTALL)


def printed(command: str, folder: Path = ROOT) -> str:
    """What a `stillheld` command prints, on both streams, as into a pipe of the usual width."""
    words = shlex.split(command)
    assert words[0] == "stillheld"
    out = io.StringIO()
    before = Path.cwd()
    os.chdir(folder)
    try:
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(out):
            main(words[1:])
    finally:
        os.chdir(before)
    return out.getvalue()


def draw(picture: Path, file: Path) -> None:
    printed(f"stillheld draw examples/{picture.stem}.rig -o {shlex.quote(str(file))}")


def renewed(name: str) -> str:
    """The document with every shown output as it is now."""
    folder = (ROOT / name).parent

    def renew(match: re.Match[str]) -> str:
        head, file, body, tail = match.groups()
        if file:
            return head + (ROOT / file).read_text(encoding="utf-8") + tail
        command = body.splitlines()[0]
        return f"{head}{command}\n{printed(command.removeprefix('$ '), folder).strip()}\n{tail}"

    return BLOCK.sub(renew, (ROOT / name).read_text(encoding="utf-8"))


def test_the_page_of_rules_is_made_of_the_rules() -> None:
    assert (ROOT / "grammar/findings.md").read_text(encoding="utf-8") == printed("stillheld rules --markdown")


@pytest.mark.parametrize("name", DOCUMENTS)
def test_shown_output_is_what_is_printed(name: str) -> None:
    text = (ROOT / name).read_text(encoding="utf-8")
    assert BLOCK.search(text)
    assert renewed(name) == text


def test_the_shown_report_is_what_is_reported(tmp_path: Path) -> None:
    printed(f"stillheld report {REPORTED}.rig -o {shlex.quote(str(tmp_path / 'now.md'))}")
    assert (tmp_path / "now.md").read_text(encoding="utf-8") == (ROOT / f"{REPORTED}.md").read_text(encoding="utf-8")


@pytest.mark.parametrize("picture", PICTURES, ids=lambda path: path.stem)
def test_a_shown_picture_says_what_is_drawn(picture: Path, tmp_path: Path) -> None:
    draw(picture, tmp_path / "now.svg")
    shown, now = (ElementTree.parse(file).iterfind(".//{*}text") for file in (picture, tmp_path / "now.svg"))
    assert ["".join(text.itertext()) for text in shown] == ["".join(text.itertext()) for text in now]


def test_python_shown_in_the_readme_runs(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    (block,) = re.findall(r"```python\n(.*?)```", text, re.DOTALL)
    lines = block.strip().splitlines()
    scope: dict[str, object] = {}
    exec("\n".join(line for line in lines if "  # " not in line), scope)
    for line in lines:
        code, _, told = line.partition("  # ")
        if told.startswith(("[", "2")):
            assert repr(eval(code, scope)) == told


def test_links_lead_somewhere() -> None:
    for name in DOCUMENTS:
        text = (ROOT / name).read_text(encoding="utf-8")
        for target in re.findall(r"\]\(([^)#]+)\)", text):
            assert ((ROOT / name).parent / target).exists(), f"{name} links to {target}"


if __name__ == "__main__":
    for document in sys.argv[1:] or DOCUMENTS:
        path = ROOT / document
        path.write_text(renewed(document), encoding="utf-8")
    (ROOT / "grammar/findings.md").write_text(printed("stillheld rules --markdown"), encoding="utf-8")
    printed(f"stillheld report {REPORTED}.rig -o {REPORTED}.md")
    for shown in PICTURES:
        draw(shown, shown)

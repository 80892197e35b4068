"""`stillheld explain`: every rule, kind and word of the language has a page, and its example reads."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

import analyser
import grammar
from analyser.checking.registry import RULES
from analyser.doors.commands.main import main
from analyser.language import reference
from analyser.language.attributes import ATTRIBUTES
from analyser.language.reference import GROUPS, WHERE, natures, topics
from analyser.language.vocabulary import FACTS, STATEMENTS, STATIONS, STEPS
from analyser.rig.catalogue import catalogue
from analyser.uses.teaching.entries import Entry, entries

PAGE = grammar.text("reference.md")
EXAMPLES = [page for page in entries() if "rig" in page.data]


def named(group: str) -> set[str]:
    return {page.name for page in entries() if page.group == group}


def explained(*words: str, capsys: pytest.CaptureFixture[str]) -> str:
    assert main(["explain", *words]) == 0
    return capsys.readouterr().out


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Where the reference's kit is, for the rig that includes it."""
    found = re.search(r"^```rig-kit\n(.*?)^```$", PAGE, re.DOTALL | re.MULTILINE)
    assert found
    path = tmp_path_factory.mktemp("kit")
    (path / "kit.rig").write_text(found[1], encoding="utf-8")
    return path


@pytest.mark.parametrize("page", EXAMPLES, ids=lambda page: f"{page.group}: {page.name}")
def test_the_example_reads_and_shows_the_name(page: Entry, folder: Path) -> None:
    rig, lines = str(page.data["rig"]), str(page.data["example"]).splitlines()
    analyser.read_text(rig, folder=folder)
    assert set(lines) <= set(rig.splitlines())
    words = re.sub(r"\d+", r"\\d+", re.escape(page.name))
    assert re.search(rf"(?<![\w-]){words}(?![\w-])", lines[-1])


def test_what_is_written_has_an_example() -> None:
    """Without one: the failures of people (the next test asks a rig for them), and two forms of a
    declaration, which begin with a name of the reader's own."""
    groups = (*WHERE, "statement", "kind", "nature")
    without = {page.name for page in entries() if page.group in groups and page not in EXAMPLES}
    forms = {page.name for page in entries() if page.name != page.name.lower() or page.name.startswith("name,")}
    assert without - forms <= {"lets go", "holds on", "loses footing"}, "a line in a rig of the reference shows it"


def test_the_failures_of_people_are_called_so() -> None:
    ids = " ".join(
        failure.id
        for text in reference.rigs()
        if "include" not in text
        for failure in analyser.read_text(text).failures
    )
    assert all(name in ids for name in ("lets go", "holds on", "loses footing"))


@pytest.mark.parametrize(
    ("group", "words"),
    [
        ("statement", STATEMENTS),
        ("attribute", [one for one in ATTRIBUTES if one != "likelihood"]),
        ("station", STATIONS.values()),
        (
            "observed fact",
            [{"at": "at step", "between": "between step", "before": "before any step"}.get(f, f) for f in FACTS],
        ),
        ("nature", natures()),
        ("kind", [kind.name for kind in catalogue().values() if kind.like]),
        ("rule", [rule.name for rule in RULES]),
    ],
)
def test_the_whole_language_is_there(group: str, words: list[str]) -> None:
    assert set(words) <= named(group)


def test_every_step_is_there() -> None:
    first = {page.name.split()[0] for page in entries() if page.group == "step of a stage"}
    assert set(STEPS) - {"rope"} <= first


def test_no_group_is_empty_and_every_table_is_known() -> None:
    """A table that is headed anew would silently lose its pages."""
    assert {topic.group for topic in topics()} == set(GROUPS.values())
    assert all(topic.means or topic.group == "mistake" for topic in topics())


def test_a_new_row_is_explained_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    row = "| `tint red` · `tint blue` | rope | how it looks ([ropes](#6-ropes)) \\| to **you** |\n"
    text = PAGE.replace("| `worn by sam` |", f"{row}| `worn by sam` |")
    monkeypatch.setattr(grammar, "text", lambda name: text if name == "reference.md" else "")
    found = [topic for topic in topics.__wrapped__() if "tint" in topic.name]
    assert [(one.name, one.on, one.means) for one in found] == [
        ("tint red", "rope", "how it looks (ropes) | to you"),
        ("tint blue", "rope", "how it looks (ropes) | to you"),
    ]


def test_a_kind_tells_what_it_stands_on(capsys: pytest.CaptureFixture[str]) -> None:
    page = explained("friction-hitch", capsys=capsys)
    assert "friction-hitch  (kind)" in page and "like          grip" in page
    assert "grammar/kinds.rig" in page and "friction-hitch belay-hitch" in page
    assert "friction-hitch" in explained("grip", capsys=capsys)


def test_a_phrase_needs_no_quotes_and_a_piece_is_enough(capsys: pytest.CaptureFixture[str]) -> None:
    assert explained("operated", "by", capsys=capsys) == explained("operated by", capsys=capsys)
    assert explained("operated", capsys=capsys) == explained("operated by", capsys=capsys)
    assert "level after any  (requirement)" in explained("level", capsys=capsys)
    assert "a rope with fewer than two stations  (mistake)" in explained("rope with fewer stations", capsys=capsys)


def test_one_name_in_several_places_and_what_else_is_written_with_it(capsys: pytest.CaptureFixture[str]) -> None:
    page = explained("note", capsys=capsys)
    assert [group in page for group in ("(statement)", "(step of a stage)", "(observed fact)")] == [True] * 3
    page = explained("hands off", capsys=capsys)
    assert "hands off  (word of the answers)" in page
    assert "see also      everyone held with hands off (requirement)" in page


@pytest.mark.parametrize(
    ("wrong", "right"),
    [("stoper", "stopper"), ("carabinner", "carabiner"), ("self-loking", "self-locking"), ("detatch", "detach")],
)
def test_a_near_miss_is_told(wrong: str, right: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["explain", wrong]) == 2
    said = capsys.readouterr()
    assert f"did you mean `{right}`?" in said.err and said.out == ""


def test_the_list_has_every_name(capsys: pytest.CaptureFixture[str]) -> None:
    text = " ".join(explained(capsys=capsys).split())
    for page in entries():
        assert " ".join(page.name.split()) in text


def test_everything_as_json(capsys: pytest.CaptureFixture[str]) -> None:
    words = json.loads(explained("--json", capsys=capsys))["words"]
    assert [one["name"] for one in words if one["group"] == "rule"] == [rule.name for rule in RULES]
    assert [one["name"] for one in words] == [page.name for page in entries()]
    (page,) = json.loads(explained("screw-link", "--json", capsys=capsys))["pages"]
    assert (page["group"], page["name"], page["like"][-1]) == ("kind", "screw-link", "joint")
    data = json.loads(explained("note", "--json", capsys=capsys))
    assert [page["group"] for page in data["pages"]] == ["statement", "step of a stage", "observed fact"]
    data = json.loads(explained("hands off", "--json", capsys=capsys))
    assert data["see_also"] == ["everyone held with hands off (requirement)"]

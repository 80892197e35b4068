"""The words of walk-down and cards: one table a language, none missing, none unused, the same gaps in each."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest
from rigs import checked

from analyser.checking.letterhead import CAUTIONS
from analyser.checking.results import Result
from analyser.doors.commands.main import parser
from analyser.pages.tree import given
from analyser.pages.writing.translation import LANGUAGES, catalogue, verdict
from analyser.uses.field.said import said

ANALYSER = Path(__file__).parent.parent / "analyser"
WRITING = ANALYSER / "pages" / "writing"
CODE = [
    *sorted((ANALYSER / "uses" / "field").glob("*.py")),
    *(WRITING / f"{name}.py" for name in ("walkdown_page", "card_page", "translation")),
]
ASKING = ("said", "t", "words", "text")
"""What is called with the key of an entry: `said("key")`, `words.text("key")`."""
KEY = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")
OF_THE_TABLE = {"language"}
"""What a table says of itself."""


def calls(path: Path) -> set[str]:
    """The keys that are certainly asked for."""
    found = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if not isinstance(node, ast.Call) or not node.args:
            continue
        name = node.func.id if isinstance(node.func, ast.Name) else getattr(node.func, "attr", "")
        if name in ASKING:
            first = node.args[0]
            several = [first.body, first.orelse] if isinstance(first, ast.IfExp) else [first]
            found |= {one.value for one in several if isinstance(one, ast.Constant) and isinstance(one.value, str)}
    return found


def strings(path: Path) -> set[str]:
    """Every text that could be a key: keys stand in tables too."""
    text = path.read_text(encoding="utf-8")
    return {n.value for n in ast.walk(ast.parse(text)) if isinstance(n, ast.Constant) and isinstance(n.value, str)}


def test_no_entry_is_missing_in_english() -> None:
    asked = {key for path in CODE for key in calls(path)}
    assert len(asked) > 100 and asked <= set(catalogue("en").entries)


def test_no_entry_is_unused() -> None:
    known = {text for path in CODE for text in strings(path)}
    assert set(catalogue("en").entries) - OF_THE_TABLE <= known


def test_every_text_that_looks_like_a_key_of_a_family_is_one() -> None:
    """Keys in tables (`"descender": "see-…"`) are entries too."""
    families = ("see-", "figure-", "slip-", "role-", "mark-", "work-", "watch-", "do-", "fail-", "critical-", "test-")
    for path in CODE:
        for text in strings(path):
            if KEY.fullmatch(text) and text.startswith(families):
                assert text in catalogue("en").entries, f"{path.name}: {text}"


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_language_has_the_same_entries_with_the_same_gaps(language: str) -> None:
    english, other = catalogue("en"), catalogue(language)
    assert list(other.entries) == list(english.entries)
    for key, entry in english.entries.items():
        assert isinstance(other.entries[key], str) == isinstance(entry, str), key
        assert other.gaps(key) == english.gaps(key), key
        for text in _texts(other.entries[key]):
            assert (text.strip() and text.removeprefix(" ") == " ".join(text.split())) or text.startswith(";"), key


def test_german_is_german() -> None:
    english, german = catalogue("en"), catalogue("de")
    alike = {key for key, entry in english.entries.items() if german.entries[key] == entry}
    assert alike == {
        "names",
        "nobody-named",
        "both",
        "first-number",
        "chain-then",
        "then",
        "call-stage",
        "call-marked",
        "call-by",
        "slip-told",
        "mend-chain",
        "thing-of-kind",
    }


def _texts(entry: str | dict[str, str]) -> list[str]:
    return [entry] if isinstance(entry, str) else list(entry.values())


def test_the_command_offers_the_languages_there_are() -> None:
    for command in ("walkdown", "card"):
        for language in LANGUAGES:
            assert parser(command).parse_args([command, "a.rig", "--language", language]).language == language
        with pytest.raises(SystemExit):
            parser(command).parse_args([command, "a.rig", "--language", "xx"])


def test_cautions_are_those_of_every_output() -> None:
    words = catalogue("en")
    assert (words.text("caution-model"), words.text("caution-first")) == CAUTIONS


VERDICTS = (
    "anchor bolt\nperson sam\nattach bolt - strap s - sam\n",
    "anchor bolt, post\nperson sam: points a, b\nattach bolt - strap s - sam.a\nattach post - strap t - sam.b\n",
    'anchor bolt\nload bag\nattach bolt - strap s - bag\naccept bolt fails, s fails: "nobody below"\n',
    'anchor bolt\nload bag\nattach bolt - strap s - bag\nsound bolt: "a tree"\nrequire strength factor at least 3\n',
    "anchor bolt\nperson ed: standing, exposed\nrequire ed held after any 1 failure\n",
)


@pytest.mark.parametrize("text", VERDICTS)
def test_the_verdict_in_english_is_the_closing_line_of_the_result(text: str) -> None:
    result: Result = checked(text)
    assert catalogue("en").text(verdict(result)) == result.closing


def test_names_are_listed_as_the_language_lists_them() -> None:
    assert catalogue("en").text("mark-one", bodies=("a", "b", "c")) == "leaves on one: a, b and c"
    assert catalogue("de").text("mark-one", bodies=("a", "b")) == "dann bleibt nur noch eines: a und b"
    told = catalogue("en").words("mark-one", bodies=("<a>", "b"))
    assert told == ("leaves on one: ", given("<a>"), " and ", given("b")), "what was put in is marked as given"


def test_count_chooses_between_one_and_several() -> None:
    words = catalogue("en")
    assert words.text(said("risks", count=1)) == "1 accepted risk"
    assert words.text(said("risks", count=0)) == "0 accepted risks"


def test_a_gap_that_is_not_filled_is_an_error_of_ours() -> None:
    with pytest.raises(KeyError):
        catalogue("en").text("mark-one")
    with pytest.raises(KeyError):
        catalogue("en").text("no-such-key")

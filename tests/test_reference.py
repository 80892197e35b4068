"""The reference of the language: every example reads, every word of the language is in it."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import analyser
import grammar
from analyser.checking.calling import chosen
from analyser.language.attributes import ATTRIBUTES
from analyser.language.mistakes import Unreadable
from analyser.pages.writing.mistakes_page import mistakes_text
from analyser.rig.catalogue import catalogue
from analyser.rig.model import Rig

PAGE = (Path(grammar.__file__).parent / "reference.md").read_text(encoding="utf-8")
YARD = re.search(r"<!-- yard -->\n```rig\n(.*?)```", PAGE, re.DOTALL)
LISTED = "The pieces further down are read after this rig."


CARD = grammar.text("card.md")
(CARDS_RIG,) = re.findall(r"^```rig\n(.*?)^```$", CARD, re.DOTALL | re.MULTILINE)
CARDS_KIT = "kind kit-ring like ring\n"


def blocks(language: str) -> list[tuple[int, str]]:
    """The fenced blocks of one language, each with the line it starts on."""
    found = re.finditer(rf"^```{language}\n(.*?)^```$", PAGE, re.DOTALL | re.MULTILINE)
    return [(PAGE[: one.start()].count("\n") + 1, one[1]) for one in found]


def code(page: str = PAGE) -> str:
    """All that stands in code on the page, in blocks or between backticks."""
    fenced = re.findall(r"^```[a-z-]*\n(.*?)^```$", page, re.DOTALL | re.MULTILINE)
    rest = re.sub(r"^```.*?^```$", "", page, flags=re.DOTALL | re.MULTILINE)
    return "\n".join([*fenced, *re.findall(r"`([^`\n]+)`", rest)])


def keywords() -> dict[str, list[str]]:
    """The spellings of each keyword terminal of the grammar, by terminal."""
    found: dict[str, list[str]] = {}
    for name, pattern in re.findall(r"^([A-Z_]+)\.2: /(.+?)\(\?[!=].*/$", grammar.text("rig.lark"), re.MULTILINE):
        if name == "UNIT":
            found[name] = pattern.strip("()").split("|")
        elif "(" in pattern:  # ha(s|ve)
            stem, ends = pattern.split("(")
            found[name] = [stem + end for end in ends.strip(")").split("|")]
        else:
            optional = re.sub(r"\w\?", "", pattern)
            found[name] = [optional, pattern.replace("?", "")]
    return found


def has_word(word: str, text: str) -> bool:
    return re.search(rf"(?<![\w-]){re.escape(word)}(?![\w-])", text) is not None


@pytest.mark.parametrize(("line", "text"), blocks("rig"))
def test_rigs_read(line: int, text: str) -> None:
    rig = analyser.read_text(text)
    assert not rig.cautions, f"reference.md:{line}"


@pytest.mark.parametrize(("line", "text"), blocks("rig-part"))
def test_pieces_read_after_the_yard(line: int, text: str) -> None:
    assert YARD and LISTED in PAGE
    analyser.read_text(f"{YARD[1]}{text}", name=f"reference.md:{line}")


@pytest.mark.parametrize(("line", "text"), [*blocks("rig"), *blocks("rig-part")])
def test_rigs_can_be_checked(line: int, text: str) -> None:
    assert YARD
    whole = text if text.startswith("rig ") else f"{YARD[1]}{text}"
    result = analyser.check(analyser.read_text(whole, name=f"reference.md:{line}"))
    assert all(body.held for body in result.bodies), f"reference.md:{line}: a body falls with nothing failed"


def test_the_kit_is_included(tmp_path: Path) -> None:
    ((_, kit),) = blocks("rig-kit")
    ((_, rig),) = blocks("rig-with-kit")
    (tmp_path / "kit.rig").write_text(kit, encoding="utf-8")
    (tmp_path / "plan.rig").write_text(rig, encoding="utf-8")
    result = analyser.check(analyser.read(tmp_path / "plan.rig"))
    sam = result.body("sam")
    assert (sam.attachments, sam.independent, result.exit_status) == (2, 1, 1)


def test_what_the_page_says_of_its_rigs() -> None:
    """The first rig meets both house defaults; the edge attendant's rig leaves Ron on one, as told."""
    first = analyser.check(analyser.read_text(blocks("rig")[0][1]))
    assert first.exit_status == 0 and all(one.requirement.assumed for one in first.requirements)
    (attendant,) = [text for _, text in blocks("rig") if text.startswith('rig "Edge attendant"')]
    result = analyser.check(analyser.read_text(attendant))
    left = {failure.id: failure.down_to_one for failure in result.failures}
    assert "ron" in left["lee lets go"] and "ron" in left["cy holds on"]
    assert (result.body("lee").attachments, result.body("lee").independent) == (1, 2)
    (hands,) = [text for _, text in blocks("rig") if text.startswith('rig "Two pairs of hands"')]
    assert [one.met for one in analyser.check(analyser.read_text(hands)).requirements] == [False, True, True]
    (crate,) = [text for _, text in blocks("rig") if text.startswith('rig "Points and ends"')]
    result = analyser.check(analyser.read_text(crate))
    assert result.exit_status == 1 and [one.met for one in result.requirements] == [True, None]


def test_mistakes_are_shown_as_they_look() -> None:
    """When a message is reworded, the page shows the new wording: paste what this prints."""
    ((_, wrong),) = blocks("rig-wrong")
    ((_, shown),) = blocks("text")
    with pytest.raises(Unreadable) as caught:
        analyser.read_text(wrong, name="six.rig")
    printed = mistakes_text(caught.value.mistakes, caught.value.sources)
    assert printed.strip() == shown.strip(), printed


def test_the_keywords_are_found() -> None:
    """Guards the test below: the grammar's terminals are still written the way it reads them."""
    assert {"RIG", "HAS", "POINTS", "SELF_LOCKING", "UNIT", "INTACT"} <= keywords().keys()
    assert len(keywords()) == len(re.findall(r"^[A-Z_]+\.2: ", grammar.text("rig.lark"), re.MULTILINE))


@pytest.mark.parametrize("terminal", sorted(keywords()))
def test_keyword_is_on_the_page(terminal: str) -> None:
    spellings = keywords()[terminal]
    for name, page in (("reference.md", PAGE), ("card.md", CARD)):
        text = code(page)
        shown = [word for word in spellings if (word in text if word == "%" else has_word(word, text))]
        enough = shown == spellings if terminal in ("UNIT", "HAS") else bool(shown)
        assert enough, f"missing from {name}: {spellings}, shown {shown}"


@pytest.mark.parametrize("kind", sorted(catalogue()))
def test_kind_is_on_the_page(kind: str) -> None:
    assert f"`{kind}`" in PAGE, f"missing from reference.md: `{kind}`"


@pytest.mark.parametrize("attribute", sorted(ATTRIBUTES))
def test_attribute_is_on_the_page(attribute: str) -> None:
    assert has_word(attribute, code())


def test_words_that_are_never_said() -> None:
    assert not re.search(r"\bsafe(ly|ty)?\b", PAGE, re.IGNORECASE)
    for word in ("invented", "NOT CHECKED", "local codes", "qualified practice"):
        assert word in PAGE


def test_contents_lead_somewhere() -> None:
    titles = re.findall(r"^#+ (.+)$", PAGE, re.MULTILINE)
    headings = {re.sub(r"[^\w -]", "", title.lower()).replace(" ", "-") for title in titles}
    for anchor in re.findall(r"\]\(#([^)]+)\)", PAGE):
        assert anchor in headings, anchor


# -- the card


def listed(title: str) -> list[str]:
    """What one of the card's lists gives between backticks, without its title."""
    lists = {re.split(r"[,:]", one)[0].strip("`"): one for one in re.split(r"^- ", CARD, flags=re.MULTILINE)}
    entries = re.findall(r"`([^`]+)`", lists[title].split(";")[0].replace("\n", " "))
    return [one for one in entries if one != title]


def on_the_card(folder: Path, *lines: str) -> Rig:
    """The card's rig, and some lines after it."""
    (folder / "kit.rig").write_text(CARDS_KIT, encoding="utf-8")
    return analyser.read_text(CARDS_RIG + "\n".join(lines) + "\n", name="card.rig", folder=folder)


def test_the_card_is_one_printed_page() -> None:
    lines = CARD.splitlines()
    assert len(lines) <= 72 and max(map(len, lines)) <= 100
    assert "nvented" in CARD and not re.search(r"\bsafe(ly|ty)?\b", CARD, re.IGNORECASE)


def test_the_cards_rig_can_be_checked(tmp_path: Path) -> None:
    rig = on_the_card(tmp_path)
    assert not rig.cautions
    assert all(body.held and not body.tips for body in analyser.check(rig).bodies)


def test_the_cards_failures_are_failures_of_its_rig(tmp_path: Path) -> None:
    assert listed("Failures") and all(chosen(on_the_card(tmp_path), [one]) for one in listed("Failures"))


@pytest.mark.parametrize("words", listed("require"))
def test_the_cards_requirements(words: str, tmp_path: Path) -> None:
    for more in ("", ' in stage "Down"', ' except in stage "Down"'):
        on_the_card(tmp_path, f"require {words}{more}", 'stage "Down"', "    derig hoop")


@pytest.mark.parametrize("step", listed('stage "Down"'))
def test_the_cards_steps(step: str, tmp_path: Path) -> None:
    stations = ["        gripped by device", "        tied to vic.waist"] if step.startswith("rerig") else []
    before = {"lift": "    land basket on ground", "let": "    hold open hitch"}.get(step.split()[0])
    on_the_card(tmp_path, 'stage "Down"', *filter(None, [before]), f"    {step}", *stations)


@pytest.mark.parametrize("fact", listed("observed"))
def test_the_cards_facts(fact: str, tmp_path: Path) -> None:
    for told in ("", ", seen by jo", ', said by "a name"', ", inferred"):
        on_the_card(tmp_path, 'stage "Down"', "    derig hoop", '    say "down"', "observed", f"    {fact}{told}")


def test_the_card_lists_every_step_and_fact() -> None:
    """As many as the grammar has, but for what a stage may declare (ropes and parts)."""
    rules = dict(re.findall(r"^(step|fact): (.*?)(?=^\w)", grammar.text("rig.lark"), re.DOTALL | re.MULTILINE))
    steps = [one for one in rules["step"].split("|") if re.search(r"\b[A-Z]{2,}", one)]
    assert len(listed('stage "Down"')) == len(steps) and len(listed("observed")) == len(rules["fact"].split("|"))

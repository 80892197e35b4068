"""Field cards: who has which role, what stands on each card, how it prints; and what is too much for one person."""

from __future__ import annotations

import io
import json
import re
from pathlib import Path

import pytest
from rigs import checked, rig_of, shipped
from test_walkdown import HOSTILE, Page, policy_fits

import analyser
from analyser.checking.analysing import analyse
from analyser.checking.letterhead import CAUTIONS
from analyser.doors.commands.main import main
from analyser.language.parsing import parse_text
from analyser.language.syntax import StageBlock
from analyser.pages.writers.hypertext import own, whole
from analyser.pages.writing.card_page import STYLES, card_page
from analyser.pages.writing.translation import LANGUAGES, Catalogue, catalogue
from analyser.rig.catalogue import catalogue as kinds
from analyser.rig.taking import STEPS
from analyser.uses.field.cards import Card, Cards, cards, doing


def cards_html(made: Cards, words: Catalogue, paper: str) -> str:
    return whole(card_page(made, words), STYLES[paper])


EXAMPLES = Path(__file__).parent.parent / "examples"
LOWER = EXAMPLES / "litter-lower.rig"
RAISE = EXAMPLES / "crossings/lower-to-raise.rig"
POINT = 25.4 / 72
"""Millimetres."""


def made(path: Path) -> Cards:
    return cards(shipped(path), path.name)


@pytest.fixture(scope="module")
def lower() -> Cards:
    return made(LOWER)


@pytest.fixture(scope="module")
def raising() -> Cards:
    return made(RAISE)


def card(several: Cards, name: str) -> Card:
    (one,) = several.of(name)
    return one


def told(one: Card) -> dict[str, list[str]]:
    words = catalogue("en")
    return {key: [words.text(s) for s in getattr(one, key)] for key in ("works", "watches", "critical", "fails")}


# -- who has which role


def test_everybody_with_a_part_in_the_work_has_a_card_and_the_patient_none(lower: Cards) -> None:
    assert [(one.role, one.person) for one in lower.cards] == [
        *(("controller", None), ("operator", "jo"), ("operator", "kim"), ("edge", None), ("attendant", "sam")),
    ]


def test_roles_follow_what_the_file_says() -> None:
    def roles(text: str) -> list[tuple[str, str | None]]:
        return [(one.role, one.person) for one in cards(analyse(rig_of(text)), "a.rig").cards]

    people = """
        anchor bolt, post
        edge lip
        person ann, bob: standing
        person cat: standing, exposed
        person dan
        attach post - strap s - cat
        attach bolt - brake b
        b: operated by ann
        rope red
            gripped by b
            over lip
            tied to dan
    """
    rest = [("operator", "ann"), ("edge", "cat"), ("rope", "dan")]
    assert roles(people) == [("controller", None), *rest, ("helper", "bob")], "nothing says that he leads"
    assert roles(people.rstrip() + '\n        stage "Go"\n            check "clear", by bob\n') == [
        ("controller", "bob"),
        *rest,
    ]
    more = people.replace("ann, bob", "ann, bob, eve")
    assert roles(more) == [
        *(("controller", None), ("operator", "ann"), ("edge", "cat"), ("rope", "dan"), ("helper", "bob")),
        ("helper", "eve"),
    ]
    hauling = people.rstrip() + "\n        rope tag\n            tied to dan\n            held by bob\n"
    assert ("hands", "bob") in roles(hauling)
    guarding = people.replace("over lip", "over lip, kept clear by bob")
    assert ("edge", "bob") in roles(guarding)


# -- what stands on a card


def test_an_operators_card_says_what_holds_and_what_comes_onto_it(lower: Cards) -> None:
    jo = told(card(lower, "jo"))
    assert jo["works"] == ["left-brake on red: locks by itself"]
    assert jo["watches"] == ["left-bolt: as it was placed, pull in line", "left-crab: gate shut and locked"]
    assert jo["critical"][0] == "left-bolt, left-crab, left-brake and red: leaves basket, sam and vic on one each"
    assert "the load is on YOU, on left-brake" in jo["fails"][0] and "right-bolt" in jo["fails"][0]


def test_what_comes_onto_a_device_is_what_the_engine_says(lower: Cards) -> None:
    data = shipped(LOWER).failure_sets
    onto = next(one for one in card(lower, "jo").fails if one.key == "fail-load-on-you")
    parts = dict(dict(onto.gaps)["parts"].gaps)["names"]  # type: ignore[union-attr,arg-type]
    pairs = {frozenset(cut) for sets in data.values() for cut in sets if len(cut) == 2}
    partners = {one for pair in pairs if "left-brake fails" in pair for one in pair - {"left-brake fails"}}
    assert isinstance(parts, tuple) and set(parts) <= {one.split(" ")[0].split("[")[0] for one in partners}


def test_the_attendant_has_the_patient_in_their_care(lower: Cards) -> None:
    sam = told(card(lower, "sam"))
    assert "In your care: vic" in sam["works"] and "You are tied in by sam-crab and sam-strap" in sam["watches"]
    assert "master, accepted: basket is NOT HELD" in sam["critical"]


def test_the_edge_has_a_card_though_the_file_names_nobody(lower: Cards) -> None:
    edge = told(card(lower, "edge"))
    assert edge["works"] == ["lip: red-mat and green-mat in place under every rope"]
    assert any("Nobody reaches over the edge" in one for one in edge["fails"])


def test_a_hand_that_holds_is_told_in_capitals(raising: Cards) -> None:
    works = told(card(raising, "jo"))["works"]
    assert works[0] == "main-brake on main: YOUR HAND HOLDS IT. Let go and it runs"
    assert "main in your hands: never relied on alone" in works


def test_calls_stand_in_order_with_ones_own_steps_among_them(raising: Cards) -> None:
    kim = [(line.sort, line.number) for line in card(raising, "kim").calls if line.sort != "stage"]
    assert kim == [
        *(("say", "1.1"), ("do", "1.3"), ("check", "1.4"), ("check", "2.2"), ("check", "2.4"), ("check", "3.7")),
        *(("say", "3.8"), ("check", "3.10"), ("do", "3.12"), ("do", "3.14"), ("do", "3.15"), ("say", "3.16")),
    ]
    everything = [line for line in card(raising, "controller").calls if line.sort != "stage"]
    assert len(everything) == sum(len(stage.steps) for stage in analyser.read(RAISE).stages)


def test_every_kind_of_step_can_be_said() -> None:
    written = {
        "attach": "attach a - b",
        "detach": "detach a from b",
        "rerig": "rerig red",
        "derig": "derig red",
        "rope": "rope red: 11 mm",
        "lock off": "lock off d",
        "take in hand": "take d in hand",
        "open": "open d",
        "hold open": "hold open d",
        "let grip": "let d grip",
        "take in": "take in red by 1 m",
        "pay out": "pay out red by 1 m",
        "slide": "slide d along red past lip",
        "land": "land bag on ground",
        "lift": "lift bag off",
        "move": "move jo to (1, 2, 3)",
        "declare": "carabiner crab",
    }
    assert set(written) == set(STEPS) - {"check", "say", "note"}
    lines = "".join(f"    {words}\n" for words in written.values())
    text = f'stage "All"\n{lines}'.replace("rerig red\n", "rerig red\n        tied to a\n")
    (stage,) = parse_text(text.encode(), "a.rig", None, set(kinds())).statements
    assert isinstance(stage, StageBlock)
    keys = {line.verb: doing(line).key for line in stage.steps}
    assert keys.pop("detach") == "do-detach-from"
    assert keys == {verb: f"do-{verb.replace(' ', '-')}" for verb in keys}


def test_a_card_begins_with_who_hangs_on_one_then_stop() -> None:
    several = made(EXAMPLES / "litter-lower-strap-left-off.rig")
    page = Page(cards_html(several, catalogue("en"), "a6")).text
    assert page.count("NOT MET: sam hangs on ONE") == 4 and page.count("NOT MET: YOU hang on ONE") == 1
    assert page.index("NOT MET") < page.index("Look at sam-chest") < page.index("“STOP”") < page.index("You work")
    sam = card(several, "sam")
    assert sam.critical[0].key == "critical-falls" and dict(sam.critical[0].gaps)["bodies"] == ("sam",), "people first"
    assert not any(dict(one.gaps).get("bodies") == ("sam",) and one.key == "critical-falls" for one in sam.besides)
    met = Page(cards_html(made(LOWER), catalogue("en"), "a6")).text
    assert met.count("Met: by the connections everybody is still held after any one failure") == len(several.cards)


# -- how it prints


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("paper", ["a6", "a5"])
def test_a_card_is_a_whole_page_that_fetches_nothing(raising: Cards, language: str, paper: str) -> None:
    html = cards_html(raising, catalogue(language), paper)
    policy_fits(html)
    page = Page(html)
    assert page.one("html")["lang"] == language
    assert sum(a.get("class") == "card" for _, a in page.elements) == len(raising.cards)
    words = catalogue(language)
    for caution in ("caution-model", "caution-first", "card-stop"):
        assert page.text.count(words.text(caution)) == len(raising.cards)


def test_black_on_white_and_large_enough_for_a_head_lamp() -> None:
    """Capitals of 16 minutes of arc at least, 20 to 22 preferred, height = 6.283 D MA / 21600: NUREG-0700 rev. 2,
    guideline 1.3.1-4, an extract seen. Arm's length 0.6 m, and capitals 0.716 of the type size (a common plain
    face): from memory."""
    for paper, size, minutes in (("a6", 11.5, 16), ("a5", 14.0, 20)):
        style = own("card.css") + own(f"card-{paper}.css")
        assert set(re.findall(r"#[0-9a-f]{3,6}\b", style)) <= {"#000", "#fff"}
        assert not any(word in style for word in ("gray", "grey", "opacity", "rgb"))
        assert float(style.split("--size: ")[1].split("pt")[0]) == size
        assert size * POINT * 0.716 >= 6.283 * 600 * minutes / 21600


def test_hostile_words_stay_text() -> None:
    html = cards_html(cards(analyse(rig_of(HOSTILE)), "<b>.rig"), catalogue("de"), "a6")
    policy_fits(html)
    page = Page(html)
    assert not {tag for tag, _ in page.elements} & {"img", "svg", "b", "i", "script"}
    assert "„ </p><script> “" in page.text


def test_the_same_rig_gives_the_same_bytes() -> None:
    assert cards_html(made(LOWER), catalogue("en"), "a6") == cards_html(made(LOWER), catalogue("en"), "a6")


# -- the command


def test_one_role_or_one_person(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    target = tmp_path / "c.html"
    assert main(["card", str(LOWER), "-o", str(target), "--role", "sam"]) == 0
    text = target.read_text(encoding="utf-8")
    assert text.count('class="card"') == 1 and "<bdi>sam</bdi>" in text
    main(["card", str(LOWER), "--role", "operator", "--json"])
    data = json.loads(capsys.readouterr().out)
    assert [one["person"] for one in data["cards"]] == ["jo", "kim"] and data["cautions"] == list(CAUTIONS)
    assert data["cards"][0]["works"] == [
        {"say": "work-device-locks", "gaps": {"device": "left-brake", "ropes": ["red"]}}
    ]
    assert main(["card", str(LOWER), "--role", "operater", "-o", str(target)]) == 2
    assert "did you mean `operator`?" in capsys.readouterr().err
    assert main(["card", str(LOWER), "--role", "vic"]) == 2
    assert "there are: controller, operator, jo, kim, edge, attendant, sam" in capsys.readouterr().err


def test_cards_are_pages(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["card", str(LOWER)]) == 2
    assert "-o FILE.html" in capsys.readouterr().err
    assert main(["card", str(LOWER), "-o", str(tmp_path / "c.pdf")]) == 2


# -- too much for one person


def crowded(text: str) -> list[str]:
    return [f.text for state in checked(text).states for f in state.findings if f.rule == "too-much-at-once"]


EDGES = """
    anchor left, right
    person ed: standing
    load bag: points a, b
    edge lip{lip}
    edge brow{brow}
    rope red
        tied to left
        over lip, kept clear by ed
        tied to bag.a
    rope green
        tied to right
        over brow, kept clear by {other}
        tied to bag.b
    pad mat
"""


def test_eyes_on_two_edges() -> None:
    assert crowded(EDGES.format(lip="", brow="", other="ed")) == [
        "ed watches lip and brow at once: nobody has eyes on two edges"
    ]
    assert crowded(EDGES.format(lip="", brow="", other="mat")) == []
    beside = {"lip": ": at (0, 0, 0)", "brow": ": at (1, 0, 0)", "other": "ed"}
    assert crowded(EDGES.format(**beside)) == []
    assert crowded(EDGES.format(**beside | {"brow": ": at (3, 0, 0)"})) != []


PLACES = """
    anchor bolt, post
    load bag: points a, b
    person jo: standing
    jo: at (0, 0, 0)
    attach post - brake b
    b: operated by jo, self-locking, at ({x}, 0, 0)
    pulley wheel
    attach bolt - wheel
    rope haul
        tied to bag.a
        through wheel
        held by jo
    rope red
        gripped by b
        tied to bag.b
        {stopper}
    stage "Lower"
        pay out red by 1 m
"""


def test_two_places_at_once() -> None:
    (text,) = crowded(PLACES.format(x="5", stopper=""))
    assert text == "`pay out red by 1 m`: jo is needed at haul too, 5 m away"
    assert crowded(PLACES.format(x="1", stopper="")) == []


@pytest.mark.parametrize("path", sorted(EXAMPLES.rglob("*.rig")), ids=lambda p: str(p.relative_to(EXAMPLES)))
def test_the_examples_ask_too_much_of_nobody(path: Path) -> None:
    result = shipped(path)
    assert not [f for state in result.states for f in state.findings if f.rule == "too-much-at-once"]


def test_a_rig_is_not_written_over_even_if_it_came_from_a_pipe(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """What came in by the pipe may be that very file: nobody can know."""
    rig = tmp_path / "a.rig"
    text = 'rig "x"\nanchor bolt\nperson sam\nattach bolt - strap s - sam\n'
    rig.write_text(text, encoding="utf-8")
    for more in ([], ["--json"]):
        monkeypatch.setattr("sys.stdin", io.TextIOWrapper(io.BytesIO(text.encode())))
        assert main(["card", "-", "-o", str(rig), *more]) == 2
        assert rig.read_text(encoding="utf-8") == text
    assert "the name of a rig" in capsys.readouterr().err


def test_nobody_is_said_to_be_left_on_one_who_hangs_on_one_anyway() -> None:
    """After step 1.9 both tails are on one bolt: that one of them may fail too changes nothing in that."""
    made = cards(shipped("crossings/rebelay-wrong"), "a.rig")
    told = [catalogue("en").text(one) for card in made.cards for one in card.besides]
    assert any(one.startswith("waist-tail: leaves eva on one; after step 1.8") for one in told)
    assert not any("chest-tail" in one for one in told)


def test_an_edge_cuts_and_does_not_fail() -> None:
    made = cards(shipped("litter-lower"), "a.rig")
    told = [catalogue("en").text(one) for card in made.cards for one in card.critical]
    assert any("lip (if it cuts)" in one for one in told)

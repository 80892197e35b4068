"""The walk-down: every part once, critical points first, what is to be seen of each, as a sheet to print."""

from __future__ import annotations

import base64
import hashlib
import json
import re
from html.parser import HTMLParser
from pathlib import Path

import pytest
from rigs import rig_of, shipped

import analyser
from analyser.checking.analysing import analyse
from analyser.checking.foremost import verdict_rest
from analyser.checking.letterhead import CAUTIONS
from analyser.doors.commands.main import main
from analyser.pages.writers.hypertext import whole
from analyser.pages.writers.markdown import markdown
from analyser.pages.writing.translation import LANGUAGES, Catalogue, catalogue
from analyser.pages.writing.walkdown_page import SCRIPT, STYLES, walkdown_page
from analyser.rig.model import Nature
from analyser.uses.field.as_found import as_found
from analyser.uses.field.found import found_in
from analyser.uses.field.walk_sheet import Walkdown, walkdown
from analyser.uses.field.walking import EDGE, GROUND, LATER, LOAD, ROPE, SECTIONS, Item, walk


def walkdown_html(made: Walkdown, words: Catalogue) -> str:
    return whole(walkdown_page(made, words), STYLES, SCRIPT)


def walkdown_markdown(made: Walkdown, words: Catalogue) -> str:
    return markdown(walkdown_page(made, words))


EXAMPLES = Path(__file__).parent.parent / "examples"
LOWER = EXAMPLES / "litter-lower.rig"
VOID = {"meta", "br"}


@pytest.fixture(scope="module")
def lower() -> Walkdown:
    return walkdown(shipped(LOWER), "litter-lower.rig")


def items(text: str) -> dict[str, Item]:
    return {item.name: item for item in walk(analyse(rig_of(text)))}


def seen(item: Item) -> list[str]:
    return [catalogue("en").text(one) for one in item.see]


# -- what is walked, and in which order


@pytest.mark.parametrize("path", sorted(EXAMPLES.rglob("*.rig")), ids=lambda p: str(p.relative_to(EXAMPLES)))
def test_every_part_and_rope_of_every_state_is_walked_once(path: Path) -> None:
    result = shipped(path)
    walked = [item.name for item in walk(result)]
    assert len(walked) == len(set(walked))
    there = {rope.name for state in result.states for rope in state.rig.ropes}
    for state in result.states:
        for part in state.rig.parts.values():
            standing = part.is_body and part.standing  # whoever stands by and touches nothing is no part of the rig
            plain = part.nature is Nature.POINT or part.name.startswith("ground-under-")
            if not plain and not standing:
                there.add(part.name)
    assert there <= set(walked)


def test_the_walk_goes_from_the_ground_over_rope_and_edge_to_the_load(lower: Walkdown) -> None:
    sections = [item.section for item in lower.items]
    assert sections == sorted(sections, key=SECTIONS.index)
    names = {section: [i.name for i in lower.items if i.section == section] for section in SECTIONS}
    assert names[GROUND] == ["left-bolt", "left-crab", "left-brake", "right-bolt", "right-crab", "right-brake"]
    assert names[ROPE][:3] == ["red", "red-bowline", "red-tail"]
    assert names[EDGE] == ["lip", "red-mat", "green-mat"]
    assert names[LOAD][0] == "master" and names[LATER] == []


def test_a_rope_that_is_written_from_the_load_is_walked_from_the_ground() -> None:
    found = items("""
        anchor bolt
        person sam
        rope red
            tied to sam as low
            tied to bolt as top
    """)
    assert list(found) == ["bolt", "red", "top", "low", "sam"]
    assert "in this order: top – low" in seen(found["red"])


def test_critical_points_come_first_as_the_analysis_has_them(lower: Walkdown) -> None:
    assert [item.name for item in lower.grades[1]] == ["master"] and lower.grades[1][0].critical.accepted
    result = lower.result
    single = {f.part for f in result.failures if f.falls}
    parts = {f.id: f.part.split("[")[0] for f in result.rig.failures}
    pairs = {parts[one] for sets in result.failure_sets.values() for cut in sets if len(cut) == 2 for one in cut}
    assert {item.name for item in lower.grades[1]} == single
    assert {item.name for item in lower.grades[2]} == pairs - single - {"stumble"}
    assert {"red-mat", "green-mat", "green-stopper"} <= {item.name for item in lower.grades[3]}


def test_what_later_steps_bring_is_told_with_its_step() -> None:
    made = walkdown(shipped("crossings/lower-to-raise"), "a.rig")
    assert [(i.name, i.step) for i in made.items if i.section == LATER] == [
        *(("capture", "3.2"), ("haul-grab", "3.3"), ("haul-wheel", "3.4")),
    ]
    assert not {i.name for several in made.grades.values() for i in several} & {"capture", "haul-grab", "haul-wheel"}


# -- what is to be seen


def test_each_sort_of_part_says_what_to_see() -> None:
    found = items("""
        anchor bolt: strength 25 kN
        edge lip, brow
        pad mat
        person jo: standing
        person sam: 80 kg
        harness seat: worn by sam
        attach bolt - carabiner crab - brake b
        crab: locking
        b: operated by jo
        carabiner plain: not locking
        rope red: 11 mm
            gripped by b
            over lip, padded by mat
            over brow
            tied to plain with bowline as low
        rope green: 10 mm
            tied to bolt with figure-eight as top, tail 200 mm
            gripped by rope-grab g - seat, load from top
            stopper as end
        attach plain - seat
    """)
    assert seen(found["crab"]) == ["gate shut and locked; pulled along its length; clear of edges"]
    assert seen(found["plain"])[0].startswith("gate shut: it does not lock")
    assert seen(found["b"]) == [
        "red: loaded side towards lip; closed; tug it, it grips",
        "worked by jo: needs the hand on it",
    ]
    assert seen(found["low"]) == ["bowline in red: the right knot, dressed and set", "tail at least 110 mm"]
    assert seen(found["top"])[1] == "tail at least 200 mm"
    assert seen(found["lip"])[1:] == ["red is kept off by mat"] and seen(found["brow"])[1:] == [
        "red lies on it BARE, as written"
    ]
    assert seen(found["end"]) == ["tied at the end of green; cannot pass what grips the rope"]
    assert "its start: no stopper in the file, it can run out of b" in seen(found["red"])
    assert found["bolt"].touches == ("crab", "top") and found["mat"].touches == ("lip", "brow")[:1]
    assert [catalogue("en").text(one) for one in found["bolt"].figures] == ["strength 25 kN"]
    assert "jo" not in found  # stands where nobody falls and touches nothing


def test_a_difference_that_the_part_can_have_is_offered(lower: Walkdown) -> None:
    offered = {item.name: item.otherwise for item in lower.items}
    assert offered["left-crab"] == (
        *("found left-crab unlocked", "found left-crab missing"),
        *("found left-crab not on left-bolt", "found left-crab not on left-brake"),
    )
    assert "found sam-descender reversed" in offered["sam-descender"]
    assert "found red-bowline loose" in offered["red-bowline"] and offered["red-mat"] == ("found red-mat missing",)


# -- the sheet


class Page(HTMLParser):
    """A page read strictly: every element closed in its turn, every text kept."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.texts: list[str] = []
        self.elements: list[tuple[str, dict[str, str | None]]] = []
        self.feed(page)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if self.open and self.open[-1] not in ("style", "script"):
            self.texts.append(data)

    @property
    def text(self) -> str:
        return " ".join(" ".join(self.texts).split())

    def one(self, tag: str, **attributes: str) -> dict[str, str | None]:
        (found,) = [a for t, a in self.elements if t == tag and attributes.items() <= a.items()]
        return found


def policy_fits(page: str) -> None:
    """The page's own policy allows exactly its style and script, and nothing is fetched."""
    policy = Page(page).one("meta", **{"http-equiv": "Content-Security-Policy"})["content"] or ""
    assert policy.startswith("default-src 'none'; ")
    for tag in ("style", "script"):
        for inside in re.findall(rf"<{tag}>(.*?)</{tag}>", page, re.DOTALL):
            digest = base64.b64encode(hashlib.sha256(inside.encode()).digest()).decode()
            assert f"{tag}-src 'sha256-{digest}'" in policy
    assert not re.search(r'(?:src|href|action)="(?!#)', page) and "url(" not in page and "@import" not in page
    names = {name for _, attributes in Page(page).elements for name in attributes}
    assert not any(name.startswith("on") or name in ("style", "src", "action") for name in names)


@pytest.mark.parametrize("language", LANGUAGES)
def test_the_sheet_is_a_whole_page_that_fetches_nothing(lower: Walkdown, language: str) -> None:
    html = walkdown_html(lower, catalogue(language))
    page = Page(html)
    assert page.one("html")["lang"] == language
    policy_fits(html)
    words = catalogue(language)
    assert words.text("caution-model") in page.text and words.text("caution-first") in page.text
    boxes = sum(a.get("class") == "box" for _, a in page.elements)
    assert boxes == len(lower.items) + len(lower.tests.tests) + page.text.count(words.text("tests-look")) * 3
    assert html.count("<td></td></tr>") == len(lower.items), "a cell for initials in each row"


def test_the_sheet_says_what_its_verdict_is_about(lower: Walkdown) -> None:
    assert f"As written: {verdict_rest(lower.result)}" in Page(walkdown_html(lower, catalogue("en"))).text
    assert (
        "Wie geschrieben: 4 von 4 Anforderungen erfüllt; nur Verbindungen"
        in Page(walkdown_html(lower, catalogue("de"))).text
    )


def test_markdown_says_the_same(lower: Walkdown) -> None:
    text = walkdown_markdown(lower, catalogue("en"))
    assert all(caution in text for caution in CAUTIONS)
    assert all(f"**{item.name}**" in text for item in lower.items)
    assert text.count("[ ]") == len(lower.items) + len(lower.tests.tests) + 3
    assert "What gives" not in text and "{" not in text


def test_the_same_rig_gives_the_same_bytes() -> None:
    made = [walkdown(analyse(analyser.read(LOWER)), "litter-lower.rig") for _ in range(2)]
    assert walkdown_html(made[0], catalogue("de")) == walkdown_html(made[1], catalogue("de"))
    assert json.dumps(made[0].to_dict()) == json.dumps(made[1].to_dict())


@pytest.mark.parametrize("name", ["litter-lower", "litter-tilt", "crossings/rebelay"])
def test_what_the_page_saves_with_nothing_chosen_is_the_rig_as_written(name: str) -> None:
    result = shipped(name)
    page = Page(walkdown_html(walkdown(result, f"{name}.rig"), catalogue("en")))
    head = page.one("textarea")["data-head"] or ""
    saved = found_in(f"{head}\n".encode(), "a.found", set(result.rig.kinds))
    assert as_found(result.rig, saved).rig == result.rig


HOSTILE = (
    'rig "<script>alert(1)</script> \u202e</svg> {{ 7 }} | *x*"\nrevision "\u2067<b>"\nnote "</style><img src=x>"\n'
    'anchor bolt\nperson sam\nattach bolt - strap s - sam\nlatent s fails: "</textarea><script>\u202e"\n'
    'stage "<i>\u202e"\n    say "</p><script>"\n    check "\u2066<svg onload=x>"\n'
)


@pytest.mark.parametrize("language", LANGUAGES)
def test_hostile_names_stay_text_and_turn_nothing_round(language: str) -> None:
    made = walkdown(analyse(rig_of(HOSTILE)), "<b>.rig")
    html = walkdown_html(made, catalogue(language))
    page = Page(html)
    policy_fits(html)
    assert not {tag for tag, _ in page.elements} & {"img", "svg", "b", "i"}
    assert "<script>alert(1)</script> \u202e</svg> {{ 7 }} | *x*" in page.text
    for mark in ("\u202e", "\u2067"):
        for at in (found.start() for found in re.finditer(mark, html)):
            before = html[:at]
            isolated = before.rfind("<bdi>") > before.rfind("</bdi>") or before.rfind("<title>") > before.rfind(
                "</title>"
            )
            assert isolated or before.rfind('data-head="') > before.rfind(">"), html[at - 60 : at + 20]
    text = walkdown_markdown(made, catalogue(language))
    assert "<script>" not in text and "<img" not in text


def test_the_command_writes_files_and_refuses_others(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    target = tmp_path / "w.html"
    assert main(["walkdown", str(LOWER), "-o", str(target), "--language", "de"]) == 0
    assert '<html lang="de">' in target.read_text(encoding="utf-8")
    assert main(["walkdown", str(LOWER), "-o", str(tmp_path / "w.md")]) == 0
    assert main(["walkdown", str(LOWER), "-o", str(tmp_path / "w.pdf")]) == 2
    assert "write a name that ends in .md or .html" in capsys.readouterr().err
    assert main(["walkdown", str(tmp_path / "none.rig")]) == 2


def test_a_sheet_of_the_rig_as_found_lists_what_was_otherwise(tmp_path: Path) -> None:
    day, target = tmp_path / "day.found", tmp_path / "w.html"
    day.write_text('note "<b>"\nfound red-mat missing  # slipped\nfound sam-strap not on master\n')
    main(["walkdown", str(LOWER), "--found", str(day), "-o", str(target)])
    page = Page(target.read_text(encoding="utf-8"))
    assert "NOT MET: " in page.text and "As built: " in page.text and "found in day.found" not in page.text
    assert "found red-mat missing line 2" in page.text and "Noted: <b>" in page.text
    assert "sam has 1 attachment" in page.text
    text, first = page.text, "Look at what was found otherwise: found sam-strap not on master"
    assert text.index("NOT MET: sam hangs on ONE") < text.index(first) < text.index("found red-mat missing")


def test_the_likely_cause_stands_before_the_single_points_and_of_a_rope_its_single_stretch() -> None:
    made = walkdown(shipped("litter-lower-strap-left-off"), "a.rig")
    assert [item.name for item in made.causes] == ["sam-chest"]
    text = Page(walkdown_html(made, catalogue("en"))).text
    assert text.index("Look at sam-chest") < text.index("Look here first (1)") < text.index("1. Single points")
    assert "this stretch: rope green (green-bowline to sam-descender) SINGLE: sam" in text
    assert text.index("sam-waist harness") < text.index("SINGLE, accepted: basket"), "what is accepted comes last"
    assert text.count("sam-chest harness") == 1, "each part once"


def test_a_later_single_point_shows_what_hangs_on_it_then() -> None:
    """The bolt looks right as first attached: by the step that makes a single point of it both tails are on it."""
    made = walkdown(shipped("crossings/rebelay-wrong"), "a.rig")
    bolt = next(item for item in made.items if item.name == "low-work")
    assert {"waist-tail", "chest-tail"} <= {*bolt.then} and not {"waist-tail", "chest-tail"} & {*bolt.touches}
    text = Page(walkdown_html(made, catalogue("en"))).text
    assert "after step 1.9: " in text and text.index("after step 1.9: ") < text.index("2. Next:")
    assert all(not item.then or item.critical.falls for item in made.items)


def test_the_json_has_every_point_and_test(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["walkdown", str(LOWER), "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert data["document"] == "walkdown" and data["cautions"] == list(CAUTIONS)
    point = next(one for one in data["points"] if one["name"] == "left-brake")
    assert point["see"][0] == {"say": "see-loaded-side", "gaps": {"rope": "red", "towards": "lip"}}
    assert point["grade"] == 2 and point["left_on_one"] == ["basket", "sam", "vic"]
    assert data["tests"]["tests"][0]["line"] == "red" and "red-mat shifts" in data["tests"]["look"]


def test_what_a_strap_touches_is_told_as_it_is_once_that_is_mended() -> None:
    """A tick beside the plan's fault would confirm it."""
    told = markdown(walkdown_page(walkdown(shipped("crossings/pick-off-wrong"), "a.rig"), catalogue("en")))
    assert "| cas-waist, work-ring; **must be: NOT ron-waist** |" in told
    assert "| ron-crab, ron-descender, short-strap; **must be: with short-strap** |" in told
    assert "| ron-absorber; **must be: NOT long-strap** |" in told and "cas-waist, ron-waist" not in told

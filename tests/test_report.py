"""The report of one rig: stored answers against the engine, the sheet, and what the page and the comment hold."""

from __future__ import annotations

import html
import json
import re
from collections.abc import Sequence
from itertools import combinations
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from random_rigs import rig_texts
from rigs import rig_of
from staged_lower import STAGED

import analyser
from analyser.checking.analysing import analyse
from analyser.checking.fates import loudly
from analyser.checking.results import State
from analyser.doors.commands.main import main
from analyser.holding.fate import HELD
from analyser.holding.outcome import after_each
from analyser.language.mistakes import Unreadable
from analyser.pages.writers.markdown import markdown
from analyser.pages.writing.report_page import comment_page, report_html
from analyser.rig.model import Effects, Rig
from analyser.uses.review.answered_page import Report, report
from analyser.uses.review.sheet import REVIEW, items, placed, read_review

EXAMPLES = Path(__file__).parent.parent / "examples"
HARM = "</script><script>alert(1)</script></svg><!-- javascript:alert(2) \u202eabc"


def made(text: str | Path, order: int = 3) -> Report:
    lines = text.read_text(encoding="utf-8") if isinstance(text, Path) else text
    rig = analyser.read(text) if isinstance(text, Path) else rig_of(text)
    return report(analyse(rig, order), "a.rig", lines.split("\n"))


def disagreements(one: Report, state: State, order: int) -> list[str]:
    """Where the stored answers of a state differ from the engine, asked for every set of failures anew."""
    failures = [f for f in state.rig.failures if f.id in {kept.id for kept in state.outcome.failures}]
    sets: list[tuple[int, ...]] = [s for n in range(order + 1) for s in combinations(range(len(failures)), n)]
    effects = [Effects.joint(failures[k].effects for k in chosen) for chosen in sets]
    scenarios = dict(zip(sets, after_each(state.rig, effects), strict=True))
    stored = one.at(state.number)
    wrong = []
    for chosen, scenario in scenarios.items():
        told = stored.told([one.number(failures[k].id) for k in chosen])
        names = [failures[k].id for k in chosen]
        if told.falls != scenario.falls or (told.held is None or set(told.held) != set(scenario.held)):
            wrong.append(f"{names}: falls {told.falls}, should be {scenario.falls}")
        if len(chosen) == 1:  # what the forces say of it as well
            fated = dict(next(one.fates for one in state.outcome.failures if [one.id] == names))
            if told.fates != {name: loudly(fate) for name, fate in fated.items()}:
                wrong.append(f"{names}: {told.fates}, should be {fated}")
            if any(fated.get(name, HELD).kind.rank > fate.kind.rank for name, fate in scenario.fated.items()):
                wrong.append(f"{names}: {fated}, by the connections {scenario.fated}")
        if len(chosen) == 2:  # of those whom they drop only together
            alone = {name for k in chosen for name in scenarios[(k,)].falls} | set(scenarios[()].falls)
            fated = {name: loudly(fate) for name, fate in scenario.fated.items() if fate.not_held and name not in alone}
            if told.fates != fated:
                wrong.append(f"{names}: {told.fates}, should be {fated}")
        if len(chosen) <= min(order, 2) and any(not told.by[name] for name in scenario.held):
            wrong.append(f"{names}: no way is left of {told.by}")
        if len(chosen) < order:
            more = [scenarios[tuple(sorted((*chosen, k)))] for k in range(len(failures)) if k not in chosen]
            down = {name for name in scenario.held if any(name in other.falls for other in more)}
            if told.down_to_one is None or set(told.down_to_one) != down:
                wrong.append(f"{names}: down to one {told.down_to_one}, should be {sorted(down)}")
    return wrong


@pytest.mark.parametrize(
    "name",
    ["two-lines-one-ring", "litter-bridle", "litter-lower-strap-left-off", "track-line", "tree-climb", "tripod-raise"],
)
def test_stored_answers_are_the_engines_for_every_single_pair_and_triple(name: str) -> None:
    one = made(EXAMPLES / f"{name}.rig")
    assert disagreements(one, one.result.states[0], 3) == []


def test_stored_answers_are_the_engines_in_every_state() -> None:
    one = made(STAGED)
    assert len(one.answers) > 5 and max(one.shown) == len(one.answers) - 1
    for state in one.result.states:
        assert disagreements(one, state, 2) == []


@settings(
    max_examples=40,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)
@given(st.data())
def test_stored_answers_are_the_engines_for_any_rig(data: st.DataObject) -> None:
    text = data.draw(rig_texts(max_size=2))
    one = made(text)
    number = 3 if len(one.failures) <= 24 else 2
    assert disagreements(one, one.result.states[0], number) == []


def test_beyond_the_order_only_a_fall_is_told() -> None:
    one = made(EXAMPLES / "litter-bridle.rig", order=2)
    now = one.at(0)
    assert now.told([one.number("master fails"), 0, 1]).falls[:1] == ("basket",)
    told = now.told([one.number("leg-1 fails"), one.number("leg-2 fails"), one.number("leg-3 fails")])
    assert told.held is None and told.down_to_one is None
    assert now.told([0, 1]).down_to_one is None
    assert now.told([0, 1, 2]).fates is None


# -- the sheet


def a_review(one: Report, **changes: object) -> dict[str, object]:
    entry = {"item": one.items[0].id, "text": one.items[0].text, "answer": "change", "note": "why", "name": "kim"}
    entries = [{**entry, "date": "2026-03-31", **changes}]
    return {"format": REVIEW, "rig": "A", "revision": None, "content": one.content, "entries": entries}


def test_every_finding_and_every_broken_requirement_can_be_answered() -> None:
    one = made(STAGED)
    found = {item.id for item in one.items}
    assert len(found) == len(one.items) == len(items(one.result))
    assert {r.requirement.text for r in one.result.requirements if not r.met} == {
        item.id.removeprefix("requirement: ") for item in one.items if item.kind == "requirement"
    }
    texts = {item.text for item in one.items}
    assert all(finding.text in texts for finding in one.result.findings)


def test_an_answer_that_fits_nothing_any_more_is_told_and_kept() -> None:
    one = made(EXAMPLES / "two-lines-one-ring.rig")
    data = a_review(one, text="it read otherwise")
    data["entries"].append({"item": "single-point: gone", "text": "gone", "answer": "accept"})  # type: ignore[attr-defined]
    data["content"] = "another"
    laid = placed(read_review(json.dumps(data).encode(), "r.json"), one.items, one.content)
    assert not laid.same
    assert [entry.item for entry in laid.fits] == [one.items[0].id]
    assert [(entry.text, now) for entry, now in laid.reworded] == [("it read otherwise", one.items[0].text)]
    assert [entry.item for entry in laid.gone] == ["single-point: gone"]


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", "not JSON"),
        ("[", "not JSON"),
        ("[" * 100_000, "nested too deep"),
        ("[]", "not a review"),
        ('{"format": "other"}', "not a review"),
        ('{"format": "stillheld-review/1"}', '"rig" must be a text'),
        ('{"format": "stillheld-review/1", "rig": "a", "content": "b", "entries": 3}', '"entries" must be a list'),
        ('{"format": "stillheld-review/1", "rig": "a", "content": "b", "entries": [3]}', "answer 1 is not an answer"),
    ],
)
def test_a_file_that_is_no_review_is_refused_with_its_reason(
    text: str, told: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "r.json").write_text(text, encoding="utf-8")
    page = tmp_path / "page.html"
    rig = str(EXAMPLES / "two-lines-one-ring.rig")
    assert main(["report", rig, "-o", str(page), "--with", str(tmp_path / "r.json")]) == 2
    said = capsys.readouterr().err
    assert told in said and "r.json" in said and "Traceback" not in said
    assert not page.exists()


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"answer": "yes"}, '"answer" must be one of agree, change, accept'),
        ({"date": "31.3.2026"}, '"31.3.2026" is not a date'),
        ({"note": 7}, '"note" must be a text'),
        ({"item": ""}, '"item" must be a text'),
        ({"note": "x" * 5000}, "at most 4000 letters"),
    ],
)
def test_a_bad_answer_is_named(change: dict[str, object], told: str) -> None:
    one = made(EXAMPLES / "two-lines-one-ring.rig")
    with pytest.raises(Unreadable) as error:
        read_review(json.dumps(a_review(one, **change)).encode(), "r.json")
    assert told in error.value.mistakes[0].text


def test_a_review_that_is_not_there(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["report", str(EXAMPLES / "two-lines-one-ring.rig"), "--with", "nowhere.json"]) == 2
    assert "nowhere.json" in capsys.readouterr().err


# -- the page and the comment


def test_the_page_needs_nothing_and_says_the_answer_first() -> None:
    page = report_html(made(EXAMPLES / "litter-bridle.rig"))
    policy = re.search(r'Content-Security-Policy" content="([^"]*)"', page)
    assert policy and html.unescape(policy[1]).startswith("default-src 'none'; style-src 'sha256-")
    assert "unsafe" not in policy[1]
    assert not re.findall(r'(?:src|href)="(?!#)', page)
    assert " style=" not in page and not re.findall(r"\son\w+=", page.split("<script")[0])
    words = ("<h1>", "A model of what was written", "<h2>Who is held", "<h2>What if", "<h2>Required")
    order = [page.index(word) for word in words]
    assert order == sorted(order)
    assert len(page) < 400_000


def test_the_same_file_gives_the_same_page() -> None:
    assert report_html(made(STAGED)) == report_html(made(STAGED))


HARMFUL = STAGED.replace('note "=SUM(1) <script>alert(1)</script>"', f'note "{HARM}"').replace(
    '"forged ring, looked at each year"', f'"{HARM}"'
)


def test_text_of_the_rig_stays_text() -> None:
    one = made(HARMFUL)
    entry = a_review(one, note=HARM, name=HARM)
    review = read_review(json.dumps(entry).encode(), "r.json")
    page = report_html(report(one.result, "<b>.rig", one.text, (), review))
    assert page.count("<script") == 2 and page.count("</script>") == 2
    assert "<!-- javascript" not in page and "alert(1)</" not in page
    assert page.count("</svg>") == 2, "the picture, and the sheet's"
    stored = re.search(r'id="data">(.*?)</script>', page, re.DOTALL)
    assert stored and json.loads(stored[1])["review"]["entries"][0]["note"] == HARM


def test_the_comment_is_compact_and_escaped() -> None:
    one = made(HARMFUL)
    review = read_review(json.dumps(a_review(one, note="| <b>x</b>")).encode(), "r.json")
    text = markdown(comment_page(report(one.result, "a.rig", one.text, (), review)))
    assert text.startswith("# Litter tilt, &lt;b&gt;staged&lt;/b&gt;")
    assert "<script" not in text and "\\| &lt;b&gt;x&lt;/b&gt;" in text
    assert "A model of what was written" in text
    assert text.index("Who is held") < text.index("Required") < text.index("## Review")


def test_the_data_is_printed_as_json(capsys: pytest.CaptureFixture[str]) -> None:
    rig = str(EXAMPLES / "litter-lower-strap-left-off.rig")
    status = main(["report", rig, "--json"])
    data = json.loads(capsys.readouterr().out)
    assert status == 1 and data["format"] == "stillheld/2"
    assert data["failures"] == sorted(data["failures"])
    assert {len(cut) for cut in data["answers"][0]["sets"]["sam"]} <= {1, 2, 3}


def test_forces_of_single_failures_are_those_of_the_result() -> None:
    one = made(EXAMPLES / "litter-bridle.rig")
    data = one.to_dict()
    states = data["states"]
    assert isinstance(states, list)
    loads = one.result.states[0].loads
    assert loads is not None and loads.after is not None
    for after in loads.after:
        told = states[0]["after"][str(one.number(after.failures[0]))]
        assert next((one["drop_m"] for one in told["moved"] if one["body"] == "vic"), 0) == pytest.approx(
            next((m.drop for m in after.moved if m.name == "vic"), 0), abs=0.006
        )
        for line in told["lines"]:
            assert line["peak_kN"] == pytest.approx(after.line(line["name"]).peak / 1000, abs=0.006)


def test_a_file_and_its_includes_make_the_content(tmp_path: Path) -> None:
    def content(text: str, included: Sequence[bytes] = ()) -> str:
        rig: Rig = rig_of(text)
        return report(analyse(rig), "a.rig", text.split("\n"), included).content

    assert content(STAGED) == content(STAGED) != content(STAGED + "\n# more")
    assert content(STAGED) != content(STAGED, [b"kind x"])

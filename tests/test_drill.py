"""`stillheld drill`: the same seed asks the same, every answer is the analysis' answer, and nothing is lost."""

from __future__ import annotations

import argparse
import contextlib
import html
import io
import json
import os
import pty
import re
import select
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from balance import falls as by_balance
from hypothesis import HealthCheck, given, settings
from random_rigs import rig_texts
from rigs import pasted_into, rig_of, shipped

import analyser
from analyser.checking.results import Result
from analyser.doors.commands.main import main
from analyser.holding.outcome import assess
from analyser.language.mistakes import Unreadable
from analyser.pages.drawing.diagram import drawn
from analyser.pages.drawing.marks import Marks
from analyser.pages.drawing.rails import lines, rows
from analyser.pages.writers.hypertext import whole
from analyser.pages.writers.markdown import markdown
from analyser.pages.writing.drill_page import drill_page, rig_as_text, sheets_page
from analyser.rig.model import Nature, Rig
from analyser.uses.teaching.hearing import hear
from analyser.uses.teaching.making import drill
from analyser.uses.teaching.question import Asks, Drill, Kind, Question
from analyser.uses.teaching.telling import ALL_WAYS, names_on


def page_html(drill: Drill) -> str:
    return whole(drill_page(drill), ("page.css",))


def sheets_html(drill: Drill) -> str:
    return whole(sheets_page(drill), ("paper.css",))


def sheets_markdown(drill: Drill) -> str:
    return markdown(sheets_page(drill))


ROOT = Path(__file__).parent.parent
EXAMPLES = sorted((ROOT / "examples").rglob("*.rig"))
RUN = [sys.executable, "-m", "analyser.doors.commands.main", "drill"]
RING = str(ROOT / "examples/two-lines-one-ring.rig")
WHO = (Kind.ALONE, Kind.PAIR, Kind.IN_BETWEEN)


def drilled(path: Path, seed: int = 1, wished: int = 10) -> Drill:
    return drill(shipped(path), path.name, seed, wished)


def drill_of(text: str, seed: int = 1, wished: int = 10) -> Drill:
    text = text if "rig " in text else f'rig "a test"\n{text}'
    return drill(analyser.check(analyser.read_text(text)), "a.rig", seed, wished)


def held_at(result: Result, state: int) -> set[str]:
    return {body.name for body in result.states[state].outcome.bodies if body.held}


# -- the answers


ASKED = [path for path in EXAMPLES if path.name != "litter-bridle.rig"][::3]  # its forces take as long as all others


@pytest.fixture(scope="module", params=ASKED, ids=lambda path: str(path.relative_to(ROOT / "examples")))
def example(request: pytest.FixtureRequest) -> tuple[Path, Drill]:
    return request.param, drilled(request.param)


def test_who_falls_is_what_whatif_says(example: tuple[Path, Drill], capsys: pytest.CaptureFixture[str]) -> None:
    path, made = example
    asked = [one for one in made.questions if one.kind in (*WHO, Kind.TIPS)]
    for one in asked[:: 3 if made.result.states[0].loads else 2]:  # the file is read, and forces worked out, each time
        main(["whatif", str(path), *one.failures, "--state", str(one.state), "--json"])
        said = json.loads(capsys.readouterr().out)
        falls = set(said["falls"])
        if said["overload"]:
            falls |= {*said["overload"]["falls"], *said["overload"]["falls_from_a_start_aside"]}
        if one.kind is Kind.TIPS:
            assert list(one.right) == [body["name"] for body in said["bodies"] if body["tips"]]
        else:
            assert list(one.right) == sorted(falls & held_at(made.result, one.state)), one.text


def test_the_other_answers_are_what_check_says(example: tuple[Path, Drill]) -> None:
    _, made = example
    for one in made.questions:
        outcome = made.result.states[one.state].outcome
        if one.kind is Kind.CRITICAL:
            assert one.body
            alone = [failure.id for failure in outcome.failures if one.body in failure.falls]
            assert sorted(one.right) == sorted(alone)
        elif one.kind is Kind.HANDS_OFF:
            assert set(one.right) == set(outcome.hands_off_falls) & held_at(made.result, one.state)
        elif one.kind is Kind.AS_IT_STANDS:
            assert set(one.right) == {body.name for body in outcome.bodies if not body.held}


def test_a_question_can_be_answered_as_it_is_told(example: tuple[Path, Drill]) -> None:
    """The right answer, said aloud, is heard as right; every question has a reason and a hint."""
    _, made = example
    assert made.questions
    for one in made.questions:
        assert hear(one, said_aloud(one)).right, one.text
        assert one.why and one.hint
        if one.asks is Asks.ALL:
            wrong = "nobody" if one.right else "all"
            assert not hear(one, wrong).right


def said_aloud(one: Question) -> str:
    if one.asks is Asks.WAY:
        return ", ".join(one.ways[0])
    if one.asks is Asks.ONE:
        return one.right[0] if one.right else "none"
    return " and ".join(one.right) or "nobody"


def test_what_holds_still_holds_when_only_that_is_left(example: tuple[Path, Drill]) -> None:
    """By what: no way that is accepted passes the part that failed (a rope may, over another span)."""
    _, made = example
    for one in made.questions:
        if one.kind is Kind.BY_WHAT:
            failed = {failure.part for failure in one.rig.failures if failure.id in one.failures}
            modes = {failure.mode for failure in one.rig.failures if failure.id in one.failures}
            if modes == {"fails"}:
                assert all(not failed & set(way) for way in one.ways), one.text


def test_only_one_option_mends(example: tuple[Path, Drill]) -> None:
    """The right addition, pasted, leaves no single failure that drops the body; `why` counts what others leave."""
    path, made = example
    for one in made.questions:
        if one.kind is not Kind.MEND:
            continue
        assert one.body and len(one.right) == 1 and 2 <= len(one.options) <= 4
        assert sum("no single failure" in told.fate for told in one.why) == 1
        if not any(line.startswith(("line ", "before line", "after line")) for line in one.paste):
            text = pasted_into(path.read_text(), one.paste)
            outcome = analyser.check(analyser.read_text(text, path.name, path.parent)).states[0].outcome
            assert outcome.body(one.body).smallest_failure_set not in (0, 1)


def test_the_same_seed_asks_the_same() -> None:
    path = ROOT / "examples/litter-lower.rig"
    runs = {
        subprocess.run(
            [*RUN, str(path), "--json", *more], capture_output=True, check=True, env={**os.environ, "PYTHONHASHSEED": k}
        ).stdout
        for k, more in (("1", []), ("2", ["--seed", "1"]))
    }
    assert len(runs) == 1
    (first,) = (json.loads(run) for run in runs)
    asked = {tuple(one.text for one in drilled(path, seed).questions) for seed in range(2)}
    assert len(asked) == 2
    assert tuple(one["question"] for one in first["questions"]) == tuple(o.text for o in drilled(path, 1, 8).questions)


def test_easy_first_and_no_question_twice(example: tuple[Path, Drill]) -> None:
    _, made = example
    kinds = [list(Kind).index(one.kind) for one in made.questions]
    assert kinds == sorted(kinds)
    texts = [one.text for one in made.questions]
    assert len(texts) == len(set(texts)) <= 10


@settings(max_examples=15, deadline=None, suppress_health_check=list(HealthCheck))
@given(rig_texts())
def test_random_rigs_are_asked_about_truly(text: str) -> None:
    """No crash, and who falls is what the evaluator written from the rules alone says."""
    try:
        rig = analyser.read_text(text)
    except Unreadable:
        return
    if not rig.bodies:
        return
    made = drill(analyser.check(rig), "a.rig", 1, 8)
    failures = {failure.id: failure for failure in rig.failures}
    for one in made.questions:
        assert hear(one, said_aloud(one)).right
        if one.kind in (Kind.ALONE, Kind.PAIR):
            falls = by_balance(rig, [failures[name] for name in one.failures])
            assert set(one.right) == set(falls) & held_at(made.result, 0)
    assert sheets_markdown(made)


# -- the drawing


def check_drawing(rig: Rig) -> None:
    found = rows(rig)
    text = lines(found)
    if not found:
        return
    assert not found[-1].under.strip(), "a rail that leads nowhere"
    told = {row.name for row in found}
    assert {rope.name for rope in rig.ropes} <= told
    for part in rig.parts.values():
        if part.nature in (Nature.GROUND, Nature.JOINT, Nature.GRIP, Nature.PULLEY, Nature.LITTER, Nature.FRAME):
            assert part.name in told
    assert all(len(line) <= 80 for line in text)


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_every_part_is_in_the_drawing(path: Path) -> None:
    rig = analyser.read(path)
    for one in [rig, *(step.rig for stage in rig.stages for step in stage.steps)]:
        check_drawing(one)
    assert "\n".join(rig_as_text(rig, plain=True)).isascii()


@settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
@given(rig_texts())
def test_random_rigs_are_drawn(text: str) -> None:
    try:
        check_drawing(analyser.read_text(text))
    except Unreadable:
        return


def test_the_drawing_of_two_lines() -> None:
    """Ropes are double rails, what fails is told beside its part."""
    assert rig_as_text(analyser.read(RING), ["red-low slips"]) == [
        "■    left-bolt    anchor",
        "║    red          rope: figure-eight red-top – bowline red-low  << red-low slips",
        "║ ■  right-bolt   anchor",
        "║ ║  green        rope: figure-eight green-top – bowline green-low",
        "├─┘",
        "○    master       ring",
        "├─┐",
        "○ │  waist-strap  strap, to ann.waist",
        "│ ○  chest-strap  strap, to ann.chest",
        "├─┘",
        "●    ann          person",
    ]


def test_what_is_not_joined_is_not_drawn_as_joined() -> None:
    """A part under another in one column hangs from it; so what begins anew has an empty row above it."""
    rig = analyser.read_text('rig "x"\nanchor a, b\nperson ann: points waist\nattach b - lanyard l - ann.waist\n')
    assert rig_as_text(rig) == [
        "■  a    anchor",
        "",
        "■  b    anchor",
        "○  l    lanyard, to ann.waist",
        "●  ann  person",
    ]


# -- how answers are heard


TWO = """
anchor a, b
person ann, all: points waist
attach a - lanyard long - ann.waist
attach b - lanyard Short - all.waist
"""


def question(kind: Kind, text: str = TWO, **wanted: object) -> Question:
    return next(
        one
        for seed in range(30)
        for one in drill_of(text, seed, 12).questions
        if one.kind is kind and all(getattr(one, key) == value for key, value in wanted.items())
    )


def test_answers_are_heard_kindly() -> None:
    one = question(Kind.ALONE, failures=("a fails",))
    for said in ("ann", "Ann", " ann. ", "only ann", "ann falls", "the ann"):
        assert hear(one, said).right, said
    assert hear(one, "ann and all").extra == ("all",)
    assert hear(one, "all").given == ("all",), "somebody's name comes before what it means elsewhere"
    assert hear(one, "everyone").given == ("all", "ann")
    for said in ("nobody", "none", "no one", "0", "Nobody!"):
        assert hear(one, said).given == () and not hear(one, said).right
    assert "did you mean `ann`" in hear(one, "anm").unclear
    assert "did you mean `nobody`" in hear(one, "nobdy").unclear
    for said in ("", "   ", ",;", "\x00", "ann\x1b[31m", "🧗", "a" * 5000, "ann zz"):
        assert not hear(one, said).right


def test_a_part_is_named_as_one_likes() -> None:
    one = question(Kind.CRITICAL, body="all", state=0)
    for said in ("b", "b fails", "short", "Short fails", "the Short", "b or Short"):
        assert hear(one, said).right, said
    for said in ("a", "none", "b and a", "long fails"):
        assert hear(one, said).given is not None and not hear(one, said).right


# -- on the terminal


def run(*arguments: str, said: str = "", status: int = 0) -> str:
    """The command as through a pipe: what is typed goes in, both streams come out."""
    out = io.StringIO()
    before = sys.stdin
    sys.stdin = io.TextIOWrapper(io.BytesIO(said.encode()), encoding="utf-8")
    try:
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(out):
            try:
                ended = main(["drill", *arguments])
            except SystemExit as error:  # what argparse refuses
                ended = int(error.code or 0)
    finally:
        sys.stdin = before
    assert ended == status, out.getvalue()
    return out.getvalue()


def test_a_session_through_a_pipe() -> None:
    said = "?\nv\nnobdy\nann\nnobody\nmaster\nq\n"
    done = subprocess.run([*RUN, RING], input=said, capture_output=True, text=True, encoding="utf-8")
    out = done.stdout
    assert (done.returncode, done.stderr) == (0, "")
    assert "1 of 8  ONE FAILURE" in out and "take master out of the drawing" in out
    assert "did you mean `nobody`?" in out and "RIGHT" in out
    assert "3 of 3 right, 1 with a hint. Answers on connections only, with 0 assumptions." in out
    assert "A model of what was written, not of the rope in the hand." in out
    assert max(map(len, out.splitlines())) <= 100


def test_the_end_of_what_is_typed_ends_it_calmly() -> None:
    assert "0 of 0 right" in run(RING)
    assert "1 of 1 right" in run(RING, said="ann")


def test_ascii_alone() -> None:
    out = run(RING, "--ascii", said="ann\n")
    assert "#    left-bolt" in out and out.isascii()


def test_a_session_on_a_terminal_ends_calmly_with_ctrl_c() -> None:
    """Through a real terminal: an answer, then Ctrl-C; the score is told, and no traceback."""
    pid, terminal = pty.fork()
    if pid == 0:
        signal.signal(signal.SIGINT, signal.SIG_DFL)  # a test run in the background has it ignored, and hands that on
        os.execv(RUN[0], [*RUN, RING])
    seen = b""

    def until(words: bytes) -> None:
        nonlocal seen
        end = time.monotonic() + 60
        while words not in seen and time.monotonic() < end:
            if not select.select([terminal], [], [], 1)[0]:
                continue
            try:
                seen += os.read(terminal, 4096)
            except OSError:
                break
        assert words in seen, seen.decode(errors="replace")

    until(b"> ")
    os.write(terminal, b"ann\n")
    until(b"2 of 8")
    seen = seen[seen.index(b"2 of 8") :]
    until(b"> ")
    os.write(terminal, b"\x03")
    until(b"practice come")
    _, status = os.waitpid(pid, 0)
    os.close(terminal)
    assert b"1 of 1 right" in seen and b"Traceback" not in seen
    assert os.waitstatus_to_exitcode(status) in (130, -signal.SIGINT)


def test_what_cannot_be_asked_is_said(tmp_path: Path) -> None:
    assert "name a file" in run("-", said=Path(RING).read_text(), status=2)
    empty = tmp_path / "empty.rig"
    empty.write_text('rig "Nobody"\nanchor a\n')
    assert "nothing to ask" in run(str(empty), status=2)
    assert "--paper N or --page" in run(RING, "-o", "x.html", status=2)
    assert "no-such" in run("no-such.rig", status=2)
    assert "is not a seed" in run(RING, "--seed", "-3", status=2)
    assert ".md or .html" in run(RING, "--paper", "3", "-o", "sheet.pdf", status=2)


def test_scores_are_added_and_never_lost(tmp_path: Path) -> None:
    score = tmp_path / "class.jsonl"
    run(RING, "--score", str(score), said="ann\nann\nq\n")
    first = score.read_text()
    assert [json.loads(line)["right"] for line in first.splitlines()] == [True, False]
    score.write_text(first.rstrip("\n"))  # as an editor may leave it
    run(RING, "--score", str(score), said="?\nann\n")
    rows_now = [json.loads(line) for line in score.read_text().splitlines()]
    assert score.read_text().startswith(first.rstrip("\n")) and len(rows_now) == 3
    assert rows_now[2]["hint"] is True and rows_now[2]["given"] == ["ann"]


@pytest.mark.parametrize("text", ['rig "mine"\n', "some notes\n", "{}\n", '[1, 2]\n{"right": 1}\n', "\xff\n"])
def test_a_file_that_holds_no_scores_stays_as_it_is(tmp_path: Path, text: str) -> None:
    other = tmp_path / "other"
    other.write_text(text)
    assert "stays as it is" in run(RING, "--score", str(other), said="ann\n", status=2)
    assert other.read_text() == text
    assert "cannot be kept there" in run(RING, "--score", str(tmp_path), status=2)


# -- sheets and pages


def test_a_sheet_has_as_many_answers_as_questions(example: tuple[Path, Drill]) -> None:
    _, made = example
    text = sheets_markdown(made)
    count = len(made.questions)
    assert "A model of what was written" in text and "licensed or qualified practice" in text
    question_part, answer_part = text.split("# Drill: answers")
    for part in (question_part, answer_part):
        assert len(re.findall(r"^- \*\*\d+\*\* ", part, re.MULTILINE)) == count
    assert question_part.count("Answer: ") == count
    assert len(re.findall(r"^  \*\*.*\*\*$", answer_part, re.MULTILINE)) == count


HOSTILE = """
rig "<script>alert(1)</script> & [x](javascript:1) ``` </style>"
note "<img src=x onerror=alert(2)>"
revision "<b>4</b>"
anchor a, b
person ann: points waist, chest
attach a - lanyard one - ann.waist
attach b - lanyard two - ann.chest
stage "<i>on</i> </pre> ````"
    say "</script><script>alert(3)</script>"
    detach one from a
"""


def test_hostile_words_stand_as_they_are() -> None:
    made = drill_of(HOSTILE, wished=12)
    assert any(one.state for one in made.questions)
    for page in (sheets_html(made), page_html(made)):
        assert not re.search(r"<(script|img|b|i)\b", page)
        assert html.escape("<script>alert(1)</script>", quote=False) in page
        assert "default-src 'none'" in html.unescape(page)
        assert "//" not in re.sub(r"<svg.*?</svg>|<!--.*?-->", "", page, flags=re.DOTALL)
        assert "src=" not in page.replace("img src=x", "") and "url(" not in page
        assert page.count("<details") in (0, 2 * len(made.questions))
    text = sheets_markdown(made)
    assert "<script" not in text and "<i>" not in text


def test_the_policy_of_a_page_lets_its_own_style_in() -> None:
    import base64
    import hashlib

    for page in (sheets_html(drilled(Path(RING))), page_html(drilled(Path(RING)))):
        (style,) = re.findall(r"<style>(.*?)</style>", page, re.DOTALL)
        digest = base64.b64encode(hashlib.sha256(style.encode()).digest()).decode()
        assert f"style-src &#39;sha256-{digest}&#39;" in page or f"style-src 'sha256-{digest}'" in page


def test_the_diagram_gives_no_answer_away(example: tuple[Path, Drill]) -> None:
    """Neither counts, nor single points, nor the verdict stand in the diagram of a drill."""
    _, made = example
    source = drawn(made.result, Marks(asking=True))
    for word in ("SINGLE", "attachment", "independent", "smallest", "NOT HELD", "Requirements", "met,"):
        assert word not in source


def test_paper_and_page_are_written(tmp_path: Path) -> None:
    for options, name in ((["--paper", "4"], "s.md"), (["--paper", "4"], "s.html"), (["--page"], "p.html")):
        target = tmp_path / name
        assert run(RING, *options, "-o", str(target)) == ""
        assert "Two lines to one ring" in target.read_text()
    assert run(RING, "--paper", "4") == (tmp_path / "s.md").read_text()


def test_fewer_than_asked_for_is_said() -> None:
    made = drill_of("anchor a\nperson ann: points waist\nattach a - lanyard l - ann.waist", wished=50)
    assert 2 <= len(made.questions) < 50
    assert made.few.startswith(f"{len(made.questions)} of 50 questions")
    assert made.few in sheets_markdown(made)


def test_options_have_defaults_that_are_said() -> None:
    from analyser.doors.commands.main import parser

    options = parser("drill").parse_args(["drill", "x.rig"])
    assert isinstance(options, argparse.Namespace)
    assert (options.seed, options.questions, options.score) == (1, 8, None)


def test_an_edge_and_what_keeps_a_rope_off_it_hold_nobody() -> None:
    """Both are needed on the way; neither is a right answer to what holds."""
    rig = rig_of("""
        anchor crest, second
        person ulf: points mid, chest
        edge coping
        pad mat
        rope work
            tied to crest with figure-eight as work-top
            over coping, padded by mat
            tied to ulf.mid with figure-eight as work-low
        attach second - strap safe - ulf.chest
    """)
    ways, _ = assess(rig).review.ways("ulf", ALL_WAYS)
    assert {frozenset(names_on(rig, "ulf", way)) for way in ways} == {
        frozenset({"crest", "work", "work-top", "work-low"}),
        frozenset({"second", "safe"}),
    }

"""What the desk's palette, mends and first page put into a rig."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from desk_client import EXAMPLES, GOOD, Page, Started, page_of

from analyser.checking.analysing import analyse
from analyser.checking.registry import RULES
from analyser.doors.desk.beginning import NotBegun, begin, reopen, there
from analyser.doors.desk.blanks import fitting
from analyser.doors.desk.mended_lines import lines_to_put
from analyser.doors.desk.offered import ITEMS, offered
from analyser.doors.editor.readings import Desk, Held, Reading, read

# -- building


def reading_of(text: str, path: Path) -> Reading:
    return read(path, {path: Held(path.as_uri(), 1, text)})


def pressed(text: str, item: str, path: Path, line: int = 10**6) -> str:
    """The text after a press in the palette, its blanks left as they are filled."""
    import re

    found = {one["item"]: one for one in offered(reading_of(text, path), text, line)}[item]
    lines = text.split("\n")
    added = [re.sub(r"\$\{([^}]*)\}", r"\1", one) for one in found["lines"]]
    places = [(found["after"], added), *((one["after"], one["lines"]) for one in found.get("also", []))]
    for after, some in sorted(places, reverse=True):
        lines[after:after] = some
    return "\n".join(lines)


def test_every_press_gives_lines_that_read(tmp_path: Path) -> None:
    """Each item, on a blank sheet with a ground and a person and again on every example: nothing is made wrong."""
    path = tmp_path / "x.rig"
    base = 'rig "x"\n'
    for item in ("anchor", "person"):
        base = pressed(base, item, path)
    for item in ITEMS:
        once = pressed(base, item, path)
        assert not reading_of(once, path).mistakes, (item, once)
        assert not reading_of(pressed(once, item, path), path).mistakes, item
    for example in sorted(EXAMPLES.glob("*.rig")):
        text = example.read_text(encoding="utf-8")
        if "include" in text:
            continue
        for item in ITEMS:
            assert not reading_of(pressed(text, item, path), path).mistakes, (example.name, item)


def test_a_first_rig_in_ten_presses(tmp_path: Path) -> None:
    """From a blank sheet: two anchors, a person, two ropes, what is required. It meets what it requires."""
    path = tmp_path / "x.rig"
    text = 'rig "A new rig"\nrevision 1\n'
    presses = ("anchor", "person", "rope", "anchor", "rope", "require")
    for item in presses:
        text = pressed(text, item, path)
    rig = reading_of(text, path).rig
    assert rig and len(presses) <= 10
    result = analyse(rig)
    assert result.met and [body.independent for body in result.bodies] == [2], text


def test_a_two_rope_litter_lower_from_the_palette(tmp_path: Path) -> None:
    """As somebody would press it who knows no word of the language: ropes run from the brakes over the edge to the
    ring, each pad and each point of the litter is taken once, each brake has its own pair of hands."""
    path = tmp_path / "x.rig"
    text = 'rig "A new rig"\nrevision 1\n'
    presses = "anchor anchor edge device device ring rope rope litter strap strap strap strap person strap require"
    for item in presses.split():
        text = pressed(text, item, path)
    rig = reading_of(text, path).rig
    assert rig
    result = analyse(rig)
    assert [(body.name, body.held, body.tips) for body in result.bodies] == [
        ("ann", True, False),
        ("basket", True, False),
    ]
    assert {one.part for one in result.failures if "basket" in one.falls} == {"master"}
    assert not [one for one in result.findings if one.rule in ("bare-edge", "one-sleeve", "two-places")]
    assert "brake-2: operated by kim, self-locking" in text and "over lip, padded by right-mat" in text


def test_the_edge_may_come_after_the_ropes(tmp_path: Path) -> None:
    """Whoever thinks of the edge last is not left with an edge that no rope passes. Who works a brake stands with it,
    and whoever came last is attached first."""
    path = tmp_path / "x.rig"
    text = 'rig "A new rig"\nrevision 1\n'
    presses = "anchor anchor device device ring rope rope litter strap person person strap strap edge"
    for item in presses.split():
        text = pressed(text, item, path)
    assert "    gripped by brake-1\n    over lip, padded by left-mat\n    tied to master" in text
    assert "    gripped by brake-2\n    over lip, padded by right-mat\n    tied to master" in text
    assert "self-locking\nperson jo: standing\n\nattach right-bolt" in text, "nothing is put between"
    assert text.index("litter basket") < text.index("person ann") < text.index("attach left-bolt")
    assert "master - strap strap-2 - sam.waist\nattach master - strap strap-3 - ann.waist" in text
    rig = reading_of(text, path).rig
    assert rig and "unused-part" not in {one.rule for one in analyse(rig).findings}
    assert not {one["item"]: one for one in offered(reading_of(text, path), text, 1)}["edge"]["also"]


def test_what_may_stand_in_a_blank_is_like_what_stands_there(tmp_path: Path) -> None:
    """By what stands in it: parts and points, kinds of one nature, requirements, steps; all of them can be read."""
    path = tmp_path / "x.rig"
    text = (EXAMPLES / "litter-bridle.rig").read_text(encoding="utf-8")
    text += "person jo: standing\nattach left-bolt - brake bar\nbar: operated by jo, self-locking\n"
    text += 'require everyone held with hands off\nstage "The work"\n    say "ready"\n'
    lines = text.split("\n")

    def fits(before: str, now: str) -> list[str]:
        number = next(n for n, one in enumerate(lines, 1) if one.startswith(f"{before}{now}"))
        texts = {path: Held(path.as_uri(), 1, text)}
        found = [
            one["text"] for one in fitting(Desk(), read(path, texts), texts, path.name, number, len(before) + 1, now)
        ]
        for one in found:
            other = text.replace(f"{before}{now}", f"{before}{one}", 1)
            assert one == now or not reading_of(other, path).mistakes or before == "attach master - strap ", (
                one,
                other,
            )
        return found

    parts = fits("attach master - strap vic-strap - ", "vic.chest")
    assert parts[0] == "vic.chest" and {"sam.chest", "basket.head-left", "left-bolt"} < set(parts)
    assert fits("attach ", "left-bolt")[:2] == ["left-bolt", "right-bolt"], "others of its kind first"
    grips = fits("attach left-bolt - ", "brake")
    assert grips[0] == "brake" and "descender" in grips and not {"pulley", "anchor", "a"} & set(grips)
    assert fits("bar: operated by ", "jo")[0] == "jo"
    assert fits("require ", "everyone held with hands off")[0] == "everyone held with hands off"
    assert "lock off bar" in fits("    ", 'say "ready"')
    for before, now in (("person vic: ", "80 kg"), ("litter ", "basket"), ("attach master - strap ", "leg-1")):
        assert fits(before, now) == [], "that is for whoever writes it to say"


def test_a_step_comes_behind_the_step_of_the_cursor(tmp_path: Path) -> None:
    text = (EXAMPLES / "crossings" / "lower-to-raise.rig").read_text(encoding="utf-8")
    lines = text.split("\n")
    at = next(number for number, one in enumerate(lines, 1) if one.strip() == "lock off main-brake")
    after = pressed(text, "step", tmp_path / "x.rig", at).split("\n")
    assert after[at].strip() == 'check "all is well"'


def test_a_finding_puts_in_the_line_that_mends_it(tmp_path: Path) -> None:
    """Where a finding names a whole line, the text with it no longer has the finding."""
    path = tmp_path / "x.rig"
    tried = stoppers = 0
    for rule in RULES:
        text = f'rig "x"\n{rule.wrong}'
        before = reading_of(text, path)
        if before.rig is None:
            continue
        findings = analyse(before.rig).findings
        for number, put in lines_to_put(before, findings).items():
            lines = text.split("\n")
            lines.insert(put.after, put.text)
            after = reading_of("\n".join(lines), path)
            assert after.rig
            gone = findings[number]
            assert (gone.rule, gone.about) not in {(one.rule, one.about) for one in analyse(after.rig).findings}, put
            tried += 1
            stoppers += put.text == "    stopper"
    assert tried >= 1 and stoppers, "a station goes where the rope's stations are"


def test_mends_are_those_of_the_command(desk_over: Callable[..., Started]) -> None:
    desk = desk_over()
    one = page_of(desk, desk.enter())
    found = one.ask("desk/mends", text=GOOD)
    assert found["mends"] and all(mend["add"] or mend["change"] for mend in found["mends"])
    assert "tail of red" in found["mends"][0]["what"]


def test_a_first_file(tmp_path: Path) -> None:
    assert begin(tmp_path, "a", "blank", "").path == tmp_path / "a.rig"
    assert "brake" in begin(tmp_path, "b.rig", "template", "two-rope-lower").version.text
    assert "Lesson 1" in begin(tmp_path, "c.rig", "lesson", "01-shared-ring").version.text
    for name, sort, which in (
        *(("a.rig", "blank", ""), ("../x", "blank", ""), ("/etc/x", "blank", ""), ("", "blank", "")),
        *((".x", "blank", ""), ("x\n", "nothing", ""), ("x", "template", "../../x"), ("x", "lesson", "README")),
    ):
        with pytest.raises(NotBegun):
            begin(tmp_path, name, sort, which)
    assert sorted(one.name for one in tmp_path.iterdir()) == ["a.rig", "b.rig", "c.rig"] == there(tmp_path)
    assert "Lesson 1" in reopen(tmp_path, "c.rig").version.text
    for name in ("d.rig", "../x.rig", "/etc/passwd", ""):
        with pytest.raises(NotBegun, match="any more"):
            reopen(tmp_path, name)


def test_it_begins_without_a_file(tmp_path: Path) -> None:
    desk = Started(None, folder=tmp_path)
    try:
        cookie = desk.enter()
        one = Page(desk, cookie)
        assert one.about["file"] is None
        with pytest.raises(RuntimeError, match="a file's name"):
            one.ask("desk/start", name="../out", sort="blank", **{"from": ""})
        assert one.ask("desk/start", name="first", sort="blank", **{"from": ""}) == {"file": "first.rig"}
        again = page_of(desk, cookie)
        assert again.found("checked")["title"] == "A new rig"
        assert (tmp_path / "first.rig").exists()
        with pytest.raises(RuntimeError, match="open here already"):
            again.ask("desk/start", name="second", sort="blank", **{"from": ""})
    finally:
        desk.kill()

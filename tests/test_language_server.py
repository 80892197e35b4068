"""The language server, over its real protocol: the real command as a process, on its standard streams."""

from __future__ import annotations

import os
import time
from pathlib import Path

import pytest
from editor_client import PATIENCE, TWO_LINES, Editor, Refused, apply, uri_of, where

import analyser
from analyser.checking.letterhead import CAUTIONS
from analyser.language.mistakes import Unreadable
from analyser.language.vocabulary import FACTS, STATEMENTS, STATIONS, STEPS

ROOT = Path(__file__).parent.parent
ERROR, WARNING, INFORMATION, HINT = 1, 2, 3, 4


def hovered(editor: Editor, uri: str, line: int, character: int) -> str:
    found = editor.at("hover", uri, line, character)
    return str(found["contents"]["value"]) if found else ""


def proposed(editor: Editor, folder: Path, text: str) -> list[str]:
    """What is proposed at `|`."""
    line, character = where(text, "|")
    uri = uri_of(folder, "completing.rig")
    editor.open(uri, text.replace("|", "", 1))
    found = editor.at("completion", uri, line, character)
    editor.close(uri)
    return [item["label"] for item in found["items"]]


# -- what is wrong


@pytest.mark.parametrize("name", sorted(p.stem for p in (ROOT / "tests" / "messages").glob("*.rig"))[::9])
def test_mistakes_are_those_of_the_command_line(editor: Editor, name: str) -> None:
    path = ROOT / "tests" / "messages" / f"{name}.rig"
    try:
        analyser.read(path)
        expected = []
    except Unreadable as error:
        expected = [
            (m.place.line - 1, m.place.column - 1, "\n".join(filter(None, [m.text, m.help])))
            for m in error.mistakes
            if m.place.file == path.name
        ]
    text = path.read_bytes().decode("utf-8-sig", "replace")
    editor.open(path.as_uri(), text)
    found = [d for d in editor.told(path.as_uri()) if d["severity"] == ERROR]
    assert [(d["range"]["start"]["line"], d["range"]["start"]["character"], d["message"]) for d in found] == expected
    editor.close(path.as_uri())


def test_a_mistake_covers_exactly_its_words(editor: Editor, tmp_path: Path) -> None:
    text = 'rig "One"\nanchor bolt\nperson ann: points waist\nattach bolt - carabinner crab - ann.waist\n'
    editor.open(uri_of(tmp_path), text)
    (one,) = editor.told(uri_of(tmp_path))
    assert one["range"] == {"start": {"line": 3, "character": 14}, "end": {"line": 3, "character": 24}}
    assert one["severity"] == ERROR
    assert "did you mean `carabiner`?" in one["message"]


def test_findings_are_never_errors_and_carry_their_rule(editor: Editor, tmp_path: Path) -> None:
    editor.open(uri_of(tmp_path), TWO_LINES)
    found = editor.told(uri_of(tmp_path))
    told = {d["code"]: d for d in found}
    assert {d["severity"] for d in found} <= {WARNING, INFORMATION, HINT}
    assert told["single-point"]["severity"] == WARNING
    assert told["single-point"]["message"] == "master fails: ann falls"
    assert told["single-point"]["range"]["start"] == {"line": 3, "character": 5}
    assert told["fewer-independent"]["severity"] == INFORMATION
    assert told["require-independent"]["range"]["start"]["line"] == TWO_LINES.count("\n") - 1
    assert told["require-independent"]["message"].startswith("not met: every person has 2 independent attachments")
    result = analyser.check(analyser.read_text(TWO_LINES))
    assert {f.rule for f in result.findings} <= set(told)


def test_typing_replaces_what_was_told_and_the_last_text_counts(editor: Editor, tmp_path: Path) -> None:
    uri = uri_of(tmp_path)
    editor.open(uri, TWO_LINES)
    for end in range(1, 12):
        editor.type(uri, TWO_LINES + "ring spare-ring"[:end])
    editor.type(uri, TWO_LINES + "ring 5pare\nattach x - y\n")
    found = editor.told(uri)
    assert [d["severity"] for d in found if d["range"]["start"]["line"] >= TWO_LINES.count("\n")]
    versions = [version for of, version, _ in editor.published if of == uri]
    assert len(versions) <= 3, "keystrokes in a row are checked once"
    editor.type(uri, TWO_LINES)
    assert not [d for d in editor.told(uri) if d["severity"] == ERROR]


def test_included_files_are_told_in_their_own_place(editor: Editor, tmp_path: Path) -> None:
    kit, rig = tmp_path / "kit.rig", tmp_path / "rig.rig"
    kit.write_text("ring master\nrnig other\n", encoding="utf-8")
    text = TWO_LINES.replace("ring master", 'include "kit.rig"')
    editor.open(rig.as_uri(), text)
    assert editor.told(rig.as_uri()) == []
    while kit.as_uri() not in editor.diagnostics:
        editor.receive()
    assert ["`rnig`" in d["message"] for d in editor.diagnostics[kit.as_uri()]] == [True]
    # the kit's text in the editor counts, not what is on the disk; and the kit is read as part of its rig
    editor.open(kit.as_uri(), "ring master\n")
    assert [d["code"] for d in editor.told(kit.as_uri())] == ["single-point"]
    editor.published.clear()
    editor.type(rig.as_uri(), text + "\n")
    assert not [d for d in editor.told(rig.as_uri()) if d["severity"] == ERROR]
    editor.close(kit.as_uri())
    editor.close(rig.as_uri())


def test_closing_clears(editor: Editor, tmp_path: Path) -> None:
    editor.open(uri_of(tmp_path), "rig\n")
    assert editor.told(uri_of(tmp_path))
    editor.close(uri_of(tmp_path))
    while editor.diagnostics[uri_of(tmp_path)]:
        editor.receive()


# -- what stands under the pointer


def test_a_part_tells_what_follows_if_it_fails(editor: Editor, tmp_path: Path) -> None:
    uri = uri_of(tmp_path)
    editor.open(uri, TWO_LINES)
    ring = hovered(editor, uri, *where(TWO_LINES, "master", 1))
    assert "**master**: a ring" in ring
    assert "if `master fails`: ann falls" in ring
    assert "`waist-strap`" in ring
    assert all(caution in ring for caution in CAUTIONS)
    bolt = hovered(editor, uri, *where(TWO_LINES, "right-bolt"))
    assert "strength 25 kN" in bolt
    assert "if `right-bolt fails`: ann is on one" in bolt
    sound = hovered(editor, uri, *where(TWO_LINES, "left-bolt"))
    assert "taken as impossible (line 22): red is the colour of left-bolt" in sound
    rope = hovered(editor, uri, *where(TWO_LINES, "red"))
    assert "diameter 11 mm" in rope
    assert "red[lip..red-bowline] is cut" in rope


def test_a_person_tells_by_what_they_are_held(editor: Editor, tmp_path: Path) -> None:
    uri = uri_of(tmp_path)
    editor.open(uri, TWO_LINES)
    ann = hovered(editor, uri, *where(TWO_LINES, "ann"))
    result = analyser.check(analyser.read_text(TWO_LINES)).body("ann")
    assert f"{result.attachments} attachments, {result.independent} independent" in ann
    assert "not held after 1: master fails" in ann
    assert "waist-strap" in ann


@pytest.mark.parametrize("word", sorted({*STATEMENTS, *STATIONS}))
def test_every_statement_and_station_has_its_sentence(word: str) -> None:
    from analyser.doors.editor.names import Keyword
    from analyser.doors.editor.wording import of_the_language
    from analyser.language.mistakes import Place

    phrase = {"tied": ("tied", "to"), "gripped": ("gripped", "by"), "held": ("held", "by")}.get(word, (word,))
    found = of_the_language(Keyword(word, phrase, Place("rig", 1)))
    assert len(found) > 25, f"nothing in the reference on `{word}`"


def test_words_of_the_language_tell_what_the_reference_says(editor: Editor, tmp_path: Path) -> None:
    uri = uri_of(tmp_path)
    editor.open(uri, TWO_LINES)
    assert "a person" not in hovered(editor, uri, *where(TWO_LINES, "padded"))
    assert "passes an edge" in hovered(editor, uri, *where(TWO_LINES, "over"))
    assert "on ground where there is no fall" in hovered(editor, uri, *where(TWO_LINES, "standing"))
    assert "a closed ring" in hovered(editor, uri, *where(TWO_LINES, "ring master"))
    assert "impossible" in hovered(editor, uri, *where(TWO_LINES, "sound"))
    assert hovered(editor, uri, 0, 3) == ""
    done = f'{TWO_LINES}stage "Down"\n    detach waist-strap, by ann\n'
    editor.type(uri, done)
    assert "who does it" in hovered(editor, uri, *where(done, "by ann"))


# -- what may be written next


def test_kinds_and_statements_begin_a_line(editor: Editor, tmp_path: Path) -> None:
    found = proposed(editor, tmp_path, 'rig "x"\n|\n')
    assert {"anchor", "carabiner", "litter", "attach", "rope", "require", "sound"} <= set(found)
    assert not {"tied to", "bowline"} & set(found)


def test_a_chain_goes_on_with_kinds_names_and_points(editor: Editor, tmp_path: Path) -> None:
    found = proposed(editor, tmp_path, TWO_LINES + "attach master - |")
    assert {"carabiner", "left-bolt", "ann.waist", "waist-strap"} <= set(found)
    assert not {"red", "rockfall", "bowline"} & set(found)
    assert proposed(editor, tmp_path, TWO_LINES + "attach master - ann.|") == ["chest", "waist"]
    assert proposed(editor, tmp_path, TWO_LINES + "attach master - carabiner |") == []


def test_stations_and_their_words(editor: Editor, tmp_path: Path) -> None:
    text = TWO_LINES + "rope blue\n    tied to left-bolt\n    "
    assert {"tied to", "through", "gripped by", "held by", "closed"} <= set(proposed(editor, tmp_path, text + "|"))
    knots = proposed(editor, tmp_path, text + "tied to master with |")
    assert "bowline" in knots
    assert "ring" not in knots
    assert proposed(editor, tmp_path, text + "over |") == ["lip"]
    assert proposed(editor, tmp_path, text + "over lip, padded by |") == ["mat"]
    assert set(proposed(editor, tmp_path, text + "held by |")) == {"ann", "jo"}


def test_labels_of_the_rope_after_load_from(editor: Editor, tmp_path: Path) -> None:
    text = TWO_LINES.replace(
        "    tied to master with bowline\n", "    tied to master with bowline\n    held by jo, |\n"
    )
    assert "load from" in proposed(editor, tmp_path, text)
    found = proposed(editor, tmp_path, text.replace("|", "load from |"))
    assert {"red-top", "lip", "red-bowline", "start", "end"} == set(found)


@pytest.mark.parametrize(
    "line", ["sound |", "accept |", "cause gale: |", "cause gale: lip cuts, |", "cause gale:\n    |"]
)
def test_failures_after_what_speaks_of_failures(editor: Editor, tmp_path: Path, line: str) -> None:
    found = proposed(editor, tmp_path, TWO_LINES + line)
    assert {"master fails", "red[lip..red-bowline] is cut", "lip cuts", "rockfall strikes"} <= set(found)


def test_span_labels_attributes_people_and_units(editor: Editor, tmp_path: Path) -> None:
    assert proposed(editor, tmp_path, TWO_LINES + "accept red[lip..|") == ["red-top", "lip", "red-bowline"]
    keywords = proposed(editor, tmp_path, TWO_LINES + "brake left-brake: |")
    assert {"strength", "operated by", "self-locking", "both ways", "not below"} <= set(keywords)
    assert set(proposed(editor, tmp_path, TWO_LINES + "brake left-brake: operated by |")) == {"ann", "jo"}
    units = proposed(editor, tmp_path, TWO_LINES + "ring big: strength 22 |")
    assert units[0] == "kN"
    assert "mm" in units
    assert proposed(editor, tmp_path, TWO_LINES + 'note "ma|') == []
    assert proposed(editor, tmp_path, TWO_LINES + "# ma|") == []


def test_steps_and_facts_come_from_the_grammar(editor: Editor, tmp_path: Path) -> None:
    steps = proposed(editor, tmp_path, TWO_LINES + 'stage "x"\n    |')
    assert {one.split()[0] for one in steps} >= set(STEPS)
    facts = proposed(editor, tmp_path, TWO_LINES + "observed\n    |")
    assert {one.split()[0] for one in facts} == set(FACTS)


def test_the_words_of_changing_over(editor: Editor, tmp_path: Path) -> None:
    """A part onto a rope, between stations of that rope; who does it, after any step's comma."""
    text = TWO_LINES + 'rope-grab grab\nstage "x"\n    '
    assert "to" in proposed(editor, tmp_path, text + "attach grab |")
    assert set(proposed(editor, tmp_path, text + "attach grab to |")) == {"red", "green"}
    assert proposed(editor, tmp_path, text + "attach grab to red |") == ["between"]
    stations = {"red-top", "lip", "red-bowline", "start", "end"}
    assert set(proposed(editor, tmp_path, text + "attach grab to red between |")) >= {"red-top"}
    whole = text + "attach grab to red between red-top and lip, load from red-top"
    assert set(proposed(editor, tmp_path, whole[: whole.rindex("red-top")] + "|")) == stations
    assert {"load from", "clear of"} <= set(proposed(editor, tmp_path, whole[: whole.rindex("load")] + "|"))
    assert "by" in proposed(editor, tmp_path, text + "attach grab - master, |")
    assert set(proposed(editor, tmp_path, text + "attach grab - master, by |")) == {"ann", "jo"}
    assert set(proposed(editor, tmp_path, text + "detach ann from master, by jo, |")) == {"ann", "jo"}
    knots = proposed(editor, tmp_path, TWO_LINES + "rope blue\n    tied to master with bowline as b1\n    again |")
    assert "red-top" in knots and "master" not in knots


def test_names_in_the_words_of_changing_over(editor: Editor, tmp_path: Path) -> None:
    step = "    attach grab to red between red-top and lip with butterfly as loop, by jo\n"
    text = TWO_LINES + 'rope-grab grab\nstage "x"\n' + step
    uri = uri_of(tmp_path, "words.rig")
    editor.open(uri, text)
    found = editor.at("references", uri, *where(text, "jo: standing"), context={"includeDeclaration": True})
    assert where(text, "jo\n") in [(one["range"]["start"]["line"], one["range"]["start"]["character"]) for one in found]
    (given,) = editor.at("definition", uri, *where(text, "loop,"))
    assert (given["range"]["start"]["line"], given["range"]["start"]["character"]) == where(text, "loop,")


# -- outline and quick fixes


def test_outline(editor: Editor, tmp_path: Path) -> None:
    text = TWO_LINES + 'stage "Down"\n    say "down slow"\n    detach waist-strap from master\n'
    editor.open(uri_of(tmp_path), text)
    found = editor.at("documentSymbol", uri_of(tmp_path), 0, 0)
    names = [one["name"] for one in found]
    assert names[:4] == ["Two lines to one ring", "left-bolt", "right-bolt", "master"]
    red = found[names.index("red")]
    assert [child["name"] for child in red["children"]] == ["red-top", "lip", "bowline on master"]
    assert red["range"]["end"]["line"] == red["children"][-1]["range"]["end"]["line"]
    assert "require every person has 2 independent attachments" in names
    assert [child["name"] for child in found[-1]["children"]] == ['say "down slow"', "detach waist-strap from master"]


def test_formatting_is_that_of_the_command(editor: Editor, tmp_path: Path) -> None:
    from analyser.language.formatting import laid_out
    from analyser.rig.catalogue import catalogue

    uri, text = uri_of(tmp_path), TWO_LINES.replace("    ", "  ").replace(", right", " ,  right")
    editor.open(uri, text)
    options = {"tabSize": 4, "insertSpaces": True}
    (edit,) = editor.ask("textDocument/formatting", {"textDocument": {"uri": uri}, "options": options})
    assert edit["newText"] == laid_out(text.encode(), "rig.rig", set(catalogue())) != text
    assert edit["range"]["end"] == {"line": text.count("\n"), "character": 0}
    editor.type(uri, text + "attach -\n")
    assert editor.ask("textDocument/formatting", {"textDocument": {"uri": uri}, "options": options}) is None


def fixed(editor: Editor, folder: Path, text: str) -> list[str]:
    """The texts that quick fixes lead to."""
    uri = uri_of(folder)
    editor.open(uri, text)
    whole = {"start": {"line": 0, "character": 0}, "end": {"line": text.count("\n"), "character": 0}}
    context = {"diagnostics": editor.told(uri)}
    found = editor.ask("textDocument/codeAction", {"textDocument": {"uri": uri}, "range": whole, "context": context})
    editor.close(uri)
    assert all(one["diagnostics"] for one in found)
    return [apply(text, one["edit"]["changes"][uri]) for one in found]


def test_quick_fixes_make_the_message_go_away(editor: Editor, tmp_path: Path) -> None:
    good = 'rig "x"\nanchor bolt\nperson ann: points waist\nattach bolt - carabiner crab - ann.waist\n'
    assert fixed(editor, tmp_path, good.replace("carabiner", "carabinner")) == [good]
    assert fixed(editor, tmp_path, good.replace("ann.waist", "ann.wasit")) == [good]
    assert fixed(editor, tmp_path, good.replace("carabiner crab", "crab carabiner")) == [good]
    assert fixed(editor, tmp_path, good.replace("anchor", "anchr")) == [good]


def test_every_fix_of_a_known_mistake_mends_it() -> None:
    """Over all messages that say what to write: most can be followed with one stroke, and none in vain."""
    from analyser.doors.editor.actions import fixes, suggestions
    from analyser.doors.editor.readings import Held, read

    said = offered = 0
    for path in sorted((ROOT / "tests" / "messages").glob("*.rig")):
        text = path.read_bytes().decode("utf-8", "replace")
        reading = read(path, {path: Held(path.as_uri(), 1, text)})
        found = fixes(reading, path.name, 1, 1000)
        said += sum(any(suggestions(one)) for one in reading.mistakes)
        offered += len({fix.mistake for fix in found})
        for fix in found:
            lines = reading.document.sources[path.name].copy()
            line = lines[fix.place.line - 1]
            lines[fix.place.line - 1] = line[: fix.place.column - 1] + fix.text + line[fix.place.end - 1 :]
            again = read(path, {path: Held(path.as_uri(), 2, "\n".join(lines))})
            left = [one for one in again.mistakes if one.place.file == path.name]
            assert fix.mistake not in left
            alone = sum(one.place.line == fix.place.line for one in reading.mistakes) == 1
            assert not alone or fix.place.line not in {one.place.line for one in left}, path
    assert offered > 0.8 * said > 100


def test_no_fix_where_only_a_person_knows(editor: Editor, tmp_path: Path) -> None:
    assert fixed(editor, tmp_path, 'rig "x"\nanchor bolt\nsound bolt fails: ""\n') == []
    assert fixed(editor, tmp_path, "") == []


def test_every_choice_of_a_loaded_side_is_offered(editor: Editor, tmp_path: Path) -> None:
    text = (
        'rig "x"\nanchor top, low\nperson ann: points waist\nrope red\n    tied to top\n'
        "    gripped by rope-grab grab - ann.waist\n    tied to low\n"
    )
    found = fixed(editor, tmp_path, text)
    assert all(not _mistakes(one) for one in found)
    assert _mistakes(text)


def _mistakes(text: str) -> tuple[object, ...]:
    try:
        analyser.read_text(text)
    except Unreadable as error:
        return error.mistakes
    return ()


# -- columns


@pytest.mark.parametrize(("encodings", "units"), [(None, "utf-16-le"), (["utf-8"], "utf-8"), (["utf-32"], "utf-32-le")])
def test_columns_in_every_encoding(tmp_path: Path, encodings: list[str] | None, units: str) -> None:
    one = Editor(tmp_path, encodings)
    width = {"utf-16-le": 2, "utf-8": 1, "utf-32-le": 4}[units]

    def character(line: str, word: str) -> int:
        return len(line[: line.index(word)].encode(units)) // width

    try:
        assert one.about["capabilities"]["positionEncoding"] == units.removesuffix("-le")
        uri = uri_of(tmp_path)
        lines = [
            'rig "🧗 Über die Kante"',
            "anchor 𝐛olt, überhang",
            'person ann: is "🧗🧗", points waist, hüfte',
            "attach 𝐛olt - a sling - ann.waist",
            'sound überhang fails: "🧗"',
            "\tattach überhang - a sling - ann.hüfte",
            'note "🧗" note',
        ]
        one.open(uri, "\n".join(lines))
        found = {d["range"]["start"]["line"]: d["range"]["start"]["character"] for d in one.told(uri)}
        assert found[6] == character(lines[6], " note") + 1
        del lines[6]
        lines[5] = lines[5].strip()
        one.type(uri, "\n".join(lines))
        assert not [d for d in one.told(uri) if d["severity"] == ERROR]
        at = character(lines[2], "hüfte")
        (place,) = one.at("definition", uri, 5, character(lines[5], "hüfte"))
        assert place["range"]["start"] == {"line": 2, "character": at}
        (edits,) = one.at("rename", uri, 4, character(lines[4], "überhang"), newName="𝐱")["changes"].values()
        assert [e["range"]["start"]["character"] for e in edits] == [
            character(lines[1], "überhang"), character(lines[4], "überhang"), character(lines[5], "überhang"),
        ]  # fmt: skip
        assert one.stop() == 0
    finally:
        one.kill()


def test_a_byte_order_mark_and_other_line_ends(editor: Editor, tmp_path: Path) -> None:
    uri = uri_of(tmp_path)
    editor.open(uri, '\ufeffrigg "x"\r\nanchor bolt\r\nrnig a\r\n')
    found = [(d["range"]["start"]["line"], d["range"]["start"]["character"]) for d in editor.told(uri)]
    assert found == [(0, 1), (2, 0)]
    editor.type(uri, 'rig "a\u2028b"\nrnig a\n')  # a line end for Python, none for the protocol
    assert [d["range"]["start"]["line"] for d in editor.told(uri)] == [1]


# -- robust


def test_odd_texts_are_told_and_nothing_falls_over(editor: Editor, tmp_path: Path) -> None:
    uri = uri_of(tmp_path)
    editor.open(uri, "")
    assert [d["message"].split("\n")[0] for d in editor.told(uri)] == ["this file is empty"]
    assert editor.at("completion", uri, 0, 0)["items"]
    assert editor.at("documentSymbol", uri, 0, 0) == []
    for odd in ("\ud800", "\0", "\x1b[2J", "a" * 5000, "(" * 1000, "\t \t", "rig", ": - :", "#", '"'):
        editor.type(uri, odd)
        editor.told(uri)
        for method, more in (
            ("hover", {}),
            ("completion", {}),
            ("definition", {}),
            ("references", {"context": {"includeDeclaration": True}}),
        ):
            editor.at(method, uri, 0, 1, **more)
            editor.at(method, uri, 99, 99, **more)


def test_an_included_file_that_is_not_text(editor: Editor, tmp_path: Path) -> None:
    (tmp_path / "kit.rig").write_bytes(b'note "ok"\nnote "\xff"\n')
    editor.open(uri_of(tmp_path), TWO_LINES + 'include "kit.rig"\n')
    kit = uri_of(tmp_path, "kit.rig")
    while kit not in editor.diagnostics:
        editor.receive()
    (one,) = editor.diagnostics[kit]
    assert one["message"].startswith("this is not UTF-8 text")
    assert one["range"]["start"]["line"] == 1


def test_a_text_too_large_is_refused_in_words(editor: Editor, tmp_path: Path) -> None:
    editor.open(uri_of(tmp_path), "# " + "x" * 100 + "\n" + "ring a\n" * 300_000)
    (one,) = editor.told(uri_of(tmp_path))
    assert "larger than 2 MB" in one["message"]
    editor.close(uri_of(tmp_path))


def test_a_large_text_is_left_alone_and_says_so(editor: Editor, tmp_path: Path) -> None:
    editor.open(uri_of(tmp_path), big_rig(9000))
    (one,) = editor.told(uri_of(tmp_path))
    assert one["message"].startswith("this text is larger than 100 kB: it is not checked")
    assert editor.at("hover", uri_of(tmp_path), 1, 9) is None
    editor.type(uri_of(tmp_path), TWO_LINES)
    assert "single-point" in {d["code"] for d in editor.told(uri_of(tmp_path))}
    editor.close(uri_of(tmp_path))


def test_a_text_that_was_never_saved(editor: Editor) -> None:
    editor.open("untitled:Untitled-1", TWO_LINES)
    assert {d["code"] for d in editor.told("untitled:Untitled-1")} >= {"single-point"}
    editor.close("untitled:Untitled-1")


def test_started_as_many_editors_do(tmp_path: Path) -> None:
    one = Editor(tmp_path, options=["--stdio"])
    assert one.stop() == 0
    one.kill()


def test_requests_that_make_no_sense_leave_the_server_alive(tmp_path: Path) -> None:
    one = Editor(tmp_path)
    try:
        one.send_bytes(b"{not json")
        one.send({"method": "textDocument/didChange", "params": {"nonsense": True}})
        one.send({"id": "x", "method": "textDocument/unheardOf", "params": {}})
        one.send({"id": "y", "method": "textDocument/hover", "params": {"textDocument": 3}})
        one.at("hover", "file:///nowhere/at/all.rig", 0, 0)
        one.at("completion", "not a uri at all", 0, 0)
        one.open(uri_of(tmp_path), "rig\n")
        assert one.told(uri_of(tmp_path))
        assert one.stop() == 0
    finally:
        one.kill()


@pytest.mark.parametrize("what", ["hover", "definition", "completion"])
def test_a_place_that_no_text_has_is_answered(what: str, tmp_path: Path) -> None:
    one = Editor(tmp_path)
    try:
        one.open(uri_of(tmp_path), "rig\n")
        for line, character in ((-1, 0), (0, -1), (-(2**40), 2**40)):
            with pytest.raises(Refused, match="Invalid Params"):
                one.at(what, uri_of(tmp_path), line, character)
        assert one.stop() == 0
    finally:
        one.kill()


def test_what_is_no_ordinary_file_is_not_read(tmp_path: Path) -> None:
    """Not even the server's own input, which would take the editor's words away."""
    os.mkfifo(tmp_path / "pipe.rig")
    one = Editor(tmp_path)
    try:
        for uri in ("file:///dev/zero", "file:///dev/stdin", (tmp_path / "pipe.rig").as_uri()):
            one.at("hover", uri, 0, 0)
            of = {"textDocument": {"uri": uri}, "options": {"tabSize": 4, "insertSpaces": True}}
            one.ask("textDocument/formatting", of)
            one.ask("textDocument/semanticTokens/full", {"textDocument": {"uri": uri}})
        assert one.stop() == 0
    finally:
        one.kill()


def test_going_away_without_shutdown_is_told_by_the_exit_status(tmp_path: Path) -> None:
    one = Editor(tmp_path)
    one.tell("exit", None)
    assert one.process.wait(20) == 1
    one.kill()
    two = Editor(tmp_path)
    assert two.process.stdin
    two.process.stdin.close()  # the editor has crashed
    assert two.process.wait(20) == 1
    two.kill()


def big_rig(people: int) -> str:
    """People each on two slings, with rings: many parts, nothing single."""
    rows = [f"attach top - strap s{n} - ring r{n} - p{n}.a\nattach low - strap t{n} - p{n}.b" for n in range(people)]
    declared = "\n".join(f"person p{n}: points a, b" for n in range(people))
    return f'rig "x"\nanchor top, low\n{declared}\n' + "\n".join(rows) + "\n"


def test_a_search_that_was_stopped_says_so() -> None:
    from analyser.checking.analysing import analyse
    from analyser.doors.editor.diagnostics import of_check
    from analyser.doors.editor.readings import Held, read

    path = Path("/nowhere/rig.rig")
    reading = read(path, {path: Held("file:///nowhere/rig.rig", 1, TWO_LINES)})
    assert reading.rig
    told = of_check(reading, analyse(reading.rig, 2, lambda *_: False), "utf-16")["file:///nowhere/rig.rig"]
    (one,) = [d for d in told if d.code == "not-fully-searched"]
    assert "Complete to order 1 (stopped by the budget" in one.message
    assert CAUTIONS[0] in one.message


def test_a_text_typed_over_a_long_check_is_answered(editor: Editor, tmp_path: Path) -> None:
    """What was started for an older text is stopped and never shown."""
    uri = uri_of(tmp_path)
    editor.open(uri, big_rig(300))
    time.sleep(0.6)
    editor.type(uri, TWO_LINES)
    start = time.monotonic()
    assert {d["code"] for d in editor.told(uri)} >= {"single-point"}
    assert time.monotonic() - start < PATIENCE / 2
    assert all(version in (None, 2) for of, version, _ in editor.published if of == uri)
    editor.close(uri)

"""Names over the language server: where they are, who uses them, and renaming them everywhere."""

from __future__ import annotations

from pathlib import Path

import pytest
from editor_client import TWO_LINES, Editor, Refused, apply, uri_of, where

import analyser

ROOT = Path(__file__).parent.parent


# -- where names are


def test_definition_of_parts_points_knots_ropes_and_kinds(editor: Editor, tmp_path: Path) -> None:
    text = TWO_LINES.replace("anchor left", "kind bolt like anchor\nbolt left", 1)
    uri = uri_of(tmp_path)
    editor.open(uri, text)

    def given(word: str, number: int = 0) -> tuple[int, int]:
        (one,) = editor.at("definition", uri, *where(text, word, number))
        return one["range"]["start"]["line"], one["range"]["start"]["character"]

    assert given("left-bolt", 1) == where(text, "left-bolt")
    assert given("waist\n") == where(text, "waist, chest")
    assert given("red[") == where(text, "red: 11")
    assert given("lip..") == where(text, "lip")
    assert given("red-bowline]") == where(text, "tied to master with bowline")  # named by its station
    assert given("rockfall strikes") == where(text, "rockfall")
    assert given("bolt left") == where(text, "bolt like")


def test_definition_of_an_include_and_of_what_it_gives(editor: Editor, tmp_path: Path) -> None:
    kit = tmp_path / "kit.rig"
    kit.write_text("ring master\n", encoding="utf-8")
    text = TWO_LINES.replace("ring master", 'include "kit.rig"')
    uri = uri_of(tmp_path)
    editor.open(uri, text)
    (one,) = editor.at("definition", uri, *where(text, "kit.rig"))
    assert one["uri"] == kit.as_uri()
    (one,) = editor.at("definition", uri, *where(text, "master"))
    assert one == {
        "uri": kit.as_uri(),
        "range": {"start": {"line": 0, "character": 5}, "end": {"line": 0, "character": 11}},
    }


def test_references(editor: Editor, tmp_path: Path) -> None:
    uri = uri_of(tmp_path)
    editor.open(uri, TWO_LINES)
    place = where(TWO_LINES, "lip", 1)
    found = editor.at("references", uri, *place, context={"includeDeclaration": True})
    starts = [(one["range"]["start"]["line"], one["range"]["start"]["character"]) for one in found]
    assert starts == [where(TWO_LINES, "lip", n) for n in range(3)]
    assert len(editor.at("references", uri, *place, context={"includeDeclaration": False})) == 2


# -- renaming


def renamed(editor: Editor, folder: Path, text: str, word: str, new: str, number: int = 0) -> str:
    uri = uri_of(folder)
    editor.open(uri, text)
    try:
        found = editor.at("rename", uri, *where(text, word, number), newName=new)
    finally:
        editor.close(uri)
    return apply(text, found["changes"].get(uri, []))


def test_a_rope_is_renamed_with_what_is_named_for_it(editor: Editor, tmp_path: Path) -> None:
    text = renamed(editor, tmp_path, TWO_LINES, "red: 11", "blue")
    assert 'sound left-bolt fails: "red is the colour of left-bolt"' in text  # quoted text is left alone
    expected = (
        TWO_LINES.replace("rope red", "rope blue").replace("red[", "blue[").replace("red-bowline", "blue-bowline")
    )
    assert text == expected  # and `red-top` has a name of its own
    before, after = (analyser.check(analyser.read_text(one)) for one in (TWO_LINES, text))
    assert [f.falls for f in after.failures] == [
        f.falls for f in sorted(before.failures, key=lambda f: f.id.replace("red[", "blue[").replace("red-b", "blue-b"))
    ]


def test_a_part_is_renamed_in_spans_labels_and_what_is_named_for_it(editor: Editor, tmp_path: Path) -> None:
    text = """\
rig "x"
anchor top, low
ring master
person ann: points waist
rope red
    tied to top
    through master
    through master
    tied to low
attach master - a sling - ann.waist
accept master-sling fails, red[master..master#2] is cut: "master"
"""
    assert renamed(editor, tmp_path, text, "master", "hub") == (
        text.replace("master", "hub").replace('"hub"', '"master"')
    )


def test_people_points_and_own_kinds_are_renamed(editor: Editor, tmp_path: Path) -> None:
    text = TWO_LINES.replace("anchor left", "kind bolt like anchor\nbolt left", 1)
    assert renamed(editor, tmp_path, text, "ann", "eva") == text.replace("ann", "eva")
    assert renamed(editor, tmp_path, text, "waist", "hips").count("hips") == 2
    assert "kind glued like anchor\nglued left-bolt" in renamed(editor, tmp_path, text, "bolt", "glued")


def test_renaming_reaches_included_files_and_those_that_include(editor: Editor, tmp_path: Path) -> None:
    kit = "ring master\n"
    (tmp_path / "kit.rig").write_text(kit, encoding="utf-8")
    main = TWO_LINES.replace("ring master", 'include "kit.rig"')
    (tmp_path / "rig.rig").write_text(main, encoding="utf-8")
    uri, other = uri_of(tmp_path), uri_of(tmp_path, "kit.rig")
    editor.open(other, kit)
    found = editor.at("rename", other, 0, 6, newName="hub")["changes"]
    assert apply(kit, found[other]) == "ring hub\n"
    assert apply(main, found[uri]) == main.replace("master", "hub")
    editor.close(other)


@pytest.mark.parametrize(
    ("word", "new", "why"),
    [
        ("master", "two words", "not a name"),
        ("master", "left-bolt", "taken already"),
        ("master", "red-bowline", "taken already"),
        ("master", "red", "taken already"),
        ("chest", "waist", "taken already"),
        ("ring master", "hoop", "a kind of the catalogue"),
        ("red-bowline", "knot-1", "no name of its own"),
        ("invented", "x", "no name stands here"),
    ],
)
def test_a_rename_is_refused_with_its_reason(editor: Editor, tmp_path: Path, word: str, new: str, why: str) -> None:
    with pytest.raises(Refused, match=why):
        renamed(editor, tmp_path, TWO_LINES, word, new)


def test_a_rename_that_would_change_the_rig_is_refused(editor: Editor, tmp_path: Path) -> None:
    litter = (
        'rig "x"\nanchor top\nlitter bed: points head-end, foot-end\n'
        "attach top - sling a - bed.head-end\nattach top - sling b - bed.foot-end\n"
    )
    with pytest.raises(Refused, match="something else"):  # its ends are told by the names of its points
        renamed(editor, tmp_path, litter, "head-end", "left-end")
    with pytest.raises(Refused, match=r"mend rig.rig line 2"):
        renamed(editor, tmp_path, litter.replace("anchor top", "anchor top,"), "bed", "stretcher")


def test_what_can_be_renamed_is_said_beforehand(editor: Editor, tmp_path: Path) -> None:
    editor.open(uri_of(tmp_path), TWO_LINES)
    line, character = where(TWO_LINES, "red-bowline slips")
    with pytest.raises(Refused, match=r"line 13 \(`as NAME`"):
        editor.at("prepareRename", uri_of(tmp_path), line, character)
    found = editor.at("prepareRename", uri_of(tmp_path), *where(TWO_LINES, "master", 2))
    assert found["start"] == dict(zip(("line", "character"), where(TWO_LINES, "master", 2), strict=True))


def test_versions_go_with_the_edits_where_the_editor_wants_them(tmp_path: Path) -> None:
    one = Editor(tmp_path, document_changes=True)
    try:
        uri = uri_of(tmp_path)
        one.open(uri, TWO_LINES)
        (found,) = one.at("rename", uri, *where(TWO_LINES, "master"), newName="hub")["documentChanges"]
        assert found["textDocument"] == {"uri": uri, "version": 1}
        assert apply(TWO_LINES, found["edits"]) == TWO_LINES.replace("master", "hub")
        assert one.stop() == 0
    finally:
        one.kill()


@pytest.mark.parametrize("path", sorted((ROOT / "examples").glob("*.rig")), ids=lambda path: path.stem)
def test_any_name_of_an_example_can_be_renamed(path: Path) -> None:
    """The text with the edits is the same rig: the same figures for the same people, in the same order."""
    from analyser.doors.editor.names import Sort
    from analyser.doors.editor.readings import Held, read
    from analyser.doors.editor.renaming import NotRenamed, _applied, rename

    text = path.read_text(encoding="utf-8")
    reading = read(path, {path: Held(path.as_uri(), 1, text)})
    assert reading.rig
    given = list({(one.sort, one.name): one for one in reading.names.all if one.gives}.values())
    for named in given[::4]:
        try:
            edits = rename([reading], named, "new-name")
        except NotRenamed:
            assert named.sort is Sort.POINT and named.name.partition(".")[2].startswith(("head", "foot"))
            continue
        after = _applied(reading, edits)[path].text
        rig = analyser.read_text(after, folder=path.parent)
        assert (len(rig.parts), len(rig.failures)) == (len(reading.rig.parts), len(reading.rig.failures))
        words = after.replace("new-name", named.name.rpartition(".")[2])
        assert "new-name" in after
        assert words == text, named

"""Procedures of several rigs in one document, in a team's own template, and on to a word processor's file.

The converter is a general one that knows nothing of this project: markdown-it-py (CommonMark, with tables) to HTML,
htmldocx and python-docx from there. What it made is read back and held against the page.
"""

from __future__ import annotations

import json
from pathlib import Path

import docx
import pytest
from htmldocx import HtmlToDocx
from markdown_it import MarkdownIt

import analyser
from analyser.checking.analysing import analyse
from analyser.doors.commands.main import main
from analyser.language.mistakes import Unreadable
from analyser.pages.tree import Block, Section, Table, Title
from analyser.pages.writers.markdown import marked_down
from analyser.pages.writers.templated import templated
from analyser.pages.writing.procedure_page import Procedures, procedures
from analyser.rig.plan import Plan
from analyser.uses.procedure.document import procedure

TEMPLATES = Path(__file__).parent.parent / "examples" / "templates"
MET = """rig "Two | straps & <b>a check</b>"
revision 4
anchor left, right
person sam: 80 kg, points waist, chest
attach left - strap one - sam.waist
attach right - strap two - sam.chest
stage "Over"
    check "*both* gates locked"
    attach left - strap three - sam.chest, by sam
"""
BROKEN = """rig "One strap"
anchor bolt
person jo
attach bolt - strap lone - jo
"""


def together(*texts: str) -> Procedures:
    plans = [analyser.read_text(text, f"{number}.rig") for number, text in enumerate(texts, 1)]
    results = [analyse(plan) for plan in plans]
    return procedures([(procedure(one, one.rig.place.file), one) for one in results])


@pytest.fixture(scope="module")
def two() -> Procedures:
    return together(MET, BROKEN)


def filled(two: Procedures, tmp_path: Path, text: str, ending: str = ".md") -> str:
    template = tmp_path / f"own{ending}"
    template.write_text(text, encoding="utf-8")
    return templated(template, ending, two.given, two.never_without)


# -- several in one document


def test_several_rigs_are_one_document_with_one_table_of_approval(two: Procedures) -> None:
    text = marked_down(two.page.blocks)
    assert text.count("\n## Approval") == 1 and text.count("\n### Steps") == 2
    approval = text[text.index("## Approval") :]
    for made in two.made:
        assert made.digest in approval and made.closing in approval and made.file in approval
    for who in ("Made by", "Checked by", "Approved by", "In charge of the work"):
        assert f"| {who} | ____" in approval
    assert text.count("A model of what was written") == 2, "each carries the cautions"


def test_a_signature_names_the_very_text(tmp_path: Path) -> None:
    kit, rig = tmp_path / "kit.rig", tmp_path / "a.rig"
    kit.write_text("ring hub: strength 40 kN\n")
    rig.write_text('rig "A"\ninclude "kit.rig"\nanchor bolt\nattach bolt - hub\n')
    digests = []
    for change in ("", "# a remark\n", "ring other\n"):
        kit.write_text(f"ring hub: strength 40 kN\n{change}")
        digests.append(analyser.read(rig).digest)
    assert len(set(digests)) == 3 and all(len(one) == 8 for one in digests)
    assert isinstance(analyser.read(rig), Plan) and analyser.read(rig).digest == digests[-1]


def test_the_command_takes_several_rigs(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for name, text in (("a.rig", MET), ("b.rig", BROKEN)):
        (tmp_path / name).write_text(text)
    both = [str(tmp_path / "a.rig"), str(tmp_path / "b.rig")]
    assert main(["procedure", *both, "-o", str(tmp_path / "p.md")]) == 1
    assert capsys.readouterr().err.count("not met") == 1
    assert main(["procedure", str(tmp_path), "-o", str(tmp_path / "q.md")]) == 1
    assert (tmp_path / "p.md").read_bytes() == (tmp_path / "q.md").read_bytes()
    capsys.readouterr()
    assert main(["procedure", *both, "--json"]) == 1
    told = json.loads(capsys.readouterr().out)
    assert [(one["rig"], one["met"], len(one["digest"])) for one in told] == [
        ("Two | straps & <b>a check</b>", True, 8),
        ("One strap", False, 8),
    ]
    assert main(["procedure", *both, "-o", both[0]]) == 2
    (tmp_path / "b.rig").write_text('rig "broken"\nancor bolt\n')
    assert main(["procedure", *both, "-o", str(tmp_path / "none.md")]) == 2
    assert "b.rig:2:1" in capsys.readouterr().err and not (tmp_path / "none.md").exists()


# -- a team's own template


@pytest.mark.parametrize("ending", [".md", ".html"])
def test_the_examples_are_filled(two: Procedures, ending: str) -> None:
    made = templated(TEMPLATES / f"team{ending}", ending, two.given, two.never_without)
    assert "Rope team of an invented town" in made and made.count("In charge of the work") == 1
    assert made == templated(TEMPLATES / f"team{ending}", ending, two.given, two.never_without)
    if ending == ".html":
        assert "<b>a check</b>" not in made and "&lt;b&gt;a check&lt;/b&gt;" in made
        assert "https:" not in made and "<script" not in made
    else:
        assert "<" not in made and "Two \\| straps &amp; &lt;b&gt;" in made


@pytest.mark.parametrize("ending", [".md", ".html"])
def test_a_template_that_changes_nothing_makes_the_document_itself(
    two: Procedures, ending: str, tmp_path: Path
) -> None:
    made = filled(two, tmp_path, '{% extends "procedure" %}\n', ending)
    if ending == ".md":
        assert " ".join(made.split()) == " ".join(marked_down(two.page.blocks).split())
    bare = "\n".join(f"{{{{ {piece} }}}}" for piece in ("front", "procedures", "approval"))
    said = filled(two, tmp_path, bare, ending).split()
    assert " ".join(said) in " ".join(made.split())


def test_a_template_reads_what_the_procedure_says(two: Procedures, tmp_path: Path) -> None:
    text = "{% for rig in rigs %}{{ rig.title }}: {{ rig.document.people[0].name }}\n{{ rig.procedure }}\n{% endfor %}"
    made = filled(two, tmp_path, text)
    assert made.startswith("Two \\| straps &amp; &lt;b&gt;a check&lt;/b&gt;: sam\n") and "One strap: jo\n" in made


@pytest.mark.parametrize(
    ("text", "line", "told"),
    [
        ("one\n{% block %}\n", 2, "this template can't be read"),
        ("one\ntwo {{ titel }}\n{{ procedures }}", 2, "'titel' is undefined"),
        ("\n{{ rigs[9].title }}", 2, "this template can't be filled"),
        ('{% include "gone.md" %}', 1, "there is no template `gone.md`"),
        ("{{ title.__class__.__mro__ }}", 1, "can't be filled"),
        ("{{ 1 // 0 }}", 1, "can't be filled"),
        ("{{ front }}{{ approval }}", 1, "leaves out: A model of what was written"),
        ("{{ rigs[0].cautions }} {{ rigs[0].closing }}", 1, "leaves out: not met (2 of 2 requirements broken)"),
    ],
)
def test_a_templates_mistake_is_told_with_its_line(
    two: Procedures, tmp_path: Path, text: str, line: int, told: str
) -> None:
    with pytest.raises(Unreadable) as error:
        filled(two, tmp_path, text)
    (one,) = error.value.mistakes
    assert (one.place.line, told in one.text, one.place.file) == (line, True, "own.md"), one.text


def test_nothing_is_written_where_the_template_cannot_be(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    rig, out, template = tmp_path / "a.rig", tmp_path / "a.md", tmp_path / "t.md"
    rig.write_text(BROKEN)
    for data in (None, b"\xff", b"{{ nothing }}"):
        if data is not None:
            template.write_bytes(data)
        assert main(["procedure", str(rig), "--template", str(template), "-o", str(out)]) == 2
        assert capsys.readouterr().err.startswith("t.md:1") and not out.exists()
    template.write_text('{% extends "procedure" %}')
    assert main(["procedure", str(rig), "--template", str(template), "-o", str(template)]) == 2
    assert template.read_text() == '{% extends "procedure" %}'
    assert main(["procedure", str(rig), "--template", str(template), "-o", str(out)]) == 1


# -- on to a word processor


def blocks_of(blocks: tuple[Block, ...]) -> list[Block]:
    found: list[Block] = []
    for one in blocks:
        found += [one, *(blocks_of(one.blocks) if isinstance(one, Section) else ())]
    return found


def test_an_ordinary_converter_makes_a_word_processors_file_of_it(two: Procedures, tmp_path: Path) -> None:
    html = MarkdownIt("commonmark").enable("table").render(marked_down(two.page.blocks))
    written = docx.Document()
    HtmlToDocx().add_html_to_document(html, written)
    written.save(str(tmp_path / "p.docx"))
    read = docx.Document(str(tmp_path / "p.docx"))
    every = blocks_of(two.page.blocks)
    tables = [one for one in every if isinstance(one, Table)]
    assert len(read.tables) == len(tables)
    for made, table in zip(read.tables, tables, strict=True):
        assert len(made.rows) == len(table.rows) + 1 and len(made.columns) == len(table.columns)
    heads = [one.text for one in read.paragraphs if one.style.name.startswith("Heading")]
    assert len(heads) == sum(isinstance(one, Section | Title) for one in every)
    assert heads[0].startswith("Procedures: Two | straps & <b>a check</b>") and heads[-1] == "Approval"
    assert [cell.text for cell in read.tables[-1].rows[3].cells][:2] == ["Approved by", "____________"]
    text = "\n".join(one.text for one in read.paragraphs)
    assert "*both* gates locked" in text and "**" not in text and "\\" not in text

"""The four writers of a page: any text comes out as it stands in each, and nothing is lost."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st
from markdown_it import MarkdownIt
from rich.cells import cell_len

import analyser.pages.tree as tree
from analyser.pages.tree import Block, Page
from analyser.pages.writers.hypertext import elements, whole
from analyser.pages.writers.markdown import markdown
from analyser.pages.writers.terminal import Screen, plain, written

GOLDEN = Path(__file__).parent / "pages"
NASTY = (
    *("*", "_", "`", "``", "[x](y)", "<b>", "&amp;", "| a |", "# h", "- i", "1. n", "+", "=", "~~", "![", "$x$", "^"),
    *(
        "</script>",
        "{{ 7*7 }}",
        "\\",
        "a@b.c",
        "http://x.y",
        "www.z",
        "::",
        "[bold]",
        "[/]",
        ":warning:",
        "<!--",
        "---",
    ),
    *(
        "שלום",
        "مرحبا",
        "漢字",
        "e\u0301",
        "👩‍🚒",
        "\u200f",
        "\u202e",
        "ﷺ",
        "\x1b[31m",
        "\x00",
        "\x07",
        "\u2028",
        "\u00a0",
    ),
)
"""Marks of Markdown, HTML, templates and rich; right to left, wide and combining characters; what steers a terminal."""
texts = st.lists(
    st.one_of(st.sampled_from(NASTY), st.text(max_size=8), st.text("abc -–\n", max_size=8)), min_size=1, max_size=4
).map(" ".join)
names = st.text("abcdefgh漢-", min_size=1, max_size=9)


# -- any tree


spans = st.builds(tree.Span, texts, st.sampled_from(tree.Look), st.booleans())
inlines = st.one_of(
    texts, spans, st.just(tree.Tick()), st.builds(tree.Fill, st.booleans()), st.builds(tree.Link, texts, names)
)
words = st.one_of(texts, spans, st.lists(inlines, max_size=3).map(tuple))
items = st.builds(tree.Item, words)
listings = st.builds(tree.Listing, st.lists(items, max_size=3).map(tuple), names, st.booleans(), st.booleans())
cells = st.one_of(words, listings)


@st.composite
def tables(draw: st.DrawFn) -> tree.Table:
    columns = draw(st.lists(st.builds(tree.Column, words, st.booleans()), min_size=1, max_size=4))
    row = st.one_of(st.tuples(*[cells] * len(columns)), st.builds(tree.Under, words))
    rows = tuple(draw(st.lists(row, max_size=4)))
    return tree.Table(tuple(columns), rows, about=draw(st.sampled_from([None, 0])), flush=draw(st.booleans()))


several = st.lists(words, max_size=2).map(tuple)
leaves = st.one_of(
    st.builds(tree.Title, texts, several, several, st.sampled_from(["", "Paper"])),
    tables(),
    listings,
    st.builds(tree.Fact, words, words, st.sampled_from([4, 15])),
    st.builds(tree.Line, words),
    st.builds(tree.Note, words, st.booleans()),
    st.builds(tree.Warn, names, words),
    st.builds(tree.Verdict, words, words),
    st.just(tree.Gap()),
    st.builds(tree.Code, st.lists(texts.filter(lambda text: "\n" not in text), max_size=3).map(tuple)),
    st.builds(tree.Fields, st.lists(names, min_size=1, max_size=3).map(tuple), st.lists(names, max_size=2).map(tuple)),
)  # fmt: skip


def containers(inner: st.SearchStrategy[Block]) -> st.SearchStrategy[Block]:
    several = st.lists(inner, max_size=3).map(tuple)
    return st.one_of(
        st.builds(tree.Section, texts, several, texts, st.sampled_from(["", "apart", "across", "whole"])),
        st.builds(tree.Step, names, words, words, names, st.booleans(), st.booleans(), st.booleans(), several, several),
        st.builds(tree.Leaf, words, words, words, several),
        st.builds(tree.Hidden, texts, several, st.booleans()),
        st.builds(lambda item: tree.Listing((item,)), st.builds(tree.Item, words, several)),
    )


blocks = st.recursive(leaves, containers, max_leaves=6)
pages = st.lists(blocks, min_size=1, max_size=3).map(lambda several: Page(tuple(several), "A page"))


def said(one: object) -> Iterator[str]:
    """Every text of a tree that is shown to people, in no particular order."""
    if isinstance(one, str):
        yield one
    elif isinstance(one, tuple):
        for part in one:
            yield from said(part)
    elif isinstance(one, tree.Span | tree.Link):
        yield one.text
    elif hasattr(one, "__dataclass_fields__"):
        hidden = ("look", "sheet", "sort", "language", "to", "id")
        for name in one.__dataclass_fields__:
            if name not in hidden:
                yield from said(getattr(one, name))


def letters(text: str) -> Counter[str]:
    """What is seen of a text, whatever its case: a writer may set a heading in capitals."""
    seen = tree.legible(text).upper()
    return Counter(letter for letter in seen if not letter.isspace())


def lost(page: Page, shown: str) -> Counter[str]:
    return letters("".join(text for block in page.blocks for text in said(block))) - letters(shown)


@settings(max_examples=80, deadline=None)
@given(pages, st.sampled_from([24, 40, 60, 100, 200]))
def test_a_terminal_loses_nothing_and_is_never_steered(page: Page, width: int) -> None:
    shown = written(page, Screen(width))
    bare = re.sub(r"\x1b\[[0-9;]*m", "", shown)
    assert not lost(page, bare)
    assert not tree.CONTROL.search(bare)
    code = {tree.legible(line).rstrip() for block in page.blocks for line in codes(block)}
    for line in bare.split("\n"):
        assert cell_len(line) <= width or line.strip() in {one.strip() for one in code}


def codes(one: object) -> Iterator[str]:
    """The lines that never wrap."""
    if isinstance(one, tree.Code):
        yield from one.lines
    elif isinstance(one, tuple):
        for part in one:
            yield from codes(part)
    elif hasattr(one, "__dataclass_fields__"):
        for name in one.__dataclass_fields__:
            yield from codes(getattr(one, name))


@settings(max_examples=60, deadline=None)
@given(pages)
def test_plain_text_is_what_goes_into_a_pipe(page: Page) -> None:
    shown = plain(page)
    assert "\x1b" not in shown and not lost(page, shown)
    assert shown == plain(page)


# -- HTML


class Reader(HTMLParser):
    """The words of a page, its elements and their attributes; they are closed as they were opened."""

    VOID = ("meta", "br")

    def __init__(self, page: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.tags: Counter[str] = Counter()
        self.attributes: set[str] = set()
        self.words: list[str] = []
        self.feed(page)
        self.close()
        assert not self.open

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags[tag] += 1
        self.attributes |= {name for name, _ in attrs}
        if tag not in self.VOID:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if self.open and self.open[-1] != "style":
            self.words.append(data)


OURS = {
    *("html", "head", "meta", "title", "style", "body", "main", "section", "div", "span", "p", "br", "pre", "code"),
    *(
        "h1",
        "h2",
        "h3",
        "h4",
        "h5",
        "h6",
        "dl",
        "dt",
        "dd",
        "ul",
        "ol",
        "li",
        "table",
        "thead",
        "tbody",
        "tr",
        "th",
        "td",
    ),
    *("strong", "em", "small", "bdi", "a", "details", "summary"),
}


@settings(max_examples=80, deadline=None)
@given(pages)
def test_a_browser_is_told_all_and_reads_nothing_as_markup(page: Page) -> None:
    read = Reader(whole(page, ("page.css",)))
    assert not lost(page, "".join(read.words))
    assert set(read.tags) <= OURS and not {name for name in read.attributes if name.startswith("on")} | (
        read.attributes & {"style", "src"}
    )
    assert read.attributes & {"href"} == ({"href"} if read.tags["a"] else set())


def test_a_page_has_its_policy_and_no_script_unless_it_needs_one() -> None:
    page = whole(Page((tree.Title("One"),), "One"), ("page.css",))
    assert "<script" not in page and "script-src &#39;none&#39;" in page
    assert page.count("Content-Security-Policy") == 1


def test_what_a_file_says_runs_in_its_own_direction() -> None:
    told = elements((tree.Title("שלום"), tree.Line(("by ", tree.given("مرحبا"), " alone"))))
    assert "<h1><bdi>שלום</bdi></h1>" in told and "by <bdi>مرحبا</bdi> alone" in told


# -- Markdown


def read_markdown(text: str) -> tuple[str, Counter[str]]:
    """What a reader of Markdown sees, and of which sorts the pieces are."""
    sorts: Counter[str] = Counter()
    words: list[str] = []
    for token in MarkdownIt("commonmark").enable("table").parse(text):
        for one in (token, *(token.children or ())):
            sorts[one.type] += 1
            if one.type in ("text", "code_inline", "fence"):
                words.append(one.content)
    return "".join(words), sorts


def count(one: object, sort: type | tuple[type, ...]) -> int:
    """How many of a sort are in a tree."""
    own = isinstance(one, sort)
    if isinstance(one, tuple):
        return own + sum(count(part, sort) for part in one)
    return own + sum(count(getattr(one, name), sort) for name in getattr(one, "__dataclass_fields__", ()))


@settings(max_examples=150, deadline=None)
@given(pages)
def test_markdown_loses_nothing_and_no_mark_means_anything(page: Page) -> None:
    shown, sorts = read_markdown(markdown(page))
    assert not lost(page, shown)
    assert not {"html_block", "html_inline", "image", "hr", "blockquote_open", "code_block"} & set(sorts)
    assert sorts["heading_open"] == count(page.blocks, (tree.Title, tree.Section, tree.Leaf))
    assert sorts["link_open"] <= count(page.blocks, tree.Link)
    assert sorts["fence"] == count(page.blocks, tree.Code)
    assert sorts["code_inline"] <= sum(one.look is tree.Look.CODE for one in every_span(page.blocks))
    for line in markdown(page).split("\n"):
        assert line == line.rstrip() or "```" in markdown(page)


def every_span(one: object) -> Iterator[tree.Span]:
    if isinstance(one, tree.Span):
        yield one
    elif isinstance(one, tuple):
        for part in one:
            yield from every_span(part)
    else:
        for name in getattr(one, "__dataclass_fields__", ()):
            yield from every_span(getattr(one, name))

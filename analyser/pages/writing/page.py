"""The pages of the terminal as HTML: the same words, for a browser or for paper.

What a page says is put together once (`analyser/pages/writing/terminal.py`); here each piece of it becomes
the element that it is: a heading, a table, a list of labels and texts, a paragraph. Text that came
from a file is escaped wherever it goes.
"""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import lru_cache
from importlib.resources import files
from itertools import groupby
from typing import TYPE_CHECKING

from markupsafe import Markup, escape
from rich.console import Console, Group, RenderableType
from rich.padding import Padding
from rich.table import Column, Table
from rich.text import Text

from analyser.checking.finding import listed
from analyser.checking.results import Result
from analyser.language.mistakes import Mistake
from analyser.pages.drawing.rendering import NotDrawn
from analyser.pages.writing.checking import check_page
from analyser.pages.writing.grouping import in_brief
from analyser.pages.writing.pieces import Figure, Piece
from analyser.pages.writing.terminal import WIDTH_OF_A_PAGE, mistakes_text

if TYPE_CHECKING:
    from jinja2 import Template

CAPTION = "The rig as first attached: ground at the top, people at the bottom, single points marked."
BEING_DRAWN = "The diagram is being drawn."


def result_html(result: Result, file: str, diagram: Callable[[], bytes | NotDrawn | None]) -> Markup:
    """A result as the elements of a page, with its diagram (SVG) behind the first answer.

    `diagram` is asked for last, since drawing takes longest; it gives None for one still being drawn.
    """
    head, *rest = flat(check_page(result, file))
    parts = [_title(head), *elements(rest)]
    sections = [number for number, part in enumerate(parts) if part.startswith("<h2>")]
    parts.insert(sections[1], figure(diagram()))
    return Markup("\n").join(parts)


def mistakes_html(file: str, mistakes: Sequence[Mistake], sources: dict[str, list[str]]) -> Markup:
    """What stands in the place of a result: each mistake with its line and a caret under the piece."""
    text = mistakes_text(mistakes, sources)
    count = "one mistake" if len(mistakes) == 1 else f"{len(mistakes)} mistakes"
    return Markup('<h1>{} can\'t be understood: {}</h1>\n<pre class="wide">{}</pre>').format(file, count, text)


def whole(title: str, main: Markup, *, status: str = "", live: bool = False) -> str:
    """A whole page that needs nothing else. A live one refreshes itself from the address it came from."""
    return template("page.html").render(
        title=title, main=main, status=status, live=live, style=own("page.css"), refresh=own("refresh.js")
    )


def policy() -> str:
    """The Content-Security-Policy of a whole page: its own style and script, and nothing else."""
    return f"{sealed(own('page.css'), own('refresh.js'))}; connect-src 'self'; frame-ancestors 'none'"


def sealed(style: str, script: str = "") -> str:
    """The Content-Security-Policy of a page that is opened as a file: this style and script, nothing fetched."""
    own_script = f"'sha256-{digest(script)}'" if script else "'none'"
    return (
        f"default-src 'none'; style-src 'sha256-{digest(style)}'; script-src {own_script}; "
        "base-uri 'none'; form-action 'none'"
    )


def document_html(title: str, pieces: Iterable[Piece]) -> str:
    """A whole page of pieces, the first of which is its title; lists of lines are lines to paste."""
    parts: list[Markup] = []
    words: list[RenderableType] = []

    def told() -> None:
        parts.extend(elements(words))
        words.clear()

    for number, piece in enumerate(pieces):
        if isinstance(piece, Figure):
            told()
            parts.append(figure(piece.diagram, piece.caption))
        elif isinstance(piece, list):
            told()
            parts.append(Markup('<pre class="wide">{}</pre>').format("\n".join(piece)))
        elif number == 0:
            parts.append(_title(piece))
        else:
            words += flat(piece)
    told()
    return whole(title, Markup("\n").join(parts))


def figure(diagram: bytes | NotDrawn | None, caption: str = CAPTION) -> Markup:
    """The diagram inside the page, or why there is none."""
    if diagram is None:
        return Markup("<p>{}</p>").format(BEING_DRAWN)
    if isinstance(diagram, NotDrawn):
        return Markup("<p>No diagram: {}</p>").format(str(diagram))
    drawn = inside(diagram.decode())
    return Markup('<figure><div class="wide">{}</div><figcaption>{}</figcaption></figure>').format(drawn, caption)


def inside(svg: str) -> Markup:
    """A drawing as an element of a page: whoever drew it has escaped the words in it."""
    return Markup(svg[svg.index("<svg") :])


# -- from what the terminal prints to elements


def elements(pieces: Iterable[RenderableType]) -> Iterator[Markup]:
    """Each piece as its element; labels with texts that follow one another are one list."""
    for labelled, run in groupby(pieces, _is_labelled):
        if labelled:
            yield Markup("<dl>\n{}\n</dl>").format(Markup("\n").join(map(_labelled, run)))
        else:
            yield from filter(None, map(_element, run))


def flat(piece: RenderableType) -> Iterator[RenderableType]:
    """The pieces of a page, one after the other."""
    if isinstance(piece, Group):
        for one in piece.renderables:
            yield from flat(one)
    else:
        yield piece


def _element(piece: RenderableType) -> Markup:
    if isinstance(piece, Padding):
        return Markup("<h2>{}</h2>").format(_words(piece.renderable))
    if isinstance(piece, Table) and piece.show_header:
        return _table(piece)
    if isinstance(piece, Text):
        return Markup("<p>{}</p>").format(_words(piece)) if piece.plain.strip() else Markup()
    return _as_printed(piece)


def _as_printed(piece: RenderableType) -> Markup:
    """Whatever has no element of its own: as the terminal prints it."""
    screen = Console(width=WIDTH_OF_A_PAGE, emoji=False, markup=False, highlight=False, color_system=None)
    with screen.capture() as printed:
        screen.print(piece)
    return Markup('<pre class="wide">{}</pre>').format(printed.get())


def _title(piece: RenderableType) -> Markup:
    """The head of a page: its first line, and the notes below it."""
    assert isinstance(piece, Text)
    first, *notes = piece.split("\n")
    paragraphs = [Markup("<p>{}</p>").format(_words(note)) for note in notes]
    return Markup("\n").join([Markup("<h1>{}</h1>").format(_words(first, plain=("bold",))), *paragraphs])


def _is_labelled(piece: RenderableType) -> bool:
    return isinstance(piece, Table) and not piece.show_header and len(piece.columns) == 2


def _labelled(piece: RenderableType) -> Markup:
    assert isinstance(piece, Table)
    label, text = (next(iter(column.cells)) for column in piece.columns)
    term = Markup("<dt>{}</dt>").format(_words(label)) if _plain(label) else Markup()
    return term + Markup("<dd>{}</dd>").format(_words(text))


def _table(table: Table) -> Markup:
    numbers = [Markup(' class="number"') if column.justify == "right" else Markup() for column in table.columns]
    head = Markup().join(
        Markup('<th scope="col"{}>{}</th>').format(number, words)
        if (words := _words(column.header))
        else Markup("<td></td>")
        for number, column in zip(numbers, table.columns, strict=True)
    )
    rows = [_row(numbers, cells) for cells in zip(*map(_cells, table.columns), strict=True)]
    body = Markup("\n").join(rows)
    page = '<div class="wide"><table>\n<thead><tr>{}</tr></thead>\n<tbody>\n{}\n</tbody>\n</table></div>'
    return Markup(page).format(head, body)


def _cells(column: Column) -> list[RenderableType]:
    return list(column.cells)


def _row(numbers: Sequence[Markup], cells: Sequence[RenderableType]) -> Markup:
    first = Markup('<th scope="row">{}</th>').format(_words(cells[0], plain=("bold",)))
    rest = (
        Markup("<td{}>{}</td>").format(number, _words(cell))
        for number, cell in zip(numbers[1:], cells[1:], strict=True)
    )
    return Markup("<tr>{}{}</tr>").format(first, Markup().join(rest))


def _plain(words: RenderableType) -> str:
    return (words.plain if isinstance(words, Text) else str(words)).strip()


def _words(words: RenderableType, plain: Sequence[str] = ()) -> Markup:
    """Styled words as inline elements; `plain` are styles that the element around already has."""
    if not isinstance(words, Text):
        return escape(str(words).strip())
    pieces = []
    base = _console().get_style(words.style)
    for segment in words.render(_console(), end=""):
        style = base + segment.style
        text = escape(segment.text).replace("\n", Markup("<br>"))
        if style.bold and "bold" not in plain:
            alarm = style.color is not None and style.color.name == "red"
            text = Markup("<strong{}>{}</strong>").format(Markup(' class="alarm"') if alarm else "", text)
        if style.italic:
            text = Markup("<em>{}</em>").format(text)
        if style.dim:
            text = Markup("<small>{}</small>").format(text)
        pieces.append(text)
    return Markup().join(pieces).strip()


@lru_cache(maxsize=1)
def _console() -> Console:
    return Console(color_system="truecolor", force_terminal=True, emoji=False, markup=False, highlight=False)


@lru_cache
def template(name: str) -> Template:
    """One of our own templates: what is put in is escaped, as text of HTML or, in a `.md`, of Markdown."""
    from jinja2 import Environment, StrictUndefined

    from analyser.pages.writing.markdown import literal

    finalize = literal if name.endswith(".md") else None
    environment = Environment(
        autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True, finalize=finalize
    )
    environment.filters |= {"listed": listed, "in_brief": in_brief}
    return environment.from_string(own(name))


@lru_cache
def own(name: str) -> Markup:
    """A file that lies beside the templates."""
    return Markup(files(__package__).joinpath("html", name).read_text(encoding="utf-8"))


def digest(text: str) -> str:
    """How a policy names a text that it allows."""
    return base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()

"""A page as HTML that needs nothing else: its own style, its own script where it has one, nothing fetched.

Text that came from a file is escaped wherever it goes. Every whole page stands on `html/base.html`, which has
the one head, with the policy that allows this style and this script by their digests.
"""

from __future__ import annotations

import base64
import hashlib
import re
from collections.abc import Iterable, Iterator, Mapping
from functools import lru_cache
from importlib.resources import files
from itertools import groupby
from typing import TYPE_CHECKING

from markupsafe import Markup, escape

import analyser.pages.tree as tree
from analyser.pages.tree import Block, Cell, Look, Page, Words, legible, pieces, several, strong

if TYPE_CHECKING:
    from jinja2 import Environment

ELEMENTS = {
    Look.PLAIN: Markup("{}"),
    Look.STRONG: Markup("<strong>{}</strong>"),
    Look.ALARM: Markup('<strong class="alarm">{}</strong>'),
    Look.RIGHT: Markup("<strong>{}</strong>"),
    Look.ASIDE: Markup("<em>{}</em>"),
    Look.QUIET: Markup("<small>{}</small>"),
    Look.CODE: Markup("<code>{}</code>"),
}


def whole(
    page: Page, styles: tuple[str, ...], script: str = "", *, sort: str = "", metas: Mapping[str, str] | None = None
) -> str:
    """A whole page, with our own files as its styles and its script; `sort` is the class of its body."""
    given = {"language": page.language, "sort": sort, "metas": metas or {}, "main": elements(page.blocks)}
    return based("base.html", page.name, styles, script, running=_running(page), **given)


def _running(page: Page) -> str:
    """What stands on each sheet of a paper, so that none is lost when it comes loose."""
    titles = [block for block in page.blocks if isinstance(block, tree.Title)]
    beside = titles[0].beside if titles else ()
    told = ("".join(one.text for one in pieces(words) if isinstance(one, tree.Span)) for words in beside)
    return ", ".join((page.name, *told))


def based(
    template: str, title: str, styles: tuple[str, ...], script: str = "", *, running: str = "", **words: object
) -> str:
    """A page made of a template that stands on `base.html`; `running` stands on top of each printed sheet."""
    style, program = _style(styles, running), own(script) if script else Markup("")
    given: dict[str, object] = {"language": "en", "sort": "", "metas": {}, **words}
    allowed = policy(styles, script, running)
    return (
        _environment().get_template(template).render(title=title, style=style, script=program, policy=allowed, **given)
    )


def _style(styles: tuple[str, ...], running: str) -> Markup:
    """Our own files, and the words on top of each sheet: letters that a style could read are told by their numbers."""
    letters = "".join(one if one.isalnum() and one.isascii() else f"\\{ord(one):x} " for one in legible(running))
    head = Markup(':root {{ --running: "{}"; }}\n').format(Markup(letters)) if running else Markup("")
    return Markup("").join((head, *map(own, styles)))


def printed_style(running: str) -> Markup:
    """The style of a paper, with words on top of each sheet, for a page that stands on a template of a team's own."""
    return _style(("paper.css",), running)


def policy(styles: tuple[str, ...], script: str = "", running: str = "") -> str:
    """The Content-Security-Policy of a page: these styles and this script, and nothing else."""
    program = f"'sha256-{_digest(own(script))}'" if script else "'none'"
    style = _digest(_style(styles, running))
    return f"default-src 'none'; style-src 'sha256-{style}'; script-src {program}; base-uri 'none'; form-action 'none'"


def _digest(text: str) -> str:
    """How a policy names a text that it allows."""
    return base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()


@lru_cache
def own(name: str) -> Markup:
    """A file that lies beside the templates."""
    return Markup(files("analyser.pages").joinpath("html", name).read_text(encoding="utf-8"))


@lru_cache(maxsize=1)
def _environment() -> Environment:
    from jinja2 import Environment, FunctionLoader, StrictUndefined

    made = Environment(
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        loader=FunctionLoader(own),
    )
    made.filters["marked"] = lambda text: words_html(tree.marked(text))
    return made


def inside(svg: str) -> Markup:
    """A drawing as an element of a page: whoever drew it has escaped the words in it."""
    return Markup(svg[svg.index("<svg") :])


# -- words


def words_html(words: Words, *, plain: bool = False) -> Markup:
    """Words as inline elements; `plain` where the element around them is strong already."""
    return Markup("").join(_piece(one, plain) for one in pieces(words)).strip()


def _piece(piece: tree.Span | tree.Link | tree.Tick | tree.Fill | tree.Choice, plain: bool) -> Markup:
    match piece:
        case tree.Span("", _, _):  # a label of its own that says nothing is none
            return Markup("")
        case tree.Span(text, look, given):
            told = escape(legible(text)).replace("\n", Markup("<br>"))
            if given:
                name = len(text) <= MOST_WHOLE and HYPHENED.fullmatch(text)
                told = Markup('<bdi class="unbroken">{}</bdi>' if name else "<bdi>{}</bdi>").format(told)
            return told if plain and look in (Look.STRONG, Look.ALARM) else ELEMENTS[look].format(told)
        case tree.Link(text, to):
            return Markup('<a href="{}"><bdi>{}</bdi></a>').format(to, text)
        case tree.Tick():
            return Markup('<span class="box"></span>')
        case tree.Fill(short):
            return Markup('<span class="{}"></span>').format("fill short" if short else "fill")
        case tree.Choice(about, none, options):
            several = Markup("").join(Markup("<option>{}</option>").format(one) for one in options)
            chosen = Markup('<select aria-label="{}"><option value="">{}</option>{}</select>')
            return Markup('<span class="screen" hidden>{}</span>').format(chosen.format(about, none, several))


HYPHENED = re.compile(r"[^\W\d]\w*(?:[-.]\w+)*-\w+(?:[-.]\w+)*")
"""A name with hyphens in it."""
MOST_WHOLE = 24
"""Letters up to which such a name is not broken at a hyphen: a narrow column has room for it."""


def unbroken(told: Markup) -> Markup:
    """The same elements, in which no name is broken at a hyphen."""
    pieces = re.split(r"(<[^>]*>)", told)
    for k in range(0, len(pieces), 2):
        if k and pieces[k - 1].endswith('class="unbroken">'):
            continue
        pieces[k] = HYPHENED.sub(
            lambda one: f'<span class="unbroken">{one[0]}</span>' if len(one[0]) <= MOST_WHOLE else one[0], pieces[k]
        )
    return Markup("".join(pieces))


# -- blocks


def elements(blocks: Iterable[Block], depth: int = 2) -> Markup:
    """Blocks as elements; facts that follow one another are one list."""
    return Markup("\n").join(_elements(blocks, depth))


def _elements(blocks: Iterable[Block], depth: int) -> Iterator[Markup]:
    for facts, run in groupby(blocks, lambda block: isinstance(block, tree.Fact)):
        if facts:
            told = Markup("\n").join(_fact(one) for one in run if isinstance(one, tree.Fact))
            yield Markup("<dl>\n{}\n</dl>").format(told)
        else:
            for block in run:
                yield from _element(block, depth)


def _element(block: Block, depth: int) -> Iterator[Markup]:
    match block:
        case tree.Section():
            yield from _section(block, depth)
        case tree.Title():
            yield from _title(block)
        case tree.Line(words):
            yield from _paragraph(words)
        case tree.Note(words, small):
            yield from _paragraph(words, "small" if small else "")
        case tree.Warn(severity, words):
            told = (strong(severity.upper()), " ", *several(words)) if severity else words
            yield from _paragraph(told, "warn")
        case tree.Verdict(words, cautions, know):
            told = Markup("<p><strong>{}</strong></p>\n").format(words_html(words)) if words else Markup("")
            told = unbroken(told + (Markup("{}\n").format(elements(know)) if know else ""))
            rests = Markup('<p class="rests">{}</p>').format(words_html(cautions)) if cautions else Markup("")
            yield Markup('<div class="verdict">\n{}</div>\n{}').format(told, rests) if told else rests
        case tree.Table():
            yield _table(block)
        case tree.Code(lines):
            yield Markup('<pre class="wide">{}</pre>').format(legible("\n".join(lines)))
        case tree.Figure():
            yield _figure(block)
        case tree.Listing():
            yield _listing(block, depth)
        case tree.Hidden(label, blocks, answer):
            look = Markup(' class="answer"') if answer else ""
            told = Markup("<summary>{}</summary>\n{}").format(label, elements(blocks, depth))
            yield Markup("<details{}>{}</details>").format(look, told)
        case tree.Step():
            yield _step(block, depth)
        case tree.Leaf():
            yield _leaf(block)
        case tree.Fields(asked, who):
            fields = asked if not who else [one for name in who for one in (name, *asked)]
            told = Markup("").join(Markup('<div class="field">{}</div>').format(one) for one in fields)
            yield Markup('<div class="{}">\n{}\n</div>').format("fields signed" if who else "fields", told)
        case tree.Write():
            yield _write(block)


def _paragraph(words: Words, look: str = "") -> Iterator[Markup]:
    if told := words_html(words):
        yield Markup("<p{}>{}</p>").format(_class(look), told)


def _class(look: str) -> Markup:
    return Markup(' class="{}"').format(look) if look else Markup("")


def _section(section: tree.Section, depth: int) -> Iterator[Markup]:
    look = "apart" if section.sheet == "apart" else ""
    name = Markup('<span class="name">{}</span>').format(section.name) if section.name else ""
    head = Markup("<h{0}{1}>{2}{3}</h{0}>").format(depth, _class(look), section.title, name)
    if section.sheet in ("across", "whole"):
        told = elements(section.blocks, depth + 1)
        yield Markup('<section class="{}">\n{}\n{}\n</section>').format(section.sheet, head, told)
        return
    yield head
    yield from _elements(section.blocks, depth + 1)


def _title(title: tree.Title) -> Iterator[Markup]:
    head = Markup("<bdi>{}</bdi>").format(legible(title.head))
    if title.kind:
        look = "tag apart" if title.apart else "tag"
        yield Markup('<p class="{}">{}</p>\n<h1>{}</h1>').format(look, title.kind, head)
        yield Markup("<p>{}</p>").format(Markup(", ").join(map(words_html, title.beside)))
    else:
        beside = Markup("").join(Markup("  {}").format(words_html(one)) for one in title.beside)
        yield Markup("<h1>{}{}</h1>").format(head, beside)
    yield from (Markup("<p><bdi>{}</bdi></p>").format(words_html(note)) for note in title.notes)


def _fact(fact: tree.Fact) -> Markup:
    label = words_html(fact.label)
    term = Markup("<dt>{}</dt>").format(label) if label else Markup("")
    return term + Markup("<dd>{}</dd>").format(words_html(fact.words))


def _table(table: tree.Table) -> Markup:
    numbers = [_class("number" if column.figures else "") for column in table.columns]
    heads = ((number, words_html(column.head)) for number, column in zip(numbers, table.columns, strict=True))
    head = Markup("").join(
        Markup('<th scope="col"{}>{}</th>').format(number, words) if words else Markup("<td></td>")
        for number, words in heads
    )
    bodies: list[list[Markup]] = [[]]
    for row in table.rows:
        if isinstance(row, tree.Under):
            bodies.append([])
        bodies[-1].append(_row(table, numbers, row))
    told = Markup("\n").join(Markup("<tbody>\n{}\n</tbody>").format(Markup("\n").join(rows)) for rows in bodies if rows)
    page = '<div class="wide"><table{}>\n<thead><tr>{}</tr></thead>\n{}\n</table></div>'
    return Markup(page).format(_class(table.sort), head, told)


def _row(table: tree.Table, numbers: list[Markup], row: tree.Row | tree.Under) -> Markup:
    if isinstance(row, tree.Under):
        head = Markup('<tr class="under"><th scope="rowgroup" colspan="{}">{}</th></tr>')
        return head.format(len(numbers), words_html(row.words, plain=True))
    cells = (
        Markup('<th scope="row"{}>{}</th>').format(numbers[k], _cell(cell, plain=not isinstance(cell, tuple)))
        if k == table.about
        else Markup("<td{}>{}</td>").format(numbers[k], _cell(cell))
        for k, cell in enumerate(row)
    )
    return Markup("<tr>{}</tr>").format(Markup("").join(cells))


def _cell(cell: Cell, *, plain: bool = False) -> Markup:
    return _listing(cell, 6) if isinstance(cell, tree.Listing) else words_html(cell, plain=plain)


def _listing(listing: tree.Listing, depth: int) -> Markup:
    tick = (tree.Tick(), " ") if listing.ticked else ()
    items = Markup("\n").join(
        Markup("<li>{}{}</li>").format(words_html((*tick, *several(one.words))), elements(one.under, depth))
        for one in listing.items
    )
    language = Markup(' lang="{}"').format(listing.language) if listing.language else ""
    looks = Markup("{}{}").format(_class("ticked" if listing.ticked else ""), language)
    told = Markup("<{0}{1}>\n{2}\n</{0}>").format("ol" if listing.ordered else "ul", looks, items)
    if not listing.label:
        return told
    return Markup('<div class="held"><span class="tag">{}</span>{}</div>').format(listing.label, told)


def _step(step: tree.Step, depth: int) -> Markup:
    mark = (Markup('<span class="tag">{}</span> ').format(step.mark),) if step.mark else ()
    tick = (words_html(tree.Tick()) + " ",) if step.tick else ()
    order = Markup("").join((*tick, *mark, words_html(step.words, plain=True)))
    told = Markup("<p{}>{}</p>").format(_class("" if step.note else "order"), order) if order else ""
    parts = [Markup('<div class="at">{}</div>').format(step.number)]
    if order or step.first or step.then:
        inner = (elements(step.first, depth), told, elements(step.then, depth))
        parts.append(Markup("<div>\n{}\n</div>").format(Markup("\n").join(one for one in inner if one)))
    if step.who:
        parts.append(Markup('<div class="who">{}</div>').format(words_html(step.who)))
    if step.after:
        parts.append(Markup('<div class="after">\n{}\n</div>').format(elements(step.after, depth)))
    return Markup('<div class="{}">{}\n</div>').format("step point" if step.point else "step", Markup("\n").join(parts))


def _leaf(leaf: tree.Leaf) -> Markup:
    """A leaf whose head stands on each of its sides."""
    head = Markup('<div class="head"><span class="role">{}</span> <span class="who">{}</span></div>')
    told = head.format(words_html(leaf.role), words_html(leaf.who))
    about = Markup('<div class="rig">{}</div>').format(words_html(leaf.about))
    page = '<table class="card">\n<thead><tr><td>{}\n{}</td></tr></thead>\n<tbody><tr><td>\n{}\n</td></tr></tbody>\n'
    return Markup(page + "</table>").format(told, about, elements(leaf.blocks))


def _write(write: tree.Write) -> Markup:
    lines = Markup("<div></div>") * write.lines
    field = Markup('<textarea id="found" rows="10" cols="80" spellcheck="false" data-head="{}"></textarea>')
    save = Markup('<p><a id="save" download="{}">{}</a></p>').format(write.file, write.save)
    page = '<div class="paper lines">{}</div>\n<div class="screen" hidden>{}\n{}</div>'
    return Markup(page).format(lines, field.format(write.begins), save)


def _figure(figure: tree.Figure) -> Markup:
    """The drawing inside the page, or why there is none."""
    if not figure.svg:
        return Markup("<p>{}</p>").format(figure.undrawn)
    drawn, caption = inside(figure.svg), figure.caption
    return Markup('<figure><div class="wide">{}</div><figcaption>{}</figcaption></figure>').format(drawn, caption)

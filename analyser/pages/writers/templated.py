"""A document in a team's own template: jinja2, in a sandbox, written as the document is (HTML or Markdown).

A template stands on `{% extends "procedure" %}` and puts its own in the place of any of the three blocks `front`,
`procedures`, `approval`; or it places them itself: each is a variable too. Whatever comes from a rig reads as text in
it. What a template leaves out is its own affair, but for what no document goes without: those sentences are looked
for in what it makes.
"""

from __future__ import annotations

import traceback
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from markupsafe import Markup, escape

from analyser.language.mistakes import Mistake, Place, Unreadable
from analyser.language.source import lines_of, read_bytes, shown_name
from analyser.pages.tree import Block, Page, legible
from analyser.pages.writers.hypertext import elements, own, printed_style
from analyser.pages.writers.markdown import literal, marked_down

if TYPE_CHECKING:
    from jinja2 import Environment

BASE = "procedure"
WRONG = (TypeError, ValueError, ArithmeticError, LookupError, AttributeError, RecursionError, MemoryError)
"""What a template can do wrong while it is filled, beside what jinja2 itself tells."""
POLICY = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; form-action 'none'"
"""A team's own style, and pictures that stand in the page: nothing is fetched."""


@dataclass(frozen=True, slots=True)
class Ending:
    """How a document is written: on what its templates stand, and how blocks and a text of a rig are written."""

    base: str
    blocks: Callable[[Iterable[Block]], Markup]
    text: Callable[[str], str]


ENDINGS = {
    ".html": Ending("procedure.html", elements, legible),
    ".md": Ending("procedure.md", lambda blocks: Markup(marked_down(blocks)), lambda text: Markup(literal(text))),
}
"""By how the document's name ends."""


def templated(template: Path, ending: str, given: Mapping[str, object], never_without: Iterable[Sequence[str]]) -> str:
    """The document. `given` are texts, numbers, lists and mappings of them, and pages, which are written as blocks;
    of each of `never_without` one wording must stand in it.

    Raises `Unreadable` with the template's mistake, its line where that is known.
    """
    from jinja2 import TemplateError, TemplateNotFound, TemplateSyntaxError, UndefinedError

    shown = shown_name(template.name)
    lines = _lines(template, shown)
    how = ENDINGS[ending]

    def wrong(text: str, line: int, hint: str = "") -> Unreadable:
        return Unreadable([Mistake(Place(shown, max(1, min(line, len(lines)))), text, hint)], {shown: lines})

    head = {"language": "en", "sort": "", "metas": {}, "script": "", "policy": POLICY}
    told = _told({**head, **given}, how)
    told["style"] = printed_style(f"{given.get('title', '')}")
    try:
        made = _environment(template, how).get_template(template.name).render(told)
    except TemplateSyntaxError as error:
        raise wrong(f"this template can't be read: {error.message}", error.lineno) from None
    except TemplateNotFound as error:
        hint = f'a template stands on `{{% extends "{BASE}" %}}`, and includes files of its own folder'
        raise wrong(f"there is no template `{error.name}`", _line(error, template), hint) from None
    except UndefinedError as error:
        hint = f"what it may use: {', '.join(f'`{name}`' for name in given)}"
        raise wrong(f"this template can't be filled: {error.message}", _line(error, template), hint) from None
    except (TemplateError, *WRONG) as error:
        raise wrong(f"this template can't be filled: {error or type(error).__name__}", _line(error, template)) from None
    lacking = [several[0] for several in never_without if not any(str(escape(how.text(x))) in made for x in several)]
    if lacking:
        hint = "place `{{ front }}` and `{{ procedures }}`, or of each of `rigs` its `closing` and `cautions`"
        raise wrong(f"what this template makes leaves out: {lacking[0]}", 1, hint)
    return made if made.endswith("\n") else f"{made}\n"


def _lines(template: Path, shown: str) -> list[str]:
    data, mistake = read_bytes(template, shown)
    lines: list[str] = []
    if not mistake:
        lines, mistake = lines_of(data, shown)
    if mistake:
        raise Unreadable([Mistake(mistake.place, mistake.text, "name a template: a file of text")], {shown: lines})
    return lines


def _environment(template: Path, how: Ending) -> Environment:
    from jinja2 import ChoiceLoader, FileSystemLoader, FunctionLoader, StrictUndefined
    from jinja2.sandbox import ImmutableSandboxedEnvironment

    ours = {BASE: how.base, how.base: how.base, "base.html": "base.html"}
    return ImmutableSandboxedEnvironment(
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
        loader=ChoiceLoader(
            [
                FunctionLoader(lambda name: own(ours[name]) if name in ours and name != template.name else None),
                FileSystemLoader(template.absolute().parent),
            ]
        ),
    )


def _told(value: Any, how: Ending) -> Any:
    """What a template is given: blocks as they are written there, texts that mean nothing but themselves."""
    match value:
        case Markup():
            return value
        case str():
            return how.text(value)
        case Page():
            return how.blocks(value.blocks)
        case Mapping():
            return {key: _told(one, how) for key, one in value.items()}
        case list() | tuple():
            return [_told(one, how) for one in value]
    return value


def _line(error: BaseException, template: Path) -> int:
    """The template's line at which it stopped."""
    frames = traceback.extract_tb(error.__traceback__)
    lines = [one.lineno for one in frames if Path(one.filename).name == template.name and one.lineno]
    return lines[-1] if lines else 1

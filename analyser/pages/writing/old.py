"""For the documents that are not trees yet."""

from __future__ import annotations

from functools import lru_cache

from jinja2 import Environment, StrictUndefined, Template
from markupsafe import Markup

from analyser.checking.sentences import listed
from analyser.pages.drawing.rendering import NotDrawn
from analyser.pages.writers.hypertext import _digest, _figure
from analyser.pages.writers.hypertext import own as own
from analyser.pages.writers.markdown import AT_THE_START, literal
from analyser.pages.writing.grouping import in_brief
from analyser.pages.writing.pictures import CAPTION, drawn


def figure(diagram: bytes | NotDrawn | None, caption: str = CAPTION) -> Markup:
    return _figure(drawn(diagram, caption))


def sealed(style: str, script: str = "") -> str:
    own_script = f"'sha256-{_digest(script)}'" if script else "'none'"
    return (
        f"default-src 'none'; style-src 'sha256-{_digest(style)}'; script-src {own_script}; "
        "base-uri 'none'; form-action 'none'"
    )


def _finalize(value: object) -> Markup:
    if isinstance(value, Markup):
        return value
    return Markup(AT_THE_START.sub(r"\1\\\2", literal(" ".join(str(value).split()))))


@lru_cache
def template(name: str) -> Template:
    finalize = _finalize if name.endswith(".md") else None
    environment = Environment(
        autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True, finalize=finalize
    )
    environment.filters |= {"listed": listed, "in_brief": in_brief}
    return environment.from_string(own(name))

"""The results contract: which documents there are, the shape of each, and the one function that writes them.

A shape lists what is shown of a result: a field is the result's attribute of that name, in SI (or what stands
behind the field's type: the way to another attribute, or a function of the result). On its way out a figure is
put into the unit that people use and rounded, and the unit ends its key: `force: Newtons` goes out as `force_kN`.
`python -m analyser.doors.commands.schemas` writes the JSON Schema of every document from the shapes themselves.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from functools import cache
from math import isfinite
from types import NoneType, UnionType
from typing import (
    Annotated,
    Any,
    ClassVar,
    Literal,
    TypeVar,
    Union,
    get_args,
    get_origin,
    get_type_hints,
)

import msgspec

from analyser.checking.letterhead import CAUTIONS, FORMAT, dated_of, revision_of, title_of


class Figure(float):
    """A figure in SI. `unit` ends its key, `per` is that unit in SI, `digits` are told."""

    unit: ClassVar[str] = ""
    per: ClassVar[float] = 1.0
    digits: ClassVar[int] = 4

    def told(self) -> float | None:
        return round(self / self.per, self.digits) + 0.0 if isfinite(self) else None


class Newtons(Figure):
    unit, per = "kN", 1000.0


class Metres(Figure):
    unit, digits = "m", 3


class Degrees(Figure):
    unit, digits = "deg", 2


class Seconds(Figure):
    unit, digits = "s", 3


class Speed(Figure):
    unit, digits = "m_per_s", 2


class Ratio(Figure):
    """A number without a unit: a share, a factor, a direction's part."""


class Residual(Figure):
    """How far forces are from balance, as a share of the load: only its size counts."""

    def told(self) -> float:
        return float(f"{self:.0e}")


UNITS = {one.__name__: one.unit for one in (Newtons, Metres, Degrees, Seconds, Speed)}
MEASURED = re.compile("|".join(rf"\b{name}\b" for name in UNITS))


class _Keys(msgspec.StructMeta):
    """Frozen, and with the unit of a figure at the end of its key."""

    def __new__(mcls, name: str, bases: tuple[type, ...], space: dict[str, Any], **given: Any) -> _Keys:
        keys = {}
        for key, annotation in space.get("__annotations__", {}).items():
            found = MEASURED.search(str(annotation))
            if found:
                keys[key] = f"{key}_{UNITS[found[0]]}"
        asked = {"frozen": True, "rename": keys.get, **given}
        return super().__new__(mcls, name, bases, space, **asked)


class Shape(msgspec.Struct, metaclass=_Keys):
    """A part of a document: its fields are keys of the JSON, in their order."""


class Document(Shape, kw_only=True):
    """What every document begins with. `table` is the way to the rows that matter most."""

    table: ClassVar[str] = ""
    format: Literal["stillheld/2"] = FORMAT
    document: str
    file: str | msgspec.UnsetType = msgspec.UNSET
    """Which file it is of, where several were asked about."""


class Cautioned(Document, kw_only=True):
    cautions: tuple[str, ...] = CAUTIONS
    """Never to be left out where anything of the document is shown."""


class OfRig(Cautioned, kw_only=True):
    """What every document about one rig begins with."""

    rig: Annotated[str, title_of]
    """The rig's title."""
    revision: Annotated[str | None, revision_of]
    dated: Annotated[str | None, dated_of]
    """The date of that revision."""


PLAIN = (NoneType, str, int, tuple)
Laid = TypeVar("Laid", bound=Shape)
Turning = Callable[[Any], Any]


def lay(shape: type[Laid], result: object) -> Laid:
    """What a shape shows of a result.

    Raises AttributeError where the result lacks what the shape names: the two don't belong together.
    """
    return shape(**{name: turn(get(result)) if turn else get(result) for name, get, turn in _fields(shape)})


@cache
def _fields(shape: type[Shape]) -> tuple[tuple[str, Turning, Turning | None], ...]:
    """For each field that is not the same in all such documents: where it is found, and what becomes of it."""
    hints = get_type_hints(shape, include_extras=True)
    found = []
    for field in msgspec.structs.fields(shape):
        if field.default is not msgspec.NODEFAULT:
            continue
        kind, path = hints[field.name], field.name
        if get_origin(kind) is Annotated:
            kind, path = get_args(kind)
        found.append((field.name, path if callable(path) else _getting(path), _turning(kind)))
    return tuple(found)


def _getting(path: str) -> Turning:
    """`place.line`: one attribute of another (None where that is None); `words()`: what a method says; `0`: the
    first of several; empty: the thing itself."""
    steps = path.split(".") if path else []

    def get(thing: Any) -> Any:
        for step in steps:
            if thing is None:
                return None
            if step.isdigit():
                thing = thing[int(step)]
            else:
                thing = getattr(thing, step.removesuffix("()"))
                thing = thing() if step.endswith("()") else thing
        return thing

    return get


def _turning(kind: Any) -> Turning | None:
    """How a value of this type is laid; None where it goes out as it is."""
    origin, inner = get_origin(kind), get_args(kind)
    if origin is Annotated:
        return _turning(inner[0])
    if origin in (Union, UnionType):
        turn = next((turn for one in inner if (turn := _turning(one)) is not None), None)
        return turn and _unless(NoneType if len(inner) == 2 and NoneType in inner else PLAIN, turn)
    if origin is tuple and inner[-1] is Ellipsis:
        return _several(_turning(inner[0]))
    if origin is dict:
        return _named(_turning(inner[1]))
    if isinstance(kind, type) and issubclass(kind, Shape):
        return lambda value: lay(kind, value)
    if isinstance(kind, type) and issubclass(kind, Figure):
        return kind
    return None


def _unless(plain: type | tuple[type, ...], turn: Turning) -> Turning:
    """What is told in words, or not at all, stays as it is."""
    return lambda value: value if isinstance(value, plain) else turn(value)


def _several(turn: Turning | None) -> Turning | None:
    return turn and (lambda values: tuple(map(turn, values or ())))


def _named(turn: Turning | None) -> Turning:
    """From a mapping, or from pairs."""
    return lambda pairs: {str(key): turn(value) if turn else value for key, value in dict(pairs).items()}


def _out(value: object) -> object:
    """What the encoder doesn't know."""
    if isinstance(value, Figure):
        return value.told()
    if isinstance(value, str):
        return str(value)  # a name that knows its pieces goes out as its text
    raise TypeError(f"{type(value).__name__} goes out in no document")


def as_dict(document: Document) -> dict[str, Any]:
    """A document as plain dictionaries and lists."""
    told: dict[str, Any] = msgspec.json.decode(as_line(document))
    return told


def as_text(told: Document | Sequence[Document]) -> str:
    """JSON, two spaces a level, without a line end: the same document gives the same bytes."""
    return msgspec.json.format(_encoded(told), indent=2).decode()


def as_line(told: Document) -> str:
    """JSON on one line, without a line end."""
    return _encoded(told).decode()


def _encoded(told: Document | Sequence[Document]) -> bytes:
    try:
        return msgspec.json.encode(told, enc_hook=_out)
    except UnicodeEncodeError:  # the name of a file that is no text
        return msgspec.json.encode(_legible(msgspec.to_builtins(told, enc_hook=_out, str_keys=True)))


def _legible(plain: Any) -> Any:
    """The same with question marks in the place of what is no character."""
    if isinstance(plain, str):
        return plain.encode(errors="replace").decode()
    if isinstance(plain, dict):
        return {_legible(key): _legible(value) for key, value in plain.items()}
    return [_legible(one) for one in plain] if isinstance(plain, list | tuple) else plain

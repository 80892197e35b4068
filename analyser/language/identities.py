"""What a thing is called: names that know what they are made of, so that nobody takes one apart.

Each is written as the language writes it, compares and sorts as that text, and never changes. A name
that a person typed becomes one of these where it is read, one that a rig makes where it is made.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NoReturn, Self


class Identity(str):
    """A name made of pieces: the text that they make, with the pieces beside it."""

    __slots__ = ()

    @classmethod
    def _made(cls, text: str, **pieces: object) -> Self:
        made = str.__new__(cls, text)
        for name, piece in pieces.items():
            object.__setattr__(made, name, piece)
        return made

    def __setattr__(self, name: str, value: object) -> NoReturn:
        raise AttributeError(f"{type(self).__name__} never changes")


class Label(Identity):
    """A station of a rope: its part, and which of its stations there (`master#2` is the second).

    >>> Label("master", 2), Label("master").part
    ('master#2', 'master')
    """

    __slots__ = ("number", "part")
    part: str
    number: int

    def __new__(cls, part: str, number: int = 1) -> Self:
        return cls._made(part if number == 1 else f"{part}#{number}", part=part, number=number)

    def __reduce__(self) -> tuple[type[Label], tuple[str, int]]:
        return Label, (self.part, self.number)


class Span(Identity):
    """A stretch of a rope between two neighbouring stations.

    >>> span = Span("red", "lip", "red-bowline")
    >>> span, span.rope, span.spoken
    ('red[lip..red-bowline]', 'red', 'red between lip and red-bowline')
    """

    __slots__ = ("a", "b", "rope")
    rope: str
    a: str
    b: str

    def __new__(cls, rope: str, a: str, b: str) -> Self:
        return cls._made(f"{rope}[{a}..{b}]", rope=rope, a=a, b=b)

    def __reduce__(self) -> tuple[type[Span], tuple[str, str, str]]:
        return Span, (self.rope, self.a, self.b)

    @property
    def spoken(self) -> str:
        """As people say it."""
        return f"{self.rope} between {self.a} and {self.b}"


class Join(Identity):
    """A contact as a thing that can be missing: `crab to sam.waist`."""

    __slots__ = ("a", "b")
    a: str
    b: str

    def __new__(cls, a: str, b: str) -> Self:
        return cls._made(f"{a} to {b}", a=a, b=b)

    def __reduce__(self) -> tuple[type[Join], tuple[str, str]]:
        return Join, (self.a, self.b)


class Revision(Identity):
    """Which state of a plan this is, and of when.

    >>> Revision("4", "2026-11-28"), Revision("4").dated
    ('4, dated 2026-11-28', None)
    """

    __slots__ = ("dated", "number")
    number: str
    dated: str | None

    def __new__(cls, number: str, dated: str | None = None) -> Self:
        return cls._made(f"{number}, dated {dated}" if dated else number, number=number, dated=dated)

    def __reduce__(self) -> tuple[type[Revision], tuple[str, str | None]]:
        return Revision, (self.number, self.dated)


CUT = "is cut"
"""What befalls a span; of a rope, one of its spans."""


class FailureId(Identity):
    """One thing that can happen: what it happens to, and how. Sorts as it is written.

    >>> cut = FailureId(Span("red", "lip", "ring"), "is cut")
    >>> cut, cut.mode, cut.owner
    ('red[lip..ring] is cut', 'is cut', 'red')
    >>> cut.spoken, FailureId("ring", "fails").spoken
    ('red is cut between lip and ring', 'ring fails')
    """

    __slots__ = ("mode", "part")
    part: str
    """The part, span, cause or join."""
    mode: str

    def __new__(cls, part: str, mode: str) -> Self:
        return cls._made(f"{part} {mode}".strip(), part=part, mode=mode)

    def __reduce__(self) -> tuple[type[FailureId], tuple[str, str]]:
        return FailureId, (self.part, self.mode)

    @property
    def owner(self) -> str:
        """What it is looked for on: of a span its rope, else the part."""
        return owner(self.part)

    @property
    def spoken(self) -> str:
        """As people say it."""
        if isinstance(self.part, Span):
            return f"{self.part.rope} {self.mode} between {self.part.a} and {self.part.b}"
        return f"{self}"


class Cut(FailureId):
    """A rope that is cut, and not where: in one of its spans, or in one between two of its stations.

    >>> Cut("red"), Cut("red", "lip", "ring")
    ('red is cut', 'red is cut between lip and ring')
    """

    __slots__ = ("a", "b")
    a: str
    b: str
    """Empty: anywhere."""

    def __new__(cls, rope: str, a: str = "", b: str = "") -> Self:
        return cls._made(f"{rope} is cut between {a} and {b}" if a else f"{rope} is cut", part=rope, mode=CUT, a=a, b=b)

    def __reduce__(self) -> tuple[type[Cut], tuple[str, str, str]]:  # type: ignore[override]
        return Cut, (self.part, self.a, self.b)


def spoken(name: str) -> str:
    """A name as people say it: `red between lip and ring`; one without pieces as it stands."""
    return name.spoken if isinstance(name, Span | FailureId) else name


def happened(failures: Sequence[str]) -> str:
    """Failures that happen together, as one name; that of a single one keeps its pieces.

    >>> spoken(happened((FailureId(Span("red", "lip", "ring"), "is cut"),)))
    'red is cut between lip and ring'
    """
    return failures[0] if len(failures) == 1 else "; ".join(failures)


def owner(name: str) -> str:
    """The rope of a span; any other name itself."""
    return name.rope if isinstance(name, Span) else name

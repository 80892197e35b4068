"""What every result can do: go out as a document, as a table, and as a page where somebody shows one."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from importlib import import_module
from typing import TYPE_CHECKING, Any, ClassVar

from analyser.checking.letterhead import title_of, units_of
from analyser.rig.figures import using

if TYPE_CHECKING:  # what encodes is loaded only where something goes out
    import pandas

    from analyser.checking.contract import Document


class Delivered:
    """A result that goes out. Each says in which `SHAPE` (module and name: what encodes is loaded only then), and
    itself in a line (`short`)."""

    __slots__ = ()
    SHAPE: ClassVar[str]

    def document_of(self) -> Document:
        """What of it goes out, laid into its shape."""
        from analyser.checking.contract import Document, lay

        module, _, name = self.SHAPE.rpartition(".")
        shape = getattr(import_module(module), name)
        assert issubclass(shape, Document)
        with using(units_of(self)):
            document: Document = lay(shape, self)
        return document

    @property
    def short(self) -> str:
        """The result in a line."""
        raise NotImplementedError

    def to_dict(self) -> dict[str, Any]:
        """Its document as plain lists and dictionaries, in a stable order: figures in kN, m and degrees, the
        unit at the end of the key (`grammar/contract.md` lists them all)."""
        from analyser.checking.contract import as_dict

        return as_dict(self.document_of())

    def to_json(self) -> str:
        """The same as text: the same rig gives the same bytes."""
        from analyser.checking.contract import as_text

        return as_text(self.document_of())

    def to_frame(self, table: str | None = None) -> pandas.DataFrame:
        """One table of its document, a row each: by default the one that matters most, else by the way to it
        (`"states.failures"`). What stands in a state has its number in the column `state`.

        Needs pandas (`pip install stillheld[frame]`). Raises KeyError for a table that there isn't.
        """
        import pandas

        told = self.to_dict()
        return pandas.DataFrame(list(_rows(told, (table or self.document_of().table).split("."))))

    def _repr_html_(self) -> str:
        import analyser

        return analyser.shown(self)

    def __repr__(self) -> str:
        return f"<{type(self).__name__}: {title_of(self)}: {self.short}>"


def _rows(told: dict[str, Any], way: Sequence[str]) -> Iterator[dict[str, Any]]:
    """The rows at the end of a way through tables within tables."""
    first, *rest = way
    for row in told[first] if isinstance(told[first], list) else [told[first]]:
        if not rest:
            yield row
            continue
        state = {"state": row["number"]} if "number" in row else {}
        yield from ({**state, **one} for one in _rows(row, rest))

"""What every result can do: go out as a document, as a table, and as a page where somebody shows one."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Literal

if TYPE_CHECKING:  # what encodes is loaded only where something goes out
    from analyser.checking.contract import Document

FORMAT: Literal["stillheld/2-draft"] = "stillheld/2-draft"

CAUTIONS = (
    "A model of what was written, not of the rope in the hand.",
    "Local codes, makers' instructions and licensed or qualified practice come first.",
)


class Delivered:
    """A result that goes out. Each says which document it is (`document_of`)."""

    __slots__ = ()

    def document_of(self) -> Document:
        """What of it goes out, laid into its shape."""
        raise NotImplementedError

    def to_dict(self) -> dict[str, Any]:
        """Its document as plain lists and dictionaries, in a stable order: figures in kN, m and degrees, the
        unit at the end of the key (the JSON Schema is in `grammar/contract.json`)."""
        from analyser.checking.contract import as_dict

        return as_dict(self.document_of())

    def to_json(self) -> str:
        """The same as text: the same rig gives the same bytes."""
        from analyser.checking.contract import as_text

        return as_text(self.document_of())

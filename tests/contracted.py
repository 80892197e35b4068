"""Every document that the tests see is what the contract says: checked against its JSON Schema."""

from __future__ import annotations

import json
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import fastjsonschema

SCHEMA = json.loads((Path(__file__).parent.parent / "grammar" / "contract.json").read_text(encoding="utf-8"))


def kinds() -> dict[str, str]:
    """The name of the shape of each kind of document."""
    asked = {part["$ref"].rsplit("/", 1)[-1] for part in SCHEMA["oneOf"]}
    return {SCHEMA["$defs"][name]["properties"]["document"]["enum"][0]: name for name in sorted(asked)}


@cache
def _check(kind: str) -> Callable[[Any], object]:
    own = {"$schema": "http://json-schema.org/draft-07/schema#", "$defs": SCHEMA["$defs"]}
    check: Callable[[Any], object] = fastjsonschema.compile({**own, "$ref": f"#/$defs/{kinds()[kind]}"})
    return check


def agreed(document: Any) -> None:
    """Raises where a document is not what its schema says."""
    for one in document if isinstance(document, list) else [document]:
        _check(one["document"])(one)

"""`stillheld/2` is agreed: what a script reads of it today it can read tomorrow.

`contract_2.json` is the schema as it was frozen. What is there stays, with its type, its unit and its values; keys,
kinds of documents and values may be added. A change that this test refuses needs a `stillheld/3`.
"""

from __future__ import annotations

import copy
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from contracted import SCHEMA

FROZEN = json.loads((Path(__file__).parent / "contract_2.json").read_text(encoding="utf-8"))
WORDS = frozenset({"description", "title", "$id"})


def lost(was: Any, now: Any, at: str = "#") -> Iterator[str]:
    """What of a schema isn't so any more in another: where, and what."""
    if isinstance(was, dict) and isinstance(now, dict):
        for key, value in was.items():
            if key not in WORDS:
                if key in now:
                    yield from lost(value, now[key], f"{at}/{key}")
                else:
                    yield f"{at}/{key} is gone"
    elif isinstance(was, list) and isinstance(now, list):
        yield from (f"{at}: {one!r} is gone" for one in was if one not in now)
    elif was != now:
        yield f"{at}: {was!r} is {now!r}"


def test_what_was_agreed_is_kept() -> None:
    assert FROZEN["$id"] == SCHEMA["$id"] == "stillheld/2"
    assert list(lost(FROZEN, SCHEMA)) == []


def test_a_key_that_goes_or_changes_is_seen_and_one_more_is_not() -> None:
    other = copy.deepcopy(FROZEN)
    body = other["$defs"]["Body"]["properties"]
    body["more"] = {"type": "string"}
    assert list(lost(FROZEN, other)) == []
    body["attachments"] = {"type": "string"}
    del body["held"]
    told = list(lost(FROZEN, other))
    assert "#/$defs/Body/properties/held is gone" in told and any("attachments" in one for one in told)
    other["$defs"]["Body"]["required"].remove("name")
    assert "#/$defs/Body/required: 'name' is gone" in list(lost(FROZEN, other))

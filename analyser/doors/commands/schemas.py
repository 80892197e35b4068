"""The contract for those who read it: the JSON Schema of every document, and the page that lists their keys.

`python -m analyser.doors.commands.schemas` writes `grammar/contract.json` and the tables of `grammar/contract.md`
anew; a test asks that both are what the shapes say.
"""

from __future__ import annotations

import ast
import inspect
import json
import re
from collections.abc import Iterator
from dataclasses import is_dataclass
from functools import cache
from importlib import import_module
from pathlib import Path
from typing import Any, get_args, get_type_hints

import msgspec

from analyser.checking.contract import Document, Figure

ROOM = Path(__file__).parents[3] / "grammar"
MODULES = (
    "analyser.checking.shapes",
    "analyser.checking.force_shapes",
    "analyser.uses.mending.mend_shapes",
    "analyser.uses.comparing.compare_shapes",
    "analyser.uses.ordering.order_shapes",
    "analyser.uses.incident.case_shapes",
    "analyser.uses.procedure.procedure_shapes",
    "analyser.uses.field.field_shapes",
    "analyser.uses.teaching.drill_shapes",
    "analyser.uses.review.review_shapes",
    "analyser.uses.teaching.language_shapes",
)
TABLES = "<!-- the tables below are written by python -m analyser.doors.commands.schemas -->\n"


def documents() -> dict[str, type[Document]]:
    """Every document by its kind."""
    for name in MODULES:
        import_module(name)
    found = {}
    todo = [Document]
    while todo:
        shape = todo.pop()
        todo += shape.__subclasses__()
        kinds = get_args(get_type_hints(shape)["document"])
        if kinds:
            found[kinds[0]] = shape
    return dict(sorted(found.items()))


def schema() -> dict[str, Any]:
    """One JSON Schema: any document; each by itself is `#/$defs/` and the name of its shape."""
    shapes = documents()
    _, parts = msgspec.json.schema_components(list(shapes.values()), schema_hook=_of_figure)
    for name, part in sorted(parts.items()):
        _told(name, part)
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": "stillheld/2",
        "title": "What stillheld writes as JSON",
        "oneOf": [{"$ref": f"#/$defs/{shape.__name__}"} for shape in shapes.values()],
        "$defs": dict(sorted(parts.items())),
    }


def _of_figure(kind: type) -> dict[str, Any]:
    assert issubclass(kind, Figure)
    return {"type": "number", **({"unit": kind.unit} if kind.unit else {})}


def _told(name: str, part: dict[str, Any]) -> None:
    """What the library leaves out: every key is always there, no other is, and what each means."""
    if part.get("type") != "object" or "properties" not in part:
        return
    properties = part["properties"]
    of_all = "document" in properties
    part["required"] = [key for key in properties if not (key == "file" and of_all and "file" not in part["required"])]
    part["additionalProperties"] = False
    for key, said in _meanings(name).items():
        if key in properties:
            one = properties[key]
            properties[key] = {"allOf": [one], "description": said} if "$ref" in one else {**one, "description": said}
    for one in properties.values():
        one.pop("default", None)
    part["description"] = " ".join(str(part.get("description", "")).split())
    if not part["description"]:
        del part["description"]


@cache
def _classes() -> dict[str, type]:
    """Every class that a document is made of, by name."""
    found: dict[str, type] = {}
    todo: list[Any] = list(documents().values())
    while todo:
        kind = todo.pop()
        if isinstance(kind, type) and (is_dataclass(kind) or _is_shape(kind)) and found.get(kind.__name__) is not kind:
            assert kind.__name__ not in found, f"two shapes are called {kind.__name__}"
            found[kind.__name__] = kind
            todo += get_type_hints(kind).values()
        todo += get_args(kind)
    return found


def _is_shape(kind: type) -> bool:
    return issubclass(kind, msgspec.Struct)


def _meanings(name: str) -> dict[str, str]:
    """What stands under the fields of a class in its source, by key."""
    kind = _classes()[name]
    found: dict[str, str] = {}
    for one in reversed(kind.__mro__):
        if is_dataclass(one) or (_is_shape(one) and one.__module__ != "msgspec"):
            keys = {f.name: f.encode_name for f in msgspec.structs.fields(one)} if _is_shape(one) else {}
            found |= {keys.get(field, field): said for field, said in _under_fields(one)}
    return found


def _under_fields(kind: type) -> Iterator[tuple[str, str]]:
    (tree,) = ast.parse(inspect.getsource(kind)).body
    assert isinstance(tree, ast.ClassDef)
    for line, under in zip(tree.body, tree.body[1:], strict=False):
        told = isinstance(under, ast.Expr) and isinstance(under.value, ast.Constant)
        if isinstance(line, ast.AnnAssign) and isinstance(line.target, ast.Name) and told:
            yield line.target.id, " ".join(str(under.value.value).split())  # type: ignore[attr-defined]


def tables() -> str:
    """Every document and every part of one, each key with what it holds and means."""
    whole = schema()
    kinds = {shape.__name__: kind for kind, shape in documents().items()}
    ordered = sorted(whole["$defs"], key=lambda name: (name not in kinds, kinds.get(name, ""), name))
    rows: list[str] = []
    for name in ordered:
        part = whole["$defs"][name]
        if "properties" not in part:
            continue
        rows += [f"### {name}", ""]
        if name in kinds:
            rows += [f"The document `{kinds[name]}`.", ""]
        if "description" in part:
            rows += [part["description"], ""]
        rows += ["| key | holds | |", "|---|---|---|"]
        rows += [f"| `{key}` | {_holds(one)} | {_cell(one)} |" for key, one in part["properties"].items()]
        rows.append("")
    return "\n".join(rows)


def _cell(one: dict[str, Any]) -> str:
    return str(one.get("description", "")).replace("|", "\\|")


def _holds(one: dict[str, Any]) -> str:
    """What a key holds, in a few words."""
    if "$ref" in one:
        name = one["$ref"].rsplit("/", 1)[-1]
        return f"[{name}](#{name.lower()})" if "properties" in _parts()[name] else _holds(_parts()[name])
    if "allOf" in one:
        return _holds(one["allOf"][0])
    if "anyOf" in one:
        return " or ".join(_holds(part) for part in one["anyOf"])
    if "enum" in one:
        return " or ".join(f"`{json.dumps(value, ensure_ascii=False)}`" for value in one["enum"])
    if one.get("type") == "array":
        return f"list of {_holds(one['items'])}"
    if one.get("type") == "object" and "additionalProperties" in one:
        return f"by name: {_holds(one['additionalProperties'])}"
    words = {"string": "text", "integer": "whole number", "boolean": "true or false", "null": "null"}
    return f"number, {one['unit']}" if "unit" in one else words.get(str(one.get("type")), "number")


@cache
def _parts() -> dict[str, Any]:
    parts: dict[str, Any] = schema()["$defs"]
    return parts


def texts() -> dict[str, str]:
    """Both files as they have to be."""
    page = (ROOM / "contract.md").read_text(encoding="utf-8")
    head = re.split(re.escape(TABLES), page)[0]
    return {
        "contract.json": json.dumps(schema(), indent=1, ensure_ascii=False) + "\n",
        "contract.md": f"{head}{TABLES}\n{tables()}",
    }


def main() -> None:
    for name, text in texts().items():
        (ROOM / name).write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()

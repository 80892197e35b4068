"""Values of ours as bytes and back, for whoever works elsewhere: msgpack, and no pickle.

What arrives is what was sent, to the last type: figures, names that know their pieces, arrays. A value of a class
travels as the class's name with what it is made from, and only a dataclass, a shape, an enumeration, a name or a figure
of this package is ever made of it. A function travels as its name, and is one of a module of ours.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from enum import Enum
from functools import cache, partial
from importlib import import_module
from typing import Any

import msgspec

from analyser.language.identities import Identity

OURS = "analyser"
PLAIN = (type(None), bool, float)
SMALL = 2**63
SEVERAL: dict[type, str] = {list: "l", tuple: "t", frozenset: "f", set: "z"}


class NotCarried(TypeError):
    """A value that can't be sent, or bytes that no value of ours is in."""


def packed(value: object) -> bytes:
    """The bytes of a value; raises `NotCarried`."""
    names: dict[tuple[str, str], int] = {}
    tree = _tree(value, names)
    return msgspec.msgpack.encode(([list(name) for name in names], tree))


def unpacked(data: bytes) -> Any:
    """The value again; raises `NotCarried`."""
    try:
        names, tree = msgspec.msgpack.decode(data, type=tuple[list[tuple[str, str]], Any])
        return _value(tree, [_named(*one) for one in names])
    except (msgspec.MsgspecError, TypeError, ValueError, LookupError, AttributeError) as error:
        raise NotCarried(f"these bytes hold no value of {OURS}: {error}") from None


def _tree(value: Any, names: dict[tuple[str, str], int]) -> Any:
    """Plain lists, each with a letter for what it was."""
    kind = type(value)
    if kind in PLAIN or (kind is int and -SMALL <= value < SMALL):
        return value
    if kind is str or kind is bytes:
        return value if kind is bytes or _legible(value) else ["s", value.encode("utf-8", "surrogatepass")]
    if kind in SEVERAL:
        return [SEVERAL[kind], *(_tree(one, names) for one in value)]
    if kind is dict:
        return ["d", *(_tree(one, names) for pair in value.items() for one in pair)]
    if kind is int:
        return ["i", str(value)]
    if isinstance(value, Enum):
        return ["e", _number(kind, names), value.name]
    if isinstance(value, Identity):
        return ["c", _number(kind, names), *(_tree(one, names) for one in value.__reduce__()[1])]
    if kind is partial:
        return ["p", *(_tree(one, names) for one in (value.func, value.args, value.keywords))]
    if value is msgspec.UNSET:
        return ["u"]
    if dataclasses.is_dataclass(kind) or issubclass(kind, msgspec.Struct):
        return ["o", _number(kind, names), *(_tree(getattr(value, name), names) for name in _fields(kind))]
    if issubclass(kind, float) and kind.__module__.split(".")[0] == OURS:
        return ["n", _number(kind, names), float(value)]
    if callable(value) and getattr(value, "__qualname__", "").isidentifier():
        return ["g", _number(value, names)]
    return _of_numpy(value)


def _of_numpy(value: Any) -> Any:
    """Arrays and single numbers; whoever has one has loaded what makes them."""
    import numpy as np

    if isinstance(value, np.ndarray) and value.dtype.hasobject is False:
        return ["a", value.dtype.str, list(value.shape), np.ascontiguousarray(value).tobytes()]
    if isinstance(value, np.generic):
        return ["b", value.dtype.str, value.tobytes()]
    raise NotCarried(f"{type(value).__module__}.{type(value).__qualname__} is not sent anywhere")


def _value(tree: Any, named: list[Any]) -> Any:
    if type(tree) is not list:
        return tree
    letter, *rest = tree
    match letter:
        case "o":
            return _made(named[rest[0]], [_value(one, named) for one in rest[1:]])
        case "c":
            return named[rest[0]](*(_value(one, named) for one in rest[1:]))
        case "e":
            return named[rest[0]][rest[1]]
        case "n":
            return named[rest[0]](rest[1])
        case "g":
            return named[rest[0]]
        case "p":
            func, args, keywords = (_value(one, named) for one in rest)
            return partial(func, *args, **keywords)
        case "d":
            values = [_value(one, named) for one in rest]
            return dict(zip(values[::2], values[1::2], strict=True))
        case "s":
            return rest[0].decode("utf-8", "surrogatepass")
        case "i":
            return int(rest[0])
        case "u":
            return msgspec.UNSET
        case "a" | "b":
            return _numbers(letter, *rest)
    several = {letter: kind for kind, letter in SEVERAL.items()}[letter]
    return several(_value(one, named) for one in rest)


def _numbers(letter: str, kind: str, *rest: Any) -> Any:
    import numpy as np

    if letter == "b":
        return np.frombuffer(rest[0], dtype=kind)[0]
    shape, data = rest
    return np.frombuffer(data, dtype=kind).reshape(shape).copy()


def _made(kind: type, values: list[Any]) -> Any:
    """One value of a class with what it is made from; what it works out of that by itself, it works out again."""
    return kind(**dict(zip(_fields(kind), values, strict=True)))


@cache
def _fields(kind: Any) -> tuple[str, ...]:
    if issubclass(kind, msgspec.Struct):
        return tuple(kind.__struct_fields__)
    return tuple(one.name for one in dataclasses.fields(kind) if one.init)


def _legible(text: str) -> bool:
    """Has it bytes? The name of a file may have none."""
    try:
        return text.isascii() or bool(text.encode())
    except UnicodeEncodeError:
        return False


def _number(named: type | Callable[..., Any], names: dict[tuple[str, str], int]) -> int:
    """Which of the names that go along it has."""
    name = (named.__module__, named.__qualname__)
    if name not in names:
        if _named(*name) is not named:
            raise NotCarried(f"{'.'.join(name)} is not sent anywhere")
        names[name] = len(names)
    return names[name]


@cache
def _named(module: str, name: str) -> Any:
    """A class or a function of a module of ours."""
    if module.split(".")[0] != OURS:
        raise NotCarried(f"{module}.{name} is none of {OURS}")
    found = getattr(import_module(module), name)
    fine = isinstance(found, type) and (
        dataclasses.is_dataclass(found) or issubclass(found, (Enum, Identity, msgspec.Struct, float))
    )
    function = callable(found) and not isinstance(found, type)
    if found.__module__ != module or not (fine or function):
        raise NotCarried(f"{module}.{name} is not sent anywhere")
    return found

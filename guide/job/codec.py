"""Events as plain JSON data and back without loss: an exact, stable form for each class of `guide.job.events`.

How a field is written and read follows from its annotation, worked out once a class.
"""

from __future__ import annotations

import dataclasses
import types
import typing
from collections.abc import Callable, Mapping
from datetime import datetime
from functools import lru_cache
from typing import Any, Literal, Union

from guide.job.events import KINDS, Event, Value
from guide.quantity import Quantity, QuantityError, quantity


class EventError(ValueError):
    """Data from a record is not an event of its kind; the message says which key."""


def encode(event: Event) -> dict[str, object]:
    """The event's fields as plain JSON data, without those that hold their default."""
    return _write_class(event)


def decode(kind: str, data: Mapping[str, Any]) -> Event:
    """The event that `encode` wrote; raises `EventError` for an unknown kind or key or a wrong type."""
    cls = KINDS.get(kind)
    if cls is None:
        raise EventError(f'no event is called "{kind}"')
    event: Event = _read_class(cls, data)
    return event


_MISSING: Any = object()
_WRITERS: dict[Any, tuple[tuple[str, Callable[[Any], object], Any], ...]] = {}
_READERS: dict[Any, Mapping[str, tuple[Callable[[Any], Any], bool]]] = {}


def _writers(cls: Any) -> tuple[tuple[str, Callable[[Any], object], Any], ...]:
    if cls not in _WRITERS:
        hints = typing.get_type_hints(cls)
        _WRITERS[cls] = tuple((f.name, _writer(hints[f.name]), _default(f)) for f in dataclasses.fields(cls))
    return _WRITERS[cls]


def _readers(cls: Any) -> Mapping[str, tuple[Callable[[Any], Any], bool]]:
    if cls not in _READERS:
        hints = typing.get_type_hints(cls)
        _READERS[cls] = {f.name: (_reader(hints[f.name]), _default(f) is _MISSING) for f in dataclasses.fields(cls)}
    return _READERS[cls]


def _default(field: dataclasses.Field[Any]) -> Any:
    if field.default is not dataclasses.MISSING:
        return field.default
    if field.default_factory is not dataclasses.MISSING:
        return field.default_factory()
    return _MISSING


def _read_class(cls: type, data: Any) -> Any:
    if not isinstance(data, dict):
        raise EventError(f"{cls.__name__} is not an object")
    readers = _readers(cls)
    values = {}
    name = ""
    try:
        for name, raw in data.items():
            values[name] = readers[name][0](raw)
    except (ValueError, TypeError, QuantityError) as fault:
        raise EventError(f'"{name}": {fault}') from None
    except KeyError:
        raise EventError(f'unknown key "{name}"') from None
    if len(values) != len(readers):
        for name, (_, required) in readers.items():
            if required and name not in values:
                raise EventError(f'"{name}" is missing')
    return cls(**values)


def _plain(value: Any) -> Any:
    return value


def _write_class(value: Any) -> dict[str, object]:
    data: dict[str, object] = {}
    for name, write, default in _writers(type(value)):
        inner = getattr(value, name)
        if inner is not default and inner != default:
            data[name] = write(inner)
    return data


def _writer(hint: Any) -> Callable[[Any], Any]:
    options = _options(hint)
    if len(options) > 1:
        return _write_any
    hint = options[0]
    if typing.get_origin(hint) is tuple:
        inner = _writer(typing.get_args(hint)[0])
        return lambda value: [inner(item) for item in value]
    if dataclasses.is_dataclass(hint) and hint is not Quantity:
        return _write_class
    if hint is Quantity:
        return str
    if hint is datetime:
        return lambda value: value.isoformat()
    if typing.get_origin(hint) is not None and typing.get_origin(hint) is not Literal:
        return dict
    return _plain


def _write_any(value: Any) -> Any:
    """For unions: Quantity becomes {"amount": text}, so that it can't be taken for words."""
    if isinstance(value, Quantity):
        return {"amount": str(value)}
    if isinstance(value, datetime):
        return value.isoformat()
    if dataclasses.is_dataclass(value):
        return _write_class(value)
    return value


def _options(hint: Any) -> tuple[Any, ...]:
    if typing.get_origin(hint) in {Union, types.UnionType}:
        return tuple(arg for arg in typing.get_args(hint) if arg is not type(None))
    return (hint,)


def _reader(hint: Any) -> Callable[[Any], Any]:
    options = _options(hint)
    if set(options) == {Quantity, str}:
        return _read_value
    optional = type(None) in typing.get_args(hint)
    read = _read_one(options[0])
    if not optional:
        return read
    return lambda raw: None if raw is None else read(raw)


def _read_value(raw: Any) -> Value:
    if isinstance(raw, str):
        return raw
    if isinstance(raw, dict) and list(raw) == ["amount"]:
        return _amount(raw["amount"])
    raise EventError("neither words nor an amount")


def _read_one(hint: Any) -> Callable[[Any], Any]:
    origin = typing.get_origin(hint)
    if origin is tuple:
        inner = _reader(typing.get_args(hint)[0])
        return lambda raw: tuple(inner(item) for item in _typed(list, raw))
    if origin is Literal:
        allowed = frozenset(typing.get_args(hint))
        return lambda raw: _one_of(allowed, raw)
    if origin is not None:
        return lambda raw: {str(k): _typed(str, v) for k, v in _typed(dict, raw).items()}
    if hint is Quantity:
        return _amount
    if hint is datetime:
        return moment
    if dataclasses.is_dataclass(hint):
        return lambda raw: _read_class(typing.cast(type, hint), raw)
    return lambda raw: _typed(hint, raw)


def _amount(raw: Any) -> Quantity:
    if isinstance(raw, dict) and list(raw) == ["amount"]:
        raw = raw["amount"]
    return _read_amount(_typed(str, raw))


@lru_cache(maxsize=4096)
def _read_amount(text: str) -> Quantity:
    return quantity(text)


def _typed(cls: type, raw: Any) -> Any:
    if type(raw) is not cls:
        raise EventError(f"not {cls.__name__}")
    return raw


def _one_of(allowed: frozenset[str], raw: Any) -> Any:
    if not isinstance(raw, str) or raw not in allowed:
        raise EventError(f"not one of {', '.join(sorted(allowed))}")
    return raw


def moment(text: Any) -> datetime:
    """A time as RFC 3339 with its offset; raises `EventError` without one."""
    try:
        at = datetime.fromisoformat(_typed(str, text))
    except ValueError:
        raise EventError("not a time (RFC 3339)") from None
    if at.tzinfo is None:
        raise EventError("a time without its offset")
    return at

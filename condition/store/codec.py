"""A record's nested values to JSON and back, directed by the record's own type hints.

Exact both ways: floats by their shortest repr (IEEE 754 double), Decimal as text, tuples as lists, nested records as
objects by field name, shapes as :mod:`condition.records.shapes` writes them. A field that is missing takes its
default, so a record may gain fields; an unknown field is refused, so nothing is lost in silence.
"""

from __future__ import annotations

import dataclasses
import math
import operator
import types
import typing
from collections.abc import Callable
from decimal import Decimal, InvalidOperation
from functools import cache
from typing import Any, Literal, NamedTuple, Union

from condition.errors import InvalidRecord
from condition.records.shapes import Circle, Line, Point, Ring, shape_from_dict, shape_to_dict

SHAPES = frozenset((Point, Circle, Line, Ring))


class Codec(NamedTuple):
    """``encode`` to values :mod:`json` can write, ``decode`` back; both raise InvalidRecord on what cannot be held."""

    encode: Callable[[Any], Any]
    decode: Callable[[Any], Any]


@cache
def codec(hint: Any) -> Codec:
    """Return the codec of a type hint.

    Raises
    ------
    TypeError
        The store has no form for such a type.
    """
    if hint in _PLAIN:
        return _PLAIN[hint]
    origin, arguments = typing.get_origin(hint), typing.get_args(hint)
    if origin is Literal:
        return _literal(arguments)
    if origin in (Union, types.UnionType):
        return _union(arguments)
    if origin is tuple:
        return _tuple(arguments)
    if hint in SHAPES:
        return _shape((hint,))
    if dataclasses.is_dataclass(hint):
        return _record(hint)
    raise TypeError(f"the store has no form for {hint!r}")


def fields_of(record: type) -> dict[str, Any]:
    """Return a record's field names with their resolved type hints, in order."""
    hints = typing.get_type_hints(record)
    return {field.name: hints[field.name] for field in dataclasses.fields(record)}


def optional(hint: Any) -> tuple[Any, bool]:
    """Return (hint without None, whether None was allowed)."""
    arguments = typing.get_args(hint)
    if typing.get_origin(hint) in (Union, types.UnionType) and types.NoneType in arguments:
        rest = tuple(a for a in arguments if a is not types.NoneType)
        return (rest[0] if len(rest) == 1 else Union[rest]), True  # noqa: UP007 - built from a tuple at run time
    return hint, False


def _wrong(value: object, wanted: str) -> InvalidRecord:
    return InvalidRecord("value", f"{value!r} is not {wanted}")


def _text(value: Any) -> str:
    if not isinstance(value, str):
        raise _wrong(value, "text")
    try:
        value.encode()
    except UnicodeEncodeError:
        raise _wrong(value, "text in Unicode") from None
    return str(value)


def _flag(value: Any) -> bool:
    if isinstance(value, str) or value not in (0, 1):
        raise _wrong(value, "true or false")
    return bool(value)


def _whole(value: Any) -> int:
    try:
        number = operator.index(value)
    except TypeError:
        raise _wrong(value, "a whole number") from None
    if isinstance(value, bool) or not -(2**63) <= number < 2**63:
        raise _wrong(value, "a whole number of 64 bits")
    return number


def _number(value: Any) -> float:
    if isinstance(value, str | bytes | bool):
        raise _wrong(value, "a number")
    try:
        number = float(value)
    except (TypeError, ValueError, OverflowError):
        raise _wrong(value, "a number") from None
    if not math.isfinite(number):
        raise _wrong(value, "a finite number")
    return number


def _decimal_text(value: Any) -> str:
    if not (isinstance(value, Decimal) and value.is_finite()):
        raise _wrong(value, "a finite decimal")
    return str(value)


def _decimal(value: Any) -> Decimal:
    try:
        return Decimal(_text(value))
    except InvalidOperation:
        raise _wrong(value, "a decimal") from None


_PLAIN: dict[Any, Codec] = {
    str: Codec(_text, _text),
    bool: Codec(_flag, _flag),
    int: Codec(_whole, _whole),
    float: Codec(_number, _number),
    Decimal: Codec(_decimal_text, _decimal),
}


def _literal(allowed: tuple[Any, ...]) -> Codec:
    def same(value: Any) -> Any:
        if value not in allowed:
            raise _wrong(value, f"one of {', '.join(map(repr, allowed))}")
        return value

    return Codec(same, same)


def _union(arguments: tuple[Any, ...]) -> Codec:
    rest = tuple(a for a in arguments if a is not types.NoneType)
    if all(a in SHAPES for a in rest):
        inner = _shape(rest)
    elif len(rest) == 1:
        inner = codec(rest[0])
    else:
        raise TypeError(f"the store has no form for a choice of {rest!r}")
    if len(rest) == len(arguments):
        return inner
    return Codec(
        lambda value: None if value is None else inner.encode(value),
        lambda value: None if value is None else inner.decode(value),
    )


def _shape(allowed: tuple[type, ...]) -> Codec:
    names = " or ".join(kind.__name__ for kind in allowed)

    def checked(shape: Any) -> Any:
        if not isinstance(shape, allowed):
            raise _wrong(shape, f"a {names}")
        return shape

    return Codec(
        lambda value: shape_to_dict(checked(value)),
        lambda value: checked(shape_from_dict(_object(value))),
    )


def _tuple(arguments: tuple[Any, ...]) -> Codec:
    if len(arguments) == 2 and arguments[1] is Ellipsis:
        item = codec(arguments[0])
        return Codec(
            lambda value: [item.encode(v) for v in _row(value)],
            lambda value: tuple(item.decode(v) for v in _row(value)),
        )
    items = tuple(codec(a) for a in arguments)

    def sized(value: Any) -> Any:
        if len(_row(value)) != len(items):
            raise _wrong(value, f"{len(items)} values")
        return value

    return Codec(
        lambda value: [item.encode(v) for item, v in zip(items, sized(value), strict=True)],
        lambda value: tuple(item.decode(v) for item, v in zip(items, sized(value), strict=True)),
    )


def _row(value: Any) -> Any:
    if not isinstance(value, list | tuple):
        raise _wrong(value, "a row of values")
    return value


def _object(value: Any) -> dict:
    if not isinstance(value, dict):
        raise _wrong(value, "an object")
    return value


def _record(record: type) -> Codec:
    codecs = {name: codec(hint) for name, hint in fields_of(record).items()}

    def encode(value: Any) -> dict:
        if type(value) is not record:
            raise _wrong(value, f"a {record.__name__}")
        return {name: c.encode(getattr(value, name)) for name, c in codecs.items()}

    def decode(values: Any) -> Any:
        if unknown := _object(values).keys() - codecs.keys():
            raise InvalidRecord(record.__name__, f"unknown {', '.join(sorted(unknown))}")
        try:
            return record(**{name: codecs[name].decode(value) for name, value in values.items()})
        except TypeError as error:
            raise InvalidRecord(record.__name__, str(error)) from error

    return Codec(encode, decode)

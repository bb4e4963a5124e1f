"""A case as text that can be kept beside its projection, and read again without loss.

Compressed JSON in base64; floats keep every bit, so the same projection can be made again.
"""

from __future__ import annotations

import base64
import json
import types
import zlib
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from datetime import date
from typing import Literal, TypeVar, Union, cast, get_args, get_origin, get_type_hints

from inventory.forecast.types import Case, Sisters

T = TypeVar("T")
LEVEL = 9


def packed(case: Case) -> str:
    """The case as ASCII text."""
    plain = json.dumps(_plain(case), separators=(",", ":"), sort_keys=True)
    return base64.b64encode(zlib.compress(plain.encode(), LEVEL)).decode()


def unpacked(text: str) -> Case:
    """The case again. Raises ValueError for anything that :func:`packed` did not write."""
    try:
        plain = json.loads(zlib.decompress(base64.b64decode(text, validate=True)))
        return _read(Case, plain)
    except (KeyError, TypeError, ValueError, zlib.error) as trouble:
        raise ValueError(f"No case was kept here: {trouble}") from trouble


def sisters_parts(sisters: Sisters) -> dict[str, object]:
    """What sisters taught, as plain values."""
    return cast("dict[str, object]", _plain(sisters))


def sisters_of(parts: Mapping[str, object] | None) -> Sisters | None:
    """The same again; None where nothing was kept."""
    return _read(Sisters, dict(parts)) if parts else None


def _plain(value: object) -> object:
    """Fields that have their default are left out."""
    if is_dataclass(value) and not isinstance(value, type):
        blank = {f.name: f.default for f in fields(value)}
        told = {f.name: getattr(value, f.name) for f in fields(value)}
        return {k: _plain(v) for k, v in told.items() if v != blank[k]}
    if isinstance(value, Mapping):
        return {str(k): _plain(v) for k, v in value.items()}
    if isinstance(value, tuple | list):
        return [_plain(one) for one in value]
    return value.isoformat() if isinstance(value, date) else value


def _read(kind: type[T], plain: object) -> T:
    if not isinstance(plain, dict):
        raise TypeError(f"{kind.__name__} is not an object")
    hints = get_type_hints(kind)
    return kind(**{name: _value(hints[name], value) for name, value in plain.items()})


def _value(hint: object, plain: object) -> object:
    origin, inner = get_origin(hint), get_args(hint)
    if origin in {Union, types.UnionType}:
        kinds = [one for one in inner if one is not type(None)]
        return None if plain is None else _value(kinds[0], plain)
    if origin is tuple:
        each = [inner[0]] * len(cast("list[object]", plain)) if inner[-1] is ... else list(inner)
        values = cast("list[object]", plain)
        return tuple(_value(kind, one) for kind, one in zip(each, values, strict=True))
    if origin is not None and origin is not Literal:
        return dict(cast("Mapping[str, object]", plain))
    if hint is date:
        return date.fromisoformat(str(plain))
    if hint is float:
        return float(cast("float", plain))
    return _read(hint, plain) if isinstance(hint, type) and is_dataclass(hint) else plain

"""One number or a whole array of them: what the formulas here take, and how they refuse.

Every formula takes a float, or where it is asked of many things at once an array of floats, and
gives back the same kind. Refused are NaN, infinity, text, truth values and whatever lies outside.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar, cast

import numpy as np
from numpy.typing import NDArray

from gallery_ops.kernel.values.limits import Limit, OutOfRange

Array = NDArray[np.float64]
N = TypeVar("N", float, Array)

KELVIN = 273.15
LN_10 = 2.302585092994046
USUAL_KPA = 101.325
"""Standard atmosphere [kPa]."""


def within(field: str, limit: Limit, value: object, remedy: str = "") -> None:
    """Raise OutOfRange unless each number lies inside the limit, ends included.

    >>> within("pH", Limit(5, 9), 7.2)
    """
    bad = _first_bad(value, limit.holds)
    if bad is not None:
        raise OutOfRange(field, limit.words(), f"{_shown(bad)} {limit.unit}".strip(), remedy)


def above_zero(field: str, unit: str, value: object, remedy: str = "") -> None:
    """Raise OutOfRange unless each number is more than nothing."""
    bad = _first_bad(value, lambda number: number > 0)
    if bad is not None:
        allowed = f"more than 0 {unit}".strip()
        raise OutOfRange(field, allowed, f"{_shown(bad)} {unit}".strip(), remedy)


def not_negative(field: str, unit: str, value: object, remedy: str = "") -> None:
    """Raise OutOfRange unless each number is 0 or more."""
    within(field, Limit(0, None, unit), value, remedy)


def _first_bad(value: object, is_fine: Callable[[float], bool]) -> object:
    """The first of the numbers that is none or is not fine; None when all are."""
    if isinstance(value, bool | np.bool_) or not isinstance(value, int | float | np.ndarray):
        return "nothing" if value is None else value
    if isinstance(value, np.ndarray) and value.dtype.kind not in "fiu":
        return f"an array of {value.dtype}"
    for number in np.atleast_1d(value).ravel().tolist():
        if not np.isfinite(number) or not is_fine(number):
            return cast("object", number)
    return None


def _shown(value: object) -> str:
    return f"{value:g}" if isinstance(value, float) else str(value)


def exp(x: N) -> N:
    """e to the power of x."""
    return _as(x, np.exp(x))


def ln(x: N) -> N:
    """Natural logarithm."""
    return _as(x, np.log(x))


def log10(x: N) -> N:
    """Decimal logarithm."""
    return _as(x, np.log10(x))


def ten_to(x: N) -> N:
    """10 to the power of x."""
    return _as(x, np.exp(x * LN_10))


def _as(asked: N, found: Array | float) -> N:
    """A plain float for a plain number, an array for an array."""
    if isinstance(asked, np.ndarray):
        array: Array = np.asarray(found, dtype=np.float64)
        return array
    return float(found)

"""Range checks at the public edge of the physics: one sentence with value, range and reason."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from tankside.units import registry

if TYPE_CHECKING:
    from collections.abc import Sequence
    from typing import TypeAlias

    import pint

    Quantity: TypeAlias = pint.Quantity[Any]


def _text(value: Any) -> str:
    flat = np.atleast_1d(np.asarray(value, dtype=float))
    return f"{flat[0]:.6g}" if flat.size == 1 else f"{np.min(flat):.6g} … {np.max(flat):.6g}"


def _with_unit(text: str, unit: str) -> str:
    return f"{text} {unit}" if unit else text


def in_range(name: str, value: Any, low: float, high: float, unit: str, reason: str) -> Any:
    """``value`` (a number or an array), if every element lies in [low, high].

    Otherwise a ``ValueError`` that names the value, the range and ``reason``; NaN is never in range.
    An end of the range may be infinite, but a value that is infinite itself is refused.
    """
    array = np.asarray(value, dtype=float)
    if np.isnan(array).any():
        raise ValueError(f"{name} is not a number (NaN); expected {_limits(low, high, unit)}: {reason}")
    if not np.isfinite(array).all() or (array < low).any() or (array > high).any():
        raise ValueError(f"{name} = {_with_unit(_text(array), unit)} is out of range; "
                         f"expected {_limits(low, high, unit)}: {reason}")  # fmt: skip
    return value


def _limits(low: float, high: float, unit: str) -> str:
    if np.isinf(high):
        return f"at least {_with_unit(f'{low:.6g}', unit)}"
    if np.isinf(low):
        return f"at most {_with_unit(f'{high:.6g}', unit)}"
    return f"{low:.6g} to {_with_unit(f'{high:.6g}', unit)}"


def si(name: str, value: Quantity, unit: str, low: float, high: float, reason: str) -> Any:
    """The magnitude of the quantity ``value`` in ``unit``, if it lies in [low, high] of that unit.

    The ``ValueError`` speaks in the unit that the value came in: who typed °F reads °F.
    """
    ureg = registry()
    if not hasattr(value, "magnitude"):
        raise ValueError(f"{name} = {value!r} has no unit; expected a quantity in {unit}, "
                         f"for example quantity({_example(low, high):.4g}, '{unit}')")  # fmt: skip
    if not value.check(ureg.parse_units(unit).dimensionality):
        raise ValueError(f"{name} = {value} is no quantity in {unit}; expected one: {reason}")
    ends = sorted(_in_units_of(value, end, unit) for end in (low, high))
    magnitude = np.asarray(value.magnitude, dtype=float)
    for (
        end
    ) in ends:  # a value at the very end of its range must not fall out of it by a conversion's rounding
        near = np.isfinite(end) and np.abs(magnitude - end) <= 1e-11 * max(abs(end), 1.0)
        magnitude = np.where(near, end, magnitude)
    in_range(name, magnitude, ends[0], ends[1], f"{value.units:~P}", reason)
    return np.clip(value.to(unit).magnitude, low, high)[()]


def number(name: str, value: Any, low: float, high: float, reason: str) -> Any:
    """A pure number (or a dimensionless quantity such as 75 percent) in [low, high]."""
    if hasattr(value, "magnitude"):
        return si(name, value, "dimensionless", low, high, reason)
    if isinstance(value, bool | str) or value is None:
        raise ValueError(f"{name} = {value!r} is no number; expected {_limits(low, high, '')}: {reason}")
    return in_range(name, value, low, high, "", reason)


def one_of(name: str, value: str, choices: Sequence[str]) -> str:
    """``value``, if it is one of the choices."""
    if value not in choices:
        raise ValueError(f"{name} = {value!r} is out of range; expected one of {', '.join(choices)}")
    return value


def _example(low: float, high: float) -> float:
    return (low + high) / 2 if np.isfinite(low) and np.isfinite(high) else 1.0


def _in_units_of(value: Quantity, end: float, unit: str) -> float:
    return float(registry().Quantity(end, unit).to(value.units).magnitude) if np.isfinite(end) else end

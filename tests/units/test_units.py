"""Units: is the short table right, and is text read strictly?"""

from __future__ import annotations

import math
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tankside.units import _PLAIN, number_in, registry, significant

NAMES = {"in": "inch", "min": "minute", "": "dimensionless", "gal": "gallon"}
"""Where the trade's short form means something else to the registry, or is written differently."""


def same_kind() -> list[tuple[str, str]]:
    """Every two units of the short table that measure the same."""
    return [(a, b) for a in _PLAIN for b in _PLAIN if _PLAIN[a][0] == _PLAIN[b][0]]


@pytest.mark.parametrize(("written", "wanted"), same_kind())
def test_short_table_against_pint(written: str, wanted: str) -> None:
    """Does the table without a registry convert as pint does?"""
    quantity = registry().Quantity(12.5, NAMES.get(written, written))
    theirs = quantity.to(NAMES.get(wanted, wanted)).magnitude
    assert number_in(f"12.5 {written}", wanted) == pytest.approx(theirs, rel=1e-12)


def test_other_kinds_are_refused() -> None:
    """Is any unit converted into one of another kind?"""
    for written in _PLAIN:
        for wanted in _PLAIN:
            if _PLAIN[written][0] != _PLAIN[wanted][0]:
                with pytest.raises(ValueError, match="can't be given"):
                    number_in(f"1 {written}", wanted)


def test_units_beyond_the_table() -> None:
    """Do units that only the registry knows still work?"""
    assert number_in("11 inWC", "Pa") == pytest.approx(2739.98, rel=1e-4)
    assert number_in("10000 BTU_per_hour", "W") == pytest.approx(2930.71, rel=1e-5)


@pytest.mark.parametrize(
    "text", ["", "V", "ten V", "nan V", "inf V", "40 V...", "2**3 V", "1/0 V", "4 0 V", "1e9999 V", "0x10 V", "__import__('os') V"]
)  # fmt: skip
def test_not_a_number_with_a_unit(text: str) -> None:
    """Is text that isn't one number and one unit refused?"""
    with pytest.raises(ValueError, match=r"number|given"):
        number_in(text, "V")


@given(st.floats(min_value=-1e6, max_value=1e6), st.sampled_from([1, 2, 3, 4]))
def test_significant(value: float, digits: int) -> None:
    """Is what is written within half of the last digit that was asked for?"""
    text = significant(value, digits).replace(",", "")
    assert math.isclose(float(text), value, rel_tol=0.5 * 10 ** (1 - digits) * 1.001, abs_tol=1e-12)
    assert re.fullmatch(r"-?[\d.]+(e[+-]\d+)?", text)

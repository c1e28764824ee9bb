"""Does the public edge refuse what lies outside, in one sentence with value, range and reason?"""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tankside.physics._ranges import in_range, number, one_of, si
from tankside.units import quantity, registry


def test_the_sentence_names_value_range_and_reason() -> None:
    """Does who typed °F read °F?"""
    with pytest.raises(
        ValueError, match="temperature = 300 °F is out of range; expected 32 to 212 °F: liquid water"
    ):
        si("temperature", quantity(300, "degF"), "kelvin", 273.15, 373.15, "liquid water")


@pytest.mark.parametrize("bad", [math.nan, [1.0, math.nan], math.inf, -math.inf, -0.1, 1.1, [0.5, 2.0]])
def test_bad_values_are_refused(bad: object) -> None:
    """Are NaN, infinity and anything outside refused, also inside an array?"""
    with pytest.raises(ValueError, match="part"):
        in_range("part", bad, 0.0, 1.0, "", "a part")
    with pytest.raises(ValueError, match="part"):
        number("part", bad, 0.0, 1.0, "a part")
    with pytest.raises(ValueError, match="length"):
        si("length", registry().Quantity(bad, "m"), "m", 0.0, 1.0, "a rod")


def test_infinity_is_refused_where_the_range_is_open() -> None:
    """Does an open end still refuse infinity?"""
    with pytest.raises(ValueError, match="at least 0 m"):
        si("length", quantity(math.inf, "m"), "m", 0.0, math.inf, "a rod")


@pytest.mark.parametrize("bad", [5, 5.0, None, "5 ft"])
def test_a_missing_unit_is_told(bad: object) -> None:
    """Is a plain number told that it lacks a unit?"""
    with pytest.raises(ValueError, match="has no unit; expected a quantity in m"):
        si("length", bad, "m", 0.0, 1.0, "a rod")  # type: ignore[arg-type]


def test_a_wrong_unit_is_told() -> None:
    """Are seconds refused as a length?"""
    with pytest.raises(ValueError, match=r"length = 3\.0 s is no quantity in m"):
        si("length", quantity(3.0, "s"), "m", 0.0, 1.0, "a rod")


@pytest.mark.parametrize("bad", [None, "0.5", True])
def test_what_is_no_number_is_told(bad: object) -> None:
    """Are text, nothing and yes/no refused as a number?"""
    with pytest.raises(ValueError, match="is no number"):
        number("part", bad, 0.0, 1.0, "a part")


def test_percent_and_choices() -> None:
    """Does 75 percent count as 0.75, and is a wrong choice told the right ones?"""
    assert number("part", quantity(75, "percent"), 0.0, 1.0, "a part") == pytest.approx(0.75)
    assert one_of("alloy", "a", ("a", "b")) == "a"
    with pytest.raises(ValueError, match="expected one of a, b"):
        one_of("alloy", "c", ("a", "b"))


@given(st.floats(0.0, 100.0), st.sampled_from(["degF", "kelvin", "degC"]))
def test_the_ends_are_in_range_in_every_unit(celsius: float, unit: str) -> None:
    """Does a conversion's rounding never push a value at the end out of its range?"""
    value = registry().Quantity(celsius, "degC").to(unit)
    assert si("temperature", value, "kelvin", celsius + 273.15, 400.0, "the low end") == pytest.approx(
        celsius + 273.15
    )
    assert si("temperature", value, "kelvin", 200.0, celsius + 273.15, "the high end") <= celsius + 273.15


@pytest.mark.parametrize(("low", "high"), [(2.0, 8.0), (-40.0, 200.0)])
def test_the_example_is_one_that_would_do(low: float, high: float) -> None:
    """Who forgets the unit is shown a quantity: does it lie in the range, and would it be taken?"""
    with pytest.raises(ValueError, match="for example") as caught:
        si("length", 5.0, "m", low, high, "a rod")  # type: ignore[arg-type]
    shown = str(caught.value).split("quantity(")[-1].split(",")[0]
    assert float(shown) == pytest.approx((low + high) / 2)
    assert si("length", quantity(float(shown), "m"), "m", low, high, "a rod") == float(shown)

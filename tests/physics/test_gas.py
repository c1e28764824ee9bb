"""Orifices, drills, heat input and altitude against the published rows and their scaling laws."""

from __future__ import annotations

import math

import numpy as np
import pytest
from fluids.atmosphere import ATMOSPHERE_1976
from hypothesis import given, settings
from hypothesis import strategies as st

from tankside.physics.fuels import STANDARD_PRESSURE, fuel, fuel_names
from tankside.physics.gas import (
    RULES,
    Rule,
    altitude_bore_si,
    altitude_derate,
    altitude_derate_si,
    drill_diameter,
    drill_sizes,
    first_principles_constant,
    gas_speed_si,
    heat_input,
    heat_input_si,
    nearest_drill,
    orifice_diameter,
    orifice_flow,
    orifice_flow_si,
    pressure_in,
)
from tankside.units import quantity
from tests.published import row

ELEVEN = quantity(11, "inWC")
diameters, pressures = st.floats(1e-4, 5e-3), st.floats(1.0, 1.5e4)


def test_published_orifice_table() -> None:
    """Does the textbook's table come out, with its diameters?"""
    flow, bore = row("gas", "orifice-flow"), row("gas", "orifice-drill-diameter")
    for index, (size, _) in enumerate(flow.pairs()):
        assert bore.agrees(drill_diameter(size).magnitude, index)
        assert flow.agrees(orifice_flow(drill_diameter(size), ELEVEN, 1.50).to("cfh").magnitude, index), size


def test_published_heat_input() -> None:
    """Heat through the same orifices, propane as this project computes it: within 3 %."""
    published = row("gas", "orifice-input")
    for index, (size, _) in enumerate(published.pairs()):
        flow = orifice_flow(drill_diameter(size), ELEVEN, 1.50)
        assert published.agrees(heat_input(flow, fuel("propane")).magnitude, index)


def test_two_constants() -> None:
    """Are the trade's constant and the one from air's density both there, half a percent apart?"""
    assert row("gas", "orifice-constant-first-principles").agrees(first_principles_constant())
    trade, first = (orifice_flow(quantity(0.04, "in"), ELEVEN, 0.6, constant=c).magnitude for c in ("handbook", "first principles"))  # fmt: skip
    assert trade / first == pytest.approx(1658.5 / first_principles_constant(), rel=1e-12)


@given(diameters, pressures, st.floats(1.01, 4))
def test_flow_scales(d: float, p: float, factor: float) -> None:
    """Published exponents: one half of pressure, two of diameter; one half of specific gravity, downwards."""
    base = orifice_flow_si(d, p, 1.5)
    assert math.log(orifice_flow_si(d, p * factor, 1.5) / base, factor) == pytest.approx(row("gas", "orifice-scaling-pressure").value, rel=1e-6)  # fmt: skip
    assert math.log(orifice_flow_si(d * factor, p, 1.5) / base, factor) == pytest.approx(row("gas", "orifice-scaling-diameter").value, rel=1e-6)  # fmt: skip
    assert math.log(orifice_flow_si(d, p, 1.5 * factor) / base, factor) == pytest.approx(-0.5, rel=1e-6)


@given(st.floats(0.01, 0.2), st.floats(1, 30), st.floats(0.5, 2.1))
def test_orifice_round_trip(inch: float, column: float, gravity: float) -> None:
    """Diameter to flow to diameter."""
    flow = orifice_flow(quantity(inch, "in"), quantity(column, "inWC"), gravity)
    if 0.05 < flow.magnitude < 500:
        assert orifice_diameter(flow, quantity(column, "inWC"), gravity).magnitude == pytest.approx(
            inch, rel=1e-9
        )


@settings(max_examples=25)
@given(pressures, st.floats(0.5, 3))
def test_jet_has_the_energy_of_the_pressure(p: float, density: float) -> None:
    """Bernoulli: is half the density times the speed squared the pressure; and is there no jet inwards?"""
    assert density * gas_speed_si(p, density) ** 2 / 2 == pytest.approx(p)
    assert gas_speed_si(-p, density) == gas_speed_si(0.0, density) == 0.0


@settings(max_examples=25)
@given(diameters, pressures, st.floats(230, 330))
def test_warm_gas_passes_less(d: float, p: float, kelvin: float) -> None:
    """Counted at 60 degF, an orifice passes gas as the root of its density: less by the root of the temperature."""
    ratio = orifice_flow_si(d, p, 1.5, temperature=kelvin) / orifice_flow_si(d, p, 1.5)
    assert ratio == pytest.approx(math.sqrt(288.7056 / kelvin), rel=1e-6)


def test_kernel_is_batched() -> None:
    """One call for many units gives what one call each gives."""
    d, p, g = np.array([8e-4, 9e-4, 1e-3]), np.array([2740.0, 0.0, -50.0]), np.array([1.52, 0.6, 2.0])
    together = orifice_flow_si(d, p, g)
    assert together.shape == (3,)
    assert list(together) == [float(orifice_flow_si(*one)) for one in zip(d, p, g, strict=True)]
    assert together[1] == together[2] == 0.0


def test_published_drills() -> None:
    """The drill table, and each drill is the nearest to itself; a bigger number is a smaller hole."""
    published = row("gas_extra", "number-drills")
    for index, (size, _) in enumerate(published.pairs()):
        assert published.agrees(drill_diameter(size).magnitude, index)
    inches = [drill_diameter(size).magnitude for size in drill_sizes()]
    assert inches == sorted(inches) and drill_sizes() == sorted(drill_sizes(), reverse=True)
    assert all(nearest_drill(drill_diameter(size)) == size for size in drill_sizes())


def test_published_eleven_inches() -> None:
    """11 inches of water column in the trade's other units."""
    published = row("gas", "eleven-inches-water")
    for index, (unit, _) in enumerate(published.pairs()):
        assert published.agrees(pressure_in(ELEVEN, unit).magnitude, index), unit
    assert row("gas", "eleven-inches-water-60f").agrees(
        pressure_in(quantity(11, "inch_H2O_60F"), "Pa").magnitude
    )


def test_published_derates() -> None:
    """Two rules disagree: the rule is a parameter, and there is none without it."""
    published = row("gas", "altitude-derate-5000-ft")
    for index, (rule, _) in enumerate(published.pairs()):
        assert published.agrees(altitude_derate(quantity(5000, "ft"), rule).magnitude, index)
    threshold = row("gas", "altitude-derate-above-sea-level").given["threshold"]
    assert altitude_derate(quantity(threshold), "above sea level").magnitude == 0
    for id, above in (("altitude-derate-above-sea-level", 0), ("altitude-derate-above-2000", 2000)):
        step = row("gas", id).value
        assert altitude_derate(quantity(above + 3000, "ft"), id[16:].replace("-", " ") + (" ft" if above else "")).magnitude == pytest.approx(3 * step)  # type: ignore[arg-type,operator]  # fmt: skip


@pytest.mark.parametrize("feet", [3000, 5000, 8000])
def test_published_orifices_at_altitude(feet: int) -> None:
    """Does each sea-level orifice become the number that the published table prints for the altitude?"""
    inches = dict(row("gas_extra", "number-drills-larger").pairs())
    shrinks = float(altitude_bore_si(feet * 0.3048))
    for size, published in row("gas", f"altitude-derate-orifices-{feet}-ft").pairs():
        hole = inches[size] * shrinks
        assert min(inches, key=lambda number, hole=hole: abs(inches[number] - hole)) == published, size


@pytest.mark.parametrize(("rule", "feet"), [("above sea level", 2001), ("above sea level", 5000), ("above sea level", 10000),
                                            ("above 2000 ft", 5000), ("above 2000 ft", 10000)])  # fmt: skip
def test_the_smaller_orifice_passes_what_the_rule_leaves(rule: Rule, feet: float) -> None:
    """With its smaller hole and in its thin air, is the input at the altitude what the rule leaves of the sea level's?"""
    bore, height = quantity(0.036, "in"), quantity(feet, "ft")
    smaller = bore * float(altitude_bore_si(height.to("m").magnitude, rule))
    left = orifice_flow(smaller, ELEVEN, 1.52, altitude=height) / orifice_flow(bore, ELEVEN, 1.52)
    assert 100 * (1 - left.magnitude) == pytest.approx(altitude_derate(height, rule).magnitude, abs=0.1)


@settings(max_examples=25)
@given(st.floats(-500, 4500), st.floats(0, 500))
def test_no_altitude_asks_for_a_larger_orifice(height: float, more: float) -> None:
    """Is the orifice never larger than at sea level, nor larger higher up; and as it was without a rule?"""
    for rule in RULES:
        assert 1 >= altitude_bore_si(height, rule) >= altitude_bore_si(height + more, rule) * (1 - 1e-12)  # type: ignore[arg-type]
    assert altitude_bore_si(height, "none") == 1 == altitude_bore_si(min(height, 609.0))


@given(st.floats(-500, 4500), st.floats(0, 500))
def test_derate_never_falls(height: float, more: float) -> None:
    """Higher never means less derate; without a rule there is none."""
    for rule in RULES:
        assert altitude_derate_si(height + more, rule) >= altitude_derate_si(height, rule) >= 0  # type: ignore[arg-type]
    assert altitude_derate_si(height, "none") == 0


@pytest.mark.parametrize("feet", [0, 2000, 5000, 9000])
def test_thin_air_passes_less(feet: float) -> None:
    """The unchanged orifice loses as the square root of the standard atmosphere's pressure (fluids)."""
    height = quantity(feet, "ft")
    ratio = orifice_flow(quantity(0.035, "in"), ELEVEN, 1.5, altitude=height) / orifice_flow(quantity(0.035, "in"), ELEVEN, 1.5)  # fmt: skip
    assert ratio.magnitude == pytest.approx(math.sqrt(ATMOSPHERE_1976(height.to("m").magnitude).P / STANDARD_PRESSURE), rel=1e-3)  # fmt: skip


@pytest.mark.parametrize("name", fuel_names())
def test_heat_input_kernel_agrees(name: str) -> None:
    """The kernel and the public function give the same heat."""
    watts = float(heat_input_si(3e-5, fuel(name)))
    assert heat_input(quantity(3e-5, "m**3/s"), fuel(name)).to("W").magnitude == pytest.approx(
        watts, rel=1e-9
    )


@pytest.mark.parametrize(
    "call",
    [
        lambda: orifice_flow(quantity(1, "in"), ELEVEN, 1.5),
        lambda: orifice_flow(quantity(0.035, "in"), quantity(100, "psi"), 1.5),
        lambda: orifice_flow(quantity(0.035, "in"), ELEVEN, math.nan),
        lambda: orifice_flow(quantity(math.nan, "in"), ELEVEN, 1.5),
        lambda: orifice_flow(quantity(0.035, "in"), ELEVEN, 1.5, constant="mine"),  # type: ignore[arg-type]
        lambda: drill_diameter(12),
        lambda: drill_diameter(66.5),  # type: ignore[arg-type]
        lambda: altitude_derate(quantity(5000, "ft"), "some"),  # type: ignore[arg-type]
        lambda: altitude_derate(quantity(9000, "m"), "none"),
        lambda: pressure_in(ELEVEN, "furlong"),
        lambda: pressure_in(ELEVEN, "nonsense"),
    ],
)
def test_out_of_range(call: object) -> None:
    """Refused with the value and what would be right?"""
    with pytest.raises(ValueError, match=r"out of range; expected|NaN"):
        call()  # type: ignore[operator]

"""Copper conductors against ASTM B258, the code's table and the library fluids."""

from __future__ import annotations

import math

import fluids
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tankside.physics import conductors
from tankside.units import quantity
from tests.published import row

GAUGES = st.integers(-3, 40)


def test_awg_law() -> None:
    """ASTM B258: are gauges 36 and 0000 their defining diameters, and the ratio between neighbours 92^(1/39)?"""
    law = row("electrical", "awg-law")
    for index, (gauge, _) in enumerate(law.pairs()):
        assert law.agrees(conductors.awg_diameter(int(gauge)).to(law.unit).magnitude, index)
    ratio = conductors.awg_diameter(14) / conductors.awg_diameter(15)
    assert row("electrical", "awg-ratio").agrees(ratio.magnitude)


@pytest.mark.parametrize("gauge", range(37))
def test_awg_against_fluids(gauge: int) -> None:
    """Does the table in the library fluids (rounded to mils and tenths of mils) hold the same diameters?"""
    inches = fluids.t_from_gauge(gauge, SI=False, schedule="AWG")
    digits = max(3, len(f"{inches:.10f}".rstrip("0").partition(".")[2]))
    assert conductors.awg_diameter(gauge).to("inch").magnitude == pytest.approx(inches, abs=0.6 * 10**-digits)


def test_copper() -> None:
    """NBS Handbook 100: is copper's resistivity at 20 °C, and its rise, as printed?"""
    at_20 = conductors.copper_resistivity(quantity(20, "degC"))
    at_21 = conductors.copper_resistivity(quantity(21, "degC"))
    assert row("electrical", "copper-resistivity").agrees(at_20.to("ohm*mm**2/m").magnitude)
    assert row("electrical", "copper-temperature-coefficient").agrees((at_21 / at_20).magnitude - 1.0)


@pytest.mark.parametrize("name", ["copper-solid-20c", "copper-solid-75c", "copper-solid-75c-code"])
def test_solid_wire(name: str) -> None:
    """NEC chapter 9 table 8 (as quoted) and its computed twin: is the resistance of 1000 ft as printed?"""
    table = row("electrical", name)
    for index, (gauge, _) in enumerate(table.pairs()):
        ohms = conductors.wire_resistance(
            int(gauge), table.condition("length"), table.condition("temperature")
        )
        assert table.agrees(ohms.to(table.unit).magnitude, index)


def test_voltage_drop() -> None:
    """Is 50 ft of 14 AWG with 11.667 A the drop that the table's resistance gives?"""
    check = row("electrical", "voltage-drop-check")
    drop = conductors.voltage_drop(
        int(check.given["gauge"]),
        check.condition("length"),
        check.condition("current"),
        check.condition("temperature"),
    )
    assert check.agrees(drop.to("V").magnitude, 0)
    assert check.agrees((drop / check.condition("supply")).magnitude * 100.0, 1)


@given(GAUGES, st.floats(0.1, 1000), st.floats(-40, 200))
def test_resistance_is_a_law(gauge: int, metres: float, celsius: float) -> None:
    """Does resistance grow with length, gauge number and temperature, in the right proportion?"""

    def ohms(g: int, length: float, t: float) -> float:
        return float(conductors.wire_resistance(g, quantity(length, "m"), quantity(t, "degC")).magnitude)

    r = ohms(gauge, metres, celsius)
    assert ohms(gauge, 2 * metres, celsius) == pytest.approx(2 * r)
    assert ohms(gauge, metres, min(celsius + 1, 200)) >= r
    if gauge <= 37:  # three gauges are 92^(6/39) = 2.005 in area
        assert ohms(gauge + 3, metres, celsius) / r == pytest.approx(92 ** (6 / 39))


@given(GAUGES)
def test_names_of_sizes_mean_the_same(gauge: int) -> None:
    """Do 14, "14" and "14 AWG", and 00, 2/0 and -1, name one size?"""
    area = conductors.awg_area(gauge)
    assert conductors.conductor_area(gauge) == conductors.conductor_area(f"{gauge} AWG") == area
    assert conductors.conductor_area(area).magnitude == pytest.approx(area.magnitude)
    assert area.magnitude == pytest.approx(math.pi / 4 * conductors.awg_diameter(gauge).magnitude ** 2)
    if gauge < 1:
        assert conductors.awg_area(f"{1 - gauge}/0") == area
    if gauge < 0:
        assert conductors.awg_area("0" * (1 - gauge)) == area


def test_metric_sizes() -> None:
    """Is a metric size its area, however it is written?"""
    for text in ("2.5 mm2", "2.5mm²", "2.5 mm^2"):
        assert conductors.conductor_area(text).to("mm**2").magnitude == pytest.approx(2.5)
    smallest = [conductors.wire_resistance(quantity(a, "mm**2"), quantity(1, "m")).magnitude
                for a in conductors.METRIC_SIZES]  # fmt: skip
    assert smallest == sorted(smallest, reverse=True)


@pytest.mark.parametrize(
    "size", [41, -4, 14.5, "14.5", "5/0", "wire", "x mm2", "0.0001 mm2", quantity(1, "m")]
)
def test_no_such_size(size: object) -> None:
    """Is a size that isn't sold refused with one sentence?"""
    with pytest.raises(ValueError, match=r"gauge|size"):
        conductors.conductor_area(size)  # type: ignore[arg-type]


def test_stranded_is_longer() -> None:
    """Does the 2 % allowance for stranding go in? (Table values of stranded wire are from memory: no check.)"""
    solid = conductors.wire_resistance(12, quantity(100, "ft"))
    assert (
        conductors.wire_resistance(12, quantity(100, "ft"), stranded=True) / solid
    ).magnitude == pytest.approx(1.02)


def test_voltage_drop_is_for_warm_wire() -> None:
    """Temperature left out: is it the drop both ways in wire of 75 °C, as the table of 1000 ft has it?"""
    table = row("electrical", "copper-solid-75c-code")
    for gauge, ohms in table.pairs():
        drop = conductors.voltage_drop(int(gauge), quantity(50, "ft"), quantity(10, "A"))
        assert drop.to("V").magnitude == pytest.approx(2 * 50 / 1000 * float(ohms) * 10, rel=0.01)

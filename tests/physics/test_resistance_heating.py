"""Elements against the published ratings, bands and alloy tables."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tankside.physics import resistance_heating as heating
from tankside.units import quantity
from tests.published import row

VOLTS, WATTS = st.floats(10, 600), st.floats(10, 5_000)


@pytest.mark.parametrize("rating", [1440, 1400])
def test_rating(rating: int) -> None:
    """Are resistance, current and accepted band of the usual elements as computed from the rating?"""
    resistance = row("electrical", f"element-{rating}-resistance")
    power, voltage = resistance.condition("power"), resistance.condition("voltage")
    assert resistance.agrees(heating.element_resistance(power, voltage).to("ohm").magnitude)
    amperes = heating.element_current(power, voltage).to("A").magnitude
    assert row("electrical", f"element-{rating}-current").agrees(amperes)
    for index, end in enumerate(heating.resistance_band(power, voltage)):
        assert row("electrical", f"element-{rating}-band").agrees(end.to("ohm").magnitude, index)


def test_what_the_trade_calls_good_is_in_the_band() -> None:
    """Common practice, no source: is 10.8 ohm on the meter inside the accepted band?"""
    said = row("practice", "element-reading")
    low, high = heating.resistance_band(said.condition("power"), said.condition("voltage"))
    assert low.magnitude < said.value < high.magnitude


def test_band_is_the_appliance_standards_tolerance() -> None:
    """UL 174 (as quoted): at the lowest accepted resistance, is the input 105 % of the nameplate?"""
    power, voltage = quantity(1440, "W"), quantity(120, "V")
    low, _ = heating.resistance_band(power, voltage)
    over = heating.power_from(voltage=voltage, resistance=low) / power
    assert row("electrical", "element-power-upper").agrees(over.to("dimensionless").magnitude)


def test_power_at_another_voltage() -> None:
    """At the ends of the service voltage, is the power as computed?"""
    table = row("electrical", "element-1440-power-at-voltage")
    for index, (volts, _) in enumerate(table.pairs()):
        power = heating.power_at(table.condition("power"), table.condition("voltage"), quantity(volts, "V"))
        assert table.agrees(power.to("W").magnitude, index)


def test_ohm_and_watt_worked() -> None:
    """12 V, 5 A: 2.4 ohm and 60 W?"""
    worked = row("electrical", "ohm-watt-worked")
    volts, amperes = worked.condition("voltage"), worked.condition("current")
    assert worked.agrees(heating.resistance_from(volts, amperes).to("ohm").magnitude, 0)
    assert worked.agrees(heating.power_from(voltage=volts, current=amperes).to("W").magnitude, 1)


@pytest.mark.parametrize(
    ("name", "alloy"), [("nichrome-80-factor", "Ni80Cr20"), ("nichrome-60-factor", "Ni60Cr15")]
)
def test_nichrome(name: str, alloy: str) -> None:
    """Alloy table (secondary page): is each row met, and is a straight line in between?"""
    table = row("electrical", name)
    for index, (celsius, _) in enumerate(table.pairs()):
        assert table.agrees(heating.nichrome_factor(quantity(celsius, "degC"), alloy), index)
    middle = heating.nichrome_factor(quantity(350, "degC"), alloy)
    ends = [heating.nichrome_factor(quantity(t, "degC"), alloy) for t in (300, 400)]
    assert middle == pytest.approx(sum(ends) / 2)


def test_nichrome_is_not_monotonic() -> None:
    """Does the factor fall above 500 °C, as the table does?"""
    hot = [
        heating.hot_resistance(quantity(10, "ohm"), quantity(t, "degC")).magnitude for t in (400, 500, 600)
    ]
    assert hot[0] < hot[1] > hot[2]


def test_nichrome_slope_agrees_with_the_other_handbook() -> None:
    """Is the mean slope of the tables between the two coefficients that a handbook gives (each ±20 %)?"""
    low, high = (
        row("electrical", "nichrome-v-coefficient").value,
        row("electrical", "nichrome-coefficient").value,
    )
    for alloy in heating.NICHROME:
        slope = (heating.nichrome_factor(quantity(300, "degC"), alloy) - 1) / 280
        assert 0.4 * low < slope < 1.2 * high


@given(VOLTS, WATTS)
def test_round_trips(volts: float, watts: float) -> None:
    """Does rating -> resistance -> current -> power come back, by all three forms of Joule's law?"""
    voltage, power = quantity(volts, "V"), quantity(watts, "W")
    r = heating.element_resistance(power, voltage)
    i = heating.current_through(voltage, r)
    assert i.magnitude == pytest.approx(heating.element_current(power, voltage).magnitude)
    assert heating.voltage_across(i, r).magnitude == pytest.approx(volts)
    assert heating.resistance_from(voltage, i).magnitude == pytest.approx(r.magnitude)
    for two in (
        {"voltage": voltage, "current": i},
        {"voltage": voltage, "resistance": r},
        {"current": i, "resistance": r},
    ):
        assert heating.power_from(**two).to("W").magnitude == pytest.approx(watts)
    low, high = heating.resistance_band(power, voltage)
    assert low < r < high


def test_refusals() -> None:
    """Is a zero resistance, a third quantity, a wrong alloy or a temperature off the table refused?"""
    volts, amperes, ohms = quantity(12, "V"), quantity(1, "A"), quantity(12, "ohm")
    with pytest.raises(ValueError, match="expected two of"):
        heating.power_from(volts, amperes, ohms)
    with pytest.raises(ValueError, match="dead short"):
        heating.current_through(volts, quantity(0, "ohm"))
    for other in ({"voltage": volts}, {"current": amperes}):
        with pytest.raises(ValueError, match="dead short"):
            heating.power_from(resistance=quantity(0, "ohm"), **other)
    with pytest.raises(ValueError, match="current = 0 A is out of range"):
        heating.resistance_from(volts, quantity(0, "A"))
    with pytest.raises(ValueError, match="expected one of Ni80Cr20, Ni60Cr15"):
        heating.nichrome_factor(quantity(100, "degC"), "steel")
    with pytest.raises(ValueError, match="expected 20 to 600 °C"):
        heating.nichrome_factor(quantity(700, "degC"))
    with pytest.raises(ValueError, match="over"):
        heating.resistance_band(quantity(1440, "W"), quantity(120, "V"), over=5)

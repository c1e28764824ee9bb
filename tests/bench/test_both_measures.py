"""Can people of both habits read the bench log?"""

from __future__ import annotations

import pytest
from scipy import constants

from tankside.bench.both_measures import both_measures
from tankside.notebook import plain_bench

# U.S. measures from SciPy's constants (CODATA and NIST SP 811), not from the project's own units.
PAIRS = [
    (326.0, "°C", constants.convert_temperature(326.0, "C", "F"), "°F", 0),
    (6.7, "L/min", 6.7e-3 / constants.gallon, "gal/min", 2),
    (120.0, "mL", 120e-6 / constants.fluid_ounce, "fl oz", 1),
    (10900.0, "mL", 10900e-6 / constants.gallon, "gal", 2),
    (35.0, "mL/min", 35e-6 / constants.fluid_ounce, "fl oz/min", 1),
    (19.05, "mm", 19.05e-3 / constants.inch, "in.", 3),
    (54.0, "cm²", 54e-4 / constants.inch**2, "in²", 1),
    (16.5, "kg", 16.5 / constants.pound, "lb", 1),
    (1490.0, "m", 1490 / constants.foot, "ft", 0),
    (310.0, "kPa", 310e3 / constants.psi, "psi", 1),
    (125.0, "mg/L", 125e-3 / (1e3 * constants.grain) * 1e3 * constants.gallon, "gpg", 1),
]


@pytest.mark.parametrize(("value", "unit", "wanted", "sign", "places"), PAIRS)
def test_the_other_measure(value: float, unit: str, wanted: float, sign: str, places: int) -> None:
    """Does the same amount stand first in U.S. customary, by SciPy's constants?"""
    assert both_measures(value, unit, "as shown") == f"{wanted:,.{places}f} {sign} (as shown)"


def test_what_stays_as_it_is() -> None:
    """Is nothing said twice where both systems agree: volts, ppm, and nothing at all?"""
    assert both_measures(0.0, "mL/min", "0 mL/min") == "0 mL/min"
    assert both_measures(57.5, "°C", "57.5 °C") == "135.5 °F (57.5 °C)"
    assert both_measures(0.0, "°C", "0.0 °C") == "32.0 °F (0.0 °C)"
    assert both_measures(120.0, "V", "120.0 V~") == "120.0 V~"
    assert both_measures(86.0, "psi", "86 psi") == f"86 psi ({86 * constants.psi / constants.bar:.2f} bar)"


def test_the_bench_says_both() -> None:
    """Do taps, tank and gas speak in both systems, and does a stopped tap not still run?"""
    bench = plain_bench("no-fault", "plover_12")
    bench.open_cover("heater-front")
    said = [
        bench.do(verb, **args).text
        for verb, args in (
            ("tap test", {"tap": "hot"}),
            ("shut-off test", {}),
            ("water test", {}),
            ("water pressure", {}),
            ("weigh cylinder", {}),
            ("feel jacket", {}),
        )
    ]
    for text, marks in zip(
        said,
        (("gal/min (", "°F ("), ("nothing runs",), ("gpg (",), ("psi (",), ("lb (", "kg"), ("°F (",)),
        strict=True,
    ):
        assert all(mark in text for mark in marks), text

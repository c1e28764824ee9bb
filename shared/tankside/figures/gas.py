"""Figures of the gas supply: pressures, what the cylinder holds, the orifice, the heat input."""

from __future__ import annotations

from tankside.case import Case
from tankside.diagnosis.bench_tests import AS_FOUND, ISOLATED
from tankside.errors import BenchError
from tankside.figures.registry import Way, Work, number, source
from tankside.heater import gas
from tankside.heater.unit import Unit
from tankside.physics.boiling import atmosphere_si
from tankside.physics.fuels import fuel
from tankside.physics.gas import altitude_bore_si, heat_input_si, orifice_flow_si
from tankside.physics.supply import INWC
from tankside.units import significant

WATTS_PER_BTU_HOUR = 0.29307107017222


def _inches(work: Work, draw: str) -> float:
    shown = number(work.act("gas pressure", tap="heater", draw=draw))
    if shown is None:
        raise BenchError("The pressure is over the gauge's range.")
    return shown


def _at_rest(work: Work) -> str:
    return f"{_inches(work, 'no'):.1f} inWC"


@source("gas pressure at rest", "inWC", Way(ISOLATED, _at_rest))
def _rest(case: Case, unit: Unit) -> tuple[float, ...]:
    """Everything shut, and with only a pilot drawing."""
    return tuple(float(gas.line(unit, valve).inlet[0]) / INWC for valve in (0.0, 0.03))


def _under_load(work: Work) -> str:
    return f"{_inches(work, 'yes'):.1f} inWC"


@source("gas pressure under load", "inWC", Way(AS_FOUND, _under_load))
def _load(case: Case, unit: Unit) -> tuple[float, ...]:
    """While the burner takes its gas, or as much is led outdoors."""
    return (float(gas.line(unit, 1.0).inlet[0]) / INWC,)


def _contents(work: Work) -> str:
    entry = work.first("weigh cylinder")
    shown = number(entry)
    return f"{(shown or 0.0) - entry['result']['tare']:.1f} kg"


@source("gas left in the cylinder", "kg", Way(AS_FOUND, _contents))
def _cylinder(case: Case, unit: Unit) -> tuple[float, ...]:
    return (float(unit["cylinder.mass"][0]),)


def _bore(work: Work) -> float:
    """mm, measured with the cylinder shut and the burner out."""
    work.act("switch", part=work.model.of_type("gas cylinder")[0], position="shut")
    shown = number(work.act("inspect", part="orifice"))
    return shown or 0.0


def _heat(work: Work) -> str:
    pressure = _inches(work, "yes")
    bore = _bore(work)
    work.act("switch", part=work.model.of_type("gas cylinder")[0], position="open")
    stands = max(number(work.first("altitude")) or 0.0, 0.0)
    return f"{_calculated(bore / 1000, pressure * INWC, work.model.nominal['orifice.discharge'], stands):.0f} BTU/h"


def _calculated(bore: float, pressure: float, discharge: float, altitude: float) -> float:
    """BTU/h of propane through a clean hole of so many m at so many Pa, so many m above the sea."""
    propane = fuel("propane")
    flow = orifice_flow_si(bore, pressure, propane.specific_gravity_si, discharge, atmosphere_si(altitude))
    return float(heat_input_si(flow, propane)) / WATTS_PER_BTU_HOUR


@source("heat input", "BTU_per_hour", Way(ISOLATED, _heat))
def _input(case: Case, unit: Unit) -> tuple[float, ...]:
    """By the hole's bore and the pressure under load: what dirt in the hole keeps back, a plug gauge doesn't show."""
    pressure = float(gas.line(unit, 1.0).inlet[0])
    bore, discharge = float(unit["orifice.diameter"][0]), float(unit["orifice.discharge"][0])
    return (_calculated(bore, max(pressure, 0.0), discharge, max(float(unit["burner.altitude"][0]), 0.0)),)


@source("orifice bore", "mm", Way(ISOLATED, lambda work: f"{_bore(work):.2f} mm"))
def _orifice_bore(case: Case, unit: Unit) -> tuple[float, ...]:
    return (1000 * float(unit["orifice.diameter"][0]),)


def _for_the_altitude(work: Work) -> str:
    """The model's own bore, derated for where the altimeter says that it stands."""
    entry = work.first("altitude")
    stands = altitude_bore_si(number(entry) or 0.0)
    bore = (
        work.model.nominal["orifice.diameter"]
        * stands
        / altitude_bore_si(work.model.nominal["orifice.made_for"])
    )
    return f"{significant(1000 * float(bore))} mm"


@source("orifice for the altitude", "mm", Way(AS_FOUND, _for_the_altitude))
def _orifice(case: Case, unit: Unit) -> tuple[float, ...]:
    """The bore of this heater's sound orifice: its label's, derated for where it stands."""
    healthy, unit = case.healthy(), unit.copy()
    for key in ("orifice.diameter", "orifice.made_for"):
        unit.set(key, healthy[key])
    return (1000 * float(gas.proper_bore(unit)[0]),)

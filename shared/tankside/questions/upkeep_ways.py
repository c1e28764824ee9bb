"""What a heater loses with the years, and what that costs: lesson 11, its questions and its calculator ask here."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np

from tankside.faults.catalogue import remedy_named
from tankside.heater import plumbing
from tankside.heater.history import run
from tankside.heater.model import load_model
from tankside.heater.simulation import advance, energise
from tankside.physics.fuels import fuel, heating_value
from tankside.physics.hot_water import heat_to_warm_si
from tankside.physics.water import T0
from tankside.questions.water_ways import heater, heats, minutes_to_heat
from tankside.quoting import Choice, Prices, load_prices, quote, repair_or_replace, replacement

MODEL = "plover_12"
KILOWATT_HOUR = 0.18
"""$ for a kilowatt hour of mains (invented)."""
POUND_OF_PROPANE = 1.10
"""$ for a pound of propane (invented)."""
MONTH = 30.0
"""Days."""
LOOKED_AFTER = 12.0
"""Years of a tank whose rod is always renewed in time (common practice, no source)."""
PER_POUND = heating_value(fuel("propane"), "mass").to("J/lb").magnitude
"""J of heat in a pound of propane, the water in the flue gas condensed."""


@cache
def sediment_a_year(hardness: float, hot: float = 0.0) -> float:
    """m of sediment that a year of two people's draws leaves, in water of so many mg/L.

    ``hot``: K by which the thermostats stand above the model's own. Below 50 °C nothing falls out.
    """
    unit = heater(MODEL, {"inlet.hardness": hardness})
    for part in ("thermostat", "dc_thermostat"):
        for end in ("opens_at", "closes_at"):
            unit.set(f"{part}.{end}", unit[f"{part}.{end}"] + hot)
    return float(run(unit, days=364).periods["sediment"][-1]) * 365 / 364


@cache
def rumbles_from() -> float:
    """m of sediment from which the tank rumbles on gas."""
    depths = np.linspace(0.0, 0.02, 81)
    unit = heater(MODEL, {"vessel.sediment": depths, "element.resistance": 1e9}, len(depths), warm=False)
    unit.set("tank.temperature", 40.0)
    advance(unit, 3.0)
    noisy = plumbing.rumbles(unit, energise(unit))
    return float(depths[int(np.argmax(noisy))])


def minutes_on_gas(depth: float) -> float:
    """min from cold to off by gas alone, with so many m of sediment."""
    return minutes_to_heat(MODEL, heats(MODEL, depth)["gas"])


# Money ----------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Month:
    """What a month of something costs by gas and by mains: J into the water, lb of propane, kWh, $."""

    heat: float
    propane: float
    kilowatt_hours: float

    @property
    def gas(self) -> float:
        """$ by gas."""
        return self.propane * POUND_OF_PROPANE

    @property
    def mains(self) -> float:
        """$ by mains."""
        return self.kilowatt_hours * KILOWATT_HOUR


def gas_efficiency(depth: float = 0.0) -> float:
    """Share of the gas's heat that gets into the water, with so many m of sediment."""
    return heats(MODEL, depth)["gas"] / float(load_model(MODEL).gas_input or np.nan)


def month(joules: float, depth: float = 0.0) -> Month:
    """The month in which so many J get into the water."""
    return Month(joules, joules / gas_efficiency(depth) / PER_POUND, joules / 3.6e6)


def standby(insulation: float = 1.0) -> float:
    """J a month through a jacket that leaks so many times the heat of a dry one, tank hot all the time."""
    unit = heater(MODEL, {"vessel.insulation": insulation})
    loss = float(plumbing.standing(unit)[0][0])
    warm = (unit["thermostat.opens_at"] + unit["thermostat.closes_at"])[0] / 2
    return loss * float(warm - unit["site.room"][0]) * MONTH * 86_400.0


@cache
def cold_and_hot() -> tuple[float, float]:
    """°C of the cold water, and of the tank when its thermostat opens."""
    unit = heater(MODEL)
    return float(unit["site.cold_water"][0]), float(unit["thermostat.opens_at"][0])


def hot_water(litres: float) -> float:
    """J that so many litres of hot water carry off."""
    cold, hot = cold_and_hot()
    return float(heat_to_warm_si(litres / 1e3, cold + T0, hot + T0))


@cache
def drawn_a_month() -> float:
    """J a month that two people's draws carry off (with the heat through the jacket left out)."""
    return run(heater(MODEL), days=MONTH).drawn


def laid_side_by_side(
    remedy: str,
    testing: float,
    left: float,
    new_lasts: float,
    model: str = MODEL,
    prices: Prices | None = None,
) -> Choice:
    """Repair or a new heater.

    Parameters
    ----------
    remedy : id of the catalogue
    testing : min, to find the fault and prove the repair
    left : years that the tank still has
    new_lasts : years of a new heater on this site
    model : id of a heater's model

    Raises
    ------
    UnknownNameError
        Another remedy, or another model.
    ValueError
        Minutes or years out of range.
    """
    prices = prices or load_prices()
    remedy_named(remedy)
    return repair_or_replace(
        quote([remedy], testing, prices), left, replacement(load_model(model), prices), new_lasts
    )


def pays_from(found: Choice) -> float:
    """Years that the repaired heater must last, for the repair to be no dearer a year than a new heater."""
    return found.repair.total / found.new_a_year
